"""The likeliest meaning of words that nothing was made of: to be proposed, never taken.

Each thing that the open question expects is weighed by a few features over lexicon and phrases;
the weights are fitted (`flows/texts/likely.toml` says how). What may stand in no doubt at all is
never proposed; nothing is where words deny, ask, doubt, put off, or tell of something else.
"""

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache

from flows.hearing.answers import Answer
from flows.hearing.clauses import (
    Segment,
    bits,
    known_words,
    mendable,
    segments,
    spelled_out,
    without_polite,
)
from flows.hearing.framed import DOUBTS, asks, doubtful_states, expected
from flows.hearing.lexicon import talk
from flows.hearing.matching import MARKS, Tokens
from flows.hearing.meanings import Meaning, names_else
from flows.hearing.spelling import sounds_like, within
from flows.job.intents import Give, Intent, Settled
from flows.measures.tokens import tokens
from flows.measures.words import NUMBER
from flows.texts import likely_weights

MOST_WORDS = 9
"""Longer stories are asked about as a whole."""
NEVER_FACTS = frozenset({"danger", "slope", "released_by", "card", "truck", "second_truck"})
NEVER_VALUES = frozenset({"none"})
NEVER_ACTS = ("neutral", "isolation", "danger", "departs", "arrives")
"""Acts, by the beginning of their names: neutral, what isolates, a release, driving off."""
EVIDENCE = 0.3
"""So much of a word for it has to be there, whatever the rest: of "blurgh" nothing is proposed."""
Found = tuple[tuple[Segment, ...], ...]


@dataclass(frozen=True, slots=True)
class Guess:
    """A meaning with the chance that it was meant."""

    intent: Intent
    chance: float


def likely(text: str, answer: Answer) -> Intent | None:
    """Return the meaning to propose for words that were not understood; None for none.

    One is proposed only where it is likelier than not by far, and no other comes near it.
    """
    guesses = sorted(guessed(text, answer), key=lambda one: -one.chance)
    table = likely_weights()
    if not guesses or guesses[0].chance < table["propose_from"]:
        return None
    if len(guesses) > 1 and guesses[1].chance > guesses[0].chance * table["no_other_share"]:
        return None
    return guesses[0].intent


def guessed(text: str, answer: Answer) -> Iterator[Guess]:
    """Yield what may be meant, each with its chance."""
    for intent, features in featured(text, answer):
        weights = likely_weights()["weights"]
        total = weights["bias"] + sum(weights[name] * one for name, one in features.items())
        yield Guess(intent, 1 / (1 + math.exp(-total)))


def featured(text: str, answer: Answer) -> Iterator[tuple[Intent, dict[str, float]]]:
    """Yield each thing that may be proposed with its features, from 0 to 1."""
    said = _words(text)
    if not said or "?" in text or not _may_propose(answer) or _is_vetoed(said, answer):
        return
    senses: dict[Intent, list[Meaning]] = {intent: [] for intent in _of_phrases(answer)}
    for sense in expected(answer):
        senses.setdefault(sense.intent, []).append(sense.meaning)
    for intent, meanings in senses.items():
        if _is_proposable(intent) and not _tells_else(said, intent, meanings):
            features = _features(said, intent, tuple(meanings), answer)
            if any(features[name] >= EVIDENCE for name in ("state", "near", "sounds", "overlap")):
                yield intent, features


def _words(text: str) -> Tokens:
    """Return the words of a text without its marks and what is polite; none of a long one."""
    said = spelled_out(tuple(one for one in tokens(text) if one not in MARKS))
    bare = without_polite(said)
    return bare if len(bare) <= MOST_WORDS else ()


def _may_propose(answer: Answer) -> bool:
    is_free = answer.takes_note or answer.takes_name or answer.takes_time or answer.takes_feet
    of_acts = any(act.startswith(NEVER_ACTS) for act in answer.acts)
    is_go = answer.kind == "photo" or [one for one, _ in answer.choices] == ["go"]
    is_never = is_free or of_acts or is_go or answer.fact in NEVER_FACTS
    return bool(answer.item) and not is_never


def _is_proposable(intent: Intent) -> bool:
    if isinstance(intent, Give):
        return intent.fact not in NEVER_FACTS and intent.value not in NEVER_VALUES
    return isinstance(intent, Settled)


def _tells_else(said: Tokens, intent: Intent, meanings: list[Meaning]) -> bool:
    """Say whether words tell of another part or state than what was done: "red on" of red off."""
    found = segments(said, frozenset())
    if not isinstance(intent, Settled):
        return False
    if not meanings:
        # A step of several acts is settled act by act.
        return True
    own = _any(one.state_bits | one.part_bits | one.allowed & ~_small() for one in meanings)
    others = (at[0].bits for at in found if at and not at[0].bits & own)
    is_other = any(
        bits_of & doubtful_states() or (bits_of & _states() and not bits_of & _small())
        for bits_of in others
    )
    return is_other or all(names_else(one, found) for one in meanings)


@cache
def _states() -> int:
    """Return the bits of every state, whatever the form."""
    return sum(bit for name, bit in bits().items() if not name.startswith(("part.", "small.")))


_ALWAYS = ("denies", "asks", "said_by", "to_come", "once", "still_being")


def _is_vetoed(said: Tokens, answer: Answer) -> bool:
    """Say whether words deny, ask, put off, count, or tell of what came off or is being done."""
    words = talk("negators")
    if answer.acts:
        words |= talk("intents") | talk("cannots")
    is_question = asks(said) or (said[0],) in talk("asks")
    is_out = any((one,) in words or one.isdecimal() or one in NUMBER for one in said)
    small = DOUBTS if answer.acts else _ALWAYS
    vetoed = _any(bits()[f"small.{one}"] for one in small) | bits()["part.other_thing"]
    is_small = _has_first(segments(said, frozenset()), vetoed)
    return is_question or is_out or is_small or (bool(answer.acts) and _is_doing(said))


def _has_first(found: Found, wanted: int) -> bool:
    return any(at and at[0].bits & wanted for at in found)


def _is_doing(said: Tokens) -> bool:
    return any(len(word) > 4 and word.endswith(("ing", "in")) for word in said)


def _of_phrases(answer: Answer) -> dict[Intent, None]:
    return dict.fromkeys(intent for _, intent in answer.phrases if _is_proposable(intent))


# Features


def _features(
    said: Tokens, intent: Intent, meanings: tuple[Meaning, ...], answer: Answer
) -> dict[str, float]:
    found = segments(said, frozenset())
    allowed = _any(one.allowed for one in meanings)
    state = _any(one.state_bits for one in meanings if not one.is_denied)
    part = _any(one.part_bits for one in meanings)
    explained = [bool(at) and bool(at[0].bits & (allowed | _small())) for at in found]
    unknown = [one for one in said if one not in known_words()]
    wanted = _wanted(meanings, answer, intent)
    near = _like(unknown, wanted, within)
    alike = _like(unknown, wanted, sounds_like)
    return {
        "state": float(_has(found, state)),
        "part": float(_has(found, part)),
        "explained": sum(explained) / len(said),
        "unexplained": min(len(said) - sum(explained) - len(near), 4) / 4,
        "near": float(bool(near)),
        "sounds": float(bool(alike)),
        "overlap": _overlap(said, intent, answer),
        "other_overlap": _other_overlap(said, intent, answer),
        "act": float(isinstance(intent, Settled)),
    }


def _like(
    unknown: list[str], wanted: frozenset[str], is_like: Callable[[str, str], bool]
) -> list[str]:
    return [one for one in unknown if any(is_like(one, other) for other in wanted)]


def _other_overlap(said: Tokens, intent: Intent, answer: Answer) -> float:
    others = (_overlap(said, one, answer) for one in _others(answer, intent))
    return max(others, default=0.0)


def _any(all_bits: Iterable[int]) -> int:
    found = 0
    for one in all_bits:
        found |= one
    return found


def _has(found: Found, wanted: int) -> bool:
    return any(segment.bits & wanted for at in found for segment in at)


@cache
def _small() -> int:
    names = ("light", "polite", "wholly", "all", "both", "degree")
    return sum(bits()[f"small.{one}"] for one in names)


def _mendable(meaning: Meaning) -> frozenset[str]:
    return frozenset().union(*(mendable(f"state.{one}") for one in meaning.states))


@lru_cache(maxsize=1024)
def _wanted(meanings: tuple[Meaning, ...], answer: Answer, intent: Intent) -> frozenset[str]:
    """Return the words of an answer by which a misspelling is known, none of them short."""
    of_states = frozenset().union(*map(_mendable, meanings))
    phrases = {word for phrase, of in answer.phrases if of == intent for word in phrase}
    return frozenset(one for one in of_states | phrases if len(one) >= 4)


@lru_cache(maxsize=1024)
def _others(answer: Answer, intent: Intent) -> tuple[Intent, ...]:
    return tuple(one for one in _of_phrases(answer) if one != intent)


def _overlap(said: Tokens, intent: Intent, answer: Answer) -> float:
    """Return the most of a phrase's weight that is among the words, rare words counting more."""
    rarity = _rarity(answer)
    best = 0.0
    for phrase, of in answer.phrases:
        if of == intent:
            whole = sum(rarity[word] for word in phrase)
            best = max(best, sum(rarity[word] for word in phrase if word in said) / whole)
    return best


@lru_cache(maxsize=256)
def _rarity(answer: Answer) -> dict[str, float]:
    """Return how much each word of an answer's phrases tells; small words hardly anything."""
    often: dict[str, int] = {}
    for phrase, _ in answer.phrases:
        for word in set(phrase):
            often[word] = often.get(word, 0) + 1
    total = len(answer.phrases) + 1
    small = talk("fillers")
    return {
        word: 0.05 if (word,) in small else math.log(total / count) + 0.1
        for word, count in often.items()
    }
