"""A job and a turn, reduced to the facts, acts and messages that the safety rules judge."""

from typing import Any

from flows.cards.chosen import chosen_card
from flows.cards.vehicle import VehicleCard
from flows.hearing.prompts import prompt_for
from flows.job.entries import Entry, plain
from flows.job.events import Heard
from flows.job.facts import FACTS
from flows.job.state import Job
from flows.routine.items import Gate, HandOff, Item, Option, Question, Step
from flows.rules.world import Asked, Hold, Place, Release, Skipped, TurnSeen, World
from flows.telling.reply import Reply
from flows.turn.turning import Turning

ENDS = ("nose", "tail")
MINUTE_MS = 60_000
VOICE_CHECK = "says.voice_check"


def world(job: Job) -> World:
    """Return the job as the rules see it."""
    known: World | None = job.kept.get("world")
    if known is None:
        known = job.kept["world"] = _world(job)
    return known


def _world(job: Job) -> World:
    return World(
        facts={name: str(value) for name in job.facts if (value := job.value(name)) is not None},
        acts=job.acts,
        verdict=job.verdict,
        lift=job.lift_by("second_truck"),
        decided_by="owner" if job.override is not None else None,
        window=_window(job),
        donor=job.value("donor"),
        open_skips=sum(1 for skip in job.skips if skip.settled_by is None),
        **_of_card(chosen_card(job)),
    )


def _of_card(card: VehicleCard | None) -> dict[str, Any]:
    """Return the part of the world that the card says; without a card it says nothing."""
    if card is None:
        return {}
    release, boost = card.cord_release, card.boost
    return {
        "isolations": None if release is None else len(release.requires),
        "holding_ends": frozenset(end for end in ENDS if card.holds.first(end) is not None),
        "keep_off": frozenset(card.keep_off),
        "battery": None if card.battery is None else (card.battery.from_in, card.battery.to_in),
        "card_allows_electric_donor": boost is not None and boost.electric_donor,
    }


def _window(job: Job) -> str:
    if job.window is None or job.window.state == "closed":
        return "none"
    if job.window.state == "open" and job.window.hold_min is None:
        return "unpromised"
    return job.window.state


def offered(item: Item | None) -> tuple[str, ...]:
    """Return the acts that a message about an item asks for; an end, or a moved truck, is one."""
    match item:
        case None:
            return ()
        case HandOff():
            return ("handed_off",)
        case Gate():
            return _offered_at(item)
        case Question(fact="ready"):
            return ("ready_counts",)
        case _:
            return item.acts


def _offered_at(gate: Gate) -> tuple[str, ...]:
    if any(option.closes for option in gate.options):
        return ("job_closed",)
    return ("truck_moves",) if any(map(_moves_truck, gate.options)) else gate.acts


def _moves_truck(option: Option) -> bool:
    """Say whether the truck moves by an option, or makes way for another one."""
    return option.moves_truck or "truck" in option.clears


def asked(reply: Reply) -> Asked:
    """Return a message as the rules see it."""
    job, needs_answer = reply.job, reply.answer.kind != "nothing"
    item = job.book.routine.items.get(reply.item) if needs_answer else None
    in_hand = prompt_for(job).pending not in {"", "again"}
    of_item = item if _is_of_item(reply, in_hand=in_hand) else None
    pending = job.pending
    return Asked(
        acts=offered(of_item),
        priority=reply.priority,
        needs_answer=needs_answer,
        to_driver=reply.to == "driver",
        is_critical=item is not None and item.critical,
        asks=pending.fact if in_hand and pending is not None else reply.answer.fact,
        at=None if of_item is None else _place(job, of_item),
    )


def _is_of_item(reply: Reply, *, in_hand: bool) -> bool:
    """Say whether a message asks for its item's acts, not for an exchange about it.

    Whether a word was heard right is asked of the very step that the word settles.
    """
    return reply.key == VOICE_CHECK or (reply.answer.kind in _ASKS_FOR_ACTS and not in_hand)


_ASKS_FOR_ACTS = frozenset({"state", "done", "choice", "note"})


def _place(job: Job, item: Item) -> Place | None:
    """Return where on the vehicle a step hooks or lifts, as far as the card tells."""
    if isinstance(item, Step) and item.of:
        return Place(item.of)
    card, end = chosen_card(job), job.value("facing")
    point = None if card is None else card.holds.first(end)
    if card is None or point is None or "hooked" not in item.acts:
        return None
    tail_in = card.wheelbase_in + card.rear_overhang_in
    return Place(point.point, -card.front_overhang_in if end == "nose" else tail_in)


def turned(t: Turning) -> TurnSeen:
    """Return a turn as the rules see it."""
    return TurnSeen(
        before=world(t.before),
        after=world(t.job),
        messages=tuple(asked(reply) for reply in t.replies),
        heard=_heard(t),
        halted=t.job.paused is not None,
        decided=_decided(t),
        resumed=t.resumed,
        said_resume=any(reply.key in {"says.resume", "says.restart"} for reply in t.replies),
        skipped=_skipped(t),
        overridden_by=_overridden_by(t),
        released=_released(t),
        hold_before=_hold(t.before),
        hold_after=_hold(t.job),
    )


def _hold(job: Job) -> Hold | None:
    one = job.window
    return None if one is None else Hold(one.serial, one.state == "open", one.ends_ns, one.boot)


def _skipped(t: Turning) -> tuple[Skipped, ...]:
    items = t.job.book.routine.items
    return tuple(
        Skipped(items[entry.body["item"]].acts, str(plain(entry.body["reason"]) or ""))
        for entry, _ in t.entries
        if entry.kind == "skipped"
    )


def _overridden_by(t: Turning) -> str | None:
    return next((_role(t) for entry, _ in t.entries if entry.kind == "overridden"), None)


def _released(t: Turning) -> Release | None:
    """Return the release of this turn: by whom, when, and whether after the danger was seen."""
    for entry, _ in t.entries:
        if entry.kind == "act" and entry.body["act"] == "danger_released":
            claimed = entry.body.get("claimed", {})
            by = str(t.job.value("released_by") or "")
            return Release(by, bool(claimed), _is_after_danger(t, claimed.get("ago_min")))
    return None


def _is_after_danger(t: Turning, ago_min: int | None) -> bool:
    seen = t.before.danger_at
    return (
        ago_min is None or seen is None or ago_min <= (t.at.wall_ms - seen.wall_ms) / MINUTE_MS + 1
    )


def _role(t: Turning) -> str:
    return t.event.who.role if isinstance(t.event, Heard) else "bot"


def _heard(t: Turning) -> str:
    """Return the words of a message, as they are, to a job that is not over."""
    return t.event.text if isinstance(t.event, Heard) and t.before.ended is None else ""


def _decided(t: Turning) -> tuple[tuple[str, str], ...]:
    """Return the deciding facts of a turn and whether a read-back came before them."""
    read_back = _read_back(t)
    bodies = (entry.body for entry, author in t.entries if decides(entry, author))
    return tuple(
        (body["name"], "read_back" if plain(body["value"]) in read_back else "at once")
        for body in bodies
    )


def _read_back(t: Turning) -> list[object]:
    """Return the values that were read back to whoever gave them, before they count."""
    pending, theirs = t.before.pending, t.before.theirs
    put = prompt_for(t.before).is_asked_by(t.before.asked)
    read_back: list[object] = [pending.value] if put and pending is not None else []
    if theirs is not None and theirs.by == t.by:
        # It was read back to whoever gave it, in the turn in which they did.
        read_back.append(theirs.value)
    return read_back


def decides(entry: Entry, author: str) -> bool:
    """Say whether an entry is somebody's number or name that has to be read back.

    "Not sure" takes the cautious value, so there is no number to read back.
    """
    if entry.kind != "fact" or author == "bot" or entry.body["how"] == "assumed":
        return False
    spec = FACTS[entry.body["name"]]
    return spec.decides or spec.is_name
