"""Which of the two stands higher, by words that name an end: "I'm below it" is the vehicle above.

A slope is seen from the truck. Said of the truck it is turned round; said by naming an end at all,
it is read back with both ends named.
"""

from collections.abc import Iterator

from flows.hearing.answers import Answer
from flows.hearing.clauses import bits, clauses, segments, spelled_out
from flows.hearing.lexicon import talk
from flows.hearing.matching import Tokens
from flows.job.intents import Give, Intent, Nothing, Sloped, Unsettled, Word
from flows.measures.tokens import tokens

UP, DOWN = "uphill", "downhill"
TURNED = {UP: DOWN, DOWN: UP}
Meant = tuple[Intent, ...]


def sloped(found: Meant, text: str, answer: Answer) -> Meant:
    """Return the intents with a slope turned round where it was said of the truck.

    A slope in any words but those of the question is to be read back.
    """
    gives = any(isinstance(one, Give) and one.fact == "slope" for one in found)
    unread = all(isinstance(one, Nothing | Unsettled) or one == _MOVED for one in found)
    if not gives and not (unread and answer.fact == "slope"):
        return found
    said = spelled_out(tokens(text))
    stands = _stands_by(said)
    if gives:
        return tuple(_turned(one, stands, said) for one in found)
    is_said = len(stands) == 1 and not _in_doubt(said) and "?" not in text
    return (Sloped(*stands),) if is_said else found


_MOVED = Word("truck_moved")
"""Asked for the slope, "I'm above it" is no news of a truck that moved."""


def _turned(intent: Intent, stands: set[str], said: Tokens) -> Intent:
    """Return a slope as it is to be read back; of two that contradict each other, nothing."""
    if not isinstance(intent, Give) or intent.fact != "slope":
        return intent
    if len(stands) > 1:
        return Nothing("unclear")
    is_plain = intent.value in said or intent.value not in TURNED
    return intent if is_plain and not stands else Sloped(*(stands or {intent.value}))


def stands_by(said: Tokens) -> str:
    """Return where the vehicle stands by words that name the truck; "" where they do not.

    Examples
    --------
    >>> [stands_by(tuple(one.split())) for one in ("i am below it", "truck is downhill")]
    ['uphill', 'uphill']
    >>> [stands_by(tuple(one.split())) for one in ("it is below me", "it is downhill", "above it")]
    ['downhill', '', 'downhill']
    """
    found = _stands_by(said)
    return found.pop() if len(found) == 1 else ""


def _stands_by(said: Tokens) -> set[str]:
    return {one for clause in clauses(said) for one in _stands(clause)}


def _stands(clause: Tokens) -> Iterator[str]:
    """Yield where the vehicle stands by each word for up or down that goes with the truck.

    Of what is named before it the nearest is meant; else what follows is where it is seen from.
    """
    ends = {at: _end(clause, at) for at in range(len(clause))}
    for at, token in enumerate(clause):
        way = next((way for way in TURNED if (token,) in talk(f"slope_{way}")), "")
        before = [ends[n] for n in range(at) if ends[n] and not _is_seen_from(clause, n)]
        after = _follows(clause, at, ends)
        if not way or ("truck" not in ends.values() and (before or after != "vehicle")):
            continue
        is_of_truck = before[-1] == "truck" if before else after == "vehicle"
        yield TURNED[way] if is_of_truck else way


def _end(clause: Tokens, at: int) -> str:
    """Return which end a word names: whoever talks is at the truck."""
    if clause[at : at + 1] in talk("at_truck") or clause[at : at + 2] in talk("at_truck"):
        return "truck"
    if _names(clause[at], "part.truck"):
        return "truck"
    is_vehicle = (clause[at],) in talk("at_vehicle") or _names(clause[at], "part.vehicle")
    return "vehicle" if is_vehicle else ""


def _is_seen_from(clause: Tokens, at: int) -> bool:
    """Say whether an end is only where it is seen from: "from my truck"."""
    before = [one for one in clause[:at] if (one,) not in talk("owns")]
    return bool(before) and (before[-1],) in talk("seen_from")


def _follows(clause: Tokens, at: int, ends: dict[int, str]) -> str:
    """Return the end that comes next after a word: "above it", "downhill from my truck"."""
    small = talk("seen_from") | talk("owns")
    next_at = next((n for n in range(at + 1, len(clause)) if (clause[n],) not in small), -1)
    return ends.get(next_at, "")


def _names(token: str, part: str) -> bool:
    found = segments((token,), frozenset())[0]
    return bool(found and found[0].bits & bits()[part])


_DOUBTS = ("denies", "asks", "said_by", "once", "to_come")


def _in_doubt(said: Tokens) -> bool:
    """Say whether it is denied, asked about, past, to come, or somebody else's word."""
    small = sum(bits()[f"small.{one}"] for one in _DOUBTS)
    found = (at for clause in clauses(said) for at in segments(clause, frozenset()))
    return any(at and at[0].bits & small for at in found)
