"""A sentence cut into clauses, and each word of them into what it may mean by the lexicon.

A word is one bit for each part, state or small word that it may be; one word is often several:
"off" is said of a strap, a pack and a line. Which one is meant is for the meaning to say.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache

from flows.hearing.lexicon import talk
from flows.hearing.matching import MARKS, Tokens
from flows.hearing.spelling import is_near
from flows.texts import lexicon_words

Phrase = tuple[str, ...]
ENDS = MARKS - {"'"}
LONGEST = 6
"""Words in the longest phrase of the lexicon."""
BASE, DOING = "base", "doing"
"""Forms of a verb that tell of nothing done, but under a negation: "won't open"."""
_UNMENDED = (
    "small.denies", "small.to_come", "small.still_being", "small.once", "small.unsure",
    "small.said_by", "small.partly", "small.asks", "small.cant_tell",
    "small.all", "small.both", "small.wholly",
    "part.nobody",
)  # fmt: skip


@cache
def bits() -> dict[str, int]:
    """Return the bit of each concept: "part.line", "state.tight", "small.denies", "base.open"."""
    table = lexicon_words()
    names = [f"part.{one}" for one in table["parts"]]
    for state in table["states"]:
        names += [f"state.{state}", f"{BASE}.{state}", f"{DOING}.{state}"]
    names += [f"small.{one}" for one in table["small"]]
    return {name: 1 << at for at, name in enumerate(names)}


@cache
def words_of() -> dict[str, dict[Phrase, int]]:
    """Return every phrase of the lexicon by its first word, with the bits of what it may mean."""
    found: dict[str, dict[Phrase, int]] = {}
    for phrase, name in _phrases():
        if not phrase:
            continue
        rows = found.setdefault(phrase[0], {})
        rows[phrase] = rows.get(phrase, 0) | bits()[name]
    return found


def _phrases() -> Iterator[tuple[Phrase, str]]:
    table = lexicon_words()
    for kind, group in (("part", table["parts"]), ("small", table["small"])):
        for name, said in group.items():
            yield from ((spelled_out(tuple(one.split())), f"{kind}.{name}") for one in said)
    for name, state in table["states"].items():
        for one in state.get("words", ()):
            yield spelled_out(tuple(one.split())), f"state.{name}"
        for verb in state.get("verbs", ()):
            yield from _forms(verb, name)


# Verbs in their forms


def _forms(verb: str, state: str) -> Iterator[tuple[Phrase, str]]:
    base, past, participle, doing = inflected(verb)
    yield tuple(base.split()), f"{BASE}.{state}"
    # "Come on" may be an order: of what is spelled like its base, only a past was done.
    for one in {third(base), past, participle} - ({base} if past != base else set()):
        yield tuple(one.split()), f"state.{state}"
    yield tuple(doing.split()), f"{DOING}.{state}"


def inflected(verb: str) -> tuple[str, str, str, str]:
    """Return base, past, participle and -ing form of a verb; what follows it is kept.

    Examples
    --------
    >>> inflected("strap down")
    ('strap down', 'strapped down', 'strapped down', 'strapping down')
    >>> inflected("take/took/taken/taking")
    ('take', 'took', 'taken', 'taking')
    >>> inflected("tie"), inflected("unstrap")
    (('tie', 'tied', 'tied', 'tying'), ('unstrap', 'unstrapped', 'unstrapped', 'unstrapping'))
    """
    if "/" in verb:
        base, past, participle, doing = verb.split("/")
        return base, past, participle, doing
    head, _, after = verb.partition(" ")
    rest = f" {after}" if after else ""
    past, doing = _past(head) + rest, _doing(head) + rest
    return verb, past, past, doing


_VOWELS = frozenset("aeiou")


def _past(verb: str) -> str:
    if verb.endswith("e"):
        return verb + "d"
    if verb.endswith("y") and verb[-2] not in _VOWELS:
        return verb[:-1] + "ied"
    return _doubled(verb) + "ed"


def _doing(verb: str) -> str:
    if verb.endswith("ie"):
        return verb[:-2] + "ying"
    return verb[:-1] + "ing" if verb.endswith("e") else _doubled(verb) + "ing"


def _doubled(verb: str) -> str:
    """Return a short verb with its last letter doubled, as "strap" is in "strapped"."""
    ends = len(verb) > 2 and verb[-2] in _VOWELS and verb[-3] not in _VOWELS
    vowels = sum(one in _VOWELS for one in verb.removeprefix("un"))
    return verb + verb[-1] if ends and vowels == 1 and verb[-1] not in "aeiouwxy" else verb


def third(base: str) -> str:
    """Return the form of a verb for one other: "hooks up", "latches"."""
    head, _, after = base.partition(" ")
    ends = head.endswith(("s", "x", "ch", "sh"))
    return " ".join(filter(None, (head + ("es" if ends else "s"), after)))


# Words as they are said and written

_SHORT = {
    "'s": "is", "'re": "are", "'ve": "have", "'m": "am", "'ll": "will", "'d": "would",
}  # fmt: skip
_WHOLE = frozenset({"it's", "let's", "what's", "where's", "how's"})


@lru_cache(maxsize=4096)
def spelled_out(said: Tokens) -> Tokens:
    """Return the words with what was run together apart, and a dropped g put back.

    Examples
    --------
    >>> spelled_out(("line's", "tight")), spelled_out(("they're", "rollin"))
    (('line', 'is', 'tight'), ('they', 'are', 'rolling'))
    """
    return tuple(part for one in said for part in _apart(one))


def _apart(token: str) -> Iterator[str]:
    for end, word in _SHORT.items():
        if token.endswith(end) and token not in _WHOLE and len(token) > len(end):
            yield token.removesuffix(end)
            yield word
            return
    if token.endswith("er'n"):
        # "Flatter'n a pancake".
        yield token.removesuffix("'n")
        yield "than"
        return
    yield token + "g" if token.endswith("in") and token + "g" in _gerunds() else token


@cache
def _gerunds() -> frozenset[str]:
    verbs = (
        verb for state in lexicon_words()["states"].values() for verb in state.get("verbs", ())
    )
    return frozenset(inflected(verb)[3].split()[0] for verb in verbs)


def clauses(said: Tokens) -> Iterator[Tokens]:
    """Yield the clauses between marks, each without a likeness at its end."""
    clause: list[str] = []
    for token in (*said, "."):
        if token not in ENDS:
            clause.append(token)
        elif clause:
            yield without_likeness(tuple(clause))
            clause = []


_TAIL = 5
"""Words of the longest likeness: "as a banjo string"."""


def without_likeness(clause: Tokens) -> Tokens:
    """Return a clause without what its state is likened to; it says how much, and never of what.

    Examples
    --------
    >>> without_likeness(("tight", "as", "a", "banjo", "string"))
    ('tight',)
    >>> without_likeness(("line", "is", "tighter", "than", "a", "drum"))
    ('line', 'is', 'tight')
    >>> without_likeness(("looks", "like", "a", "crash"))
    ('looks', 'like', 'a', 'crash')
    """
    for at in range(1, len(clause) - 2):
        likens = (clause[at],) in talk("likens") and (clause[at + 1],) in talk("likened")
        if likens and len(clause) - at <= _TAIL:
            if (clause[at - 1],) in talk("seems"):
                return clause
            state = _compared(clause[at - 1]) if clause[at] == "than" else clause[at - 1]
            if _is_state(state) and not any(one in _small_words() for one in clause[at + 2 :]):
                return (*clause[: at - 1], state)
    return clause


def _compared(word: str) -> str:
    """Return what a word compares: "flatter" is "flat"."""
    stem = word.removesuffix("er")
    ends = (stem, stem + "e", stem[:-1]) if stem != word else ()
    return next((one for one in ends if _is_state(one)), word)


def _is_state(word: str) -> bool:
    meant = words_of().get(word, {}).get((word,), 0)
    return any(meant & bit for name, bit in bits().items() if name.startswith("state."))


def without_polite(clause: Tokens) -> Tokens:
    """Return a clause without the polite words at its ends.

    Examples
    --------
    >>> without_polite(("yes", "sir", "chocked", "boss")), without_polite(("nope", "thank", "you"))
    (('chocked',), ('nope',))
    """
    start, stop = 0, len(clause)
    while start < stop and (length := _polite_at(clause, start)):
        start += length
    while stop > start and (length := _polite_before(clause, start, stop)):
        stop -= length
    return clause[start:stop]


def _polite_at(clause: Tokens, start: int) -> int:
    """Return how many polite words begin here; none where they begin something longer: "ok to"."""
    longest = next(_at(clause, start), None)
    return longest.length if longest and longest.bits & bits()["small.polite"] else 0


def _polite_before(clause: Tokens, start: int, stop: int) -> int:
    lengths = range(min(LONGEST, stop - start), 0, -1)
    return next((n for n in lengths if clause[stop - n : stop] in _polite()), 0)


@cache
def _polite() -> frozenset[Phrase]:
    return frozenset(spelled_out(tuple(one.split())) for one in lexicon_words()["small"]["polite"])


# What each may mean


@dataclass(frozen=True, slots=True)
class Segment:
    """A phrase of the lexicon at a place of a clause: how many words, and what it may mean."""

    length: int
    bits: int


@lru_cache(maxsize=4096)
def segments(clause: Tokens, expected: frozenset[str]) -> tuple[tuple[Segment, ...], ...]:
    """Return what may begin at each word of a clause, the longest first; nothing for none.

    Parameters
    ----------
    expected
        The words into which a slip of the thumb is mended.
    """
    meant = tuple(_mended(token, expected) for token in clause)
    return tuple(tuple(_at(meant, at)) for at in range(len(meant)))


def _at(clause: Tokens, at: int) -> Iterator[Segment]:
    found = [
        Segment(len(phrase), meant)
        for phrase, meant in words_of().get(clause[at], {}).items()
        if clause[at : at + len(phrase)] == phrase
    ]
    for one in sorted(found, key=lambda one: -one.length):
        yield one
        if one.bits & ~_parts():
            # Longer words have a meaning of their own, which is not that of their parts.
            return


@cache
def _parts() -> int:
    """Return the bits of parts whose words may be taken apart; "my brakes" are the truck's."""
    ours = (name for name in bits() if name.startswith("part.") and name not in _OTHERS)
    return sum(bits()[name] for name in ours)


_OTHERS = ("part.truck", "part.other_thing")


@lru_cache(maxsize=4096)
def _mended(token: str, expected: frozenset[str]) -> str:
    """Return the only expected word that a token is a slip of; the token itself for none."""
    if not token.isalpha() or token in known_words():
        return token
    if any(is_near(token, one) for one in _small_words()):
        # "Unitl" is "until" before it is anything else.
        return token
    found = {one for one in expected if is_near(token, one)}
    if len(found) > 1:
        # "Chockd" lacks a letter of "chocked"; of "chock" it would have one more at its end.
        found = {one for one in found if one[-1] == token[-1] and len(one) > len(token)}
    return found.pop() if len(found) == 1 else token


@cache
def known_words() -> frozenset[str]:
    """Return every word that the lexicon knows: none of them is a slip of another."""
    return frozenset(word for rows in words_of().values() for phrase in rows for word in phrase)


@cache
def mendable(name: str) -> frozenset[str]:
    """Return the words of a concept into which a slip may be mended: no small word is one.

    Nor is a word that explains itself: "rockr awake" would be "rock awake", of "dead as a rock".
    """
    bit = bits()[name]
    found = {word for rows in words_of().values() for phrase, meant in rows.items() if meant & bit
             for word in phrase}  # fmt: skip
    return frozenset(one for one in found - _small_words() if not _is_small(one))


def _is_small(word: str) -> bool:
    """Say whether a word by itself is no part and no state."""
    meant = words_of().get(word, {}).get((word,), 0)
    return bool(meant) and not meant & ~_every_small()


@cache
def _every_small() -> int:
    return sum(bit for name, bit in bits().items() if name.startswith("small."))


@cache
def _small_words() -> frozenset[str]:
    """Return the words that turn, count or put off: one of them is never made of another word."""
    small = sum(bits()[one] for one in _UNMENDED)
    rows = (row for rows in words_of().values() for row in rows.items())
    return frozenset(word for phrase, meant in rows if meant & small for word in phrase)
