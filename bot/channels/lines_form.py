"""The lines interface, version 1: forms of a line in and a line out, and their schema.

`rollproof lines --schema` prints it, for whoever writes a bridge or a script.
"""

import re
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AwareDatetime,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    model_validator,
)

from flows.job.acts import ACTS, VARIABLES

VERSION = 1
BODIES = ("text", "tap", "voice", "photo", "file", "place", "tick")
Act = Annotated[str, Field(json_schema_extra={"enum": sorted(ACTS)})]
# 64-bit nanoseconds end in 2262; the margin is for times computed from a given time.
RFC_3339 = re.compile(
    r"(19[7-9]|2[01]\d)\d-\d\d-\d\d[Tt]\d\d:\d\d:\d\d(\.\d+)?([Zz]|[+-]\d\d:\d\d)", re.ASCII
)
LONGEST_MONO_MS = 200 * 366 * 86_400_000


def _rfc_3339(given: object) -> object:
    if isinstance(given, str) and RFC_3339.fullmatch(given):
        return given
    raise ValueError("a time is RFC 3339 with its offset, 1970 to 2199: 2026-06-01T12:00:00Z")


Time = Annotated[AwareDatetime, BeforeValidator(_rfc_3339)]


class PlaceIn(BaseModel):
    """A position in degrees, with words where there are some."""

    model_config = ConfigDict(extra="forbid", strict=True)

    lat: Annotated[float, Field(ge=-90, le=90)]
    lon: Annotated[float, Field(ge=-180, le=180)]
    label: Annotated[str, Field(max_length=200)] = ""


class LineIn(BaseModel):
    """One line in: who, which id, when, and exactly one body."""

    model_config = ConfigDict(extra="forbid", use_attribute_docstrings=True)

    chat: Annotated[str, Field(pattern=r"^(driver|dispatcher|owner):\S.{0,79}$")]
    """Who speaks: `driver:NAME`, `dispatcher:NAME` or `owner:NAME`; enrolled on first use."""
    id: Annotated[str, Field(min_length=1, max_length=200)]
    """Unique for each chat.

    The same id again changes nothing and repeats the same answer lines.
    """
    at: Time
    """Wall time that the sender's platform stamped, RFC 3339."""
    received_at: Time | None = None
    """Wall time it arrived, where that was later."""
    mono_ms: Annotated[int, Field(ge=0, le=LONGEST_MONO_MS, strict=True)] | None = None
    """Elapsed milliseconds of the bot's machine; without it elapsed time follows `received_at`."""
    boot: Annotated[str, Field(min_length=1, max_length=100)] | None = None
    """The boot of the bot's machine that `mono_ms` counts from; another boot is a reboot."""
    to: Annotated[int, Field(ge=1, strict=True)] | None = None
    """The `seq` that this answers."""
    job: Annotated[str, Field(pattern=r"^[1-9][0-9]{0,8}$")] | None = None
    """The job it is for."""
    edit_of: Annotated[str, Field(min_length=1, max_length=200)] | None = None
    """The `id` of the message that this edits."""
    text: str | None = None
    """Words."""
    tap: str | None = None
    """The id of a choice."""
    voice: str | None = None
    """Path of a voice note."""
    photo: str | None = None
    """Path of a photo."""
    file: str | None = None
    """Path of a file."""
    place: PlaceIn | None = None
    """A position."""
    tick: Literal[True] | None = None
    """Time has passed and nothing was said."""

    @model_validator(mode="after")
    def _one_body(self) -> Self:
        given = [name for name in BODIES if getattr(self, name) is not None]
        if len(given) != 1:
            found = ", ".join(given) or "none"
            raise ValueError(f"exactly one of {', '.join(BODIES)} is allowed, here: {found}")
        return self


class _Out(BaseModel):
    # Lines out are written, never validated: these forms are for the published schema alone.
    model_config = ConfigDict(extra="forbid", defer_build=True, use_attribute_docstrings=True)


class Choice(BaseModel):
    """One choice: its id for a tap, and its label."""

    model_config = ConfigDict(defer_build=True)

    id: str
    label: str


class Expects(_Out):
    """What a message expects."""

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
    """A neutral window: opened at the earliest, when it ends, whole minutes left at most."""

    opened: AwareDatetime
    ends: AwareDatetime | None = None
    left_min: int | None = None
    promised: bool


class FactOut(_Out):
    """A fact as recorded in this turn; value null where it was cleared."""

    value: str | int | None
    unit: str | None = None
    how: str
    by: str


class DrawingOut(_Out):
    """A drawing kept as ``files/<sha256>.svg``."""

    sha256: str
    size: int


class FigureOut(_Out):
    """A figure as computed in this turn; its drawing lies in the data folder under `files`."""

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
    """To whom; absent where the input could not be read."""
    seq: Annotated[int, Field(ge=1)] | None = None
    """Counts from 1 for each chat, without gaps."""
    re: str | None = None
    """The `id` that this answers; absent when nobody asked."""
    last: bool | None = None
    """True on the last line that this input caused, in whatever chat it is."""
    repeat: bool | None = None
    """True where the same id was sent again."""
    job: str | None = None
    """The job it is about."""
    priority: Literal["reply", "note", "check", "stop"] | None = None
    """How urgent it is."""
    section: str | None = None
    """Where in the routine; absent for alarms and errors."""
    item: str | None = None
    """Which item of the section."""
    acts: list[Act] | None = None
    """The acts that a yes or done to this item reports."""
    acts_now: Annotated[
        dict[str, str] | None,
        Field(json_schema_extra={"propertyNames": {"enum": sorted(VARIABLES)}}),
    ] = None
    """Act states that are no longer as found."""
    """Act states that are no longer as found.."""
    critical: bool | None = None
    """The item is critical."""
    repeatable: bool | None = None
    """Doing it twice does no harm."""
    expects: Expects | None = None
    """What kind of answer is expected."""
    spoken: str | None = None
    """The text to read aloud."""
    shown: str | None = None
    """The text to show."""
    why: str | None = None
    """Why it is asked, with its source."""
    facts: dict[str, FactOut] | None = None
    """Facts that this turn recorded or changed, by name."""
    figures: list[FigureOut] | None = None
    """Figures that this turn computed."""
    window: Window | None = None
    """The neutral window, while one is open."""
    open: list[dict[str, str]] | None = None
    """Deferrals, skips and gates that are still open."""
    error: ErrorOut | None = None
    """What was wrong with the input, and what to do."""


def schema() -> dict[str, Any]:
    """Return the published schema of both forms."""
    return {
        "version": VERSION,
        "in": LineIn.model_json_schema(),
        "out": LineOut.model_json_schema(),
    }
