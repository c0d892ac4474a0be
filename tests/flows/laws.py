"""Sentences made of the lexicon, each with what it says, for the laws of reading.

A sentence is put together from a part, a state and one small word that spoils it; what it says
follows from how it was made and not from how it is read. `python -m tests.flows.laws [COUNT]`
reads them all and prints what broke a law, and how much of what was done was taken.
"""

import random
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from flows.hearing.accounted import DECIDING
from flows.hearing.answers import Answer, answer_for
from flows.hearing.clauses import inflected, known_words
from flows.hearing.lexicon import lexicon_of
from flows.hearing.meanings import Meaning, of, of_value
from flows.hearing.understand import understand
from flows.job.facts import FACTS
from flows.job.intents import Chosen, Did, DidAll, Give, Intent, Settled
from flows.job.state import Job
from flows.routine.book import Book
from flows.routine.carry import CARRY
from flows.routine.items import Gate, Photo, Question, Step, Wait
from flows.texts import lexicon_words
from tests.flows.talker import demo_library

LIBRARY = demo_library()
JOB = Job(1, Book(CARRY, LIBRARY))
SPOILERS = ("denies", "to_come", "once", "unsure", "said_by", "partly", "asks", "still_being")
"""The kinds of small words beside which nothing is done, or not all of it, or not surely."""
OF_FACTS = frozenset({"denies", "asks", "other"})
"""Beside these no fact is so. Beside the others a plain one may be: "the owner says electric"."""
OF_DECIDING = OF_FACTS | {"to_come", "once", "said_by"}
"""Beside these no fact is so on which holding or hooking rests: not even "kinda downhill"."""


@dataclass(frozen=True)
class Sentence:
    """A sentence at an open question, and what it was made to say.

    Parameters
    ----------
    spoiled
        The kind of small word that spoils it, "other" of another thing; empty where it is so.
    slip
        A letter was changed.
    """

    item: str
    text: str
    meant: str
    spoiled: str
    slip: bool = False


@dataclass(frozen=True)
class Asked:
    """What one item asks for: its answer, and the meanings of each thing that it may come to."""

    item: str
    answer: Answer
    meanings: tuple[tuple[str, Meaning], ...]


@cache
def asked() -> tuple[Asked, ...]:
    """Return every item that parts and states answer."""
    return tuple(one for one in map(_asked, CARRY.items) if one.meanings)


def _asked(item_id: str) -> Asked:
    item = CARRY.items[item_id]
    if isinstance(item, Wait) or not isinstance(item, Step | Gate | Photo | Question):
        return Asked(item_id, answer_for(JOB, item), ())
    answer = answer_for(JOB, item)
    if isinstance(item, Question):
        values = FACTS[item.fact].values
        found = [(value, one) for value in values for one in of_value(item.fact, value)]
    else:
        acts = getattr(item, "acts", ())
        own = of("items", item_id) or (of("acts", acts[0]) if len(acts) == 1 else ())
        found = [("done", one) for one in own]
    return Asked(item_id, answer, tuple(found))


# Sentences


def sentences(rng: random.Random, count: int) -> Iterator[Sentence]:
    """Yield so many sentences, every item and every kind of spoiler in its turn."""
    items = asked()
    for n in range(count):
        one = items[n % len(items)]
        meant, meaning = rng.choice(one.meanings)
        kind = ("", *SPOILERS, "other")[(n // len(items)) % (len(SPOILERS) + 2)]
        text = _spoiled(rng, meaning, kind)
        if text and not (kind == "denies" and _has_denied(one)):
            slip = bool(kind) and rng.random() < SLIPS
            yield Sentence(one.item, _slipped(rng, text) if slip else text, meant, kind, slip)


def _has_denied(one: Asked) -> bool:
    """Say whether a denial is an answer of its own: "nobody in the path"."""
    return any(meaning.is_denied for _, meaning in one.meanings)


SLIPS = 0.2
"""How many of the sentences that are not so are also misspelled."""


def _spoiled(rng: random.Random, meaning: Meaning, kind: str) -> str:
    part, state = _part(rng, meaning, kind), _state(rng, meaning)
    if kind in {"", "other"}:
        return _said(rng, part, state, meaning)
    if kind == "denies" and meaning.is_denied:
        return ""
    word = rng.choice([one for one in lexicon_words()["small"][kind] if one not in _harmless()])
    shapes = [f"{part} {word} {state}", f"{word} {_said(rng, part, state, meaning)}"]
    if kind not in {"denies", "partly"}:
        shapes.append(f"{_said(rng, part, state, meaning)}, {word}")
    return rng.choice(shapes).strip()


@cache
def _harmless() -> frozenset[str]:
    """Return the words that are also polite, or explain themselves: "boss", "nope"."""
    small = lexicon_words()["small"]
    return frozenset(
        (
            *small["polite"],
            *small["light"],
            *small["degree"],
            "nope",
            "nah",
            "naw",
            "a minute ago",
            "a while ago",
        )
    )


def _said(rng: random.Random, part: str, state: str, meaning: Meaning) -> str:
    if not part or not state:
        return f"not {state or part}" if meaning.is_denied else part or state
    if meaning.is_denied:
        return rng.choice(
            [f"no {part} {state}", f"{part} is not {state}", f"the {part} not {state}"]
        )
    frames = ("{} is {}", "the {} is {}", "{} {}", "ok the {}'s {}", "got the {} {}")
    return rng.choice(frames).format(part, state)


def _part(rng: random.Random, meaning: Meaning, kind: str) -> str:
    table = lexicon_words()["parts"]
    if kind == "other":
        return str(rng.choice(table["other_thing"]))
    is_bare = meaning.states and not meaning.needs_part and rng.random() < BARE
    if is_bare or not meaning.parts:
        return ""
    if meaning.both_parts:
        return " and ".join(str(rng.choice(table[one])) for one in meaning.parts)
    return str(rng.choice(table[rng.choice(meaning.parts)]))


BARE = 0.25
"""How many sentences leave the part out."""


def _state(rng: random.Random, meaning: Meaning) -> str:
    if not meaning.states:
        return ""
    chosen = meaning.states if meaning.both_states else (rng.choice(meaning.states),)
    return " and ".join(_word(rng, one) for one in chosen)


def _word(rng: random.Random, state: str) -> str:
    table = lexicon_words()["states"][state]
    words = [*table.get("words", ()), *(inflected(verb)[2] for verb in table.get("verbs", ()))]
    return str(rng.choice(words))


def _slipped(rng: random.Random, text: str) -> str:
    """Return a text with a letter of one of its long words swapped, dropped or doubled."""
    words = text.split(" ")
    long = [at for at, word in enumerate(words) if len(word) >= 5 and word.isalpha()]
    if not long:
        return text
    at = rng.choice(long)
    word, place = words[at], rng.randrange(1, len(words[at]) - 1)
    swapped = word[:place] + word[place + 1] + word[place] + word[place + 2 :]
    slip = rng.choice([swapped, word[:place] + word[place + 1 :], word[:place] + word[place:]])
    # "Heard" may become "hard", which is a word of its own.
    words[at] = word if slip in known_words() else slip
    return " ".join(words)


# How they are read


def read(sentence: Sentence) -> tuple[Intent, ...]:
    """Return what a sentence is taken for at its open question."""
    answer = answer_for(JOB, CARRY.items[sentence.item])
    return understand(sentence.text, answer, lexicon_of(LIBRARY))


def takes(sentence: Sentence, found: tuple[Intent, ...]) -> str:
    """Return what was taken of the open question: "done", a value, or nothing."""
    item = CARRY.items[sentence.item]
    for one in found:
        if isinstance(one, Settled) or (
            isinstance(one, Did) and one.act in getattr(item, "acts", ())
        ):
            return "done"
        if isinstance(one, DidAll) and set(getattr(item, "acts", ())) & set(one.acts):
            return "done"
        if isinstance(one, Give) and one.fact == getattr(item, "fact", ""):
            return one.value
        if isinstance(one, Chosen):
            return one.option
    return ""


def breach(sentence: Sentence) -> str:
    """Return the law that the reading of a sentence breaks; empty for none."""
    found = read(sentence)
    taken = takes(sentence, found)
    if not taken or (taken == sentence.meant and not sentence.spoiled):
        return ""
    if not sentence.spoiled:
        return f"taken for {taken}" if taken != "done" else ""
    fact = getattr(CARRY.items[sentence.item], "fact", "")
    spoils = OF_DECIDING if fact in DECIDING else OF_FACTS
    if fact and (taken != sentence.meant or sentence.spoiled not in spoils):
        return ""
    return f"taken though {sentence.spoiled}"


def main() -> None:
    """Read sentences, print those that break a law and the rate of those that are heard."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    kinds: Counter[str] = Counter()
    heard: Counter[bool] = Counter()
    for sentence in sentences(random.Random(count), count):  # noqa: S311  a seed
        law = breach(sentence)
        kinds[law or "ok"] += 1
        if not sentence.spoiled:
            heard[takes(sentence, read(sentence)) == sentence.meant] += 1
        if law:
            sys.stdout.write(f"{law}: {sentence.text!r} at {sentence.item} ({sentence.meant})\n")
    sys.stdout.write(f"{dict(kinds)}, heard {heard[True]} of {heard.total()}\n")


if __name__ == "__main__":
    main()
