"""News: what counts whoever says it, and whichever message it answers.

Only answers are bound to their question, and only the driver at the vehicle settles a step. That
a hook came off, or that it was a crash, is as true from a dispatcher or in a late reply.
"""

from collections.abc import Mapping

from flows.hearing.answers import NOTHING
from flows.hearing.prompts import Prompt
from flows.job.acts import ACTS, UNKNOWN, WHEELS, that_stands
from flows.job.intents import Alarm, Danger, Did, Give, Intent, Sloped, Undid, Word
from flows.telling.labels import act_label
from flows.turn import effects
from flows.turn.emergencies import SUDDEN
from flows.turn.turning import Turning

UNASKED = Prompt(None, NOTHING)
"""No question: only what is said in full counts."""
LOOSENS = frozenset(
    {"chocks_out", "unhooked", "line_off", "line_slackened", "neutral_selected", "winch_moves",
     "pays_out", "wheels_freed", *(f"unstrapped_{wheel}" for wheel in WHEELS)}
)  # fmt: skip
"""Acts after which less holds the vehicle: told by somebody else, they are looked at."""
HOLDS = frozenset(
    {"chocks", "hook", "line", "tension", "path", "bystanders", "truck", "neutral", "winch",
     "lift_straps", "dolly_straps", "dollies", "skates", "lifted", "plug",
     *(f"strap.{wheel}" for wheel in WHEELS)}
)  # fmt: skip
"""Act states that anybody may put in doubt. Where the truck is, only its driver knows."""
WORSE: Mapping[str, frozenset[str]] = {
    "danger": frozenset({"seen"}),
    "history": frozenset({"crash", "water", "fire"}),
    "wheels": frozenset({"flat", "locked", "missing"}),
    "slope": frozenset({"uphill"}),
    "cord": frozenset({"free", "stuck"}),
    "takes_it": frozenset({"no"}),
}
"""Values of facts that ask for more care: they count from an answer that comes too late."""


def in_reply(intents: tuple[Intent, ...]) -> tuple[Intent, ...]:
    """Return what counts of words that answer no open question of their sender.

    Examples
    --------
    >>> in_reply((Did("chocks_in"), Undid("hooked"), Give("slope", "level")))
    (Undid(act='hooked'),)
    """
    return tuple(one for one in intents if _counts_late(one))


def _counts_late(intent: Intent) -> bool:
    match intent:
        case Danger() | Alarm():
            return True
        case Word():
            return intent.name == "stop" or intent.name in SUDDEN
        case Give():
            return intent.value in WORSE.get(intent.fact, ())
        case Sloped():
            return intent.value in WORSE["slope"]
        case _:
            return isinstance(intent, Undid) and of_anybody(intent)


def of_anybody(intent: Intent) -> bool:
    """Say whether an intent tells that something may hold no longer, which anybody may tell."""
    match intent:
        case Undid():
            return ACTS[intent.act].variable in HOLDS or intent.act == "danger_released"
        case Did():
            return intent.act in LOOSENS
        case _:
            return False


def doubt(t: Turning, intent: Did | Undid) -> None:
    """Put in doubt what somebody tells who does not settle it; the driver looks."""
    before = t.job.acts
    act = that_stands(before, intent.act)
    if isinstance(intent, Undid) and act == "danger_released":
        effects.see_danger(t, "release taken back")
    elif isinstance(intent, Undid) and act is not None:
        effects.undo(t, act)
    elif isinstance(intent, Did) and act is None:
        effects.doubt(t, {ACTS[intent.act].variable: UNKNOWN})
    if t.job.acts != before:
        _tell(t, intent)


def _tell(t: Turning, intent: Did | Undid) -> None:
    """Tell the driver, who is to look at it; on the road only that something came off."""
    if t.job.acts["rolling"] == "rolling":
        t.say("rolling_untied")
    elif t.job.acts["danger"] != "seen":
        key = "news_undone" if isinstance(intent, Undid) else "news_done"
        t.say(key, noted=act_label(intent.act))
