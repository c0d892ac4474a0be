"""A turn that breaks a rule: what it decided is taken back, and the vehicle is held first.

Whatever was said to have happened stays on record. The exchange in hand is dropped, so that the
next message starts afresh and is not refused for the same reason.
"""

from collections.abc import Sequence

from flows.job.acts import UNKNOWN
from flows.job.entries import Entry
from flows.turn import effects
from flows.turn.as_rules_see import decides
from flows.turn.turning import BOT, Turning

DECIDED = frozenset(
    {"asked", "concluded", "planned", "lift_planned", "overridden", "skipped", "skip_settled",
     "ended", "section_done", "pending", "offered", "deferred"}
)  # fmt: skip
"""Entries that say what was concluded, decided or asked, not what happened."""


def take_back(t: Turning, why: Sequence[str]) -> None:
    """Leave of a turn only what was said to have happened."""
    rules = {one.partition(":")[0] for one in why}
    t.start_over([(entry, by) for entry, by in t.entries if _stays(entry, by, rules)])
    if t.job.pending is not None:
        t.note("unpended", BOT)


def _stays(entry: Entry, author: str, rules: set[str]) -> bool:
    if entry.kind == "window":
        return "S10" not in rules
    if entry.kind == "act" and entry.body["act"] == "danger_released":
        return "S1" not in rules
    return entry.kind not in DECIDED and not decides(entry, author)


def hold(t: Turning) -> None:
    """Put in doubt what lets it move, so that the next thing asked for makes it safer."""
    acts = t.job.acts
    if acts["winch"] != "still":
        effects.doubt(t, {"winch": UNKNOWN})
    elif acts["chocks"] == "out":
        effects.doubt(t, {"chocks": UNKNOWN})
