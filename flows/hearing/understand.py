"""From words to their meaning: danger first, then the open question, then anything else.

Pure and cached: the same words to the same question always mean the same.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from flows.hearing.accounted import (
    left_over,
    must_account,
    stray_beside_time,
    timed_words,
    uncovered,
)
from flows.hearing.alarms import danger_in, with_alarm, with_endings
from flows.hearing.amounts import has_any, take_mass, take_time
from flows.hearing.answers import NOTHING, Answer
from flows.hearing.clauses import clauses, spelled_out
from flows.hearing.framed import (
    asked,
    asks,
    framed,
    in_doubt,
    is_taken_over,
    is_unsure,
    unsettled,
)
from flows.hearing.lexicon import ANYWHERE, Lexicon, talk, universal
from flows.hearing.matching import (
    MARKS,
    Match,
    Tokens,
    clause_of,
    match_at,
    scan,
)
from flows.hearing.names import another_name, names_somebody
from flows.hearing.placing import says_something
from flows.job.intents import (
    Chosen,
    Danger,
    Did,
    DidAll,
    Give,
    Intent,
    Measured,
    Note,
    Nothing,
    Settled,
    Undid,
    Unsettled,
    Weighs,
    When,
    Word,
    each,
)
from flows.measures import tokens
from flows.measures.words import NUMBER

# The words around the name of the service that released it.
_RELEASED = re.compile(
    r"\b(?:(?:it was|was|has|have)\s+)?released(?:\s+it)?(?:\s+by)?\b|\bat\s+\d.*$", re.IGNORECASE
)
# "Red's on" is "red is on", and either is "red on", if it means nothing as it is.
_SHORT = re.compile("(?<=\\w)['\u2019]s\\b")
_IS = re.compile("(?<=\\w)(?:['\u2019]s|\\s+is|\\s+are)\\b")
# "Can't, too dark": after a mark comes the reason.
_CANNOT = re.compile("(?:i )?can(?:['\u2019]?t| not)\\s*[,.;:]\\s*(?=\\w)", re.IGNORECASE)
LONGEST = 2000
# Said with words of their own after them: "skip, no devices aboard".
WITH_REST = ("skip", "override", "settle", "cannot", "new_job", "job")
# Of these the bare word is understood too, and asked for its reason.
ALONE = frozenset({"override", "settle"})
ROLLS = frozenset({"loose", "truck_loose"})
# Of these the time counts, whatever is open when they are said.
TIMED = frozenset({Did("neutral_selected"), Did("danger_released")})


@lru_cache(maxsize=8192)
def understand(text: str, answer: Answer, lexicon: Lexicon | None) -> tuple[Intent, ...]:
    """Return the meaning of a text while a question is open, most urgent first.

    Examples
    --------
    >>> from flows.hearing.answers import NOTHING
    >>> understand("Smoke from the back!", NOTHING, None)
    (Danger(sign='smoke'),)
    >>> understand("no smoke", NOTHING, None)
    (Nothing(why='negated'),)
    """
    said = with_endings(tokens(text))
    sign = danger_in(said)
    if sign and not _is_fire_service(sign, said, answer):
        return (Word("stop"),) if sign == "stop" else (Danger(sign),)
    if len(text) > LONGEST:
        return (Nothing("too_long"),)
    words = _without_marks(said)
    if not words:
        return (Nothing("empty"),)
    found = _understood(said, words, text, answer, lexicon)
    asked_of_us = _is_question(text)
    found = _stated(found) if asked_of_us else found
    if _is_usual(words, answer):
        return found
    return with_alarm(found, said, answer, lexicon, is_question=asked_of_us)


def _understood(
    said: Tokens, words: Tokens, text: str, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    """Return what a text says by phrases; where they say nothing, by parts and states."""
    found = _read(said, words, text, answer, lexicon)
    if _is_unread(found):
        found = _otherwise(text, words, answer, lexicon) or found
    if lexicon is None or _is_usual(words, answer):
        return found
    if _is_unread(found):
        return framed(said, answer) or found
    if found == (Nothing("negated"),):
        # Denied of its part it is taken back: "the hook's not on".
        return tuple(one for one in framed(said, answer) if isinstance(one, Undid)) or found
    return _doubted(found, said, answer, lexicon)


def _is_usual(words: Tokens, answer: Answer) -> bool:
    """Say whether words are, all of them, a phrase of the answer or one for any time."""
    return words in answer.by_phrase or words in universal()


def _doubted(
    found: tuple[Intent, ...], said: Tokens, answer: Answer, lexicon: Lexicon
) -> tuple[Intent, ...]:
    """Return what was understood; an act beside words that may be about it is unsettled."""
    counts = [one for one in found if _is_answer(one, answer)]
    numbers = any(isinstance(one, When | Weighs | Measured) for one in found)
    left = _not_read(said, answer, lexicon, numbers=numbers)
    over = is_taken_over(map(spelled_out, clauses(said)), answer)
    if not counts or not (_is_hedged(counts, said, answer) or over or in_doubt(left, answer)):
        return found
    return tuple(dict.fromkeys(unsettled(one) if one in counts else one for one in found))


def _is_hedged(counts: list[Intent], said: Tokens, answer: Answer) -> bool:
    """Say whether an act is told as unsure.

    A time may be said as it is known: "neutral maybe five minutes ago".
    """
    return not answer.takes_time and any(map(_is_act, counts)) and is_unsure(said)


def _not_read(
    said: Tokens, answer: Answer, lexicon: Lexicon, *, numbers: bool
) -> Iterator[Tokens]:
    """Yield the clauses in which no phrase was found, nor a number where one was understood."""
    parts = list(clauses(said))
    for clause in parts if len(parts) > 1 else ():
        has_number = numbers and _has_number(clause, answer)
        if not (has_number or _has_phrase(clause, answer, lexicon)):
            yield clause


def _has_number(clause: Tokens, answer: Answer) -> bool:
    """Say whether a clause holds a time, a number, or a word that goes with one."""
    of_time = (one.isdecimal() or one in NUMBER or (one,) in timed_words() for one in clause)
    return any(of_time) or take_time(list(clause), answer, timed=True) is not None


def _has_phrase(clause: Tokens, answer: Answer, lexicon: Lexicon) -> bool:
    matches = scan(list(clause), answer, lexicon)
    return any(not isinstance(match.intent, Nothing) for match in matches)


def _is_answer(intent: Intent, answer: Answer) -> bool:
    """Say whether an intent tells that something was done, or answers what was asked."""
    is_fact = isinstance(intent, Give) and intent.fact == answer.fact and not _alarms(intent)
    return is_fact or _is_act(intent)


def _is_act(intent: Intent) -> bool:
    return isinstance(intent, Did | DidAll | Settled)


def _alarms(intent: Give) -> bool:
    return intent == Give("danger", "seen")


def _is_fire_service(sign: str, said: Tokens, answer: Answer) -> bool:
    """Say whether "county fire" names who released it: danger is open already, so none is lost."""
    return answer.fact == "released_by" and sign == "fire" and names_somebody(" ".join(said))


def _without_marks(said: Tokens) -> Tokens:
    return tuple(token for token in said if token not in MARKS)


def _otherwise(
    text: str, words: Tokens, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    """Read a text with its "is" spelled out, then without it; "so is it hooked" never."""
    if has_any("inverted", list(words)):
        return ()
    for again in (_SHORT.sub(" is", text), _IS.sub("", text)):
        said = with_endings(tokens(again))
        words = _without_marks(said)
        found = _read(said, words, again, answer, lexicon) if again != text and words else ()
        if found and not _is_unread(found):
            return found
    return ()


def _is_unread(found: tuple[Intent, ...]) -> bool:
    """Say whether nothing was taken: not understood, or an act among words that were not."""
    return found == (Nothing("unclear"),) or all(isinstance(one, Unsettled) for one in found)


def _read(
    said: Tokens, words: Tokens, text: str, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    if answer.takes_name:
        read = _renamed if answer.kind == "yes_no" else _name
        return read(said, words, text, answer, lexicon)
    return (
        _exactly(words, text, answer)
        or _as_asked(said, answer, lexicon)
        or _loosely(said, words, text, answer, lexicon)
        or _parts(said, words, answer, lexicon)
    )


def _as_asked(said: Tokens, answer: Answer, lexicon: Lexicon | None) -> tuple[Intent, ...]:
    """Return what was asked for, said in whatever words, and its time where that counts."""
    if lexicon is None:
        return ()
    if any(isinstance(match.intent, Undid | Word) for match in scan(list(said), NOTHING, lexicon)):
        # "Strapped through the wheel", "hooked, but the line came off": that is what counts.
        return ()
    left, when = _without_time(said, answer)
    found = asked(left, answer)
    return (*found, when) if found and when is not None else found


def _without_time(said: Tokens, answer: Answer) -> tuple[Tokens, When | None]:
    """Return a text without the words of its time, and that time, where one counts."""
    left = list(said)
    when = take_time(left, answer, timed=True) if answer.takes_time else None
    if when is not None:
        kept = [one for one, was in zip(left, said, strict=True) if one == was]
        left = uncovered(kept, timed_words())
    return tuple(left), when


def _is_question(text: str) -> bool:
    return text.rstrip(" \n!.'\"").endswith("?")


def _stated(found: tuple[Intent, ...]) -> tuple[Intent, ...]:
    """Return the intents that a question mark leaves: "neutral?" says nothing was done.

    That it rolls counts all the same: whoever asks that needs to get clear first.
    """
    asked = {Word(name) for name in ANYWHERE if name not in ROLLS}
    kept = tuple(
        one for one in found if not isinstance(one, Did | Settled | Chosen) and one not in asked
    )
    return kept or (Nothing("unclear"),)


def _name(
    said: Tokens, words: Tokens, text: str, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    """Read a name, unless the words have another known meaning, or name nobody."""
    name = _RELEASED.sub(" ", text).strip(" .,")
    if answer.fact == "released_by" and name != text.strip(" .,") and names_somebody(name):
        return (Note(name),)
    meant = _whole(said, words, text, replace(answer, takes_note=False, choices=()), lexicon)
    meant = meant or _parts(said, words, answer, lexicon)
    if not isinstance(meant[0], Nothing):
        return meant
    return (Note(text.strip()),) if names_somebody(" ".join(words)) else (Nothing("unclear"),)


def _renamed(
    said: Tokens, words: Tokens, text: str, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    """Read what is said of a name read back: yes, no, a word for any time, or another name."""
    meant = _read(said, words, text, replace(answer, takes_name=False), lexicon)
    if not isinstance(meant[0], Nothing):
        return meant
    name = another_name(text)
    return (Note(name),) if name else meant


def _whole(
    said: Tokens, words: Tokens, text: str, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    """Read a text that is an answer, a word for any time or a free note as a whole."""
    return _exactly(words, text, answer) or _loosely(said, words, text, answer, lexicon)


def _exactly(words: Tokens, text: str, answer: Answer) -> tuple[Intent, ...]:
    """Read a text that is a phrase of the answer, a choice's number or a word for any time."""
    local = answer.by_phrase.get(words)
    if local is not None:
        return (local,)
    number = _choice_number(words, answer)
    if number:
        return choice(answer, number - 1)
    meant = _universal(words) or _with_rest(words, text)
    return () if meant is None else (meant,)


def _loosely(
    said: Tokens, words: Tokens, text: str, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    """Read a text that is part of one choice's label, or a free note."""
    meant = _fits(words, answer)
    if meant is not None:
        return (meant,)
    return _as_note(said, text, answer, lexicon) if answer.takes_note else ()


def _choice_number(words: Tokens, answer: Answer) -> int:
    """Return the number of a choice that was said alone, from 1 on; 0 for none."""
    is_number = len(words) == 1 and words[0].isdecimal() and answer.kind != "time"
    number = int(words[0]) if is_number else 0
    return number if number <= len(answer.choices) else 0


def _universal(words: Tokens) -> Word | None:
    polite = words[:-1] if words[-1] == "please" else words
    name = universal().get(words) or universal().get(polite)
    return None if name is None else Word(name)


def _as_note(
    said: Tokens, text: str, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    note = Note(text.strip()) if says_something(text) else Nothing("unclear")
    return tuple(_no_note(said, answer, lexicon)) or (note,)


def _fits(words: Tokens, answer: Answer) -> Intent | None:
    """Return the only choice of a fact that has these words in its label: "midsize"."""
    # A choice offered next to free words has to be said whole: "nobody" is no fact.
    if not answer.fact or answer.takes_note or _has_negator(list(words)):
        return None
    said = tuple(word for word in words if (word,) not in talk("fillers"))
    fitting = _choices_with(said, answer) if said else []
    return Give(answer.fact, fitting[0]) if len(fitting) == 1 else None


def _choices_with(said: Tokens, answer: Answer) -> list[str]:
    return [value for value, label in answer.choices if _within(said, tokens(label))]


def _within(said: Tokens, label: Tokens) -> bool:
    """Say whether a label has these words in a row, and says them of nothing negated."""
    starts = range(len(label) - len(said) + 1)
    found = any(label[at : at + len(said)] == said for at in starts)
    return found and not _has_negator(list(label))


def _no_note(said: Tokens, answer: Answer, lexicon: Lexicon | None) -> Iterator[Intent]:
    """Yield intents that are never a place or a name: it got loose, a strap or hook came off."""
    if (said[0],) in talk("asks"):
        return
    left = list(said)
    for match in scan(left, NOTHING, lexicon):
        plain = match_at(left, match.start, NOTHING, lexicon)
        is_back = plain is not None and isinstance(plain.intent, Undid) and not answer.fact
        if is_back or isinstance(match.intent, Word):
            yield match.intent


@lru_cache(maxsize=4096)
def choice(answer: Answer, index: int) -> tuple[Intent, ...]:
    """Return the meaning of a choice among those shown."""
    value, label = answer.choices[index]
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
    if _CANNOT.match(text):
        text = _CANNOT.sub("cannot ", text)
        words = _without_marks(tokens(text))
    for name in WITH_REST:
        head = tuple(name.split("_"))
        is_alone = words == head
        if words[: len(head)] == head and (not is_alone or name in ALONE):
            rest = text.strip().split(None, len(head))
            return Word(name, rest[-1] if len(rest) > len(head) and not is_alone else "")
    return None


def _parts(
    said: Tokens, words: Tokens, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    """Read a text that holds several things, or one thing among other words."""
    if (words[0],) in talk("asks") or asks(words):
        return (Nothing("unclear"),)
    left = list(said)
    when = take_time(left, answer, timed=_names_timed(left, answer, lexicon))
    at = [index for index, token in enumerate(left) if token != said[index]]
    matches = list(scan(left, answer, lexicon))
    _blank(left, matches)
    weighs = _weighs(left, matches, answer)
    answering = _answering(matches, weighs)
    found = _counting(answering, said, left, answer, timed=when is not None)
    if _contradicts(found):
        return (Nothing("unclear"),)
    is_stray = bool(at) and bool(stray_beside_time(at, said, left))
    told = _with_numbers(found, when, weighs, is_stray=is_stray)
    return told or (_not_understood(left),)


def _with_numbers(
    found: list[Intent], when: When | None, weighs: Weighs | None, *, is_stray: bool
) -> tuple[Intent, ...]:
    """Return what was said with its time and weight; unsettled at a stray time or one to come.

    "Twnty eight minutes ago" is not eight, and what was done then was done some other time;
    "stopped in a second" is not stopped; neutral to come is refused with its time.
    """
    is_to_come = when is not None and when.is_to_come
    if is_stray or is_to_come:
        found = [one if is_to_come and one in TIMED else _unsettled(one) for one in found]
    numbers = (None if is_stray else when, weighs)
    return (*found, *(one for one in numbers if one is not None))


def _answering(matches: list[Match], weighs: Weighs | None) -> list[Match]:
    """Return the phrases without a yes or no that answers nothing beside the others.

    "No, it weighs 6,400 pounds" answers no yes-or-no question; "no, it won't budge" does.
    """
    others = [match for match in matches if not _is_yes_or_no(match.intent)]
    return others if weighs is not None or others else matches


def _unsettled(intent: Intent) -> Intent:
    """Return an intent; of what was done, that it is unsettled."""
    return unsettled(intent) if isinstance(intent, Did | DidAll | Settled) else intent


def _blank(left: list[str], matches: list[Match]) -> None:
    """Mark the words of each phrase as read; those of one that is no answer still count."""
    for match in matches:
        if match.intent != Nothing("unclear"):
            left[match.start : match.stop] = ["."] * (match.stop - match.start)


def _not_understood(left: list[str]) -> Nothing:
    return Nothing("negated" if _has_negator(left) else "unclear")


def _weighs(left: list[str], matches: list[Match], answer: Answer) -> Weighs | None:
    """Take a weight out of the words that are left, without its unit only where it is a weight.

    "Papers say fifty four hundred" is a weight, whatever is open.
    """
    is_weight = answer.takes_mass or has_any("papers", left)
    of_else = any(_is_of_else(match.intent) for match in matches)
    return take_mass(left, bare=is_weight and not of_else)


def _counting(
    matches: list[Match], said: Tokens, left: list[str], answer: Answer, *, timed: bool
) -> list[Intent]:
    """Return the intents that count, each once; of nothing but nothings, the first."""
    bare = not _rest(left) and not _has_negator(left)
    kept = _kept(matches, said, left, bare=bare)
    found = list(dict.fromkeys(_accounted(kept, said, left, answer, timed=timed)))
    if has_any("cannots", left):
        # "Can't chock the right front, chocked the rest": the act was not done.
        found = [one for one in found if not isinstance(one, Did | DidAll | Settled)]
    return _of_most_use(found)


def _of_most_use(found: list[Intent]) -> list[Intent]:
    """Return what tells something; else that a step is unsettled; else the first nothing."""
    told: list[Intent] = [
        one for one in found if not isinstance(one, Nothing) and one != Unsettled()
    ]
    open_step: list[Intent] = [Unsettled()]
    return told or (open_step if Unsettled() in found else found[:1])


_SHORT_ANSWERS = frozenset({"yes", "no", "none", "seen"})
_SIZED = frozenset({"family", "weight_class", "weight", "weight_how", "load_lb", "card"})
"""Facts with which a number without its unit may be said, as the weight."""


def _is_of_else(intent: Intent) -> bool:
    """Say whether an intent has nothing to do with weight: an act, or "one wheel is locked"."""
    return isinstance(intent, Did | Undid) or (
        isinstance(intent, Give) and intent.fact not in _SIZED
    )


def _stands_alone(match: Match, said: Tokens, left: list[str]) -> bool:
    """Say whether a value is all that was said between two marks, and no yes or no."""
    if not isinstance(match.intent, Give) or match.intent.value in _SHORT_ANSWERS:
        return False
    start = len(clause_of(said[: match.start]))
    after = next((at for at in range(match.stop, len(said)) if said[at] in MARKS), len(said))
    clause = left[match.start - start : after]
    return not _rest(clause) and not _has_negator(clause)


def _is_yes_or_no(intent: Intent) -> bool:
    value = intent.value if isinstance(intent, Give) else getattr(intent, "option", "")
    return value in {"yes", "no"}


def _has_negator(left: list[str]) -> bool:
    return any((token,) in talk("negators") for token in left)


def _rest(left: list[str]) -> list[str]:
    """Return the words left over, without fillers."""
    return [token for token in left if token not in MARKS and (token,) not in talk("fillers")]


def _accounted(
    kept: Iterator[Match], said: Tokens, left: list[str], answer: Answer, *, timed: bool
) -> Iterator[Intent]:
    """Yield the intents; an act beside words that are left over is unsettled instead."""
    for match in kept:
        is_free = not must_account(match.intent)
        if is_free or not left_over(match, said, left, answer, timed=timed):
            yield match.intent
        elif not isinstance(match.intent, Give):
            yield _unsettled(match.intent)


def _kept(matches: list[Match], said: Tokens, left: list[str], *, bare: bool) -> Iterator[Match]:
    """Yield the phrases that count: short answers only if nothing else was said.

    Between commas one counts by itself: "won't start, stuck on the charger". Among other words
    they have their meaning at any time: "hooked at the tow eye".
    """
    for match in matches:
        # What was done counts by the law of its clause alone.
        is_act = isinstance(match.intent, Did | Settled)
        if not match.is_local or is_act or bare or _stands_alone(match, said, left):
            yield match
        else:
            yield from (replace(match, intent=one) for one in each(match.plain))


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


def _names_timed(left: list[str], answer: Answer, lexicon: Lexicon | None) -> bool:
    """Say whether a time is expected, or comes with an act whose time always counts."""
    return answer.takes_time or any(
        match.intent in TIMED for match in scan(left, NOTHING, lexicon)
    )
