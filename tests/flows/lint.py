"""The rules of speech of `flows/texts/README.md`, each checked on a rendered message.

A finding of level S breaks a rule that every message keeps; a finding of level Q is a flaw that is
mended, or kept for a written reason. Rules that take a whole conversation to see (silence,
escalation, floods) are tested where the conversations are.

Detail is all that follows the head of a shown text. The head ends with the first line that ends a
sentence, once the question or the wanted answer has been shown. So a driver who reads the head
alone knows the act and the answer.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final, Literal

from flows.hearing.answers import READ_BACKS
from flows.measures.say import digits
from flows.routine.items import Gate, Item
from flows.telling.labels import last_label
from flows.telling.render import Rendered, render
from flows.telling.reply import Reply
from flows.texts.plainness import (
    ACTS,
    TRADE,
    acts_asked,
    double_negatives,
    grade,
    passives,
    sentences,
    words,
    wrong_words,
)

Level = Literal["S", "Q"]

TOKENS = 16
TOKENS_LONG = 20
PAGES: Final = frozenset({"says.sheet"})
"""Messages whose first line is all of them; a page to take along is under it."""
LONG_KEYS = frozenset(
    {"says.resume", "says.restart", "says.status", "says.echo", "items.margin.figure"}
)
SHOWN_CHARACTERS = 120
SHOWN_LINES = 3
GLANCE = 40
CHOICES = 5
CHOICES_GO = 2
SENTENCE_MOST = 20
SENTENCE_AIM = 12
GRADE = 6.0
WORDS_TO_GRADE = 6

PREFIX: Final[Mapping[str, str]] = {
    "reply": "", "note": "Note.", "check": "Check.", "stop": "Stop."
}  # fmt: skip
# Verbs that only ask for an answer.
ANSWERS: Final = frozenset(["answer", "decide", "give", "name", "say", "tap", "type"])
_ACKNOWLEDGES: Final = re.compile(r"\?|\b(?:say|answer)\b", re.IGNORECASE)
_WANTS: Final = re.compile(r"\?|\b(?:Answer|[Ss]ay|Tap|Type)\b")
_BARE_OK: Final = frozenset({"ok", "okay", "k", "yes", "yeah", "sure", "fine", "roger", "done"})
_NEVER_ANSWERS: Final = frozenset({"clear", "good"})
_UNSPEAKABLE: Final = re.compile(
    r"[^\x20-\x7e]|[#/\\*_`~|<>{}\[\]&@%$+=^]|\b(?:lbs?|ft|kg|mins?|hrs?|approx|etc)\b"
)
_FIGURES: Final = re.compile(r"\d")
_CLAIMS: Final = re.compile(
    r"\b(?:it is|it's|is|are|now|all) (?:safe|clear)\b|\bsafe to\b|\ball good\b|\bgood to go\b"
    r"|\bno danger\b|\bdon't worry\b|\bguaranteed?\b|\bcannot (?:fail|roll)\b",
    re.IGNORECASE,
)
_NEGATED_STATE: Final = re.compile(
    r"\b(?:not |un)(?:chocked|closed|confirmed|hooked|neutral|opened|parked|pinned|secured|"
    r"stopped|strapped|tagged|tight)\b",
    re.IGNORECASE,
)
_DIGIT_WORDS: Final = frozenset(
    ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "point"]
)
_MASS: Final = re.compile(r" (?:pounds?|kilograms?|(?:short|long|metric) tons?)\.?$")
_SOURCE: Final = re.compile(
    r"\([^)]*\)|Our rules? [S\d and]+\.?|Common practice, no published source\."
)


@dataclass(frozen=True, slots=True)
class Finding:
    """A flaw of a message: the rule, its level, and the finding against the limit."""

    rule: str
    level: Level
    message: str


def lint_reply(reply: Reply) -> list[Finding]:
    """Render a message and return its flaws."""
    return lint(render(reply), reply)


def lint(rendered: Rendered, reply: Reply) -> list[Finding]:
    """Return the flaws of a message, in the order of the rules.

    Parameters
    ----------
    rendered
        Its three texts.
    reply
        The message: key, priority, expected answer, and its job.
    """
    return [
        Finding(rule, level, message)
        for rule, level, check in CHECKS
        for message in check(rendered, reply)
    ]


def most_tokens(reply: Reply) -> int:
    """Return how many tokens a message may speak: more for alarms, resume, echo and margin."""
    return TOKENS_LONG if reply.priority != "reply" or reply.key in LONG_KEYS else TOKENS


def head(shown: str) -> str:
    r"""Return a shown text without its detail.

    Examples
    --------
    >>> head("Look from upwind. Any sign?\nSmoke, heat, leak.")
    'Look from upwind. Any sign?'
    """
    lines = shown.split("\n")
    wants = bool(_WANTS.search(shown))
    for count in range(1, len(lines)):
        text = "\n".join(lines[:count])
        if text.endswith((".", "?")) and (not wants or _WANTS.search(text)):
            return text
    return shown


def _item(reply: Reply) -> Item | None:
    return reply.job.book.routine.items.get(reply.item)


def _asks(reply: Reply) -> bool:
    return reply.answer.kind != "nothing"


def _texts(rendered: Rendered) -> Iterator[tuple[str, str]]:
    yield "spoken", rendered.spoken
    yield "shown", rendered.shown


def _one_action(rendered: Rendered, reply: Reply) -> Iterator[str]:
    for name, whole in _texts(rendered):
        text = whole.split("\n")[0] if reply.key in PAGES else whole
        if ";" in text:
            yield f'{name} has ";": end the sentence instead'
        if re.search(r"\band then\b", text, re.IGNORECASE):
            yield f'{name} has "and then": give the second action a message of its own'
        asked = acts_asked(text)
        if len(asked) > 1:
            yield f"{name} asks for {len(asked)} acts ({', '.join(asked)}): one is allowed"


def _spoken_length(rendered: Rendered, reply: Reply) -> Iterator[str]:
    count, most = len(words(rendered.spoken)), most_tokens(reply)
    if count > most:
        yield f"spoken has {count} tokens: {most} are allowed"
    if count == 0:
        yield "spoken is empty: say something, or send nothing"
    if _FIGURES.search(rendered.spoken):
        yield f"spoken has figures: say numbers in words: {rendered.spoken!r}"


def _shown_length(rendered: Rendered, _reply: Reply) -> Iterator[str]:
    text = head(rendered.shown)
    if len(text) > SHOWN_CHARACTERS:
        yield f"shown has {len(text)} characters before detail: {SHOWN_CHARACTERS} are allowed"
    if text.count("\n") >= SHOWN_LINES:
        yield f"shown has {text.count(chr(10)) + 1} lines before detail: {SHOWN_LINES} are allowed"


def _action_first(rendered: Rendered, reply: Reply) -> Iterator[str]:
    if not _asks(reply) or not reply.key.startswith("items."):
        return
    place = 0
    for sentence in sentences(rendered.shown):
        place = rendered.shown.index(sentence, place)
        first = words(sentence)[0].lower()
        if sentence.endswith("?") or first in ACTS | ANSWERS | {"pause"}:
            if place + len(first) > GLANCE:
                yield f"shown asks from character {place}: within the first {GLANCE} is allowed"
            return
    yield "shown neither asks nor says what to do"


def _choices(_rendered: Rendered, reply: Reply) -> Iterator[str]:
    item = _item(reply)
    decides = (
        isinstance(item, Gate)
        and not item.acts
        and reply.job.book.routine.section_of[item.id].id == "margin"
    )
    most = CHOICES_GO if decides else CHOICES
    if len(reply.answer.choices) > most:
        yield f"{len(reply.answer.choices)} choices: {most} are allowed"


def _names_state(rendered: Rendered, reply: Reply) -> Iterator[str]:
    if reply.answer.kind != "state":
        return
    bare = sorted(_BARE_OK.intersection(reply.answer.words))
    if bare:
        yield f"a critical step is settled by {', '.join(bare)}: only by the name of its state"
    if not reply.key.startswith("items."):
        return
    wanted = [label for _, label in reply.answer.choices]
    for name, text in _texts(rendered):
        if not any(re.search(rf"\b{re.escape(word)}\b", text.lower()) for word in wanted):
            yield f"{name} does not name the state that settles it: {', '.join(wanted)}"


def _read_back(rendered: Rendered, reply: Reply) -> Iterator[str]:
    if reply.key not in {f"says.{kind}" for kind in READ_BACKS}:
        return
    if not rendered.spoken.endswith("Yes or no?"):
        yield 'a read-back must end with "Yes or no?"'
    number = next((s for s in sentences(rendered.spoken) if _MASS.search(s)), "")
    said = [word.lower() for word in words(_MASS.sub("", number))]
    if not said or not _DIGIT_WORDS.issuperset(said):
        yield f"a read-back must say each digit, then the unit: {number!r}"


def _resumes(rendered: Rendered, reply: Reply) -> Iterator[str]:
    if reply.key not in {"says.resume", "says.restart"}:
        return
    wanted = [f"Job {digits(reply.job.ref)}", f"Last, {last_label(reply.job.last)}"]
    wanted.append("Next, " if reply.key == "says.resume" else "starts again")
    for part in wanted:
        if part not in rendered.spoken:
            yield f"resuming must say {part!r}: {rendered.spoken!r}"


def _pauses(rendered: Rendered, reply: Reply) -> Iterator[str]:
    item = _item(reply)
    is_pause = isinstance(item, Gate) and bool(item.acts) and reply.key.startswith("items.")
    if is_pause and not rendered.spoken.startswith("Pause."):
        yield 'a pause must begin with "Pause."'


def _priority_word(rendered: Rendered, reply: Reply) -> Iterator[str]:
    first = words(rendered.spoken)[0] if words(rendered.spoken) else ""
    wanted = PREFIX[reply.priority]
    if wanted and not rendered.spoken.startswith(wanted):
        yield f'priority {reply.priority} must begin with "{wanted}": {rendered.spoken!r}'
    if not wanted and f"{first.capitalize()}." in PREFIX.values():
        yield f'a reply must not begin with "{first}": that is the word of a priority'


ON_THE_ROAD = frozenset({"says.recheck_due", "says.rolling_untied", "says.danger_rolling",
                         "says.alarm_rolling"})  # fmt: skip
"""Messages that a driver hears while the truck rolls."""


def _alarm(rendered: Rendered, reply: Reply) -> Iterator[str]:
    """Whoever hears it, and whoever reads it, learns the act and the answer.

    On the road nothing wants an answer: an urgent message is said once.
    """
    if reply.priority == "reply":
        return
    for name, text in _texts(rendered):
        if not acts_asked(text) and "?" not in text:
            yield f"{name} of an alarm names no action"
        if reply.key not in ON_THE_ROAD and not _ACKNOWLEDGES.search(text):
            yield f"{name} of an alarm does not say how to acknowledge it"


def _rolling(_rendered: Rendered, reply: Reply) -> Iterator[str]:
    if reply.to == "driver" and reply.job.acts["rolling"] == "rolling" and _asks(reply):
        yield "an answer is wanted while the truck rolls: send nothing that needs one"


def _too_long_sentence(rendered: Rendered, _reply: Reply) -> Iterator[str]:
    yield from _sentences_over(SENTENCE_MOST, None, rendered)


def _long_sentence(rendered: Rendered, _reply: Reply) -> Iterator[str]:
    yield from _sentences_over(SENTENCE_AIM, SENTENCE_MOST, rendered)


def _sentences_over(most: int, under: int | None, rendered: Rendered) -> Iterator[str]:
    for name, text in (*_texts(rendered), ("why", _without_source(rendered.why))):
        for sentence, count in _counted(text):
            if count > most and (under is None or count <= under):
                yield f"{name} has a sentence of {count} words: {most} are allowed: {sentence!r}"


@cache
def _counted(text: str) -> tuple[tuple[str, int], ...]:
    """Return the sentences of a text, and how many words each has."""
    return tuple((sentence, len(words(sentence))) for sentence in sentences(text))


@cache
def _without_source(why: str) -> str:
    return _SOURCE.sub("", why)


def _grade(rendered: Rendered, _reply: Reply) -> Iterator[str]:
    """Grade texts that are long enough: the formula says nothing of a word or two."""
    for name, text in (*_texts(rendered), ("why", _without_source(rendered.why))):
        found = _graded(text)
        if found > GRADE:
            yield f"{name} is of school grade {found:.1f}: {GRADE:.0f} is allowed: {text!r}"


@cache
def _graded(text: str) -> float:
    """Return the school grade of a text, 0 for one that is too short for any."""
    return grade(text, TRADE) if len(words(text)) >= WORDS_TO_GRADE else 0.0


def _plain(rendered: Rendered, _reply: Reply) -> Iterator[str]:
    for name, text in (*_texts(rendered), ("why", rendered.why)):
        yield from (f"{name} {found}" for found in _not_plain(text))


@cache
def _not_plain(text: str) -> tuple[str, ...]:
    """Return what is not plain in a text; of the same text the same, so it is sought once."""
    return (
        *(f"has a passive, {found!r}: say who does it" for found in passives(text)),
        *(f"negates twice: {found!r}" for found in double_negatives(text)),
        *(f"says {found!r}: the word for it is {wanted}" for found, wanted in wrong_words(text)),
    )


def _speakable(rendered: Rendered, _reply: Reply) -> Iterator[str]:
    for match in _UNSPEAKABLE.finditer(rendered.spoken):
        yield f"spoken has {match[0]!r}, which is not read aloud well: say it in words"


def _answer_words(rendered: Rendered, reply: Reply) -> Iterator[str]:
    offered = [*reply.answer.words, *(label for _, label in reply.answer.choices)]
    for answer in offered:
        said = {word.lower() for word in words(answer)}
        if said & _NEVER_ANSWERS or said == {"right"}:
            yield f"{answer!r} is an answer: never clear, good or right"
    labels = " | ".join(label for _, label in reply.answer.choices)
    for match in _NEGATED_STATE.finditer(f"{labels} | {rendered.spoken}"):
        yield f"{match[0]!r} negates a state: two states have two different words"


def _no_claim(rendered: Rendered, _reply: Reply) -> Iterator[str]:
    for name, text in (*_texts(rendered), ("why", rendered.why)):
        for match in _CLAIMS.finditer(text):
            yield f"{name} claims {match[0]!r}: a prompt is no lifeguard, say what to check"


Check = Callable[[Rendered, Reply], Iterator[str]]
CHECKS: Final[tuple[tuple[str, Level, Check], ...]] = (
    ("one action", "S", _one_action),
    ("spoken length", "S", _spoken_length),
    ("shown length", "Q", _shown_length),
    ("action first", "Q", _action_first),
    ("choices", "S", _choices),
    ("state word", "S", _names_state),
    ("read-back", "S", _read_back),
    ("resume", "S", _resumes),
    ("pause point", "S", _pauses),
    ("priority word", "S", _priority_word),
    ("alarm", "S", _alarm),
    ("rolling", "S", _rolling),
    ("plain sentence", "S", _too_long_sentence),
    ("plain sentence", "Q", _long_sentence),
    ("plain sentence", "Q", _grade),
    ("plain sentence", "Q", _plain),
    ("speakable", "Q", _speakable),
    ("answers", "S", _answer_words),
    ("cautions", "S", _no_claim),
)
