"""Who may say what of a job, and what is taken while it is paused."""

from flows.job.intents import (
    Did,
    Give,
    Intent,
    Measured,
    Nothing,
    Settled,
    Sloped,
    Undid,
    Weighs,
    Word,
)
from flows.routine.items import Step
from flows.turn.emergencies import SUDDEN
from flows.turn.turning import Turning

FOR_ALL = frozenset({"stop", "repeat", "status", "window", "numbers", "sheet", "why", "help",
                     "margin", "weight", "height", "helps", "noted", "settle", "override",
                     "take_over", "points", "keep_off", "deck_empty", "neutral_ends", "why_not",
                     *SUDDEN})  # fmt: skip
"""Words that anyone enrolled may say of a job, besides facts."""
WHILE_PAUSED = FOR_ALL | {"resume", "hand_off", "hold", "problem", "back"}


def refusal(t: Turning, intent: Intent) -> str:
    """Return what is said instead of taking an intent, "" where it is taken."""
    if not _allowed(t, intent):
        return "not_yours"
    is_held = t.job.paused is not None and not _while_paused(t, intent)
    return "still_held" if is_held else ""


def _allowed(t: Turning, intent: Intent) -> bool:
    """Others add facts, warn, stop and ask; only the driver at the vehicle settles steps."""
    if t.sender_is_driver():
        return True
    if isinstance(intent, Word):
        return intent.name in FOR_ALL
    return isinstance(intent, Give | Sloped | Weighs | Nothing)


def _while_paused(t: Turning, intent: Intent) -> bool:
    """Acts and facts are taken while nothing is asked; a "go" is not."""
    if isinstance(intent, Word):
        return intent.name in WHILE_PAUSED
    if isinstance(intent, Settled):
        return isinstance(t.job.book.routine.items[intent.item], Step)
    return isinstance(intent, Did | Undid | Give | Sloped | Weighs | Measured)
