"""The fold: how each kind of entry changes a job.

Nothing else changes a job. Replaying last year's entries never asks the routine again, so
an old record reads the same after the wording or the order has changed.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from flows.errors import FlowError
from flows.job.acts import ACTS
from flows.job.entries import Entry, plain
from flows.job.events import Aboard, Moment
from flows.job.facts import FACTS, Fact
from flows.job.state import (
    Alarm,
    Asked,
    Conclusion,
    Deferral,
    Ended,
    Envelope,
    Job,
    Leg,
    Pending,
    Receipt,
    Skip,
    Unseen,
    Window,
    without_the_road,
)

MOST_UNASKED = 10
"""How many messages in ten minutes the bot sends unasked, apart from those that say Stop."""
Body = Mapping[str, Any]
Folder = Callable[[Job, Body, Envelope], Job]
_FOLDS: dict[str, Folder] = {}


def _folds(kind: str) -> Callable[[Folder], Folder]:
    def register(folder: Folder) -> Folder:
        _FOLDS[kind] = folder
        return folder

    return register


def fold(job: Job, entry: Entry, envelope: Envelope) -> Job:
    """Return the job after one more entry.

    Raises
    ------
    FlowError
        For a kind of entry this version does not know.
    """
    folder = _FOLDS.get(entry.kind)
    if folder is None:
        raise FlowError(
            f"cannot read entry {envelope.seq}: its kind is {entry.kind!r}; this version knows "
            f"{', '.join(sorted(_FOLDS))}. Open the record with the version that wrote it."
        )
    after = folder(job, entry.body, envelope)
    return after.with_(seq=envelope.seq + 1, now=envelope.at)


@_folds("opened")
def _opened(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(opened=envelope.at, at_vehicle=body["at_vehicle"])


@_folds("heard")
def _heard(job: Job, body: Body, envelope: Envelope) -> Job:
    stamped = body.get("stamped_ms")
    ahead = job.ahead_ms
    if stamped is not None:
        # The least delayed message so far shows how far the platform's clock is from ours.
        lag = envelope.at.mono_ns // 1_000_000 - int(stamped)
        same_boot = job.now is None or job.now.boot == envelope.at.boot
        ahead = lag if ahead is None or not same_boot else min(ahead, lag)
    if not body.get("from_driver", True):
        return job.with_(ahead_ms=ahead)
    return job.with_(last_heard=envelope.at, alarm=None, ahead_ms=ahead)


@_folds("asked")
def _asked(job: Job, body: Body, envelope: Envelope) -> Job:
    before = job.asked
    same = before is not None and before.n == body["n"]
    first = before.first if before is not None and same else envelope.at
    asked = Asked(body["item"], body["n"], envelope.at, first=first, detail=body.get("detail", ""))
    return job.with_(asked=asked, asks=body["n"])


@_folds("reasked")
def _reasked(job: Job, body: Body, envelope: Envelope) -> Job:
    if job.asked is None:
        return job
    return job.with_(asked=replace(job.asked, stage=body["stage"]), unasked=_spoke(job, envelope))


def _spoke(job: Job, envelope: Envelope) -> tuple[Moment, ...]:
    """Return when the bot last spoke unasked, as far as anything reads it."""
    return (*job.unasked, envelope.at)[-MOST_UNASKED:]


@_folds("fact")
def _fact(job: Job, body: Body, envelope: Envelope) -> Job:
    fact = Fact(plain(body["value"]), body["how"], envelope.by, envelope.seq)
    facts = {**job.facts, body["name"]: fact}
    truck = fact.value if body["name"] == "truck" else job.last_truck
    return job.with_(facts=facts, last_truck=truck, unclear=0, last=body.get("item", job.last))


@_folds("fact_cleared")
def _fact_cleared(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(facts=_without(job.facts, body["name"]))


def _without(facts: Mapping[str, Fact], *names: str) -> dict[str, Fact]:
    return {name: fact for name, fact in facts.items() if name not in names}


@_folds("act")
def _act(job: Job, body: Body, envelope: Envelope) -> Job:
    act = body["act"]
    doubted = [name for name in job.facts if act in FACTS[name].doubted_by]
    return job.with_(
        acts=job.acts.after(act),
        acted={**job.acted, ACTS[act].variable: envelope.at},
        leg=_next_leg(job, envelope) if act == "departs" else job.leg,
        danger_at=envelope.at if act == "danger_seen" else job.danger_at,
        facts=_without(job.facts, *doubted) if doubted else job.facts,
        unclear=0,
        last=body.get("item", job.last),
        **(without_the_road(job, envelope.at) if act == "arrives" else {}),
    )


def _next_leg(job: Job, envelope: Envelope) -> Leg:
    return Leg(1 if job.leg is None else job.leg.n + 1, envelope.at)


@_folds("retracted")
def _retracted(job: Job, body: Body, envelope: Envelope) -> Job:
    act = body["act"]
    doubted = [name for name in job.facts if act in FACTS[name].doubted_by]
    facts = _without(job.facts, *doubted) if doubted else job.facts
    return job.with_(acts=job.acts.without(act), facts=facts, unclear=0)


@_folds("doubted")
def _doubted(job: Job, body: Body, envelope: Envelope) -> Job:
    done = job.done.difference(body.get("items", ()))
    return job.with_(acts=job.acts.with_(body["states"]), done=done)


@_folds("done")
def _done(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(done=job.done | {body["item"]}, last=body["item"], unclear=0)


@_folds("concluded")
def _concluded(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(margin=_conclusion(body, envelope), override=None)


def _conclusion(body: Body, envelope: Envelope) -> Conclusion:
    rests_on = tuple((name, seq) for name, seq in body["rests_on"])
    return Conclusion(envelope.seq, rests_on, body["result"])


def _keeps(what: str) -> Folder:
    return lambda job, body, envelope: job.with_(**{what: _conclusion(body, envelope)})


_folds("planned")(_keeps("pull"))
_folds("lift_planned")(_keeps("lift"))


@_folds("overridden")
def _overridden(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(override=envelope.by)


@_folds("window")
def _window(job: Job, body: Body, envelope: Envelope) -> Job:
    match body["event"]:
        case "opened":
            window = Window(
                body["serial"], int(body["earliest_ns"]), body["boot"], body["hold_min"]
            )
        case "earlier":
            window = replace(_open_window(job), earliest_ns=int(body["earliest_ns"]))
        case "warned":
            window = replace(_open_window(job), stage=body["stage"])
        case "reopened":
            window = replace(_open_window(job), state="open", stage=body["stage"])
        case state:
            window = replace(
                _open_window(job), state=state, state_ns=envelope.at.mono_ns, stage=body["stage"]
            )
    return job.with_(window=window)


def _open_window(job: Job) -> Window:
    if job.window is None:
        raise FlowError(f"job {job.ref}: an entry speaks of a window that was never opened")
    return job.window


@_folds("held")
def _held(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(paused=envelope.at, paused_why=body["why"], pending=None)


@_folds("resumed")
def _resumed(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(paused=None, paused_why="", unclear=0)


@_folds("pending")
def _pending(job: Job, body: Body, envelope: Envelope) -> Job:
    pending = Pending(
        body["kind"],
        body.get("fact", ""),
        plain(body.get("value")),
        body.get("item", ""),
        body.get("misses", 0),
        body.get("said", ""),
        envelope.seq,
    )
    return job.with_(pending=pending, unclear=0)


@_folds("offered")
def _offered(job: Job, body: Body, envelope: Envelope) -> Job:
    theirs = Pending(
        body["kind"], body["fact"], body["value"],
        said=body["said"], seq=envelope.seq, by=envelope.by,
    )  # fmt: skip
    return job.with_(theirs=theirs)


@_folds("unoffered")
def _unoffered(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(theirs=None)


@_folds("unpended")
def _unpended(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(pending=None)


@_folds("skipped")
def _skipped(job: Job, body: Body, envelope: Envelope) -> Job:
    skip = Skip(body["item"], plain(body["reason"]) or "")
    return job.with_(skips=(*job.skips, skip), last=body["item"], unclear=0)


@_folds("skip_settled")
def _skip_settled(job: Job, body: Body, envelope: Envelope) -> Job:
    skips = tuple(
        replace(skip, settled_by=envelope.by) if skip.item == body["item"] else skip
        for skip in job.skips
    )
    return job.with_(skips=skips)


@_folds("alarmed")
def _alarmed(job: Job, body: Body, envelope: Envelope) -> Job:
    before = job.alarm
    if before is not None and before.key == body["key"] and before.at.boot == envelope.at.boot:
        # Said again unanswered: dispatch hears of it from when it was first said.
        return job.with_(unasked=_spoke(job, envelope))
    alarm = Alarm(
        body["key"], envelope.at, body["escalates"], body.get("within_s", 120), envelope.seq
    )
    return job.with_(alarm=alarm, unasked=_spoke(job, envelope))


@_folds("escalated")
def _escalated(job: Job, body: Body, envelope: Envelope) -> Job:
    # Dispatch knows; the driver still has not answered.
    return job if job.alarm is None else job.with_(alarm=replace(job.alarm, escalates=False))


@_folds("acknowledged")
def _alarm_over(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(alarm=None)


@_folds("recheck_due")
def _recheck_due(job: Job, body: Body, envelope: Envelope) -> Job:
    return job if job.leg is None else job.with_(leg=replace(job.leg, stage=body["stage"]))


@_folds("unclear")
def _unclear(job: Job, body: Body, envelope: Envelope) -> Job:
    if "of" in body:
        return job.with_(unclear_to=(body["of"], body["n"]))
    return job.with_(unclear=body["n"])


@_folds("handover")
def _handover(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(at_vehicle=body["to"])


@_folds("handoff_wanted")
def _handoff_wanted(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(handoff=body["reason"], pending=None)


@_folds("handoff_dropped")
def _handoff_dropped(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(handoff=None)


@_folds("section_done")
def _section_done(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(section=body["next"])


@_folds("ended")
def _ended(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(ended=Ended(body["how"], body["reason"]), asked=None, pending=None)


@_folds("received")
def _received(job: Job, body: Body, envelope: Envelope) -> Job:
    receipt = Receipt(body["kind"], body["item"], body.get("ref", ""))
    return job.with_(receipts={**job.receipts, envelope.seq: receipt})


@_folds("media")
def _media(job: Job, body: Body, envelope: Envelope) -> Job:
    receipt = job.receipts.get(body.get("receipt", -1))
    if receipt is None:
        return job
    count = {receipt.item: job.photos.get(receipt.item, 0) + 1} if receipt.kind == "photo" else {}
    photos = {**job.photos, **count}
    # A voice note may be understood or not; a picture says that somebody goes on.
    unclear = job.unclear if receipt.kind == "voice" else 0
    return job.with_(receipts=_open_receipts(job, body), photos=photos, unclear=unclear)


@_folds("media_lost")
def _media_lost(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(receipts=_open_receipts(job, body))


def _open_receipts(job: Job, body: Body) -> dict[int, Receipt]:
    return {seq: one for seq, one in job.receipts.items() if seq != body["receipt"]}


@_folds("unseen")
def _unseen(job: Job, body: Body, envelope: Envelope) -> Job:
    unseen = Unseen(body["item"], plain(body["reason"]) or "")
    done = job.done | {body["item"]}
    return job.with_(unseen=(*job.unseen, unseen), done=done, last=body["item"], unclear=0)


@_folds("deferred")
def _deferred(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(deferred=(*job.deferred, Deferral(body["item"], envelope.at)), unclear=0)


@_folds("deferral_due")
def _deferral_due(job: Job, body: Body, envelope: Envelope) -> Job:
    left = tuple(one for one in job.deferred if one.item != body["item"])
    return job.with_(deferred=left)


@_folds("held_back")
def _held_back(job: Job, body: Body, envelope: Envelope) -> Job:
    return job.with_(held_back=envelope.at)


@_folds("told")
def _told(job: Job, body: Body, envelope: Envelope) -> Job:
    if body["what"] != "truck_changed":
        return job
    aboard = tuple(Aboard(**one) for one in body.get("aboard", ()))
    return job.with_(aboard=aboard, aboard_seq=envelope.seq)


@_folds("checkpoint")
@_folds("transcript")
@_folds("parked")
@_folds("refused")
def _noted(job: Job, body: Body, envelope: Envelope) -> Job:
    return job
