"""What can happen to a job: everything a person may say in a state, every timer, every change.

Moves are words and taps as they arrive, so the understanding is explored along with the rest.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Literal

from flows.acts import ACTS
from flows.answers import Answer
from flows.book import Book
from flows.conclude import conclude_margin, margin_inputs_known
from flows.events import MINUTE_NS, SECOND_NS, Event, Heard, Moment, Person, Role, Tick, Told
from flows.facts import Fact
from flows.items import Item
from flows.job import Job
from flows.prompts import Prompt, prompt_for
from flows.texts import phrases
from flows.timers import timers_for
from flows.understand import choice

Kind = Literal["answer", "aside", "claim", "retract", "correct", "danger", "wait", "others"]
SOON_S = 5
LONG_S = 11 * 60
START = Moment(wall_ms=1_764_000_000_000, mono_ns=10**15, boot="boot 1")
DRIVER, OTHER = Person("driver 1", "driver"), Person("driver 2", "driver")
DISPATCHER, OWNER = Person("dispatcher", "dispatcher"), Person("owner", "owner")
REASON = "no gear aboard today"


@dataclass(frozen=True, slots=True)
class Move:
    """One thing that happens: who says what, or what falls due, and how much later.

    Parameters
    ----------
    kind
        What it is a case of; "answer" is what the open question asks for.
    said
        The words, or what happened; for traces.
    role
        Who speaks; None for what nobody says.
    text, tap
        As in `Heard`.
    after_s
        Time since the entry before [s].
    timer, generation
        The timer that falls due.
    told
        What changed elsewhere.
    reboots
        The bot was started again in between.
    """

    kind: Kind
    said: str
    role: Role | Literal["other driver"] | None = "driver"
    text: str = ""
    tap: str | None = None
    after_s: int = SOON_S
    timer: str = ""
    generation: int = 0
    told: Literal["", "restarted", "truck_changed"] = ""
    reboots: bool = False

    @property
    def words(self) -> str:
        """The move in plain words."""
        who = f"{self.role}: " if self.role not in {None, "driver"} else ""
        late = f" ({self.after_s // 60} min later)" if self.after_s >= 60 else ""
        return f"{who}{self.said}{late}"


def event_of(move: Move, job: Job) -> Event:
    """Return the event that a move is on a job."""
    at = _moment(move, job)
    if move.timer:
        return Tick(move.timer, move.generation, at)
    if move.told:
        return Told(move.told, at)
    return Heard(_speaker(move, job), at, text=move.text, tap=move.tap)


def _moment(move: Move, job: Job) -> Moment:
    now = job.now or START
    later = replace(
        now,
        wall_ms=now.wall_ms + move.after_s * 1000,
        mono_ns=now.mono_ns + move.after_s * SECOND_NS,
    )
    return replace(later, boot=now.boot + "'") if move.reboots else later


def _speaker(move: Move, job: Job) -> Person:
    match move.role:
        case "dispatcher":
            return DISPATCHER
        case "owner":
            return OWNER
        case "other driver":
            return DRIVER if job.at_vehicle == OTHER.id else OTHER
        case _:
            return OTHER if job.at_vehicle == OTHER.id else DRIVER


def say(kind: Kind, text: str, role: Role | Literal["other driver"] = "driver") -> Move:
    """Return the move of saying something."""
    return Move(kind, text, role, text=text)


# Answers to what is open


def answers(job: Job) -> Iterator[Move]:
    """Yield every answer that the open question offers, with waiting for the window."""
    if job.held is not None:
        yield say("answer", "resume")
        yield replace(say("answer", "resume"), after_s=LONG_S)
    else:
        prompt = prompt_for(job)
        yield from offered(prompt.answer)
        if prompt.answer.takes_mass:
            yield from (say("answer", f"{lb} pounds") for lb in weights(job))
    yield from waits(job, ("window",))


@lru_cache(maxsize=1024)
def offered(answer: Answer) -> tuple[Move, ...]:
    """Return the moves that an answer offers: its choices, its words, a time, free words."""
    return tuple(_offered(answer))


def _offered(answer: Answer) -> Iterator[Move]:
    covered = set()
    for place, (one, label) in enumerate(answer.choices):
        covered.update(choice(answer, place))
        yield Move("answer", label, tap=one)
    for phrase, intent in answer.phrases:
        if intent not in covered:
            covered.add(intent)
            yield say("answer", " ".join(phrase))
    if answer.takes_time:
        word = answer.words[0] if answer.words else ""
        for when in ("now", "2 minutes ago", "40 minutes ago"):
            yield say("answer", f"{word} {when}".strip())
    if answer.takes_note:
        yield say("answer", REASON)
    if answer.kind in {"choice", "yes_no", "note", "time"}:
        yield say("answer", "not sure")


def weights(job: Job) -> tuple[int, ...]:
    """Return one weight [lb] for each word the margin can have."""
    if not margin_inputs_known(job):
        return (4600,)
    read = ("card", "powertrain", "drive", "weight_class", "family", "truck", "facing")
    return _weights(job.book, tuple((name, job.facts.get(name)) for name in read))


@lru_cache(maxsize=4096)
def _weights(book: Book, facts: tuple[tuple[str, Fact | None], ...]) -> tuple[int, ...]:
    known = {name: fact for name, fact in facts if fact is not None}
    found: dict[str, int] = {}
    for lb in range(1500, 12_001, 250):
        job = Job(1, book, facts={**known, "weight": Fact(lb, "typed", "", 0)})
        found.setdefault(str(conclude_margin(job)["verdict"]), lb)
    return tuple(found.values())


# Time


def waits(job: Job, names: tuple[str, ...]) -> Iterator[Move]:
    """Yield the timers of these names, each falling due."""
    for timer in timers_for(job):
        if timer.name in names:
            yield _due(job, timer.name, timer.generation, timer.due_ns)


def _due(job: Job, name: str, generation: int, due_ns: int) -> Move:
    now = job.now or START
    after = max(0, -((now.mono_ns - due_ns) // SECOND_NS))
    return Move("wait", f"[{name} timer]", None, after_s=after, timer=name, generation=generation)


def _late(job: Job, prompt: Prompt) -> Iterator[Move]:
    """Yield the open question's first answer and the window's timer, after the window's end."""
    window, now = job.window, job.now
    if window is None or window.ends_ns is None or now is None or window.state != "open":
        return
    after = max(0, (window.ends_ns - now.mono_ns) // SECOND_NS) + 1
    for move in offered(prompt.answer)[:1]:
        yield replace(move, kind="wait", after_s=after)
    for timer in timers_for(job):
        if timer.name == "window":
            move = _due(job, timer.name, timer.generation, timer.due_ns)
            yield replace(move, said="[window timer, too late]", after_s=after)
    yield replace(say("wait", "status"), after_s=after)


# Everything else


def perturbations(job: Job) -> Iterator[Move]:
    """Yield everything else that can happen in any state."""
    prompt = prompt_for(job)
    yield from waits(job, ("silence", "unanswered"))
    yield from _late(job, prompt)
    yield from any_time(job.book)
    for move in offered(prompt.answer)[:1]:
        yield replace(move, kind="others", role="other driver")
        yield replace(move, kind="others", role="dispatcher")
    if not prompt.answer.takes_mass:
        for lb in weights(job):
            yield say("correct", f"it weighs {lb} pounds")


@cache
def any_time(book: Book) -> tuple[Move, ...]:
    """Return the moves that are tried in every state, whatever is open."""
    return (*_talk(), *_time(), *_others(), *_acts(), *_facts(book))


def _talk() -> Iterator[Move]:
    for text in ("ok", "all done", "xyzzy", "", "repeat", "status", "why", "help", "how long",
                 "noted", "yes", "no", "not sure", "hold", "lost", "back", "problem", "cannot",
                 "hand off", "skip", f"skip {REASON}", "override the ticket is on file",
                 "settle the ticket is on file", "take over", "resume"):  # fmt: skip
        yield say("aside", text)
    for text in ("stop", "smoke", "i see fire"):
        yield say("danger", text)


def _time() -> Iterator[Move]:
    yield replace(say("wait", "status"), after_s=LONG_S)
    yield Move("wait", "status, after the bot was started again", text="status", reboots=True)
    yield Move("wait", "[bot was away]", None, told="restarted")
    yield Move("wait", "[truck changed]", None, told="truck_changed")
    for timer in ("window", "unanswered", "silence", "other"):
        yield Move("wait", f"[obsolete {timer} timer]", None, timer=timer, generation=-1)


def _others() -> Iterator[Move]:
    yield say("others", "override because the ticket is on file", "owner")
    yield say("others", "settle because devices came later", "dispatcher")
    yield say("others", "override because the ticket is on file", "dispatcher")
    yield say("others", "smoke", "dispatcher")
    yield say("others", "stop", "dispatcher")
    yield say("others", "take over", "other driver")
    yield say("others", "take over", "dispatcher")
    yield say("others", "hand off", "dispatcher")


def _acts() -> Iterator[Move]:
    for act in ACTS:
        table = phrases()["acts"].get(act)
        if table is not None:
            yield say("claim", table["said"][0])
            yield say("retract", table.get("undone", [f"not {table['said'][0]}"])[0])
    yield say("claim", "neutral 20 minutes ago")
    yield say("claim", "in neutral 40 minutes ago")


def _facts(book: Book) -> Iterator[Move]:
    for table in phrases()["facts"].values():
        for value in table.get("values", {}).values():
            if value["said"]:
                yield say("correct", value["said"][0])
    yield from (say("correct", card.name) for card in book.library.vehicles.values())
    yield from (say("correct", truck.name) for truck in book.library.trucks.values())
    yield say("correct", "midsize car")


def is_open(item: Item | None) -> bool:
    """Say whether there is an item."""
    return item is not None


MINUTE = MINUTE_NS
