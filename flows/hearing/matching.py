"""Phrases among the words that were said, and the meaning of each in its clause.

A phrase under a negation is never taken as its positive, an intention ("about to hook it") never
as an act.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from flows.hearing.answers import Answer
from flows.hearing.lexicon import Lexicon, gapped, talk
from flows.job.intents import Did, DidAll, Intent, Nothing, Settled, Undid, Word, each

MARKS = frozenset({".", ",", "#", "%", "$", "~", "+", "-", "'", '"'})
GAP = 7
"""How many words may come between who and where: "a kid just ran behind it"."""
# After a "no" they start a correction: "no it rolls", "no he is under it", never "no strap".
_PRONOUNS = frozenset(
    {"it", "it's", "its", "he", "she", "they", "somebody", "someone", "i", "i'm"}
)
Tokens = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Match:
    """A phrase that was found: its position, its meaning, and whether that is only for now.

    `plain` is its meaning at any time, where that is not its meaning now.
    """

    start: int
    stop: int
    intent: Intent
    is_local: bool
    plain: Intent | None = None


def scan(left: list[str], answer: Answer, lexicon: Lexicon | None) -> Iterator[Match]:
    """Yield the meanings, phrase by phrase, the longest at each index."""
    index = 0
    while index < len(left):
        match = match_at(left, index, answer, lexicon)
        if match is None:
            index += 1
            continue
        index = match.stop
        plain = None if match.plain is None else _meant(replace(match, intent=match.plain), left)
        for meant in each(_meant(match, left)):
            yield replace(match, intent=meant, plain=plain)


def match_at(left: list[str], index: int, answer: Answer, lexicon: Lexicon | None) -> Match | None:
    """Return the longest phrase at an index; of equal length, the open question's own.

    An act with its negation in the middle is that act denied: "hook is not on".
    """
    plain = _plain_at(left, index, answer, lexicon)
    denied = _denied_at(left, index, lexicon)
    return denied if denied and (plain is None or denied.stop > plain.stop) else plain


def _denied_at(left: list[str], index: int, lexicon: Lexicon | None) -> Match | None:
    """Return an act at an index whose phrase holds a negation: of "isn't on" the "is" is kept."""
    at = next((n for n in range(index + 1, len(left)) if (left[n],) in talk("denials")), None)
    if at is None or lexicon is None or not MARKS.isdisjoint(left[index:at]):
        return None
    return next(filter(None, (_without(left, index, at, kept, lexicon) for kept in _KEPT)), None)


_KEPT: tuple[list[str], ...] = ([], ["is"], ["are"])
"""What stays of a negation in the middle: "not" leaves nothing, "isn't" leaves "is"."""


def _without(
    left: list[str], index: int, at: int, kept: list[str], lexicon: Lexicon
) -> Match | None:
    """Return the act at an index, denied, that the words are without their negation."""
    found = _anytime_at([*left[:at], *kept, *left[at + 1 :]], index, lexicon)
    if found is None or not isinstance(found.intent, Did) or found.stop <= at:
        return None
    return replace(found, stop=found.stop + 1 - len(kept), intent=Undid(found.intent.act))


def _plain_at(
    left: list[str], index: int, answer: Answer, lexicon: Lexicon | None
) -> Match | None:
    local = _local_at(left, index, answer)
    anytime = None if lexicon is None else _anytime_at(left, index, lexicon)
    if local is None:
        return anytime or _across(left, index)
    if anytime is None:
        return local
    if anytime.stop > local.stop:
        return anytime
    # What is no answer here has no other meaning either: "chocked" of the truck's own chocks.
    return local if isinstance(local.intent, Nothing) else replace(local, plain=anytime.intent)


def _local_at(left: list[str], index: int, answer: Answer) -> Match | None:
    best: Match | None = None
    for phrase, intent in answer.by_phrase.items():
        stop = index + len(phrase)
        if tuple(left[index:stop]) == phrase and (best is None or stop > best.stop):
            best = Match(index, stop, intent, is_local=True)
    return best


def _anytime_at(left: list[str], index: int, lexicon: Lexicon) -> Match | None:
    for phrase, intent in lexicon.anytime.get(left[index], ()):
        stop = index + len(phrase)
        if tuple(left[index:stop]) == phrase:
            return Match(index, stop, intent, is_local=False)
    return None


def _across(left: list[str], index: int) -> Match | None:
    """Return who is where, with words between: "somebody just walked under the line"."""
    for name, who, where, but in gapped().values():
        stop = _where_after(left, index, where, but) if left[index] in who else 0
        if stop:
            return Match(index, stop, Word(name), is_local=False)
    return None


def _where_after(
    left: list[str], index: int, where: dict[str, tuple[Tokens, ...]], but: frozenset[Tokens]
) -> int:
    """Return the end of the first phrase for a place after an index, 0 for none in reach."""
    breaks = talk("negators") | talk("intents") | but
    for start in range(index + 1, min(index + 2 + GAP, len(left))):
        for phrase in where.get(left[start], ()):
            stop = start + len(phrase)
            if tuple(left[start:stop]) == phrase and not other_stop(tuple(left), stop):
                return stop
        if left[start] in MARKS or (left[start],) in breaks:
            break
    return 0


def other_stop(said: Tokens, index: int) -> bool:
    """Say whether "stop" at an index is a bus stop, a truck stop, a stop sign."""
    return any(
        said[start : start + len(phrase)] == phrase
        for phrase in talk("stop_but")
        for start in range(max(index - len(phrase) + 1, 0), index + 1)
    )


def _meant(match: Match, left: list[str]) -> Intent | None:
    """Return the meaning of a phrase in its clause: negated, only intended, or plain."""
    is_done = isinstance(match.intent, Did | DidAll | Settled)
    if is_done and _another_time(match, left):
        return None
    clause = _clause_before(match, left)
    if negated(clause, len(clause)):
        return Undid(match.intent.act) if isinstance(match.intent, Did) else None
    if (is_done or isinstance(match.intent, Word)) and _intended(clause):
        return None
    return match.intent


def _clause_before(match: Match, left: list[str]) -> Tokens:
    """Return the words before a phrase in its clause, without a "no" that does not negate it."""
    clause = clause_of(tuple(left[: match.start]))
    if isinstance(match.intent, Undid | Word) and _exclaims(clause, left[match.start]):
        clause = clause[1:]
    # "No, it's not plugged in" says no once.
    says_no = any((token,) in talk("negators") for token in left[match.start : match.stop])
    return clause[1:] if clause[:1] == ("no",) and says_no else clause


def negated(said: Tokens, index: int) -> bool:
    """Say whether a negation comes before an index in the same clause."""
    return any((token,) in talk("negators") for token in clause_of(said[:index]))


def clause_of(before: Tokens) -> Tokens:
    """Return the words since the last mark."""
    marks = [index for index, token in enumerate(before) if token in MARKS]
    return before[marks[-1] + 1 :] if marks else before


def _another_time(match: Match, left: list[str]) -> bool:
    """Say whether its clause puts an act at some other time, or in doubt: "neutral yesterday"."""
    before, after = clause_of(tuple(left[: match.start])), tuple(left[match.stop :])
    stop = next((index for index, token in enumerate(after) if token in MARKS), len(after))
    clause = (*before, ".", *after[:stop])
    return any(
        clause[index : index + len(phrase)] == phrase
        for phrase in talk("another_time")
        for index in range(len(clause))
    )


def _exclaims(clause: Tokens, first: str) -> bool:
    """Say whether "no" begins a correction: "no the line broke", not "no strap came off"."""
    return clause[:1] == ("no",) and (len(clause) > 1 or first in _PRONOUNS)


def _intended(clause: Tokens) -> bool:
    return any((token,) in talk("intents") for token in clause)
