"""Danger in anybody's words: named signs are taken at once, whatever else may be one is asked.

The net lies under all other reading. It knows words, not sentences: each in any spelling, wherever
it stands, but for the few contexts in which it is harmless (`flows/texts/en_alarms.toml`).
"""

import re
from collections.abc import Iterator, Sequence
from functools import cache, lru_cache

from flows.hearing.answers import Answer
from flows.hearing.denials import denial, stop_denied
from flows.hearing.lexicon import EMERGENCIES, Lexicon, Phrase, danger_phrases, talk
from flows.hearing.matching import Tokens, scan
from flows.hearing.shapes import HARMLESS, Seen, shapes_in
from flows.hearing.spelling import is_slip_of
from flows.job.intents import Alarm, Give, Intent, Nothing, Undid, Unsettled, Word
from flows.measures.tokens import tokens
from flows.texts import alarm_words, phrases, sentences

KINDS = ("smoke", "people", "moving")
"""What may be wrong and is asked about, the most urgent first."""
AT_ONCE = ("in_path", "winch_runs", "stop")
"""What is taken as it is said, as it would be in its usual words."""
TAKEN_TOO = frozenset({Word(name) for name in (*EMERGENCIES, "strap_off")})
"""Emergencies that count beside an alarm in the same sentence."""
ROLLS = "arrives"
"""What is asked for on the road."""
GUARDED = 3
"""How many words before a sign may say that it is only guarded against."""
_GONE = ""
_SERVICE = frozenset({"fire"})
_DRAWN_OUT = re.compile(r"(.)\1{2,}")
_WORD = re.compile(r"[a-z']+")


# Signs that are taken at once


def danger_in(said: Tokens) -> str:
    """Return the first danger sign that is named and not denied, else "stop"; empty for none."""
    left = without_harmless(said)
    index, stops = 0, ""
    while index < len(left):
        length, sign = _sign_at(left, index)
        if sign == "stop" and not stop_denied(left, index):
            stops = sign
        if sign not in {"", "stop"} and not denial(left, index):
            return sign
        index += length
    return stops


def _sign_at(said: Tokens, index: int) -> tuple[int, str]:
    """Return how many words to go on by, and the sign that they name, empty for none."""
    for phrase, sign in danger_phrases().get(said[index], ()):
        if said[index : index + len(phrase)] == phrase:
            return len(phrase), sign
    return 1, "stop" if _is_stop(said[index]) else ""


@lru_cache(maxsize=4096)
def _is_stop(token: str) -> bool:
    """Say whether a word is "stop", drawn out, or one slip of the thumb from it."""
    token = _DRAWN_OUT.sub(r"\1", token)
    if (token,) in talk("stops"):
        return True
    slip = any(is_slip_of(token, word) for (word,) in talk("stops"))
    return slip and token not in _known()


# What is no danger


@lru_cache(maxsize=4096)
def without_harmless(said: Tokens, acts: tuple[str, ...] = ()) -> Tokens:
    """Return what was said without the words that only sound like an emergency.

    Parameters
    ----------
    said
        The words.
    acts
        What is asked for: "rolling" answers whether it rolls.

    Examples
    --------
    >>> without_harmless(("fire", "up", "the", "winch"))
    ('', '', 'the', 'winch')
    """
    left = list(said)
    for index in range(len(left)):
        for phrase in _harmless().get(left[index], ()):
            if _is_at(left, index, phrase):
                left[index : index + len(phrase)] = [_GONE] * len(phrase)
                break
    for seen in shapes_in(tuple(left)):
        if seen.shape.kind == HARMLESS and seen.shape.counts_with(acts, ""):
            for at in seen.words:
                left[at] = _GONE
    return tuple(left)


def _is_at(left: list[str], index: int, phrase: Phrase) -> bool:
    """Say whether a phrase stands at an index, or would without the "'s" at its end."""
    stop = index + len(phrase)
    found = left[index:stop]
    if len(found) < len(phrase) or found[:-1] != list(phrase[:-1]):
        return False
    return phrase[-1] in {found[-1], found[-1].removesuffix("'s")}


@cache
def _harmless() -> dict[str, tuple[Phrase, ...]]:
    return _by_first(alarm_words()["harmless"]["phrases"])


@cache
def _harmless_whole() -> frozenset[Phrase]:
    return frozenset(tokens(one) for one in alarm_words()["harmless"]["whole"])


def _by_first(said: Sequence[str]) -> dict[str, tuple[Phrase, ...]]:
    """Sort phrases under their first token, longest first."""
    table: dict[str, list[Phrase]] = {}
    for phrase in sorted((tuple(one.split()) for one in said), key=lambda one: -len(one)):
        table.setdefault(phrase[0], []).append(phrase)
    return {first: tuple(rows) for first, rows in table.items()}


# The net


def with_alarm(
    found: tuple[Intent, ...],
    said: Tokens,
    answer: Answer,
    lexicon: Lexicon | None,
    *,
    is_question: bool,
) -> tuple[Intent, ...]:
    """Return the meaning of a text; where something in it may be an emergency, only that.

    Emergencies that were understood, and acts taken back, count beside it.
    """
    kind = _alarm_in(found, said, answer, lexicon)
    if not kind or (is_question and kind in AT_ONCE):
        return found
    kept = tuple(one for one in found if isinstance(one, Undid) or one in TAKEN_TOO)
    if kind in AT_ONCE:
        return tuple(dict.fromkeys((*kept, Word(kind))))
    return (*kept, Alarm(kind))


def _alarm_in(
    found: tuple[Intent, ...], said: Tokens, answer: Answer, lexicon: Lexicon | None
) -> str:
    """Return the most urgent kind of emergency that the words may mean; empty for none."""
    left = _alarming(said, answer)
    kinds = set() if left in _harmless_whole() else _kinds(left, answer)
    kinds &= _kinds_left(left, found, answer, lexicon) if kinds else set()
    kinds -= _needless(found, answer)
    return next((kind for kind in (*KINDS, *AT_ONCE) if kind in kinds), "")


def _alarming(said: Tokens, answer: Answer) -> Tokens:
    """Return the words that may be a sign of something."""
    left = without_harmless(said, answer.acts)
    if answer.fact == "released_by":
        # Danger is open already, and "county fire" released it.
        left = tuple(_GONE if token in _SERVICE else token for token in left)
    return left


def _needless(found: tuple[Intent, ...], answer: Answer) -> set[str]:
    """Return the kinds that add nothing to what was understood."""
    needless = {"people"} if Word("hurt") in found else set()
    # A brake that failed is an alarm of its own, and on the road a strap is.
    of_strap = ROLLS in answer.acts and Word("strap_off") in found
    if of_strap or Word("brake_failed") in found:
        needless.add("moving")
    is_unread = all(isinstance(one, Nothing | Unsettled) for one in found)
    return needless if is_unread else needless | {"stop"}


def _kinds_left(
    left: Tokens, found: tuple[Intent, ...], answer: Answer, lexicon: Lexicon | None
) -> set[str]:
    """Return the kinds that stay when what was understood is no sign of one."""
    again = _kinds(_without_understood(left, found, answer, lexicon), answer)
    seen = (one for one in shapes_in(left) if one.shape.always and _counts(one, answer))
    return again | {one.shape.kind for one in seen}


def _without_understood(
    left: Tokens, found: tuple[Intent, ...], answer: Answer, lexicon: Lexicon | None
) -> Tokens:
    """Return the words that are no part of a phrase that was understood, save acts taken back."""
    rest = list(left)
    for match in scan(list(left), answer, lexicon):
        is_fact = isinstance(match.intent, Give) and not match.is_local
        counts = is_fact or match.intent in found or match.plain in found
        if counts and not isinstance(match.intent, Undid | Nothing):
            rest[match.start : match.stop] = [_GONE] * (match.stop - match.start)
    return tuple(rest)


def _kinds(left: Tokens, answer: Answer) -> set[str]:
    """Return the kinds of emergency that the words may mean."""
    signs = (one for one in shapes_in(left) if one.shape.kind != HARMLESS)
    shaped = {one.shape.kind for one in signs if _counts(one, answer)}
    return shaped | set(_kinds_by_word(left, answer))


def _kinds_by_word(left: Tokens, answer: Answer) -> Iterator[str]:
    for index, token in enumerate(left):
        for kind in _kinds_at(left, index, answer) if token else ():
            if denial(left, index) != "denied" and not (kind != "smoke" and _only_asks(left)):
                yield kind


def _counts(seen: Seen, answer: Answer) -> bool:
    """Say whether a shape is said as it is now, and is no answer to what was asked."""
    shape = seen.shape
    if not shape.counts_with(answer.acts, answer.fact):
        return False
    if not shape.starts and denial(seen.clause, seen.at) == "denied":
        return False
    return shape.kind == "smoke" or not _supposed(seen)


def _supposed(seen: Seen) -> bool:
    """Say whether it is asked, or only guarded against: "in case she rolls"."""
    reach = alarm_words()["reach"]
    near = seen.clause[max(seen.at - GUARDED, 0) : seen.at]
    return seen.clause[0] in reach["asks"] or any(word in reach["guards"] for word in near)


def _kinds_at(left: Tokens, index: int, answer: Answer) -> Iterator[str]:
    kind = _word_kind(left[index], in_notes=answer.takes_note)
    if kind:
        yield kind
    for phrase, of in _phrases().get(left[index], ()):
        if left[index : index + len(phrase)] == phrase:
            yield of


def _only_asks(left: Tokens) -> bool:
    """Say whether nobody says that it is so: "is he hurt", "if it rolls"."""
    return (left[0],) in talk("asks") or "if" in left


@cache
def _phrases() -> dict[str, tuple[tuple[Phrase, str], ...]]:
    table: dict[str, list[tuple[Phrase, str]]] = {}
    for kind in KINDS:
        for said in alarm_words()["kinds"][kind]["phrases"]:
            phrase = tokens(said)
            table.setdefault(phrase[0], []).append((phrase, kind))
    return {first: tuple(rows) for first, rows in table.items()}


# Words in any spelling


@cache
def _words() -> dict[str, str]:
    """Return the kind of each word that is one wherever it stands."""
    return {word: kind for kind in KINDS for word in alarm_words()["kinds"][kind]["words"]}


@lru_cache(maxsize=8192)
def _word_kind(token: str, *, in_notes: bool) -> str:
    """Return the kind of emergency a word may mean, spelled as it may be; empty for none."""
    token = _DRAWN_OUT.sub(r"\1", token)
    if token in _words():
        return _words()[token]
    mended = alarm_words()["spelling"]["in_notes"] if in_notes else _words()
    meant = next((word for word in mended if is_slip_of(token, word)), "")
    return _words()[meant] if meant and token not in _known() else ""


def with_endings(said: Tokens) -> Tokens:
    """Return the tokens with the dropped g of "smokin'" put back, where that is such a word."""
    return tuple(one + "g" if one.endswith("in") and one + "g" in _gerunds() else one
                 for one in said)  # fmt: skip


@cache
def _gerunds() -> frozenset[str]:
    every = {*_words(), *danger_phrases(), *_phrases()}
    every |= {word for rows in _phrases().values() for phrase, _ in rows for word in phrase}
    return frozenset(word for word in every if word.endswith("ing"))


@cache
def _known() -> frozenset[str]:
    """Return every word that is spelled as it is meant: all that is said or understood here."""
    said = (*_strings(phrases()), *_strings(sentences()), *_strings(alarm_words()))
    return frozenset(word for one in said for word in _WORD.findall(one.lower()))


def _strings(table: object) -> Iterator[str]:
    if isinstance(table, str):
        yield table
    elif isinstance(table, list | tuple):
        for one in table:
            yield from _strings(one)
    elif hasattr(table, "values"):
        for one in table.values():
            yield from _strings(one)
