"""A job and a turn, reduced to the facts, acts and messages that the safety rules judge."""

from typing import Any

from flows.cards.chosen import chosen_card
from flows.cards.vehicle import VehicleCard
from flows.hearing.answers import NOTHING
from flows.hearing.prompts import prompt_for
from flows.hearing.understand import understand
from flows.job.entries import Entry, plain
from flows.job.events import Heard
from flows.job.facts import FACTS
from flows.job.intents import Danger
from flows.job.state import Job
from flows.routine.items import Gate, Item, Option, Question, Step
from flows.rules.world import Asked, TurnSeen, World
from flows.telling.reply import Reply
from flows.turn.turning import Turning

ENDS = ("nose", "tail")
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
        donor=job.value("donor") or "combustion",
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
        "card_allows_electric_donor": boost is not None and boost.electric_donor,
    }


def _window(job: Job) -> str:
    if job.window is None or job.window.state == "closed":
        return "none"
    if job.window.state == "open" and job.window.hold_min is None:
        return "unpromised"
    return job.window.state


def offered(item: Item | None) -> tuple[str, ...]:
    """Return the acts that a message about an item asks for; closing, or moving the truck, too."""
    if item is None:
        return ()
    if isinstance(item, Gate) and any(option.closes for option in item.options):
        return ("job_closed",)
    if isinstance(item, Gate) and any(_moves_truck(option) for option in item.options):
        return ("truck_moves",)
    if isinstance(item, Question) and item.fact == "ready":
        return ("ready_counts",)
    return item.acts


def _moves_truck(option: Option) -> bool:
    """Say whether the truck moves by an option, or makes way for another one."""
    return option.moves_truck or "truck" in option.clears


def asked(reply: Reply) -> Asked:
    """Return a message as the rules see it."""
    routine = reply.job.book.routine
    item = routine.items.get(reply.item) if reply.answer.kind != "nothing" else None
    # Whether a word was heard right is asked of the very step that the word settles.
    is_of_item = reply.answer.kind in {"state", "done", "choice"} or reply.key == VOICE_CHECK
    of_item = item if is_of_item else None
    return Asked(
        acts=offered(of_item),
        priority=reply.priority,
        needs_answer=reply.answer.kind != "nothing",
        to_driver=reply.to == "driver",
        is_critical=item is not None and item.critical,
        of=of_item.of or None if isinstance(of_item, Step) else None,
    )


def turned(t: Turning) -> TurnSeen:
    """Return a turn as the rules see it."""
    before, after = t.before.window, t.job.window
    same = before is not None and after is not None and before.serial == after.serial
    return TurnSeen(
        before=world(t.before),
        after=world(t.job),
        messages=tuple(asked(reply) for reply in t.replies),
        danger_named=_named_danger(t),
        decided=_decided(t),
        resumed=t.resumed,
        said_resume=any(reply.key in {"says.resume", "says.restart"} for reply in t.replies),
        skipped=_skipped(t),
        overridden_by=_overridden_by(t),
        released=_released(t),
        window_before_ns=None if before is None or not same else before.ends_ns,
        window_after_ns=None if after is None else after.ends_ns,
        window_serial_same=same,
    )


def _skipped(t: Turning) -> tuple[tuple[tuple[str, ...], str], ...]:
    items = t.job.book.routine.items
    return tuple(
        (items[entry.body["item"]].acts, "reason given")
        for entry, _ in t.entries
        if entry.kind == "skipped" and entry.body["reason"].private_value
    )


def _overridden_by(t: Turning) -> str | None:
    return next((_role(t) for entry, _ in t.entries if entry.kind == "overridden"), None)


def _released(t: Turning) -> tuple[str, bool] | None:
    """Return who released the vehicle in this turn, and whether after the danger was seen."""
    for entry, _ in t.entries:
        if entry.kind == "act" and entry.body["act"] == "danger_released":
            ago = entry.body.get("claimed", {}).get("ago_min")
            seen = t.before.danger_at
            since = None if seen is None else t.at.wall_ms - seen.wall_ms
            after = ago is None or since is None or ago * 60_000 <= since + 60_000
            return str(t.job.value("released_by") or ""), after
    return None


def _role(t: Turning) -> str:
    return t.event.who.role if isinstance(t.event, Heard) else "bot"


def _named_danger(t: Turning) -> bool:
    """Say whether the words name a danger, read as bare text."""
    if not isinstance(t.event, Heard) or t.before.ended is not None or not t.event.text:
        return False
    return isinstance(understand(t.event.text, NOTHING, None)[0], Danger)


def _decided(t: Turning) -> tuple[tuple[str, str], ...]:
    """Return the deciding facts of a turn and whether a read-back came before them."""
    pending, theirs = t.before.pending, t.before.theirs
    put = prompt_for(t.before).is_asked_by(t.before.asked)
    read_back = [pending.value] if put and pending is not None else []
    if theirs is not None and theirs.by == t.by:
        # It was read back to whoever gave it, in the turn in which they did.
        read_back.append(theirs.value)
    return tuple(
        (body["name"], "read_back" if plain(body["value"]) in read_back else "at once")
        for body in (entry.body for entry, author in t.entries if decides(entry, author))
    )


def decides(entry: Entry, author: str) -> bool:
    """Say whether an entry is somebody's number or name that has to be read back.

    "Not sure" takes the cautious value, so there is no number to read back.
    """
    if entry.kind != "fact" or author == "bot" or entry.body["how"] == "assumed":
        return False
    spec = FACTS[entry.body["name"]]
    return spec.decides or spec.is_name
