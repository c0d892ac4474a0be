"""What can happen to a job: all that a person may say in a state, every timer, every change.

Moves are words and taps as they arrive, so the understanding is explored along with the rest.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import Literal

from flows.cards.library import Library
from flows.explore.cards import few, named, only_cards
from flows.hearing.answers import Answer
from flows.hearing.prompts import prompt_for
from flows.hearing.understand import choice
from flows.job.acts import ACTS
from flows.job.events import SECOND_NS, Event, Heard, Media, Moment, Person, Tick, Told
from flows.job.facts import Fact
from flows.job.state import Job
from flows.reckoning.margin_inputs import margin_inputs_known, margin_of
from flows.routine import card_waits
from flows.routine.book import Book
from flows.routine.items import Figure, WaitStep
from flows.texts import phrases
from flows.turn.timers import timers_for

Kind = Literal["answer", "detour", "talk", "word", "claim", "retract", "correct", "danger",
               "wait", "others"]  # fmt: skip
Speaker = Literal["driver", "other driver", "dispatcher", "owner", "nobody"]

SOON_S = 5
LONG_S = 11 * 60
START = Moment(wall_ms=1_764_000_000_000, mono_ns=10**15, boot="boot 1")
DRIVER, OTHER = Person("driver 1", "driver"), Person("driver 2", "driver")
DISPATCHER, OWNER = Person("dispatcher", "dispatcher"), Person("owner", "owner")
REASON = "no gear aboard today"
NOTES = {"temperatures": "air 61, ground 64, pack 70", "vin": "0RLLPRF83K0000017",
         "plate": "KTR 4821"}  # fmt: skip
"""What is said where a note has to hold something; the number is invented."""
A_PHOTO = Media("photo", "0" * 64, 9, "image/jpeg")
WEIGHTS_LB = range(1500, 12_001, 250)


@dataclass(frozen=True, slots=True)
class Move:
    """One thing that happens: who says what, or what falls due, and how much later.

    Parameters
    ----------
    kind
        What it is a case of: "answer" goes straight on, "detour" is an answer that does not.
    said
        The words, or what happens instead; for traces.
    speaker
        Who says it.
    text, tap
        As in `Heard`.
    about
        The act or fact it is about, where it is about one.
    after_s
        Time since the entry before [s].
    timer, generation
        The timer that falls due.
    told
        What changed elsewhere.
    reboots
        The bot was started again in between.
    photo
        A photo is sent.
    """

    kind: Kind
    said: str
    speaker: Speaker = "driver"
    text: str = ""
    tap: str | None = None
    about: str = ""
    after_s: int = SOON_S
    timer: str = ""
    generation: int = 0
    told: Literal["", "restarted", "truck_changed"] = ""
    reboots: bool = False
    photo: bool = False

    @property
    def words(self) -> str:
        """The move in plain words."""
        who = "" if self.speaker in {"driver", "nobody"} else f"{self.speaker}: "
        late = f" ({self.after_s // 60} min later)" if self.after_s >= 60 else ""
        return f"{who}{self.said}{late}"


def event_of(move: Move, job: Job) -> Event:
    """Return the event that a move is on a job."""
    at = _moment(move, job)
    if move.timer:
        return Tick(move.timer, move.generation, at)
    if move.told:
        return Told(move.told, at)
    media = A_PHOTO if move.photo else None
    return Heard(_person(move, job), at, text=move.text, tap=move.tap, media=media)


def _moment(move: Move, job: Job) -> Moment:
    now = job.now or START
    return replace(
        now,
        wall_ms=now.wall_ms + move.after_s * 1000,
        mono_ns=now.mono_ns + move.after_s * SECOND_NS,
        boot=now.boot + "+" if move.reboots else now.boot,
    )


def _person(move: Move, job: Job) -> Person:
    here, other = (OTHER, DRIVER) if job.at_vehicle == OTHER.id else (DRIVER, OTHER)
    return {"dispatcher": DISPATCHER, "owner": OWNER, "other driver": other}.get(
        move.speaker, here
    )


def say(kind: Kind, text: str, speaker: Speaker = "driver", about: str = "") -> Move:
    """Return the move of saying something."""
    return Move(kind, text or "(nothing)", speaker, text=text, about=about)


# Answers to what is open


def answers(job: Job) -> Iterator[Move]:
    """Yield every answer that the open question offers, and the window's timer falling due."""
    if job.paused is not None:
        yield say("answer", "resume")
        yield replace(say("answer", "resume"), after_s=LONG_S)
    else:
        answer = prompt_for(job).answer
        yield from offers(job)
        if answer.takes_mass:
            yield from (say("detour", f"{lb} pounds") for lb in weights(job))
    if job.theirs is not None:
        yield say("answer", "yes", "dispatcher")
    yield from due(job, ("window",))


def offers(job: Job) -> tuple[Move, ...]:
    """Return the moves that what is open offers; of the cards those that stand for all."""
    prompt = prompt_for(job)
    answer = prompt.answer
    if isinstance(prompt.item, WaitStep) and not prompt.pending:
        return tuple(_in_time(job, prompt.item, answer))
    if answer.kind == "photo":
        return (Move("answer", "[a photo]", photo=True), *offered(answer))
    if answer.fact != "card":
        return offered(answer)
    listed = dict(answer.choices)
    others = replace(answer, choices=tuple(one for one in answer.choices if one[0] == "none"))
    cards = (
        Move("answer", card.name, tap=card.id) if card.id in listed else say("answer", card.name)
        for card in named(job)
    )
    return (*cards, *offered(replace(others, phrases=())))


def _in_time(job: Job, item: WaitStep, answer: Answer) -> Iterator[Move]:
    """Yield the answers to a wait once it is over, and then one that comes too early."""
    left_s = card_waits.left_ns(job, item, job.now or START) // SECOND_NS
    for move in offered(answer):
        yield replace(move, after_s=left_s + 1)
    yield say("detour", answer.words[0])


@lru_cache(maxsize=1024)
def offered(answer: Answer) -> tuple[Move, ...]:
    """Return the moves that an answer offers: its choices, its words, a time, free words."""
    return tuple(_offered(answer))


def _offered(answer: Answer) -> Iterator[Move]:
    yield from _worded(answer)
    word = answer.words[0] if answer.words else ""
    if answer.takes_time:
        yield say("answer", f"{word} now".strip())
        yield say("answer", f"{word} 2 minutes ago".strip())
        yield say("detour", f"{word} 40 minutes ago".strip())
    if answer.takes_feet:
        yield say("answer", "20 feet")
        yield say("detour", "300 feet")
    if answer.takes_note:
        yield say("answer", NOTES.get(answer.fact, REASON))
    if answer.kind in {"choice", "yes_no", "note", "time"} or answer.item:
        yield say("detour", "not sure")


def _worded(answer: Answer) -> Iterator[Move]:
    """Yield every choice, and a phrase for every intent that no choice covers."""
    covered: set[object] = set()
    for place, (one, label) in enumerate(answer.choices):
        covered.update(choice(answer, place))
        yield Move("detour" if one == "seen" else "answer", label, tap=one)
    for phrase, intent in answer.phrases:
        if intent not in covered:
            covered.add(intent)
            yield say("answer", " ".join(phrase))


def weights(job: Job) -> tuple[int, ...]:
    """Return one weight [lb] for each word the margin can have."""
    figures = [i for i in job.book.routine.items.values() if isinstance(i, Figure)]
    if not figures or not margin_inputs_known(job):
        return (4600,)
    read = (*figures[0].rests_on, "family")
    known = tuple((name, _bare(job.facts.get(name))) for name in read)
    return _weights(job.book.library, known)


def _bare(fact: Fact | None) -> Fact | None:
    return None if fact is None else replace(fact, by="", seq=0)


@lru_cache(maxsize=4096)
def _weights(library: Library, facts: tuple[tuple[str, Fact | None], ...]) -> tuple[int, ...]:
    known = {name: fact for name, fact in facts if fact is not None}
    found: dict[str, int] = {}
    for lb in WEIGHTS_LB:
        job = Job(1, only_cards(library), facts={**known, "weight": Fact(lb, "typed", "", 0)})
        found.setdefault(margin_of(job).verdict, lb)
    return tuple(found.values())


# Time


def due(job: Job, names: tuple[str, ...]) -> Iterator[Move]:
    """Yield the timers of these names, each when it falls due."""
    now = job.now or START
    for timer in timers_for(job):
        if timer.name in names:
            after = max(0, -((now.mono_ns - timer.due_ns) // SECOND_NS))
            yield _timer(timer.name, timer.generation, after)


def _timer(name: str, generation: int, after_s: int) -> Move:
    return Move(
        "wait", f"[{name} timer]", "nobody", after_s=after_s, timer=name, generation=generation
    )


def late(job: Job) -> Iterator[Move]:
    """Yield what arrives after the window's end and before its timer, and the timer too late."""
    window, now = job.window, job.now
    if window is None or window.ends_ns is None or now is None or window.state != "open":
        return
    after = max(0, (window.ends_ns - now.mono_ns) // SECOND_NS) + 1
    for move in (*offers(job)[:1], say("wait", "status")):
        yield replace(move, kind="wait", after_s=after)
    for move in due(job, ("window",)):
        yield replace(move, said="[window timer, too late]", after_s=after)


# Everything else


def disturbances(job: Job) -> Iterator[Move]:
    """Yield everything else that can happen in any state."""
    yield from due(job, ("silence", "unanswered", "deferral", "recheck"))
    yield from late(job)
    yield from any_time(job.book)
    for move in offers(job)[:1]:
        yield replace(move, kind="others", speaker="other driver")
        yield replace(move, kind="others", speaker="dispatcher")
    yield from other_weights(job)


def other_weights(job: Job) -> Iterator[Move]:
    """Yield a weight for each word of the margin, said while none is asked for."""
    if not prompt_for(job).answer.takes_mass:
        for lb in weights(job):
            yield say("correct", f"it weighs {lb} pounds", about="weight")


@cache
def any_time(book: Book) -> tuple[Move, ...]:
    """Return the moves that are tried in every state, whatever is open."""
    return (*_talk(), *words(), *changes(), *_others(), *claims(), *corrections(book))


def _talk() -> Iterator[Move]:
    """Yield what changes nothing, or nothing by itself."""
    for text in ("ok", "all done", "xyzzy", "", "repeat", "status", "why", "help", "how long",
                 "noted", "yes", "no", "back", "problem", "skip", "take over", "resume",
                 "override the ticket is on file", "settle the ticket is on file"):  # fmt: skip
        yield say("talk", text)
    for timer in ("window", "unanswered", "silence", "other"):
        yield replace(_timer(timer, -1, SOON_S), said=f"[obsolete {timer} timer]")


def words() -> Iterator[Move]:
    """Yield the words for any time that change what is open."""
    for text in ("not sure", "hold", "lost", "cannot", "later", "hand off", f"skip {REASON}"):
        yield say("word", text)
    for text in ("stop", "smoke", "i see fire", "it is venting", "false alarm",
                 "it is rolling away", "a strap came off",
                 "i moved the truck", "the truck is rolling", "somebody is behind it",
                 "the chock slipped", "the brake failed", "the winch won't stop",
                 "i am hurt"):  # fmt: skip
        yield say("danger", text)
    yield say("others", "take over", "other driver")


def changes() -> Iterator[Move]:
    """Yield time passing, the bot away or started again, the truck changed."""
    yield replace(say("wait", "status"), after_s=LONG_S)
    yield replace(say("wait", "status"), said="status, after a reboot", reboots=True)
    yield Move("wait", "[bot was away]", "nobody", told="restarted")
    yield Move("wait", "[truck changed]", "nobody", told="truck_changed")


def _others() -> Iterator[Move]:
    yield say("others", "override because the ticket is on file", "owner")
    yield say("others", "settle because devices came later", "dispatcher")
    yield say("others", "override because the ticket is on file", "dispatcher")
    yield say("others", "smoke", "dispatcher")
    yield say("others", "stop", "dispatcher")
    yield say("others", "take over", "dispatcher")
    yield say("others", "it weighs 4600 pounds", "dispatcher")
    yield say("others", "hand off", "dispatcher")


def claims() -> Iterator[Move]:
    """Yield every act said out of order and every act taken back."""
    for act in ACTS:
        table = phrases()["acts"].get(act)
        for said in () if table is None else table["said"][:1]:
            yield say("claim", said, about=act)
            yield say("retract", table.get("undone", [f"not {said}"])[0], about=act)
    yield say("claim", "neutral 20 minutes ago", about="neutral_selected")
    yield say("claim", "in neutral 40 minutes ago", about="neutral_selected")


def corrections(book: Book) -> Iterator[Move]:
    """Yield every fact said to be each of its values, whatever is open."""
    for name, table in phrases()["facts"].items():
        for value in table.get("values", {}).values():
            # Of the sizes one is enough: it counts only that one is known.
            if value["said"] and name != "weight_class":
                yield say("correct", value["said"][0], about=name)
    yield from (say("correct", one.name, about="card") for one in few(book.library))
    yield from (say("correct", one.name, about="truck") for one in book.library.carriers)
    yield from (say("correct", one.name, about="second_truck") for one in book.library.wreckers)
    yield say("correct", "midsize car", about="weight_class")
