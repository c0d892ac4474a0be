"""The lines interface, version 1: the form of a line out, and the schema of both forms.

No line out is ever validated against this outside tests, so a channel does not import it.
"""

import ast
import inspect
from itertools import pairwise
from typing import Annotated, Any, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field

from bot.channels.lines_form import LineIn
from flows.job.acts import ACTS, VARIABLES

VERSION = 1
Act = Annotated[str, Field(json_schema_extra={"enum": sorted(ACTS)})]


class _Out(BaseModel):
    model_config = ConfigDict(extra="forbid", use_attribute_docstrings=True)


class Choice(BaseModel):
    """One choice: its id for a tap, and its label."""

    id: str
    label: str


class Expects(_Out):
    """The answer that a message expects."""

    kind: Literal[
        "choice", "yes_no", "done", "state", "quantity", "time", "note", "photo", "place",
        "nothing",
    ]  # fmt: skip
    choices: list[Choice] | None = None
    words: list[str] | None = None
    dimension: str | None = None
    usual: tuple[int, int] | None = None
    unit: str | None = None


class Window(_Out):
    """A neutral window: its earliest opening, its end, the most whole minutes left."""

    opened: AwareDatetime
    ends: AwareDatetime | None = None
    left_min: int | None = None
    promised: bool


class FactOut(_Out):
    """A fact recorded in this turn; its value is null if it was cleared."""

    value: str | int | None
    unit: str | None = None
    how: str
    by: str


class DrawingOut(_Out):
    """A drawing kept as ``files/<sha256>.svg``."""

    sha256: str
    size: int


class FigureOut(_Out):
    """A figure computed in this turn; its drawing is in the data folder under `files`."""

    figure: str
    inputs: dict[str, int]
    result: dict[str, Any]
    governing: str
    source: str
    drawing: DrawingOut


class ErrorOut(_Out):
    """Why an input could not be used."""

    wrong: str
    value: str
    allowed: str
    do: str


class LineOut(_Out):
    """One line out."""

    chat: str | None = None
    """The chat it is for; absent if the input could not be read."""
    seq: Annotated[int, Field(ge=1)] | None = None
    """Counts from 1 for each chat, without gaps."""
    re: str | None = None
    """The `id` that this answers; absent if nobody asked."""
    last: bool | None = None
    """True on the last line caused by an input, in whichever chat."""
    repeat: bool | None = None
    """True if the line may have been sent before."""
    job: str | None = None
    """The job it is about."""
    priority: Literal["reply", "note", "check", "stop"] | None = None
    """How urgent it is."""
    section: str | None = None
    """The section of the routine; absent for alarms and errors."""
    item: str | None = None
    """The item in the section."""
    acts: list[Act] | None = None
    """The acts that a yes or done to this item reports."""
    acts_now: Annotated[
        dict[str, str] | None,
        Field(json_schema_extra={"propertyNames": {"enum": sorted(VARIABLES)}}),
    ] = None
    """Act states that are no longer as found."""
    critical: bool | None = None
    """The item is critical."""
    repeatable: bool | None = None
    """Doing it twice does no harm."""
    expects: Expects | None = None
    """The kind of answer that is expected."""
    spoken: str | None = None
    """The text to read aloud."""
    shown: str | None = None
    """The text to show."""
    why: str | None = None
    """The reason for asking, with its source."""
    facts: dict[str, FactOut] | None = None
    """Facts recorded or changed in this turn, by name."""
    figures: list[FigureOut] | None = None
    """Figures computed in this turn."""
    window: Window | None = None
    """The neutral window, while one is open."""
    open: list[dict[str, str]] | None = None
    """Deferrals, skips and gates that are still open."""
    error: ErrorOut | None = None
    """The fault in the input, and the remedy."""


def schema() -> dict[str, Any]:
    """Return the published schema of both forms."""
    return {
        "version": VERSION,
        "in": described(LineIn),
        "out": LineOut.model_json_schema(),
    }


def described(model: type[BaseModel]) -> dict[str, Any]:
    """Return a model's schema with the docstring under each field as its description.

    pydantic does that itself when a model is made, which reads its source: a line in is read in
    every conversation, so its docstrings are looked up here, where somebody asks for them.
    """
    found = model.model_json_schema()
    (made,) = ast.parse(inspect.getsource(model)).body
    for field, text in pairwise(getattr(made, "body", ())):
        if isinstance(field, ast.AnnAssign) and isinstance(text, ast.Expr):
            words = " ".join(str(ast.literal_eval(text.value)).split())
            found["properties"][ast.unparse(field.target)]["description"] = words
    return found
