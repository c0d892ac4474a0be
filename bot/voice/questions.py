"""Questions as a recogniser needs them: the grammar, and the meaning of each text."""

from collections.abc import Callable
from dataclasses import dataclass

from flows.hearing.answers import Answer, answer_for, pending_answer
from flows.hearing.corrections import with_voltage
from flows.hearing.hearable import (
    Either,
    Sayings,
    Shape,
    any_time,
    count,
    digits,
    shape_for,
    volts,
)
from flows.hearing.lexicon import Lexicon, lexicon_of
from flows.hearing.prompts import Prompt
from flows.hearing.understand import understand
from flows.job.intents import Chosen, Give, Intent, Nothing, Settled, Weighs, When, Word
from flows.job.state import Job, Pending
from flows.measures import find_volts, tokens
from flows.measures.numbers import read as read_number
from flows.measures.words import SMALL, SOUNDS_LIKE_DIGIT
from flows.routine.book import Book


@dataclass(frozen=True, slots=True)
class Meaning:
    """The meaning of a text as one short word, and whether it has other meanings."""

    value: str
    is_ambiguous: bool = False


@dataclass(frozen=True, slots=True)
class Question:
    """A question that was asked.

    Parameters
    ----------
    name
        An item's id, or a kind such as "weight".
    shape
        The grammar of its answers.
    meant
        Returns the meaning of a text; None if it has none here.
    is_free
        Whether any other words are an answer too.
    """

    name: str
    shape: Shape
    meant: Callable[[str], Meaning | None]
    is_free: bool = False


WORDS = {"not_sure": "@unsure", "repeat": "@repeat", "back": "@undo", "stop": "@stop",
         "help": "@help", "skip": "@next"}  # fmt: skip
"""The names in manifests of the words for any time."""
KINDS = ("yesno", "command", "drive", "weight", "volts", "ago", "count", "digits", "note")


def of_answer(name: str, answer: Answer, lexicon: Lexicon | None) -> Question:
    """Return a question by the answer it expects."""

    def meant(text: str) -> Meaning | None:
        return _of_intents(with_voltage(understand(text, answer, lexicon), text, answer))

    is_free = answer.takes_note
    return Question(name, shape_for(answer, lexicon), meant, is_free)


def _of_intents(found: tuple[Intent, ...]) -> Meaning | None:
    if any(isinstance(one, Nothing) for one in found):
        return None
    parts = [_part(one) for one in found]
    doubt = any(isinstance(one, Weighs) and len(one.readings) > 1 for one in found)
    return Meaning(", ".join(parts), doubt)


def _part(intent: Intent) -> str:
    match intent:
        case Word(name):
            return WORDS.get(name, f"@{name}")
        case Give(_, value) | Chosen(value):
            return value
        case Settled():
            return "done"
        case Weighs(readings):
            low, high = readings[0].low, readings[0].high
            return str(low) if low == high else f"{low}-{high}"
        case When(int(ago)):
            return str(ago)
        case _:
            return repr(intent)


def of_prompt(prompt: Prompt, lexicon: Lexicon | None) -> Question:
    """Return the question that somebody is asked now."""
    return of_answer(prompt.key, prompt.answer, lexicon)


def named(book: Book, name: str) -> Question:
    """Return the question of an item, or of a kind in manifests.

    Raises
    ------
    KeyError
        If the name is neither.
    """
    if name in KINDS:
        return _kind(book, name)
    job = Job(0, book)
    return of_answer(name, answer_for(job, book.routine.items[name]), lexicon_of(book.library))


def _kind(book: Book, name: str) -> Question:
    job, items = Job(0, book), book.routine.items
    drive = next(one for one in items if getattr(items[one], "fact", "") == "drive")
    answers = {
        "yesno": lambda: pending_answer(job, Pending("read_back")),
        "weight": lambda: pending_answer(job, Pending("number")),
        "drive": lambda: answer_for(job, items[drive]),
        "ago": lambda: answer_for(job, items["neutral.when"]),
        "note": lambda: answer_for(job, items["open.place"]),
        "command": lambda: _COMMAND,
    }
    return (
        of_answer(name, answers[name](), lexicon_of(book.library))
        if name in answers
        else _number(name)
    )


_COMMAND = Answer(
    "done", words=("done", "go", "next"),
    phrases=((("done",), Settled("")), (("go",), Chosen("go")), (("next",), Word("skip"))),
)  # fmt: skip


def _number(name: str) -> Question:
    """Return a question for a kind of number that no item asks for."""
    shape = {"volts": volts, "count": count, "digits": digits}[name]()
    read = {"volts": _volts, "count": _count, "digits": _digits}[name]

    def meant(text: str) -> Meaning | None:
        value = read(text)
        word = _of_intents(understand(text, Answer("nothing"), None)) if value is None else None
        return word if value is None else Meaning(value)

    known = any_time(with_numbers=True)
    return Question(name, Either((shape, Sayings(known))), meant)


def _volts(text: str) -> str | None:
    found = find_volts(text, bare=True)
    values = sorted({one.low for one in found.readings if one.low <= 16_000}) if found else []
    return f"{values[0] / 1000:g}" if values else None


def _count(text: str) -> str | None:
    atoms = [SMALL.get(token, token) for token in _without_marks(text)]
    if not all(map(_is_number, atoms)):
        return None
    values = [int(value) for value in read_number([*atoms], "pairs") if value < 100]
    return str(values[-1]) if values else None


def _is_number(atom: int | str) -> bool:
    return isinstance(atom, int) or atom.isdecimal()


def _without_marks(text: str) -> list[str]:
    return [token for token in tokens(text) if token not in {".", ",", "-"}]


def _digits(text: str) -> str | None:
    known = {**SOUNDS_LIKE_DIGIT, **SMALL, "oh": 0, "o": 0}
    said = _without_marks(text)
    row = "".join(token if token.isdecimal() else str(known.get(token, "?")) for token in said)
    return row if row.isdecimal() else None
