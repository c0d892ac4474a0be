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
    Lag,
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
Changes = dict[str, Any]
"""What an entry changes of a job, by the name of the field."""
Folder = Callable[[Job, Body, Envelope], Changes]
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
    changes = folder(job, entry.body, envelope)
    return job.with_(**changes, seq=envelope.seq + 1, now=envelope.at)


@_folds("opened")
def _opened(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"opened": envelope.at, "at_vehicle": body["at_vehicle"]}


@_folds("heard")
def _heard(job: Job, body: Body, envelope: Envelope) -> Changes:
    changes: Changes = {}
    if body.get("stamped_ms") is not None:
        # The least delayed message so far shows how far this person's clock is from ours.
        lag = _lag(int(body["stamped_ms"]), envelope.at).or_less(job.lags.get(envelope.by))
        changes["lags"] = {**job.lags, envelope.by: lag}
    if body.get("from_driver", True):
        changes |= {"last_heard": envelope.at, "alarm": None}
    return changes


def _lag(stamped_ms: int, at: Moment) -> Lag:
    mono_ms = at.mono_ns // 1_000_000
    return Lag(at.boot, mono_ms - stamped_ms, mono_ms - min(stamped_ms, at.wall_ms))


@_folds("asked")
def _asked(job: Job, body: Body, envelope: Envelope) -> Changes:
    before = job.asked
    same = before is not None and before.n == body["n"]
    first = before.first if before is not None and same else envelope.at
    asked = Asked(body["item"], body["n"], envelope.at, first=first, detail=body.get("detail", ""))
    return {"asked": asked, "asks": body["n"]}


@_folds("reasked")
def _reasked(job: Job, body: Body, envelope: Envelope) -> Changes:
    if job.asked is None:
        return {}
    return {"asked": replace(job.asked, stage=body["stage"]), "unasked": _spoke(job, envelope)}


def _spoke(job: Job, envelope: Envelope) -> tuple[Moment, ...]:
    """Return when the bot last spoke unasked, as far as anything reads it."""
    return (*job.unasked, envelope.at)[-MOST_UNASKED:]


@_folds("fact")
def _fact(job: Job, body: Body, envelope: Envelope) -> Changes:
    fact = Fact(plain(body["value"]), body["how"], envelope.by, envelope.seq)
    facts = {**job.facts, body["name"]: fact}
    truck = fact.value if body["name"] == "truck" else job.last_truck
    # A danger is as old as its newest sign: no release before that counts.
    is_sign = body["name"] == "danger" and "sign" in body
    return {
        "facts": facts,
        "last_truck": truck,
        "danger_at": envelope.at if is_sign else job.danger_at,
        "unclear": 0,
        "last": body.get("item", job.last),
    }


@_folds("fact_cleared")
def _fact_cleared(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"facts": _without(job.facts, body["name"])}


def _without(facts: Mapping[str, Fact], *names: str) -> dict[str, Fact]:
    return {name: fact for name, fact in facts.items() if name not in names}


_DOUBTED = {
    act: frozenset(name for name, spec in FACTS.items() if act in spec.doubted_by) for act in ACTS
}


def _doubting(facts: Mapping[str, Fact], act: str) -> Mapping[str, Fact]:
    """Return the facts but for those that an act puts in doubt."""
    doubted = _DOUBTED[act].intersection(facts)
    return _without(facts, *doubted) if doubted else facts


@_folds("act")
def _act(job: Job, body: Body, envelope: Envelope) -> Changes:
    act = body["act"]
    return dict(
        acts=job.acts.after(act),
        acted={**job.acted, ACTS[act].variable: envelope.at},
        leg=_next_leg(job, envelope) if act == "departs" else job.leg,
        danger_at=envelope.at if act == "danger_seen" else job.danger_at,
        facts=_doubting(job.facts, act),
        unclear=0,
        last=body.get("item", job.last),
        **(without_the_road(job, envelope.at) if act == "arrives" else {}),
    )


def _next_leg(job: Job, envelope: Envelope) -> Leg:
    return Leg(1 if job.leg is None else job.leg.n + 1, envelope.at)


@_folds("retracted")
def _retracted(job: Job, body: Body, envelope: Envelope) -> Changes:
    act = body["act"]
    return {"acts": job.acts.without(act), "facts": _doubting(job.facts, act), "unclear": 0}


@_folds("doubted")
def _doubted(job: Job, body: Body, envelope: Envelope) -> Changes:
    done = job.done.difference(body.get("items", ()))
    return {"acts": job.acts.with_(body["states"]), "done": done}


@_folds("done")
def _done(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"done": job.done | {body["item"]}, "last": body["item"], "unclear": 0}


@_folds("concluded")
def _concluded(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"margin": _conclusion(body, envelope), "override": None}


def _conclusion(body: Body, envelope: Envelope) -> Conclusion:
    rests_on = tuple((name, seq) for name, seq in body["rests_on"])
    return Conclusion(envelope.seq, rests_on, body["result"])


def _keeps(what: str) -> Folder:
    return lambda job, body, envelope: {what: _conclusion(body, envelope)}


_folds("planned")(_keeps("pull"))
_folds("lift_planned")(_keeps("lift"))


@_folds("overridden")
def _overridden(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"override": envelope.by}


@_folds("window")
def _window(job: Job, body: Body, envelope: Envelope) -> Changes:
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
    return {"window": window}


def _open_window(job: Job) -> Window:
    if job.window is None:
        raise FlowError(f"job {job.ref}: an entry speaks of a window that was never opened")
    return job.window


@_folds("held")
def _held(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"paused": envelope.at, "paused_why": body["why"], "pending": None}


@_folds("resumed")
def _resumed(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"paused": None, "paused_why": "", "unclear": 0}


@_folds("pending")
def _pending(job: Job, body: Body, envelope: Envelope) -> Changes:
    pending = Pending(
        body["kind"],
        body.get("fact", ""),
        plain(body.get("value")),
        body.get("item", ""),
        body.get("misses", 0),
        body.get("said", ""),
        envelope.seq,
    )
    return {"pending": pending, "unclear": 0}


@_folds("offered")
def _offered(job: Job, body: Body, envelope: Envelope) -> Changes:
    theirs = Pending(
        body["kind"], body["fact"], body["value"],
        said=body["said"], seq=envelope.seq, by=envelope.by,
    )  # fmt: skip
    return {"theirs": theirs}


@_folds("unoffered")
def _unoffered(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"theirs": None}


@_folds("unpended")
def _unpended(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"pending": None}


@_folds("skipped")
def _skipped(job: Job, body: Body, envelope: Envelope) -> Changes:
    skip = Skip(body["item"], plain(body["reason"]) or "")
    return {"skips": (*job.skips, skip), "last": body["item"], "unclear": 0}


@_folds("skip_settled")
def _skip_settled(job: Job, body: Body, envelope: Envelope) -> Changes:
    skips = tuple(
        replace(skip, settled_by=envelope.by) if skip.item == body["item"] else skip
        for skip in job.skips
    )
    return {"skips": skips}


@_folds("alarmed")
def _alarmed(job: Job, body: Body, envelope: Envelope) -> Changes:
    before = job.alarm
    if before is not None and before.key == body["key"] and before.at.boot == envelope.at.boot:
        # Said again unanswered: dispatch hears of it from when it was first said.
        return {"unasked": _spoke(job, envelope)}
    alarm = Alarm(
        body["key"], envelope.at, body["escalates"], body.get("within_s", 120), envelope.seq
    )
    return {"alarm": alarm, "unasked": _spoke(job, envelope)}


@_folds("escalated")
def _escalated(job: Job, body: Body, envelope: Envelope) -> Changes:
    # Dispatch knows; the driver still has not answered.
    return {} if job.alarm is None else {"alarm": replace(job.alarm, escalates=False)}


@_folds("acknowledged")
def _alarm_over(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"alarm": None}


@_folds("recheck_due")
def _recheck_due(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {} if job.leg is None else {"leg": replace(job.leg, stage=body["stage"])}


@_folds("unclear")
def _unclear(job: Job, body: Body, envelope: Envelope) -> Changes:
    if "of" in body:
        return {"unclear_to": (body["of"], body["n"])}
    return {"unclear": body["n"]}


@_folds("handover")
def _handover(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"at_vehicle": body["to"]}


@_folds("handoff_wanted")
def _handoff_wanted(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"handoff": body["reason"], "pending": None}


@_folds("handoff_dropped")
def _handoff_dropped(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"handoff": None}


@_folds("section_done")
def _section_done(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"section": body["next"]}


@_folds("ended")
def _ended(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"ended": Ended(body["how"], body["reason"]), "asked": None, "pending": None}


@_folds("received")
def _received(job: Job, body: Body, envelope: Envelope) -> Changes:
    receipt = Receipt(body["kind"], body["item"], body.get("ref", ""))
    return {"receipts": {**job.receipts, envelope.seq: receipt}}


@_folds("media")
def _media(job: Job, body: Body, envelope: Envelope) -> Changes:
    receipt = job.receipts.get(body.get("receipt", -1))
    if receipt is None:
        return {}
    count = {receipt.item: job.photos.get(receipt.item, 0) + 1} if receipt.kind == "photo" else {}
    photos = {**job.photos, **count}
    # A voice note may be understood or not; a picture says that somebody goes on.
    unclear = job.unclear if receipt.kind == "voice" else 0
    return {"receipts": _open_receipts(job, body), "photos": photos, "unclear": unclear}


@_folds("media_lost")
def _media_lost(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"receipts": _open_receipts(job, body)}


def _open_receipts(job: Job, body: Body) -> dict[int, Receipt]:
    return {seq: one for seq, one in job.receipts.items() if seq != body["receipt"]}


@_folds("unseen")
def _unseen(job: Job, body: Body, envelope: Envelope) -> Changes:
    unseen = Unseen(body["item"], plain(body["reason"]) or "")
    done = job.done | {body["item"]}
    return {"unseen": (*job.unseen, unseen), "done": done, "last": body["item"], "unclear": 0}


@_folds("deferred")
def _deferred(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"deferred": (*job.deferred, Deferral(body["item"], envelope.at)), "unclear": 0}


@_folds("deferral_due")
def _deferral_due(job: Job, body: Body, envelope: Envelope) -> Changes:
    left = tuple(one for one in job.deferred if one.item != body["item"])
    return {"deferred": left}


@_folds("held_back")
def _held_back(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {"held_back": envelope.at}


@_folds("told")
def _told(job: Job, body: Body, envelope: Envelope) -> Changes:
    if body["what"] == "taken_off":
        return {"acts": job.acts.after("off_deck")}
    if body["what"] != "truck_changed":
        return {}
    aboard = tuple(Aboard(**one) for one in body.get("aboard", ()))
    return {"aboard": aboard, "aboard_seq": envelope.seq}


@_folds("checkpoint")
@_folds("transcript")
@_folds("passed_on")
@_folds("parked")
@_folds("refused")
def _noted(job: Job, body: Body, envelope: Envelope) -> Changes:
    return {}
