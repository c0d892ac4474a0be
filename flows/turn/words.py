"""The words understood at any time, each with its effect."""

from collections.abc import Callable

from flows.job.acts import ACTS, UNKNOWN, WINCH_RUNS, worst
from flows.job.entries import Private
from flows.job.events import MINUTE_NS, Heard, Moment
from flows.job.intents import Word
from flows.job.state import Job, Pending
from flows.measures.say import digits
from flows.routine.items import Gate, HandOff, Item, LiftPlan, Photo, PullPlan, Question
from flows.telling.card_words import ends_neutral, keep_off_parts, keeps_off
from flows.telling.reply import Reply, To
from flows.telling.saying import section_now
from flows.telling.slots import loaded_height_in
from flows.telling.status_words import open_skip_item
from flows.turn import effects, media, sheet
from flows.turn.aboard import say_empty
from flows.turn.emergencies import SUDDEN
from flows.turn.turning import BOT, Turning
from flows.turn.weighing import object_to_weight

LOST_AFTER_NS = 10 * MINUTE_NS
"""Ours: after a pause of so long the section starts again."""
Apply = Callable[[Turning, Word, Item | None], None]


def _stop(t: Turning, _word: Word, _item: Item | None) -> None:
    pause(t, "stop")
    t.say("stopped")


def _hold_word(t: Turning, _word: Word, _item: Item | None) -> None:
    pulls = t.job.acts["winch"] != "still"
    pause(t, "hold")
    # The winch may still be running: the answer says to stop it first.
    t.answer_sender("held_pull" if pulls else "held")


def pause(t: Turning, why: str) -> None:
    """Ask nothing until the driver resumes; a winch that was running is in doubt."""
    if t.job.acts["winch"] in WINCH_RUNS:
        effects.doubt(t, {"winch": UNKNOWN})
    if t.job.paused is None or why == "stop":
        effects.hold(t, why)


def _resume(t: Turning, _word: Word, _item: Item | None) -> None:
    """Go on; after ten minutes, or a pause of unknown length, the section starts again."""
    if t.job.handoff is not None and t.job.acts["danger"] != "seen":
        t.note("handoff_dropped", BOT)
    since = t.job.paused
    if since is not None:
        t.note("resumed", why=t.job.paused_why)
    if since is not None and paused_long(since, t.at):
        start_again(t)
    else:
        t.resumed = True
        t.answer_sender("resume")


def paused_long(since: Moment, at: Moment) -> bool:
    """Say whether a pause was over ten minutes long, or of unknown length."""
    return since.boot != at.boot or not 0 <= at.mono_ns - since.mono_ns <= LOST_AFTER_NS


def start_again(t: Turning) -> None:
    """Start the section in hand again, with the resume message; the record keeps all of it.

    The outcome of its steps is not known from now on.
    """
    sections = t.job.book.routine.sections
    items = next((one.items for one in sections if one.id == section_now(t.job)), ())
    states = _states_set_by(t.job, items)
    if t.job.acts["winch"] in WINCH_RUNS:
        states["winch"] = UNKNOWN
    effects.doubt(t, states, tuple(item.id for item in items if item.id in t.job.done))
    t.resumed = True
    t.answer_sender("restart")


def _states_set_by(job: Job, items: tuple[Item, ...]) -> dict[str, str]:
    """Return the states that the steps of a section have set, each at its worst.

    A step that does not apply now was not this section's, so its act still counts.
    """
    begun = job.acts.changed().keys() - {"rolling"}
    done = (
        ACTS[act].variable
        for item in items
        if item.applies.holds(job)
        for act in item.acts
        if job.acts.holds(act)
    )
    return {variable: worst(variable) for variable in done if variable in begun}


def _lost(t: Turning, _word: Word, _item: Item | None) -> None:
    start_again(t)


def _take_over(t: Turning, _word: Word, _item: Item | None) -> None:
    if not _may_take_over(t):
        t.answer_sender("unchanged")
        return
    is_first, theirs = t.job.at_vehicle is None, t.job.theirs
    if not is_first:
        t.say("taken_from_you")
        t.say("taken_over_told", "dispatchers")
    t.note("handover", to=t.by)
    if t.job.paused is not None:
        t.note("resumed", why="handover")
    t.say("taken_over")
    if is_first:
        t.resumed = True
        t.say("resume")
    else:
        start_again(t)
    if theirs is not None and theirs.by == t.by:
        # A weight of one's own is still to be confirmed, now as the driver at the vehicle.
        t.note("unoffered", BOT)
        effects.pend(t, theirs)


def _may_take_over(t: Turning) -> bool:
    """Say whether it comes from a driver, other than the one at the vehicle."""
    is_drivers = isinstance(t.event, Heard) and t.event.who.role == "driver"
    return is_drivers and not t.sender_is_driver()


def _false_alarm(t: Turning, _word: Word, _item: Item | None) -> None:
    """Ask whoever saw danger to look again, unless the fire service is called already."""
    seen = t.job.facts.get("danger")
    if seen is None or seen.by != t.by or t.job.acts["help"] == "called":
        t.answer_sender("danger_stays")
    else:
        effects.pend(t, Pending("alarm_smoke", "danger"))


def _say(key: str) -> Apply:
    def say(t: Turning, _word: Word, _item: Item | None) -> None:
        t.answer_sender(key)

    return say


def _repeat(t: Turning, _word: Word, _item: Item | None) -> None:
    if t.job.paused is not None:
        t.answer_sender("still_held")
    else:
        t.repeat = True


def _window(t: Turning, _word: Word, _item: Item | None) -> None:
    is_open = t.job.window is not None and t.job.window.state == "open"
    t.answer_sender("window_left" if is_open else "window_none")


def _keep_off(t: Turning, _word: Word, _item: Item | None) -> None:
    for places in keep_off_parts(t.job)[:-1]:
        t.answer_sender("keep_off_part", places=places)
    t.answer_sender("keep_off" if keeps_off(t.job) else "keep_off_none")


def _neutral_ends(t: Turning, _word: Word, _item: Item | None) -> None:
    t.answer_sender("neutral_ends" if ends_neutral(t.job) else "neutral_ends_none")


def _of_margin(key: str, none: str = "numbers_none") -> Apply:
    """Return the effect that tells of the margin, or that no margin is known yet."""

    def tell(t: Turning, _word: Word, _item: Item | None) -> None:
        t.answer_sender(key if t.job.margin_stands else none)

    return tell


def _margin_again(t: Turning, _word: Word, _item: Item | None) -> None:
    """Say the margin in the words of its first telling."""
    if t.job.margin_stands:
        to: To = "driver" if t.sender_is_driver() else "sender"
        t.replies.append(Reply(to, "items.margin.figure", t.job, item="margin.figure"))
    else:
        t.answer_sender("numbers_none")


def _why_not(t: Turning, word: Word, item: Item | None) -> None:
    """Tell the figure under the no-go that is open: the pull, the lift, the dollies, the margin.

    Anywhere else the margin is what "why not" asks for.
    """
    plan = _plan_under(t.job, item)
    if isinstance(plan, PullPlan):
        _why_no_pull(t)
    elif plan is not None and t.job.lift_by(plan.by) is not None:
        to: To = "driver" if t.sender_is_driver() else "sender"
        t.replies.append(Reply(to, f"items.{plan.id}", t.job, item=plan.id))
    else:
        _margin_again(t, word, item)


def _plan_under(job: Job, item: Item | None) -> LiftPlan | PullPlan | None:
    """Return the plan that a gate or a hand-off of its section rests on; None for the margin."""
    if not isinstance(item, Gate | HandOff):
        return None
    section = job.book.routine.section_of[item.id]
    return next((one for one in section.items if isinstance(one, LiftPlan | PullPlan)), None)


def _why_no_pull(t: Turning) -> None:
    plan = t.job.pull.result if t.job.pull is not None else {}
    if t.job.pull_word == "weak":
        names = {name: digits(int(plan[f"{name}_lb"])) for name in ("line", "rating")}
        t.answer_sender("why_weak", **names)
    else:
        t.answer_sender("why_long")


def _height(t: Turning, _word: Word, _item: Item | None) -> None:
    t.answer_sender("height_none" if loaded_height_in(t.job) is None else "height")


def _helps(t: Turning, _word: Word, _item: Item | None) -> None:
    none = "helps_none" if t.job.margin_stands else "numbers_none"
    t.answer_sender("helps" if t.job.margin_stands and t.job.verdict != "go" else none)


def _sheet(t: Turning, _word: Word, _item: Item | None) -> None:
    if sheet.is_ready(t.job):
        t.answer_sender("sheet", sheet_shown=sheet.text(t.job))
    else:
        t.answer_sender("sheet_not_yet")


def _noted(t: Turning, _word: Word, _item: Item | None) -> None:
    t.note("acknowledged")
    t.answer_sender("noted")


def _skip(t: Turning, word: Word, item: Item | None) -> None:
    if item is None or not item.skippable:
        critical = item is not None and item.critical and not isinstance(item, Question)
        t.answer_sender("skip_refused" if critical else "not_critical_skip")
    elif len(word.rest.split()) >= 3:
        t.note("skipped", item=item.id, reason=Private(word.rest))
        t.answer_sender("skipped")
    else:
        effects.pend(t, Pending("skip", item=item.id))


MOST_DEFERRED = 2


def _later(t: Turning, _word: Word, item: Item | None) -> None:
    if item is None or not item.deferrable or t.job.pending is not None:
        t.answer_sender("defer_refused")
    elif item.id in {one.item for one in t.job.deferred}:
        # It came back before a pause point, so it is due now.
        t.answer_sender("defer_refused")
    elif len(t.job.deferred) >= MOST_DEFERRED:
        t.answer_sender("defer_full")
    else:
        t.note("deferred", item=item.id)
        t.answer_sender("deferred")


def _cannot(t: Turning, word: Word, item: Item | None) -> None:
    """Take "cannot": a hand-off, or, where that is under way or danger is open, dispatch."""
    if isinstance(item, Photo):
        _cannot_photograph(t, word, item)
    elif item is not None and item.skippable:
        _skip(t, word, item)
    elif isinstance(item, Question):
        effects.not_sure(t, item)
    elif t.job.acts["danger"] == "seen" or t.job.handoff is not None:
        t.say("dispatch_asked", "dispatchers")
        t.answer_sender("dispatch_called")
    else:
        t.note("handoff_wanted", reason="cannot")


def _cannot_photograph(t: Turning, word: Word, item: Photo) -> None:
    if word.rest.strip():
        media.unseen(t, item.id, word.rest)
    else:
        effects.pend(t, Pending("unseen", item=item.id))


def _hand_off(t: Turning, _word: Word, _item: Item | None) -> None:
    if t.job.paused is not None:
        t.note("resumed", why="hand_off")
    if t.job.acts["danger"] == "seen":
        t.answer_sender("danger_stays")
    elif t.job.handoff is None:
        t.note("handoff_wanted", reason="wanted")


def _override(t: Turning, word: Word, _item: Item | None) -> None:
    event = t.event
    if not isinstance(event, Heard) or event.who.role != "owner":
        t.answer_sender("not_owner")
    elif t.job.verdict not in {"close", "no-go"}:
        t.answer_sender("override_nothing")
    elif not word.rest.strip():
        t.answer_sender("override_reason")
    else:
        seq = -1 if t.job.margin is None else t.job.margin.seq
        t.note("overridden", reason=Private(word.rest), conclusion=seq, verdict=t.job.verdict)
        key = "override_no_go" if t.job.verdict == "no-go" else "override_taken"
        t.say(key, "sender")
        t.say(key)


def _settle(t: Turning, word: Word, _item: Item | None) -> None:
    event = t.event
    may = isinstance(event, Heard) and event.who.role in {"owner", "dispatcher"}
    item = open_skip_item(t.job)
    if not may or item is None or not word.rest.strip():
        t.answer_sender("settle_nothing" if may else "settle_not_yours")
        return
    t.note("skip_settled", item=item, reason=Private(word.rest))
    t.answer_sender("settled")


WORDS: dict[str, Apply] = {
    "stop": _stop,
    **SUDDEN,
    "through_wheel": _say("through_wheel"),
    "by_line": _say("by_line"),
    "hold": _hold_word,
    "resume": _resume,
    "lost": _lost,
    "false_alarm": _false_alarm,
    "take_over": _take_over,
    "repeat": _repeat,
    "status": _say("status"),
    "why": _say("why"),
    "help": _say("help"),
    "window": _window,
    "numbers": _of_margin("numbers"),
    "margin": _margin_again,
    "why_not": _why_not,
    "weight": _of_margin("weight", "weight_none"),
    "height": _height,
    "helps": _helps,
    "points": _say("points"),
    "keep_off": _keep_off,
    "neutral_ends": _neutral_ends,
    "sheet": _sheet,
    "wrong_weight": object_to_weight,
    "weigh": _say("weigh"),
    "noted": _noted,
    "copy": _noted,
    "skip": _skip,
    "cannot": _cannot,
    "later": _later,
    "hand_off": _hand_off,
    "override": _override,
    "settle": _settle,
    "deck_empty": say_empty,
}
