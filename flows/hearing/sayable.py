"""What may be said of a meaning: its parts and states in words, the plainest first.

The lexicon lists plain words before others, so the first few are enough for a recogniser: it
follows every one of them, and each one more may be taken for another.
"""

from collections.abc import Iterable, Iterator, Mapping
from functools import cache, lru_cache
from itertools import chain, islice, product, zip_longest

from flows.hearing.clauses import inflected
from flows.hearing.meanings import Meaning
from flows.texts import lexicon_words

FEW, SOME, MANY = 2, 3, 8
"""Words of each state beside a part; alone; where it is of no part, so says it all."""
PARTS = 4
"""Parts of a meaning that are named, of those listed first, each by one word."""
MOST = 24
"""Utterances of one meaning."""


@lru_cache(maxsize=1024)
def utterances(meaning: Meaning, *, asked: bool) -> tuple[str, ...]:
    """Return how a meaning may be said, the plainest first.

    Parameters
    ----------
    asked
        It is asked about, so its part may be left out.

    Examples
    --------
    >>> from flows.hearing.meanings import written
    >>> utterances(written("+!people : present"), asked=True)[:2]
    ('nobody in the way', 'nobody in the path')
    >>> utterances(written("tension : tight"), asked=False)[:2]
    ('tension tight', 'tension tightened')
    """
    return tuple(islice(dict.fromkeys(_said(meaning, asked=asked)), MOST))


def _said(meaning: Meaning, *, asked: bool) -> Iterator[str]:
    shapes = lexicon_words()["said"]
    if meaning.is_denied:
        yield from _denied(meaning, shapes, asked=asked)
    elif meaning.needs_all:
        yield from _filled(shapes["all"], meaning)
    else:
        if meaning.states and _is_enough(meaning, asked=asked):
            yield from _filled(shapes["state"], meaning, most=SOME if meaning.parts else MANY)
        if meaning.parts:
            yield from _filled(shapes["both" if meaning.states else "part"], meaning)


def _is_enough(meaning: Meaning, *, asked: bool) -> bool:
    """Say whether a state is enough without its part."""
    return meaning.is_alone or (asked and not (meaning.needs_part or meaning.both_parts))


def _denied(meaning: Meaning, shapes: Mapping[str, list[str]], *, asked: bool) -> Iterator[str]:
    if "people" in meaning.parts:
        yield from _filled(shapes["nobody"], meaning)
        return
    if not meaning.states or "present" in meaning.states:
        yield from _filled(shapes["no_part"], meaning)
    if meaning.states and _is_enough(meaning, asked=asked):
        yield from _filled(shapes["not"], meaning)
    if meaning.states and meaning.parts:
        yield from _filled(shapes["part_not"], meaning)


def _filled(shapes: Iterable[str], meaning: Meaning, most: int = FEW) -> Iterator[str]:
    """Yield every shape with each part and each state in it, all shapes of a pair together."""
    parts = _among((_of_part(one) for one in meaning.parts[:PARTS]), all_of=meaning.both_parts)
    slots = {
        "part": parts,
        "done": _among((_done(one, most) for one in meaning.states), all_of=meaning.both_states),
        "so": _among((_so(one, most) for one in meaning.states), all_of=meaning.both_states),
        "base": _among(map(_bases, meaning.states), all_of=False),
    }
    for shape in shapes:
        used = [name for name in slots if f"{{{name}}}" in shape]
        for words in product(*(slots[name] for name in used)):
            yield _agreeing(shape, dict(zip(used, words, strict=True)))


def _among(listed: Iterable[tuple[str, ...]], *, all_of: bool) -> list[str]:
    """Return the words of several lists in turn; of all at once, the first of each joined."""
    lists = list(listed)
    if all_of:
        joint = f" {lexicon_words()['said']['and'][0]} "
        return [joint.join(one[0] for one in lists)]
    in_turn = chain.from_iterable(zip_longest(*lists))
    return list(dict.fromkeys(one for one in in_turn if one))


def _agreeing(shape: str, words: Mapping[str, str]) -> str:
    """Return a shape with its words, its verb in the number of its part."""
    said = lexicon_words()["said"]
    one, several = said["verb"]
    is_several = words.get("part", "").endswith(tuple(said["several_end"]))
    return shape.format(**words, verb=several if is_several else one)


def _of_part(part: str) -> tuple[str, ...]:
    return tuple(lexicon_words()["parts"][part][:1])


def _done(state: str, most: int) -> tuple[str, ...]:
    """Return the words for a state that came about: "tight", "came out"."""
    return _of_state(state, most, 1)


def _so(state: str, most: int) -> tuple[str, ...]:
    """Return the words for what something is: "tight", "hooked"."""
    return _of_state(state, most, 2)


@cache
def _of_state(state: str, most: int, form: int) -> tuple[str, ...]:
    """Return a state's own words and those of its verbs in turn; of a bare place, one."""
    of = lexicon_words()["states"][state]
    told = (inflected(one)[form] for one in of.get("verbs", ()))
    both = chain.from_iterable(zip_longest(of.get("words", ()), told))
    found = dict.fromkeys(one for one in both if one)
    return tuple(islice(found, 1 if of.get("particle") else most))


def _bases(state: str) -> tuple[str, ...]:
    verbs = lexicon_words()["states"][state].get("verbs", ())
    return tuple(inflected(one)[0] for one in verbs[:FEW])
