"""Emergencies said in plain words: the states they put in doubt, and who hears of them."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from flows.hearing.answers import ALARMS
from flows.job.acts import UNKNOWN, WHEELS
from flows.job.intents import Word
from flows.job.state import Pending
from flows.routine.items import Item
from flows.turn import effects
from flows.turn.turning import BOT, Turning

Apply = Callable[[Turning, Word, Item | None], None]


@dataclass(frozen=True, slots=True)
class Emergency:
    """The states an emergency puts in doubt, and the messages to driver and dispatchers.

    Parameters
    ----------
    doubts
        Act states that are in doubt, as far as they are no longer as they were found.
    alarm, told
        The sentences, of those in `says`.
    moves_truck
        The truck is somewhere else now.
    runs
        The winch runs, whatever was said of it before.
    holds
        Nothing more is asked until somebody says to go on.
    """

    doubts: tuple[str, ...]
    alarm: str
    told: str
    moves_truck: bool = False
    runs: bool = False
    holds: bool = False


EMERGENCIES: Mapping[str, Emergency] = {
    # Everything that should hold it is in doubt.
    "loose": Emergency(("tension", "chocks", "winch"), "loose", "loose_told"),
    "truck_loose": Emergency(
        ("chocks", "winch"), "truck_loose", "truck_loose_told", moves_truck=True
    ),
    # Nobody said where they came from: the barrier is looked at again too.
    "in_path": Emergency(("path", "bystanders", "winch"), "in_path", "in_path_told"),
    # Whose chock, whose brake: vehicle's and truck's are both looked at.
    "chock_off": Emergency(("chocks", "truck", "winch"), "chock_off", "loose_told"),
    "brake_failed": Emergency(
        ("chocks", "truck", "tension", "winch"), "brake_failed", "loose_told"
    ),
    "winch_runs": Emergency(("tension", "path"), "winch_runs", "winch_runs_told", runs=True),
    "hurt": Emergency(("path", "winch"), "hurt", "hurt_told", holds=True),
}


def _emergency(t: Turning, word: Word, _item: Item | None) -> None:
    """Put states in doubt, drop the exchange in hand, raise the alarm and tell dispatch."""
    one = EMERGENCIES[word.name]
    if t.job.paused is not None:
        t.note("resumed", BOT, why=word.name)
    if t.job.pending is not None and not _is_about_else(t.job.pending, word.name):
        t.note("unpended", BOT)
    _doubt_changed(t, one.doubts)
    if one.runs:
        effects.doubt(t, {"winch": UNKNOWN})
    if one.moves_truck:
        effects.truck_moved(t)
    # While danger is open its own steps go on: they help.
    if one.holds and t.job.acts["danger"] != "seen":
        effects.hold(t, word.name)
    t.alarm(one.alarm, escalates=True)
    t.say(one.told, "dispatchers")


def _is_about_else(pending: Pending, name: str) -> bool:
    """Say whether it asks about another emergency than this one, which stays open then."""
    answered = "alarm_people" if name == "hurt" else "alarm_moving"
    return pending.kind in ALARMS and pending.kind != answered


def _strap_off(t: Turning, _word: Word, _item: Item | None) -> None:
    """Some strap came off, nobody said which: every strap that was on is looked at again."""
    straps = (*(f"strap.{wheel}" for wheel in WHEELS), "lift_straps", "dolly_straps")
    if all(t.job.acts[strap] == "off" for strap in straps):
        t.answer_sender("no_strap")
        return
    _doubt_changed(t, straps)
    if t.job.acts["rolling"] == "rolling":
        t.say("rolling_untied")
    else:
        t.say("straps_doubted")


def _truck_moved(t: Turning, _word: Word, _item: Item | None) -> None:
    effects.truck_moved(t)
    t.say("truck_moved")


def _doubt_changed(t: Turning, variables: tuple[str, ...]) -> None:
    """Put in doubt those that are no longer as they were before anything was done."""
    changed = t.job.acts.changed()
    effects.doubt(t, {one: UNKNOWN for one in variables if one in changed})


SUDDEN: Mapping[str, Apply] = {
    **dict.fromkeys(EMERGENCIES, _emergency),
    "strap_off": _strap_off,
    "truck_moved": _truck_moved,
}
"""The words for emergencies, each with its effect."""
