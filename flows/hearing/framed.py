"""A text read clause by clause by what acts, facts and steps mean, where no phrase was found."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from itertools import chain, pairwise

from flows.hearing.accounted import DECIDING, must_account
from flows.hearing.answers import Answer
from flows.hearing.clauses import Segment, bits, clauses, segments, spelled_out, without_polite
from flows.hearing.lexicon import talk
from flows.hearing.matching import Tokens
from flows.hearing.meanings import (
    Meaning,
    every_part,
    everything,
    hints,
    longest,
    names,
    names_else,
    names_foreign,
    of,
    of_value,
    says,
)
from flows.hearing.sayable import utterances
from flows.job.intents import (
    Chosen,
    Did,
    DidAll,
    Give,
    Intent,
    Nothing,
    Settled,
    Undid,
    Unsettled,
    Word,
    each,
)
from flows.texts import lexicon_words, meanings, phrases

BLOCKS = ("denies", "to_come", "once", "said_by", "asks", "still_being")
"""Small words beside which a fact is not so: denied, to come, long past, said by others, asked."""
DOUBTS = (*BLOCKS, "unsure", "partly")
"""Small words beside which nothing was done, or not all of it, or not surely."""


@dataclass(frozen=True, slots=True)
class Sense:
    """What is meant where a clause says a meaning, and whether it is asked about."""

    meaning: Meaning
    intent: Intent
    is_asked: bool


def asked(said: Tokens, answer: Answer) -> tuple[Intent, ...]:
    """Return what a text says of what was asked for, if that explains every word of it."""
    if answer.takes_note or answer.takes_name:
        return ()
    parts = tuple(clauses(spelled_out(said)))
    if _cannot_tell(parts, answer):
        return (Word("not_sure"),)
    read = [_asked(clause, answer) for clause in parts]
    found = list(dict.fromkeys(one for part in read for one in part))
    return tuple(each(found[0])) if all(read) and len(found) == 1 else ()


def _cannot_tell(parts: tuple[Tokens, ...], answer: Answer) -> bool:
    """Say whether somebody cannot tell what a question asks, whatever they name of it.

    "No clue which wheels drive"; the clauses beside it give a reason, and no answer.
    """
    bare = without_polite(parts[0]) if answer.fact and parts else ()
    first = next(iter(segments(bare, frozenset())[0]), None) if bare else None
    opens = first is not None and bool(first.bits & _small(("cant_tell",)))
    return opens and not any(_asked(one, answer) for one in parts[1:])


@lru_cache(maxsize=4096)
def _asked(clause: Tokens, answer: Answer) -> tuple[Intent, ...]:
    for part in _ways(clause):
        said = _asked_as(part, answer)
        if said:
            # "Nope, all good" answers a question; before what was done it may be a no.
            is_after_nope = part != clause and clause[0] in _NOPES
            return () if is_after_nope and not isinstance(said[0], Give) else said
    return ()


def _asked_as(clause: Tokens, answer: Answer) -> tuple[Intent, ...]:
    if clause in answer.by_phrase:
        return (answer.by_phrase[clause],)
    found = segments(clause, _mends(answer))
    return tuple(_least(_said_of(expected(answer), found)))


def _ways(clause: Tokens) -> Iterator[Tokens]:
    """Yield a clause as it is, then without what is polite, then without a "nope" before it.

    Words the wrong way round ask: "is the line tight" says nothing.
    """
    bare = without_polite(clause)
    if not bare or (bare[0],) in talk("asks"):
        return
    yield clause
    if bare != clause:
        yield bare
    if len(bare) > 1 and bare[0] in _NOPES:
        yield bare[1:]


_NOPES = frozenset({"nope", "nah", "naw"})


def framed(said: Tokens, answer: Answer) -> tuple[Intent, ...]:
    """Return what a text says by parts and states; empty where it says nothing that counts.

    An act beside a clause that puts it in doubt is unsettled, as one is among words that nothing
    explains.

    Examples
    --------
    >>> from flows.hearing.answers import NOTHING
    >>> framed(("the", "winch", "cable", "is", "nice", "and", "snug"), NOTHING)
    (Did(act='tension_on'),)
    """
    if answer.takes_note or answer.takes_name:
        return ()
    every = list(clauses(spelled_out(said)))
    found = _said_in(every, answer)
    told = [one for one in found if not isinstance(one, Unsettled)]
    return () if _several(told) else tuple(told or found)


def _said_in(every: list[Tokens], answer: Answer) -> list[Intent]:
    """Return what clauses say, each thing once; unsettled where one puts the rest in doubt."""
    found = [one for clause in every for one in _clause(clause, answer).intents]
    if len(every) > 1 and (in_doubt(every, answer) or is_taken_over(every, answer)):
        found = [unsettled(one) for one in found]
    return [one for one in dict.fromkeys(found) if not isinstance(one, Nothing)]


def asks(said: Tokens) -> bool:
    """Say whether words begin as a question does: "is it", "ok to", "should i"."""
    first = segments(spelled_out(said), frozenset())[0]
    return bool(first and first[0].bits & _small(("asks",)))


def is_unsure(said: Tokens) -> bool:
    """Say whether anything in a text says that it is not sure: "pretty sure", "i guess"."""
    return any(
        _holds(segments(one, frozenset()), ("unsure",)) for one in clauses(spelled_out(said))
    )


SHORT = 3
"""So few words between two marks, and none of them understood, may be about all the rest."""


def in_doubt(parts: Iterable[Tokens], answer: Answer) -> bool:
    """Say whether a clause that was not understood puts in doubt what others beside it say.

    Parameters
    ----------
    parts
        The clauses in which nothing else was understood: no phrase, no time, no weight.
    """
    return any(_doubts(spelled_out(one), answer) for one in parts)


def is_taken_over(every: Iterable[Tokens], answer: Answer) -> bool:
    """Say whether a bare state that is asked for follows a clause of another part.

    "Strap's on, tight": whether the line is, is not said. A state of one part alone says by
    itself of what it tells, as "chocked" does.
    """
    read = [segments(one, _mends(answer)) for one in every]
    return any(
        _is_innocent(one, answer)
        and names(_asked_states(answer) & _shared_states(), after)
        and not names(every_part(), after)
        for one, after in pairwise(read)
    )


@cache
def _asked_states(answer: Answer) -> int:
    """Return the bits of the states that what is asked for would be told by."""
    return _bits_of(one for sense in expected(answer) for one in sense.meaning.states)


@cache
def _shared_states() -> int:
    """Return the bits of the states that tell of more than one part: tight, on, out."""
    common: dict[str, int] = {}
    for _, _, meaning in everything():
        for state in meaning.states:
            common[state] = common.get(state, meaning.about) & meaning.about
    return _bits_of(state for state, parts in common.items() if not parts)


def _bits_of(states: Iterable[str]) -> int:
    return sum(bits()[f"state.{one}"] for one in set(states))


def _doubts(clause: Tokens, answer: Answer) -> bool:
    read = _clause(clause, answer)
    if any(not isinstance(one, Unsettled) for one in read.intents):
        return False
    bare = without_polite(clause)
    opens = len(bare) == 1 and (bare[0] in _NOPES or bare[0] == "no")
    is_short = 0 < len(bare) <= SHORT and not _is_of_else(bare, answer)
    return not opens and (read.is_doubtful or is_short)


def _is_of_else(clause: Tokens, answer: Answer) -> bool:
    """Say whether a clause is of another part, or tells a plain fact: "ground's gravel".

    Never where it tells that something came off, or only where something is: "it's off".
    """
    found = segments(clause, _mends(answer))
    if all(found_at and found_at[0].bits & _small(_EMPTY) for found_at in found):
        return True
    if all(
        (word,) in talk("articles") or _is_part(at) for word, at in zip(clause, found, strict=True)
    ):
        # "They're tight, the nuts": a name alone may be what the rest was said of.
        return False
    if _is_innocent(found, answer):
        return True
    if names(doubtful_states() | _about(answer), found):
        return False
    return names(_plain_states() | every_part(), found)


def _is_part(found: tuple[Segment, ...]) -> bool:
    return bool(found) and bool(found[0].bits & every_part())


def _is_innocent(found: tuple[tuple[Segment, ...], ...], answer: Answer) -> bool:
    """Say whether a clause tells, in known words, of another part alone: "I hung a tag on it".

    Nothing in it denies, doubts or counts, and nothing came off or broke.
    """
    whole = sum(one.length for one in longest(found)) == len(found)
    meant = tuple(one.meaning for one in expected(answer))
    return whole and not (
        _holds(found, DOUBTS) or _is_off(found) or not names_foreign(meant, found)
        or names(_about(answer), found)
    )  # fmt: skip


_EMPTY = ("light", "polite", "wholly", "all", "both", "degree")
"""Small words that say nothing of their own: "on deck, easy"."""


@cache
def _plain_states() -> int:
    """Return the bits of the states that only facts are told by: level, electric."""
    of_facts = {one for _, _, meaning in everything(facts=True) for one in meaning.states}
    of_acts = {one for _, _, meaning in everything(facts=False) for one in meaning.states}
    return sum(bits()[f"state.{one}"] for one in of_facts - of_acts)


@cache
def doubtful_states() -> int:
    """Return the bits of what came off, broke or is wrong, and of bare places: off, out, up."""
    states = lexicon_words()["states"]
    places = {name for name, state in states.items() if state.get("particle")}
    return sum(bits()[f"state.{one}"] for one in places | {"broken", "slipped", "wrong", "loose"})


def unsettled(intent: Intent) -> Intent:
    """Return an intent in doubt: what was done, and a fact that decides, is not settled by it."""
    match intent:
        case Give():
            return Unsettled() if must_account(intent) else Nothing("unclear")
        case Did():
            return Unsettled(intent.act)
        case Settled() | DidAll():
            return Unsettled()
        case _:
            return intent


def _several(told: Iterable[Intent]) -> bool:
    """Say whether one fact got two values, or an act was both done and undone."""
    subjects = [subject for subject in map(_subject, told) if subject is not None]
    return len(set(subjects)) < len(subjects)


def _subject(intent: Intent) -> tuple[str, str] | None:
    """Return what only one intent may tell of: a fact, an act, or the step itself."""
    match intent:
        case Give():
            return "fact", intent.fact
        case Did() | Undid():
            return "act", intent.act
        case Chosen() | Settled():
            return "step", ""
        case _:
            return None


# One clause


@dataclass(frozen=True, slots=True)
class Read:
    """What a clause says, and whether it puts in doubt what others say."""

    intents: tuple[Intent, ...]
    is_doubtful: bool = False


@lru_cache(maxsize=4096)
def _clause(clause: Tokens, answer: Answer) -> Read:
    bare = without_polite(clause)
    if not bare:
        return Read(())
    said = _asked(clause, answer)
    return Read(tuple(each(said[0]))) if said else _read(clause, answer)


def _read(clause: Tokens, answer: Answer) -> Read:
    if (clause[0],) in talk("asks"):
        return Read((), is_doubtful=True)
    found = segments(clause, _mends(answer))
    told = (
        _at_any_time_said(found)
        or _exclaimed(clause, answer)
        or _joined(clause, answer)
        or _plainly(found, answer)
    )
    return Read(told) if told else _untold(clause, found, answer)


def _untold(clause: Tokens, found: tuple[tuple[Segment, ...], ...], answer: Answer) -> Read:
    """Return what a clause comes to that tells nothing: the step is open, or there is a doubt."""
    of_step = any(
        isinstance(one.intent, Settled) and hints(one.meaning, found) for one in expected(answer)
    )
    goes_on = (clause[0],) in talk("goes_on") or names(_about(answer), found)
    doubts = _holds(found, DOUBTS) or goes_on or answer.takes_time
    return Read((Unsettled(),) if of_step else (), is_doubtful=doubts)


def _at_any_time_said(found: tuple[tuple[Segment, ...], ...]) -> tuple[Intent, ...]:
    """Return what is said at any time, with every word explained."""
    return tuple(part for one in _least(_said_of(_anytime(), found)) for part in each(one))


def _exclaimed(clause: Tokens, answer: Answer) -> tuple[Intent, ...]:
    """Return what came undone after a "no" that denies nothing: "no the line parted"."""
    after = segments(clause[1:], _mends(answer))
    says_no = clause[0] == "no" and bool(after) and bool(after[0])
    if not says_no or not after[0][0].bits & _small(("light",)):
        return ()
    return tuple(one for one in _at_any_time_said(after) if isinstance(one, Undid))


def _said_of(senses: tuple[Sense, ...], found: tuple[tuple[Segment, ...], ...]) -> list[Intent]:
    """Return what a clause says of these, each once; most are out by the words that it has."""
    has = 0
    for segment in chain.from_iterable(found):
        has |= segment.bits
    likely = (one for one in senses if not one.meaning.states or has & one.meaning.state_bits)
    return list(dict.fromkeys(one.intent for one in likely if _is_said(one, found)))


def _is_said(sense: Sense, found: tuple[tuple[Segment, ...], ...]) -> bool:
    is_fact = isinstance(sense.intent, Give | Chosen)
    wants = isinstance(sense.intent, Chosen)
    also = _small(("degree", "to_come") if wants else ("degree",)) if is_fact else 0
    return says(sense.meaning, found, asked=sense.is_asked, also=also)


def _least(said: list[Intent]) -> list[Intent]:
    """Return what was meant of several: two values of a fact are none, all of a kind is that."""
    together = [one for one in said if isinstance(one, DidAll)]
    if together:
        return list(together[:1])
    values = {one.value for one in said if isinstance(one, Give)}
    return [] if len(values) > 1 else said[:1]


def _joined(clause: Tokens, answer: Answer) -> tuple[Intent, ...]:
    """Return what a clause says that is two, joined by "and": each has to be whole."""
    for at, token in enumerate(clause):
        if token in _joints() and 0 < at < len(clause) - 1:
            halves = clause[:at], clause[at + 1 :]
            told = [_clause(one, answer) for one in halves if _tells(_clause(one, answer))]
            counts = all(_counts_beside(one, answer) for one in halves)
            if told and counts and not is_taken_over(halves, answer):
                return tuple(intent for one in told for intent in one.intents)
    return ()


def _counts_beside(clause: Tokens, answer: Answer) -> bool:
    """Say whether a half of a clause tells something, or surely tells of something else."""
    read = _clause(clause, answer)
    is_else = not read.intents and not read.is_doubtful
    return _tells(read) or (is_else and _is_of_else(without_polite(clause), answer))


def _tells(read: Read) -> bool:
    told = [one for one in read.intents if not isinstance(one, Unsettled)]
    return bool(told) and not read.is_doubtful


@cache
def _joints() -> frozenset[str]:
    return frozenset(phrases()["talk"]["joints"])


def _plainly(found: tuple[tuple[Segment, ...], ...], answer: Answer) -> tuple[Intent, ...]:
    """Return the only value named of the fact asked for, among whatever words.

    Only of a fact on which no holding and no hooking rests.
    """
    if answer.fact in DECIDING or _holds(found, BLOCKS) or _is_off(found):
        return ()
    values = {one.intent for one in expected(answer) if _is_plain(one, found)}
    return tuple(values) if len(values) == 1 and values.isdisjoint(_NONE) else ()


_NONE: frozenset[Intent] = frozenset(
    {Give(fact, "none") for fact in ("danger", "cord", "goes_under", "second_truck")}
)


def _is_plain(sense: Sense, found: tuple[tuple[Segment, ...], ...]) -> bool:
    of_option = isinstance(sense.intent, Chosen) and sense.meaning.is_alone
    is_fact = isinstance(sense.intent, Give) or of_option
    is_named = not sense.meaning.is_denied and hints(sense.meaning, found)
    return is_fact and is_named and not names_else(sense.meaning, found)


def _is_off(found: tuple[tuple[Segment, ...], ...]) -> bool:
    """Say whether something is broken, slipped or wrong: that is no plain value."""
    off = sum(bits()[f"state.{one}"] for one in ("broken", "slipped", "wrong"))
    return any(segment.bits & off for segments in found for segment in segments)


def _holds(found: tuple[tuple[Segment, ...], ...], names: tuple[str, ...]) -> bool:
    small = _small(names)
    at = 0
    while at < len(found):
        longest = found[at][0] if found[at] else None
        if longest is not None and longest.bits & small:
            return True
        at += longest.length if longest is not None else 1
    return False


@cache
def _small(names: tuple[str, ...]) -> int:
    return sum(bits()[f"small.{one}"] for one in names)


# What may be meant


@lru_cache(maxsize=1024)
def expected(answer: Answer) -> tuple[Sense, ...]:
    """Return the meanings of what is asked for."""
    return tuple(Sense(*one, is_asked=True) for one in _of_answer(answer))


def _of_answer(answer: Answer) -> Iterator[tuple[Meaning, Intent]]:
    if answer.kind != "nothing" or answer.acts:
        yield from _of_step(answer)
        yield from _of_choices(answer)
        yield from _of_acts(answer)


def _of_step(answer: Answer) -> Iterator[tuple[Meaning, Intent]]:
    """Yield what settles a step, and the facts that are told in answer to it."""
    settles = of("items", answer.item)
    if not settles and len(answer.acts) == 1:
        settles = of("acts", answer.acts[0])
    yield from ((one, Settled(answer.item)) for one in settles)
    for fact, values in phrases()["steps_facts"].get(answer.item, {}).items():
        yield from _of_values(fact, values)


def _of_choices(answer: Answer) -> Iterator[tuple[Meaning, Intent]]:
    values = [value for value, _ in answer.choices]
    if answer.fact:
        yield from _of_values(answer.fact, values)
    elif answer.kind == "choice":
        yield from ((one, Chosen(value)) for value in values for one in of("options", value))


def _of_values(fact: str, values: Iterable[str]) -> Iterator[tuple[Meaning, Intent]]:
    yield from ((one, Give(fact, value)) for value in values for one in of_value(fact, value))


def _of_acts(answer: Answer) -> Iterator[tuple[Meaning, Intent]]:
    """Yield each act of a step that has several, and all of a kind where it is one of them."""
    for key, together in phrases()["acts_together"].items():
        if answer.acts and set(answer.acts) < set(together["acts"]):
            yield from _of_together(key)
    if len(answer.acts) > 1:
        yield from ((one, Did(act)) for act in answer.acts for one in of("acts", act))


def _of_together(key: str) -> Iterator[tuple[Meaning, Intent]]:
    acts = tuple(phrases()["acts_together"][key]["acts"])
    yield from ((one, DidAll(acts)) for one in of("together", key))


@cache
def _anytime() -> tuple[Sense, ...]:
    """Return the meanings that count at any time, once their part is said."""
    found = (Sense(*one, is_asked=False) for one in _at_any_time())
    return tuple(one for one in found if not one.meaning.is_local)


def _at_any_time() -> Iterator[tuple[Meaning, Intent]]:
    known = phrases()
    for key in known["acts_together"]:
        yield from _of_together(key)
    for act in meanings()["undone"]:
        yield from ((one, Undid(act)) for one in of("undone", act))
    for act, table in known["acts"].items():
        if table["said"]:
            yield from ((one, Did(act)) for one in of("acts", act))
    for fact, values in meanings()["facts"].items():
        yield from _of_values(fact, values)


@lru_cache(maxsize=1024)
def _about(answer: Answer) -> int:
    """Return the bits of the parts that what is asked for is about."""
    found = 0
    for one in expected(answer):
        found |= one.meaning.about
    return found


@lru_cache(maxsize=1024)
def _mends(answer: Answer) -> frozenset[str]:
    """Return the words into which a slip is mended while a question is open."""
    return frozenset().union(*(one.meaning.mends for one in expected(answer)))


def plainly_said(answer: Answer) -> Iterator[tuple[str, tuple[Intent, ...]]]:
    """Yield how what is asked for may be said in the plainest words, each with what it means."""
    for one in expected(answer):
        meant = tuple(each(one.intent))
        yield from ((said, meant) for said in utterances(one.meaning, asked=True))
