"""The lines interface, version 1: the form of a line in.

`rollproof lines --schema` prints it, for whoever writes a bridge or a script.
"""

import re
from typing import Annotated, Literal, Self

from pydantic import (
    AwareDatetime,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    model_validator,
)

BODIES = ("text", "tap", "voice", "photo", "file", "place", "tick")
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

    model_config = ConfigDict(extra="forbid")

    chat: Annotated[str, Field(pattern=r"^(driver|dispatcher|owner):\S.{0,79}$")]
    """The speaker: `driver:NAME`, `dispatcher:NAME` or `owner:NAME`; enrolled on first use."""
    id: Annotated[str, Field(min_length=1, max_length=200)]
    """Unique within its chat.

    The same id again changes nothing, and repeats the same lines in answer.
    """
    at: Time
    """The wall time stamped by the sender's platform, RFC 3339."""
    received_at: Time | None = None
    """The wall time of arrival, if later; without it nothing was late."""
    mono_ms: Annotated[int, Field(ge=0, le=LONGEST_MONO_MS, strict=True)] | None = None
    """Elapsed milliseconds on the bot's machine; by default elapsed time follows `received_at`."""
    boot: Annotated[str, Field(min_length=1, max_length=100)] | None = None
    """The boot that `mono_ms` counts from; another boot means a reboot."""
    to: Annotated[int, Field(ge=1, strict=True)] | None = None
    """The `seq` that this answers."""
    job: Annotated[str, Field(pattern=r"^[1-9][0-9]{0,8}$")] | None = None
    """The job it is for."""
    edit_of: Annotated[str, Field(min_length=1, max_length=200)] | None = None
    """The `id` of the message that this edits."""
    text: str | None = None
    """Typed words."""
    tap: str | None = None
    """The id of a choice."""
    voice: str | None = None
    """The path of a voice note."""
    photo: str | None = None
    """The path of a photo."""
    file: str | None = None
    """The path of a file."""
    place: PlaceIn | None = None
    """A position."""
    tick: Literal[True] | None = None
    """Time has passed, and nobody said anything."""

    @model_validator(mode="after")
    def _one_body(self) -> Self:
        given = [name for name in BODIES if getattr(self, name) is not None]
        if len(given) != 1:
            found = ", ".join(given) or "none"
            raise ValueError(f"exactly one of {', '.join(BODIES)} is allowed, here: {found}")
        return self
