"""Phrases in what was said, and what each one means where it stands.

A phrase under a negation is never taken as its positive, an intention ("about to hook it") never
as an act.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from flows.hearing.answers import Answer
from flows.hearing.lexicon import Lexicon, gapped, talk
from flows.job.intents import Did, DidAll, Intent, Settled, Undid, Word, each

MARKS = frozenset({".", ",", "#", "%", "$", "~", "+", "-", "'", '"'})
GAP = 7
"""How many words may stand between who it is and where they are: "a kid just ran behind it"."""
# With "no" before them they begin anew: "no it rolls", "no he is under it", never "no strap".
_PRONOUNS = frozenset(
    {"it", "it's", "its", "he", "she", "they", "somebody", "someone", "i", "i'm"}
)
Tokens = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Match:
    """A phrase that was found: where it stands, what it means, and whether only for now.

    `plain` is what it means at any time, where what it means now is something else.
    """

    start: int
    stop: int
    intent: Intent
    is_local: bool
    plain: Intent | None = None


def scan(left: list[str], answer: Answer, lexicon: Lexicon | None) -> Iterator[Match]:
    """Yield what is meant, phrase by phrase, the longest at each place."""
    place = 0
    while place < len(left):
        match = match_at(left, place, answer, lexicon)
        if match is None:
            place += 1
            continue
        place = match.stop
        plain = None if match.plain is None else _meant(replace(match, intent=match.plain), left)
        for meant in each(_meant(match, left)):
            yield replace(match, intent=meant, plain=plain)


def match_at(left: list[str], place: int, answer: Answer, lexicon: Lexicon | None) -> Match | None:
    """Return the longest phrase at a place; the open question's own beats an equal one."""
    best: Match | None = None
    for phrase, intent in answer.by_phrase.items():
        if tuple(left[place : place + len(phrase)]) == phrase and (
            best is None or place + len(phrase) > best.stop
        ):
            best = Match(place, place + len(phrase), intent, is_local=True)
    for phrase, intent in lexicon.anytime.get(left[place], ()) if lexicon is not None else ():
        if tuple(left[place : place + len(phrase)]) == phrase:
            if best is None or place + len(phrase) > best.stop:
                best = Match(place, place + len(phrase), intent, is_local=False)
            else:
                best = replace(best, plain=intent)
            break
    return best or _across(left, place)


def _across(left: list[str], place: int) -> Match | None:
    """Return who is where, with words between: "somebody just walked under the line"."""
    for name, (who, where, but) in gapped().items():
        if left[place] not in who:
            continue
        for start in range(place + 1, min(place + 2 + GAP, len(left))):
            for phrase in where.get(left[start], ()):
                stop = start + len(phrase)
                if tuple(left[start:stop]) == phrase and not other_stop(tuple(left), stop):
                    return Match(place, stop, Word(name), is_local=False)
            if left[start] in MARKS or (left[start],) in talk("negators") | talk("intents") | but:
                break
    return None


def other_stop(said: Tokens, place: int) -> bool:
    """Say whether "stop" at a place is a bus stop, a truck stop, a stop sign."""
    around = {said[max(place - 1, 0) : place + 1], said[place : place + 2]}
    return bool(around & talk("stop_but"))


def _meant(match: Match, left: list[str]) -> Intent | None:
    """Return what a phrase means where it stands: negated, only intended, or plainly."""
    clause = clause_of(tuple(left[: match.start]))
    if isinstance(match.intent, Did | DidAll | Settled) and _another_time(match, left):
        return None
    if isinstance(match.intent, Undid | Word) and _exclaims(clause, left[match.start]):
        clause = clause[1:]
    says_no = any((token,) in talk("negators") for token in left[match.start : match.stop])
    if clause[:1] == ("no",) and says_no:
        # "No, it's not plugged in" says no once.
        clause = clause[1:]
    if negated(clause, len(clause)):
        return Undid(match.intent.act) if isinstance(match.intent, Did) else None
    if isinstance(match.intent, Did | DidAll | Settled | Word) and _intended(clause):
        return None
    return match.intent


def negated(said: Tokens, place: int) -> bool:
    """Say whether a negation stands before a place in the same clause."""
    return any((token,) in talk("negators") for token in clause_of(said[:place]))


def clause_of(before: Tokens) -> Tokens:
    """Return the words since the last mark."""
    marks = [place for place, token in enumerate(before) if token in MARKS]
    return before[marks[-1] + 1 :] if marks else before


def _another_time(match: Match, left: list[str]) -> bool:
    """Say whether its clause puts an act at some other time, or in doubt: "neutral yesterday"."""
    before, after = clause_of(tuple(left[: match.start])), tuple(left[match.stop :])
    stop = next((place for place, token in enumerate(after) if token in MARKS), len(after))
    clause = (*before, ".", *after[:stop])
    return any(
        clause[place : place + len(phrase)] == phrase
        for phrase in talk("another_time")
        for place in range(len(clause))
    )


def _exclaims(clause: Tokens, first: str) -> bool:
    """Say whether "no" begins a correction: "no the line broke", not "no strap came off"."""
    return clause[:1] == ("no",) and (len(clause) > 1 or first in _PRONOUNS)


def _intended(clause: Tokens) -> bool:
    return any((token,) in talk("intents") for token in clause)
