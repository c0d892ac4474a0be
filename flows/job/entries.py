"""Entries: facts, acts and conclusions, one at a time. A job is a fold over them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

Kind = Literal[
    "opened",
    "heard",
    "asked",
    "fact",
    "fact_cleared",
    "act",
    "retracted",
    "doubted",
    "done",
    "concluded",
    "planned",
    "lift_planned",
    "overridden",
    "window",
    "held",
    "resumed",
    "pending",
    "unpended",
    "offered",
    "unoffered",
    "skipped",
    "skip_settled",
    "alarmed",
    "acknowledged",
    "escalated",
    "reasked",
    "unclear",
    "parked",
    "handover",
    "handoff_wanted",
    "handoff_dropped",
    "section_done",
    "refused",
    "told",
    "received",
    "media",
    "media_lost",
    "transcript",
    "unseen",
    "deferred",
    "deferral_due",
    "held_back",
    "passed_on",
    "ended",
    "checkpoint",
]


@dataclass(frozen=True, slots=True)
class Private:
    """A personal value: the record keeps a commitment, a side table the value."""

    private_value: Any


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry as the flows make it; the desk adds job, sequence, times and chain.

    Bodies hold only strings, integers in a declared unit, booleans, None, lists,
    mappings of those, and `Private`. No floats.
    """

    kind: Kind
    body: Mapping[str, Any]


def plain(value: Any) -> Any:  # noqa: ANN401 - a body value is any JSON shape
    """Return a body value with the personal parts as they are known, else None.

    Examples
    --------
    >>> plain(Private("mile 12")), plain({"commitment": "ab", "value": "mile 12"})
    ('mile 12', 'mile 12')
    >>> plain({"commitment": "ab", "value": None, "erased": True}) is None
    True
    """
    if isinstance(value, Private):
        return value.private_value
    if isinstance(value, Mapping) and "commitment" in value:
        return value.get("value")
    return value
