"""Advance: one event, one turn. Pure; the job after it is the fold of the turn's entries."""

from dataclasses import replace

from flows.hearing.prompts import Prompt, choice_slots, prompt_for
from flows.job import windows
from flows.job.acts import UNKNOWN
from flows.job.entries import Private
from flows.job.events import Event, Heard, Opinion, Spoken, Tick, Told
from flows.job.state import Job
from flows.measures.say import say_number
from flows.routine.card_waits import OVER
from flows.routine.items import Item
from flows.rules.safety import broken
from flows.telling.reply import Priority, Reply, priority_of
from flows.telling.saying import section_now
from flows.telling.told_before import places_before, told_before
from flows.texts import sentences
from flows.turn import aboard, effects, guard, headroom, media
from flows.turn.applying import apply
from flows.turn.as_rules_see import turned
from flows.turn.figuring import figures
from flows.turn.flood import hold_back
from flows.turn.news import UNASKED, in_reply
from flows.turn.reading_messages import (
    WARNS,
    after_new_job,
    opened_with,
    read,
    tells_danger,
    understood,
)
from flows.turn.ticking import tick
from flows.turn.timers import timers_for
from flows.turn.turning import BOT, Turn, Turning
from flows.turn.voicing import taken
from flows.turn.words import pause

PENDING_TEXT = {"number": "read_back_no", "skip": "skip_reason", "still": "back_act",
                "again": "back_fact", "unseen": "unseen_why", "heard": "voice_check"}  # fmt: skip
NOTED_AT_ONCE = 4
# Entries that change a job while its question stays open.
CHANGES = frozenset({"fact", "fact_cleared", "act", "retracted", "done", "section_done"})
# Alarms that ask for the same act as the item: its question is not sent after them.
ASKS_FOR = {"says.window_end": "recover.stop", "says.window_end_parked": "recover.chock"}


def advance(job: Job, event: Event) -> Turn:
    """Return the turn of one event: entries, replies, and the timers wanted after it.

    Parameters
    ----------
    job
        The job before the event.
    event
        Something heard, a timer that fell due, or something that changed elsewhere.

    Returns
    -------
    Turn
        Entries in order, replies not yet worded, every timer wanted from now on.
    """
    t = Turning(job, event)
    if windows.in_doubt(job, t.at):
        _doubt_clock(t)
    match event:
        case Heard():
            _hear(t, event)
        case Tick():
            tick(t, event)
        case Told():
            _told(t, event)
    _finish(t)
    _guard(t)
    return Turn(t.job, tuple(t.entries), tuple(t.replies), timers_for(t.job), t.deck_empty)


def opening(job: Job, event: Heard, body: dict[str, object]) -> Turn:
    """Return the turn that opens a job: its first entry, then the words that came with it."""
    t = Turning(job, event)
    driver = event.who.id if event.who.role == "driver" else None
    t.note("opened", **body, at_vehicle=driver)
    t.answer_sender("opened") if driver is None else t.say("opened")
    _record(t, event)
    if event.spoken is not None and event.media is not None:
        media.keep(t, event)
        _written_down(t, event.spoken)
    opened_with(t, event, after_new_job(event.text))
    _finish(t)
    _guard(t)
    return Turn(t.job, tuple(t.entries), tuple(t.replies), timers_for(t.job))


def call_off(job: Job, heard: Heard, why: str) -> Turn:
    """Return the turn that ends a job nobody has taken.

    Parameters
    ----------
    heard
        The words of the desk, which keep the reason as it was said.
    why
        The reason, as a key.
    """
    t = Turning(job, heard)
    _record(t, heard)
    t.note("ended", how="called_off", reason=why)
    _guard(t)
    return Turn(t.job, tuple(t.entries), tuple(t.replies), timers_for(t.job))


def _record(t: Turning, heard: Heard) -> None:
    body: dict[str, object] = {"text": Private(heard.text), "role": heard.who.role}
    if heard.tap is not None:
        body["tap"] = Private(heard.tap)
    for name in ("ask", "stamped_ms"):
        if getattr(heard, name) is not None:
            body[name] = getattr(heard, name)
    if heard.is_edit:
        body["edit"] = True
    body["from_driver"] = heard.who.id == t.job.at_vehicle
    t.note("heard", **body)


def _hear(t: Turning, heard: Heard) -> None:
    _record(t, heard)
    if t.job.ended is not None:
        _answer_after_end(t, heard)
    elif heard.media is not None or heard.position is not None:
        media.keep(t, heard)
        if heard.spoken is not None:
            _spoke(t, heard, heard.spoken)
        if heard.text:
            # A caption is words like any others.
            _said(t, heard)
    else:
        _said(t, heard)


def _answer_after_end(t: Turning, heard: Heard) -> None:
    is_danger = tells_danger(heard.text, heard.tap)
    if not is_danger and aboard.taken_off(t, heard.text):
        return
    if is_danger or not heard.is_part:
        t.answer_sender("danger_outside" if is_danger else "over")


def _spoke(t: Turning, heard: Heard, spoken: Spoken) -> None:
    """Take the words heard in a voice note, if they answer the open question."""
    _written_down(t, spoken)
    words = replace(heard, text=spoken.text)
    if spoken.text and _is_stale(t, heard):
        _out_of_turn(t, words, "stale")
    elif spoken.text and _was_sent_before(t, heard):
        t.note("parked", BOT)
        _out_of_turn(t, words, "parked")
    else:
        taken(t, words, spoken)


def _written_down(t: Turning, spoken: Spoken) -> None:
    t.note("transcript", BOT, text=Private(spoken.text), score=spoken.score, why=spoken.why,
           engine=spoken.engine, version=spoken.version, free=spoken.is_free,
           **_opinion(spoken.opinion))  # fmt: skip


def _opinion(one: Opinion | None) -> dict[str, object]:
    """Return how the record holds a second opinion."""
    if one is None:
        return {}
    return {"opinion": {"text": Private(one.text), "engine": one.engine, "version": one.version,
                        "agrees": one.agrees, "why": one.why}}  # fmt: skip


def _said(t: Turning, heard: Heard) -> None:
    if heard.is_edit:
        _out_of_turn(t, heard, "edit")
    elif _is_stale(t, heard):
        _out_of_turn(t, heard, "stale")
    elif _was_sent_before(t, heard):
        t.note("parked", BOT)
        _out_of_turn(t, heard, "parked")
    else:
        understood(t, heard, heard.text)


def _is_stale(t: Turning, heard: Heard) -> bool:
    asked = t.before.asked
    return heard.ask is not None and (asked is None or heard.ask != asked.n)


def _was_sent_before(t: Turning, heard: Heard) -> bool:
    """Say whether an unbound message was stamped before the open question was asked."""
    asked = t.before.asked
    sent = windows.sent_ns(t.before, heard)
    if heard.ask is not None or asked is None or sent is None:
        return False
    since = asked.since(t.at.boot)
    return since.boot == t.at.boot and sent < since.mono_ns


def _out_of_turn(t: Turning, heard: Heard, key: str) -> None:
    """Record words that do not answer the open question; news in them counts all the same."""
    told = () if heard.tap is not None else in_reply(read(t, heard, heard.text, UNASKED))
    if heard.tap in WARNS:
        # Whichever question the button is under: better one alarm too many than one too few.
        effects.see_danger(t, "seen")
    elif told:
        apply(t, told, UNASKED)
    else:
        t.answer_sender(key)


def _told(t: Turning, told: Told) -> None:
    if told.what == "media":
        media.told(t, told)
        return
    if told.what == "truck_changed" and told.fleet is not None:
        # The vehicles aboard come with the fleet, as in every event.
        return
    t.note("told", BOT, what=told.what)
    if told.what == "left":
        _leave(t)
    elif told.what == "driver_gone":
        pause(t, "driver_gone")
        t.say("driver_gone_told", "dispatchers")
    elif told.what == "restarted":
        _restarted(t)


def _leave(t: Turning) -> None:
    """Pause; but let nobody leave a winch that runs, or may: it is stopped first."""
    if t.job.acts["winch"] == "still":
        pause(t, "left")
        return
    if t.job.paused is not None:
        t.note("resumed", BOT, why="left")
    effects.doubt(t, {"winch": UNKNOWN})
    t.say("not_left")
    t.repeat = True


def _restarted(t: Turning) -> None:
    """Say the resume message once, where somebody is at the vehicle."""
    is_over = t.job.ended is not None or t.job.at_vehicle is None
    if not is_over and not t.resumed:
        t.resumed = True
        t.say("resume")


def _doubt_clock(t: Turning) -> None:
    """End an open window after another boot, or where the boot clock went back, and say so."""
    if t.job.ended is not None:
        return
    window = t.job.window
    if window is not None and window.is_counted:
        effects.end_window(t)
        t.alarm("clock_doubt", escalates=True)
    rebooted = t.before.now is not None and t.at.boot != t.before.now.boot
    if rebooted and t.job.at_vehicle is not None and t.job.paused is None:
        t.resumed = True
        t.say("resume")


def _finish(t: Turning) -> None:
    """Compute the figures that can be, echo, then ask the open question."""
    aboard.sync(t)
    figures(t)
    headroom.compare(t)
    if t.job.ended is not None:
        _say_end(t)
        return
    if _is_unanswered(t) and not media.is_part(t):
        t.answer_sender("still_held" if t.sender_is_driver() else "taken")
    if t.noted:
        labels = list(dict.fromkeys(t.noted))
        t.replies.insert(
            _first_place(t),
            Reply("driver" if t.sender_is_driver() else "sender", "says.echo", t.job,
                  slots={"noted": ", ".join(labels[:NOTED_AT_ONCE]),
                         "noted_all": ", ".join(labels)}),
        )  # fmt: skip
    _section_change(t)
    _ask(t)
    _tell_dispatch_too(t)
    hold_back(t)


def _is_unanswered(t: Turning) -> bool:
    """Say whether somebody spoke and nothing was said to them; a driver who is asked is told."""
    if not isinstance(t.event, Heard) or t.noted:
        return False
    if t.sender_is_driver():
        return t.job.paused is not None and not any(one.to == "driver" for one in t.replies)
    theirs = {"sender", {"dispatcher": "dispatchers", "owner": "owners"}.get(t.event.who.role)}
    return not any(reply.to in theirs for reply in t.replies)


def _first_place(t: Turning) -> int:
    return 1 if t.replies and t.replies[0].key == "says.opened" else 0


def _say_end(t: Turning) -> None:
    ended = t.job.ended
    if ended is None or t.before.ended is not None:
        return
    t.say("closed" if ended.how == "closed" else "handed_off")
    if ended.how != "closed":
        t.say("handoff_told", "dispatchers")


def _section_change(t: Turning) -> None:
    """Say once that a section is done, when a later section has been reached."""
    now, was = section_now(t.job), t.job.section
    if now == was:
        return
    routine, item = t.job.book.routine, t.job.next_item
    if item is not None and routine.section_of[item.id].id not in routine.first:
        t.note("section_done", BOT, section=was, next=now)
        if t.job.paused is None:
            _say_section_done(t, was, now)


def _say_section_done(t: Turning, was: str, now: str) -> None:
    routine, names = t.job.book.routine, sentences()["sections"]
    order = [section.id for section in routine.sections if section.id not in routine.first]
    if was in order and order.index(now) > order.index(was):
        t.say("section_done", section_name=names[was], position=say_number(order.index(was) + 1),
              total=say_number(len(order)), next_section=names[now])  # fmt: skip


def _ask(t: Turning) -> None:
    """Ask the open question, unless it was asked already and nothing of it has changed."""
    if t.job.paused is not None or t.job.at_vehicle is None:
        return
    prompt = prompt_for(t.job)
    if prompt.item is None:
        return
    same = prompt.is_asked_by(t.job.asked)
    again = t.repeat or t.resumed or _went_on(t)
    if not same or t.resumed:
        _note_asked(t, prompt, same=same)
    if (same and not again) or _alarm_asks(t, prompt.item):
        _expect_on_last(t, prompt)
    else:
        _put(t, prompt, same=same)


def _note_asked(t: Turning, prompt: Prompt, *, same: bool) -> None:
    """Record that it is asked; after an interruption under its old number, for late answers."""
    detail = {"detail": prompt.detail} if prompt.detail else {}
    t.note("asked", BOT, item=prompt.key, n=t.job.asks + (0 if same else 1), **detail)


def _alarm_asks(t: Turning, item: Item) -> bool:
    return bool(t.replies) and ASKS_FOR.get(t.replies[-1].key) == item.id


def _put(t: Turning, prompt: Prompt, *, same: bool) -> None:
    """Send the question, and a first time the sentence that is told before it."""
    is_first = not same and not prompt.pending and prompt.item is not None
    first = told_before(t.job, prompt.item.id) if is_first and prompt.item else ""
    if first:
        t.say(first)
    if is_first or t.repeat:
        _read_places(t, prompt)
    t.replies.append(_question(t, prompt))


def _read_places(t: Turning, prompt: Prompt) -> None:
    """Say the places that tear which come before the question, as many as fit at a time."""
    if prompt.item is not None and not prompt.pending:
        for places in places_before(t.job, prompt.item.id):
            t.say("keep_off_part", places=places)


def _tell_dispatch_too(t: Turning) -> None:
    """Tell dispatch at once of anything urgent on the road, where a driver answers nothing."""
    urgent = any(reply.to == "driver" and reply.priority == "stop" for reply in t.replies)
    told = any(reply.to == "dispatchers" for reply in t.replies)
    if t.job.acts["rolling"] == "rolling" and urgent and not told:
        t.say("rolling_told", "dispatchers")


def _went_on(t: Turning) -> bool:
    """Say whether the driver said something that left the open question as it was.

    The question is asked again then, so that nobody forgets it and no words meet silence.
    """
    if not t.sender_is_driver() or media.is_part(t):
        return False
    kinds = {entry.kind for entry, _ in t.entries}
    told = any(reply.to == "driver" and reply.key != "says.echo" for reply in t.replies)
    return bool(kinds & CHANGES) or not told


def _question(t: Turning, prompt: Prompt) -> Reply:
    item = prompt.item
    key = _question_key(t, prompt)
    return Reply(
        "driver",
        key,
        t.job,
        _priority(prompt, key),
        slots=choice_slots(prompt),
        item="" if item is None else item.id,
        ask=None if t.job.asked is None else t.job.asked.n,
        answer=prompt.answer,
        variant=_variant(t, prompt),
    )


def _question_key(t: Turning, prompt: Prompt) -> str:
    """Return the sentence that asks: the item's own, or that of the exchange in hand."""
    if not prompt.pending:
        return f"items.{prompt.item.id}" if prompt.item is not None else "says.unclear_1"
    pending = t.job.pending
    if pending is not None and prompt.pending == "number" and pending.misses > 1:
        return "says.read_back_typed"
    named = f"_{pending.fact}" if pending is not None and prompt.pending == "name" else ""
    return f"says.{PENDING_TEXT.get(prompt.pending, prompt.pending)}{named}"


def _variant(t: Turning, prompt: Prompt) -> str:
    """Return the variant of the sentence: sent to look again, or a wait that is over."""
    fact = getattr(prompt.item, "fact", "")
    if fact and t.job.looked(fact) and not prompt.pending:
        return "look"
    return prompt.detail if prompt.detail == OVER else "spoken"


def _priority(prompt: Prompt, key: str) -> Priority:
    if prompt.pending or prompt.item is None:
        return priority_of(key.removeprefix("says."))
    starts = str(sentences()["items"][prompt.item.id]["spoken"]).startswith("Stop.")
    return "stop" if starts else "reply"


def _expect_on_last(t: Turning, prompt: Prompt) -> None:
    """Let the last message to the driver carry the answer that is still expected."""
    for index in range(len(t.replies) - 1, -1, -1):
        reply = t.replies[index]
        if reply.to == "driver":
            filled = {**choice_slots(prompt), **reply.slots}
            ask = None if t.job.asked is None else t.job.asked.n
            t.replies[index] = replace(
                reply, item=prompt.item.id if prompt.item else "", ask=ask, answer=prompt.answer,
                slots=filled,
            )  # fmt: skip
            return


def _guard(t: Turning) -> None:
    """Check the whole turn against the rules; a turn that breaks them is not sent.

    The one thing asked instead makes it safer; where even that breaks a rule, dispatch is called.
    """
    why = broken(turned(t))
    if not why:
        return
    guard.take_back(t, why)
    t.note("refused", BOT, rules=why)
    guard.hold(t)
    t.replies = []
    t.repeat = True
    _ask(t)
    if not any(reply.to == "driver" for reply in t.replies) or broken(turned(t)):
        slots = {"rule": why[0].partition(":")[0]}
        t.replies = [Reply("driver", "says.refused", t.job, "stop", slots)]
    t.say("dispatch_asked", "dispatchers")
