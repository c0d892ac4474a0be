"""From what was said to what is meant: danger first, then the open question, then anything else.

Pure and cached: the same words to the same question always mean the same. A phrase under a
negation is never taken as its positive, an intention ("about to hook it") never as an act.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from flows.answers import NOTHING, Answer
from flows.intents import (
    Chosen,
    Danger,
    Did,
    DidAll,
    Give,
    Intent,
    Note,
    Nothing,
    Settled,
    Undid,
    Weighs,
    When,
    Word,
    each,
)
from flows.lexicon import Lexicon, danger_phrases, talk, universal
from flows.measures import find_clock, find_mass, find_minutes, tokens
from flows.measures.say import write_mass
from flows.placing import says_something

# What is said around the name of the service that released it.
_RELEASED = re.compile(
    r"\b(?:(?:it was|was|has|have)\s+)?released(?:\s+it)?(?:\s+by)?\b|\bat\s+\d.*$", re.IGNORECASE
)
MARKS = frozenset({".", ",", "#", "%", "$", "~", "+", "-", "'", '"'})
LONGEST = 2000
# Said with words of their own after them: "skip, no devices aboard".
WITH_REST = ("skip", "override", "settle", "cannot", "new_job", "job")
# Of these the bare word is understood too, and asked for its reason.
ALONE = frozenset({"override", "settle"})
# Of these the time counts, whatever is open when they are said.
TIMED = frozenset({Did("neutral_selected"), Did("danger_released")})
Tokens = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Match:
    start: int
    stop: int
    intent: Intent
    is_local: bool


@lru_cache(maxsize=8192)
def understand(text: str, answer: Answer, lexicon: Lexicon | None) -> tuple[Intent, ...]:
    """Return what a text means while a question is open, most urgent first.

    Examples
    --------
    >>> from flows.answers import NOTHING
    >>> understand("Smoke from the back!", NOTHING, None)
    (Danger(sign='smoke'),)
    >>> understand("no smoke", NOTHING, None)
    (Nothing(why='negated'),)
    """
    said = tokens(text)
    sign = _danger(said)
    if answer.fact == "released_by" and sign == "fire" and _names_somebody(said):
        # Danger stands already, so a "county fire" loses nothing; it is read back all the same.
        sign = ""
    if sign == "stop":
        return (Word("stop"),)
    if sign:
        return (Danger(sign),)
    if len(text) > LONGEST:
        return (Nothing("too_long"),)
    words = tuple(token for token in said if token not in MARKS)
    if not words:
        return (Nothing("empty"),)
    found = _read(said, words, text, answer, lexicon)
    return _stated(found) if _is_question(text) else found


def _read(
    said: Tokens, words: Tokens, text: str, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    if answer.takes_name:
        return _name(said, words, text, answer, lexicon)
    whole = _whole(said, words, text, answer, lexicon)
    return whole or _parts(said, words, answer, lexicon)


def _is_question(text: str) -> bool:
    return text.rstrip(" \n!.'\"").endswith("?")


def _stated(found: tuple[Intent, ...]) -> tuple[Intent, ...]:
    """Return what still counts with a question mark after it: "neutral?" says nothing was done."""
    kept = tuple(one for one in found if not isinstance(one, Did | Settled | Chosen))
    return kept or (Nothing("unclear"),)


def _name(
    said: Tokens, words: Tokens, text: str, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    """Read a name: what means something else is that, what names nobody is not understood."""
    name = _RELEASED.sub(" ", text).strip(" .,")
    if (
        answer.fact == "released_by"
        and name != text.strip(" .,")
        and _names_somebody(tokens(name))
    ):
        return (Note(name),)
    meant = _whole(said, words, text, replace(answer, takes_note=False, choices=()), lexicon)
    meant = meant or _parts(said, words, answer, lexicon)
    if not isinstance(meant[0], Nothing):
        return meant
    return (Note(text.strip()),) if _names_somebody(words) else (Nothing("unclear"),)


def _names_somebody(words: Tokens) -> bool:
    """Say whether any word is left beside those that name nobody: "I did", "they released it"."""
    empty = talk("fillers") | talk("no_names")
    return any(token.isalpha() and (token,) not in empty for token in words)


def _danger(said: Tokens) -> str:
    """Return the first sign that is named and not negated, or "stop"."""
    table = danger_phrases()
    place = 0
    while place < len(said):
        for phrase, sign in table.get(said[place], ()):
            if said[place : place + len(phrase)] == phrase:
                if sign and not _negated(said, place):
                    return sign
                place += len(phrase) - 1
                break
        else:
            if (
                said[place] == "stop"
                and not _negated(said, place)
                and not _other_stop(said, place)
            ):
                return "stop"
        place += 1
    return ""


def _other_stop(said: Tokens, place: int) -> bool:
    around = {said[max(place - 1, 0) : place + 1], said[place : place + 2]}
    return bool(around & talk("stop_but"))


def _negated(said: Tokens, place: int) -> bool:
    """Say whether a negation stands before a place in the same clause."""
    return any((token,) in talk("negators") for token in _clause(said[:place]))


def _clause(before: Tokens) -> Tokens:
    """Return the words since the last mark."""
    marks = [place for place, token in enumerate(before) if token in MARKS]
    return before[marks[-1] + 1 :] if marks else before


def _whole(
    said: Tokens, words: Tokens, text: str, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    """Read a text that is an answer, a word for any time or a free note as a whole."""
    local = answer.by_phrase.get(words)
    if local is not None:
        return (local,)
    if len(words) == 1 and words[0].isdecimal() and 1 <= int(words[0]) <= len(answer.choices):
        return choice(answer, int(words[0]) - 1)
    polite = words[:-1] if words[-1] == "please" else words
    name = universal().get(words) or universal().get(polite)
    if name is not None:
        return (Word(name),)
    meant = _with_rest(words, text) or _fits(words, answer)
    if meant is not None:
        return (meant,)
    if not answer.takes_note:
        return ()
    note = Note(text.strip()) if says_something(text) else Nothing("unclear")
    return tuple(_no_note(said, answer, lexicon)) or (note,)


def _fits(words: Tokens, answer: Answer) -> Intent | None:
    """Return the one choice of a fact that has these words in its label: "midsize"."""
    said = tuple(word for word in words if (word,) not in talk("fillers"))
    # Of free words the one choice beside them is said whole: "nobody" is no fact.
    if not said or not answer.fact or answer.takes_note or _has_negator(list(words)):
        return None
    labels = [(value, tokens(label)) for value, label in answer.choices]
    fitting = [value for value, label in labels if _within(said, label)]
    return Give(answer.fact, fitting[0]) if len(fitting) == 1 else None


def _within(said: Tokens, label: Tokens) -> bool:
    """Say whether a label has these words in a row, and says them of nothing negated."""
    starts = range(len(label) - len(said) + 1)
    found = any(label[at : at + len(said)] == said for at in starts)
    return found and not _has_negator(list(label))


def _no_note(said: Tokens, answer: Answer, lexicon: Lexicon | None) -> Iterator[Intent]:
    """Yield what is never a place or a name: it got loose, a strap or the hook came off."""
    left = list(said)
    for match in _scan(left, NOTHING, lexicon):
        plain = _match_at(left, match.start, NOTHING, lexicon)
        is_back = plain is not None and isinstance(plain.intent, Undid) and not answer.fact
        if is_back or isinstance(match.intent, Word):
            yield match.intent


def choice(answer: Answer, place: int) -> tuple[Intent, ...]:
    """Return what choosing one of the shown choices means."""
    value, label = answer.choices[place]
    if answer.kind in {"state", "done", "photo"}:
        return (answer.by_phrase[tokens(label)],)
    if answer.kind == "note":
        return (Word(value),)
    if answer.kind == "time":
        return (When(0),)
    for intent in answer.by_phrase.values():
        if intent in {Give(answer.fact, value), Chosen(value)}:
            return (intent,)
    return ()


def _with_rest(words: Tokens, text: str) -> Word | None:
    for name in WITH_REST:
        head = tuple(name.split("_"))
        if words == head and name in ALONE:
            return Word(name)
        if words[: len(head)] == head and len(words) > len(head):
            rest = text.strip().split(None, len(head))
            return Word(name, rest[-1] if len(rest) > len(head) else "")
    return None


def _parts(
    said: Tokens, words: Tokens, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    """Read a text that holds several things, or one thing among other words."""
    if (words[0],) in talk("asks"):
        return (Nothing("unclear"),)
    left = list(said)
    when = _take_time(left, answer, timed=_names_timed(left, answer, lexicon))
    matches = list(_scan(left, answer, lexicon))
    for match in matches:
        left[match.start : match.stop] = ["."] * (match.stop - match.start)
    is_act = any(isinstance(match.intent, Did | Undid) for match in matches)
    weighs = _take_mass(left, bare=answer.takes_mass and not is_act)
    rest = [token for token in left if token not in MARKS and (token,) not in talk("fillers")]
    if weighs is not None or len(matches) > 1:
        # "No, it weighs 6,400 pounds" answers no yes-or-no question.
        matches = [match for match in matches if not _is_yes_or_no(match.intent)]
    found = list(_kept(matches, bare=not rest and not _has_negator(left)))
    if _contradicts(found):
        return (Nothing("unclear"),)
    if when is not None:
        found.append(when)
    if weighs is not None:
        found.append(weighs)
    return tuple(found) or (Nothing("negated" if _has_negator(left) else "unclear"),)


def _is_yes_or_no(intent: Intent) -> bool:
    value = intent.value if isinstance(intent, Give) else getattr(intent, "option", "")
    return value in {"yes", "no"}


def _has_negator(left: list[str]) -> bool:
    return any((token,) in talk("negators") for token in left)


def _kept(matches: list[_Match], *, bare: bool) -> Iterator[Intent]:
    """Yield what counts: short answers of the open question only if nothing else was said."""
    for match in matches:
        if not match.is_local or bare:
            yield match.intent


def _contradicts(found: list[Intent]) -> bool:
    """Say whether one fact got two values, or an act was both done and not done."""
    given: dict[str, str] = {}
    acts: dict[str, type] = {}
    for intent in found:
        if (
            isinstance(intent, Give)
            and given.setdefault(intent.fact, intent.value) != intent.value
        ):
            return True
        if isinstance(intent, Did | Undid) and (
            acts.setdefault(intent.act, type(intent)) is not type(intent)
        ):
            return True
    return len({i for i in found if isinstance(i, Chosen | Settled)}) > 1


def _scan(left: list[str], answer: Answer, lexicon: Lexicon | None) -> Iterator[_Match]:
    place = 0
    while place < len(left):
        match = _match_at(left, place, answer, lexicon)
        if match is None:
            place += 1
            continue
        place = match.stop
        meant = _meant(match, left)
        for one in each(meant):
            yield _Match(match.start, match.stop, one, match.is_local)


def _match_at(
    left: list[str], place: int, answer: Answer, lexicon: Lexicon | None
) -> _Match | None:
    """Return the longest phrase at a place; the open question's own beats an equal one."""
    best: _Match | None = None
    for phrase, intent in answer.by_phrase.items():
        if tuple(left[place : place + len(phrase)]) == phrase and (
            best is None or place + len(phrase) > best.stop
        ):
            best = _Match(place, place + len(phrase), intent, is_local=True)
    for phrase, intent in lexicon.anytime.get(left[place], ()) if lexicon is not None else ():
        if tuple(left[place : place + len(phrase)]) == phrase:
            if best is None or place + len(phrase) > best.stop:
                best = _Match(place, place + len(phrase), intent, is_local=False)
            break
    return best


def _meant(match: _Match, left: list[str]) -> Intent | None:
    """Return what a phrase means where it stands: negated, only intended, or plainly."""
    clause = _clause(tuple(left[: match.start]))
    if isinstance(match.intent, Did | DidAll | Settled) and _another_time(match, left):
        return None
    if isinstance(match.intent, Undid | Word) and _exclaims(clause, left[match.start]):
        clause = clause[1:]
    if _negated(clause, len(clause)):
        return Undid(match.intent.act) if isinstance(match.intent, Did) else None
    if isinstance(match.intent, Did | DidAll | Settled | Word) and _intended(clause):
        return None
    return match.intent


def _another_time(match: _Match, left: list[str]) -> bool:
    """Say whether its clause puts an act at some other time, or in doubt: "neutral yesterday"."""
    before, after = _clause(tuple(left[: match.start])), tuple(left[match.stop :])
    stop = next((place for place, token in enumerate(after) if token in MARKS), len(after))
    clause = (*before, ".", *after[:stop])
    return any(
        clause[place : place + len(phrase)] == phrase
        for phrase in talk("another_time")
        for place in range(len(clause))
    )


def _exclaims(clause: Tokens, first: str) -> bool:
    """Say whether "no" begins a correction: "no the line broke", not "no strap came off"."""
    return clause[:1] == ("no",) and (len(clause) > 1 or first in {"it", "it's", "its"})


def _intended(clause: Tokens) -> bool:
    return any((token,) in talk("intents") for token in clause)


def _names_timed(left: list[str], answer: Answer, lexicon: Lexicon | None) -> bool:
    """Say whether a time is expected, or comes with an act whose time always counts."""
    return answer.takes_time or any(
        match.intent in TIMED for match in _scan(left, NOTHING, lexicon)
    )


def _take_time(left: list[str], answer: Answer, *, timed: bool) -> When | None:
    """Take a time out of the words: minutes ago, now, or a clock time; one ahead is negative."""
    span = find_minutes(tuple(left))
    if span is not None and len(span.readings) == 1 and not _negated(tuple(left), span.start):
        reading = span.readings[0]
        if reading.low < 0 or timed or "ago" in left:
            left[span.start : span.stop] = ["."] * (span.stop - span.start)
            return When(reading.low if reading.low < 0 else reading.high)
    if (clock := find_clock(tuple(left)) if timed else None) is None:
        return None
    left[clock.start : clock.stop] = ["."] * (clock.stop - clock.start)
    return When(None, clock.readings)


def _take_mass(left: list[str], *, bare: bool) -> Weighs | None:
    """Take a weight out of the words; without its unit only where it is no time of day."""
    bare = bare and find_clock(tuple(left)) is None
    found = find_mass(tuple(left), bare=bare)
    if found is None or _negated(tuple(left), found.start):
        return None
    left[found.start : found.stop] = ["."] * (found.stop - found.start)
    scaled = any((token,) in talk("scaled") for token in left)
    return Weighs(found.readings, write_mass(found.amount, found.unit_said), scaled)
