"""From what was said to what is meant: danger first, then the open question, then anything else.

Pure and cached: the same words to the same question always mean the same.
"""

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from flows.hearing.amounts import has_any, take_mass, take_time
from flows.hearing.answers import NOTHING, Answer
from flows.hearing.lexicon import ANYWHERE, Lexicon, danger_phrases, talk, universal
from flows.hearing.matching import (
    MARKS,
    Match,
    Tokens,
    clause_of,
    match_at,
    negated,
    other_stop,
    scan,
)
from flows.hearing.placing import says_something
from flows.job.intents import (
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
    When,
    Word,
)
from flows.measures import tokens

# What is said around the name of the service that released it.
_RELEASED = re.compile(
    r"\b(?:(?:it was|was|has|have)\s+)?released(?:\s+it)?(?:\s+by)?\b|\bat\s+\d.*$", re.IGNORECASE
)
# "Red's on" is "red is on", and either is "red on", where it means nothing as it stands.
_SHORT = re.compile("(?<=\\w)['\u2019]s\\b")
_IS = re.compile("(?<=\\w)(?:['\u2019]s|\\s+is|\\s+are)\\b")
# "Can't, too dark": with a mark behind it what follows is the reason.
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
    """Return what a text means while a question is open, most urgent first.

    Examples
    --------
    >>> from flows.hearing.answers import NOTHING
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
    if found == (Nothing("unclear"),):
        found = _otherwise(text, answer, lexicon)
    return _stated(found) if _is_question(text) else found


def _otherwise(text: str, answer: Answer, lexicon: Lexicon | None) -> tuple[Intent, ...]:
    """Read a text with its "is" spelled out, then without it."""
    for again in (_SHORT.sub(" is", text), _IS.sub("", text)):
        said = tokens(again)
        words = tuple(token for token in said if token not in MARKS)
        found = _read(said, words, again, answer, lexicon) if again != text and words else ()
        if found not in {(), (Nothing("unclear"),)}:
            return found
    return (Nothing("unclear"),)


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
    """Return what still counts with a question mark after it: "neutral?" says nothing was done.

    That it rolls counts all the same: who asks that needs to get clear first.
    """
    asked = {Word(name) for name in ANYWHERE if name not in ROLLS}
    kept = tuple(
        one for one in found if not isinstance(one, Did | Settled | Chosen) and one not in asked
    )
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
                if sign and not negated(said, place):
                    return sign
                place += len(phrase) - 1
                break
        else:
            if (
                (said[place],) in talk("stops")
                and not negated(said, place)
                and not other_stop(said, place)
            ):
                return "stop"
        place += 1
    return ""


def _whole(
    said: Tokens, words: Tokens, text: str, answer: Answer, lexicon: Lexicon | None
) -> tuple[Intent, ...]:
    """Read a text that is an answer, a word for any time or a free note as a whole."""
    local = answer.by_phrase.get(words)
    if local is not None:
        return (local,)
    is_number = len(words) == 1 and words[0].isdecimal() and answer.kind != "time"
    if is_number and 1 <= int(words[0]) <= len(answer.choices):
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
    if (said[0],) in talk("asks"):
        return
    left = list(said)
    for match in scan(left, NOTHING, lexicon):
        plain = match_at(left, match.start, NOTHING, lexicon)
        is_back = plain is not None and isinstance(plain.intent, Undid) and not answer.fact
        if is_back or isinstance(match.intent, Word):
            yield match.intent


@lru_cache(maxsize=4096)
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
    if _CANNOT.match(text):
        text = _CANNOT.sub("cannot ", text)
        words = tuple(token for token in tokens(text) if token not in MARKS)
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
    when = take_time(left, answer, timed=_names_timed(left, answer, lexicon))
    matches = list(scan(left, answer, lexicon))
    for match in matches:
        left[match.start : match.stop] = ["."] * (match.stop - match.start)
    of_else = any(_is_of_else(match.intent) for match in matches)
    # "Papers say fifty four hundred" is a weight, whatever is open.
    by_paper = has_any("papers", left)
    weighs = take_mass(left, bare=(answer.takes_mass or by_paper) and not of_else)
    rest = _rest(left)
    others = [match for match in matches if not _is_yes_or_no(match.intent)]
    if weighs is not None or others:
        # "No, it weighs 6,400 pounds" answers no yes-or-no question; "no, it won't budge" does.
        matches = others
    kept = _kept(matches, said, left, bare=not rest and not _has_negator(left))
    found: list[Intent] = list(dict.fromkeys(kept))
    if has_any("cannots", left):
        # "Can't chock the right front, chocked the rest": what could not be done was not done.
        found = [one for one in found if not isinstance(one, Did | DidAll | Settled)]
    found = [one for one in found if not isinstance(one, Nothing)] or found[:1]
    if _contradicts(found):
        return (Nothing("unclear"),)
    if when is not None:
        found.append(when)
    if weighs is not None:
        found.append(weighs)
    return tuple(found) or (Nothing("negated" if _has_negator(left) else "unclear"),)


_SHORT_ANSWERS = frozenset({"yes", "no", "none", "seen"})
_SIZED = frozenset({"family", "weight_class", "weight", "weight_how", "load_lb", "card"})
"""Facts that a number without its unit may be said beside, as its weight."""


def _is_of_else(intent: Intent) -> bool:
    """Say whether something is no weight's business: an act, or "one wheel is locked"."""
    return isinstance(intent, Did | Undid) or (
        isinstance(intent, Give) and intent.fact not in _SIZED
    )


def _stands_alone(match: Match, said: Tokens, left: list[str]) -> bool:
    """Say whether a value, or what was done, is all that was said between two marks.

    No yes or no; and what was done not where anything else that was said puts it in doubt.
    """
    if isinstance(match.intent, Did | Settled):
        if _in_doubt(left):
            return False
    elif not isinstance(match.intent, Give) or match.intent.value in _SHORT_ANSWERS:
        return False
    start = len(clause_of(said[: match.start]))
    after = next((at for at in range(match.stop, len(said)) if said[at] in MARKS), len(said))
    clause = left[match.start - start : after]
    return not _rest(clause) and not _has_negator(clause)


def _in_doubt(left: list[str]) -> bool:
    """Say whether the other words negate, put off, except or doubt: "confirmed, I think"."""
    return any(has_any(name, left) for name in ("negators", "intents", "another_time", "doubts"))


def _is_yes_or_no(intent: Intent) -> bool:
    value = intent.value if isinstance(intent, Give) else getattr(intent, "option", "")
    return value in {"yes", "no"}


def _has_negator(left: list[str]) -> bool:
    return any((token,) in talk("negators") for token in left)


def _rest(left: list[str]) -> list[str]:
    """Return the words that nothing was made of, without those that say nothing."""
    return [token for token in left if token not in MARKS and (token,) not in talk("fillers")]


def _kept(matches: list[Match], said: Tokens, left: list[str], *, bare: bool) -> Iterator[Intent]:
    """Yield what counts: short answers of the open question only if nothing else was said.

    Between commas one counts by itself: "won't start, stuck on the charger". Among other words
    they mean what they mean at any time: "hooked at the tow eye".
    """
    for match in matches:
        if not match.is_local or bare or _stands_alone(match, said, left):
            yield match.intent
        elif match.plain is not None:
            yield match.plain


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
