"""The desk: one message in, one transaction out. The only writer of a company's record.

A message is first made safe in the inbox, in its own transaction. Then all its effects are
written in one: entries, replies, timers, chats, and the message settled.
"""

import logging
import re
from dataclasses import dataclass, replace
from typing import cast
from zoneinfo import ZoneInfo

from bot.desk.batches import Batches, Cause, followed_by, joined
from bot.desk.chats import Chats, check
from bot.desk.dispatch import Dispatch, Parts
from bot.desk.ears import Ears
from bot.desk.fleet import fleet_of, told_others
from bot.desk.given_jobs import GivenJobs
from bot.desk.inbound import Inbound
from bot.desk.job_lines import JobLines
from bot.desk.job_named import dangers_in, meant, named
from bot.desk.jobs_in_memory import JobsInMemory
from bot.desk.opening import OPENING, opens_by_voice, warns_by_voice
from bot.desk.watch import WATCHES
from bot.machine.clock import offsets_at
from bot.record.checkpoints import CHECKPOINT, Sealer
from bot.record.errors import READING, StoreError
from bot.record.media import intact, keep_drawing, media_path
from bot.record.rows import Batch, Chat, Message, Reply, Timer, Unreadable
from bot.record.store import Store
from flows.hearing.prompts import Prompt, open_for
from flows.job.entries import Entry
from flows.job.events import (
    Event,
    Heard,
    Media,
    Moment,
    Person,
    Position,
    Role,
    Spoken,
    Tick,
    Told,
)
from flows.job.folding import fold
from flows.job.state import Envelope, Job
from flows.measures.tokens import tokens
from flows.reckoning.margin_inputs import drawing_of
from flows.routine.book import Book
from flows.telling.reply import Reply as Said, To
from flows.telling.saying import fill
from flows.texts import sentences
from flows.turn.advance import advance, opening
from flows.turn.reading_messages import tells_danger
from flows.turn.turning import BOT, Turn

LOG = logging.getLogger(__name__)
OWNERS_FROM = 2
"""An alarm that no dispatcher has answered goes to owners too after it was repeated so often."""


@dataclass(frozen=True, slots=True)
class Taken:
    """The lines that a message led to, and whether they were sent before."""

    replies: tuple[Reply, ...]
    is_repeat: bool = False


class Desk:
    """Takes messages and the passing of time, and writes their effects.

    Parameters
    ----------
    store
        The record, opened for writing.
    book
        The routine and the company's cards.
    channel
        The channel's name in inbox and outbox.
    sealer
        Signs the record whenever a job pauses.
    ears
        Hears voice notes; None if they are not heard.
    """

    def __init__(
        self, store: Store, book: Book, channel: str, sealer: Sealer, ears: Ears | None = None
    ) -> None:
        self.ears = ears
        self._store = store
        self._book = book
        self._channel = channel
        self._sealer = sealer
        self._zone = ZoneInfo(book.library.company.zone)
        self._jobs = JobsInMemory(store, book)
        self._chats = Chats(store)
        given = GivenJobs(store)
        self.lines = JobLines(self._chats, given, self._zone)
        self._batches = Batches(book, channel, self._chats, sealer, self.lines)
        parts = Parts(store, book, self._jobs, self._chats, self._batches, given, self.lines)
        self._dispatch = Dispatch(parts, self._begin, self._write_with)

    def take(self, message: Inbound, at: Moment, *, wind: bool = False) -> Taken:
        """Take one message: make it safe, apply it, put its replies in the outbox.

        Parameters
        ----------
        wind
            Only messages make time pass: timers due before this one fire first, at their time.

        Raises
        ------
        DuplicateIdError
            If its id was used before with another body.
        StoreError
            If the record cannot be written; the message may be sent again.
        """
        check(message.chat)
        received = self._store.receive(self._channel, message.chat, message.id, message.body(), at)
        if not received.fresh:
            known = self._store.message(received.id)
            if known is not None and known.state != "new":
                return Taken(tuple(self._store.outbox_for(received.id)), is_repeat=True)
        return Taken(tuple(self.settle(message, at, received.id, wind=wind)))

    def fetched(self, ref: int, receipt: int, media: Media | None, at: Moment) -> list[Reply]:
        """Tell a job that a file it received is kept, or (None) that it will not arrive.

        Parameters
        ----------
        ref, receipt
            The job, and its entry that recorded the receipt; `Job.receipts` lists open receipts.
        """
        event = Told("media", at, receipt, media)
        return self._run(self.job(ref), event, Cause(at))

    def catch_up(self, *, wind: bool = False) -> list[Reply]:
        """Apply, in order, the messages that were received but not settled before a restart."""
        found: list[Reply] = []
        for row in self._store.unfinished():
            try:
                message = Inbound.from_body(row.chat, row.ext_id, row.body)
            except READING:
                self._store.set_apart([Unreadable("inbox", row.id)])
                continue
            found += self.settle(message, self.received(row), row.id, wind=wind)
        return found

    def received(self, row: Message) -> Moment:
        """Return when a message was received, with the offsets of the company's zone then."""
        return replace(row.moment, offsets=offsets_at(self._zone, row.moment.wall_ms))

    def settle(
        self, message: Inbound, at: Moment, inbox: int, *, wind: bool = False
    ) -> list[Reply]:
        """Apply a message that is safe; if it cannot be, quarantine it and tell its sender."""
        fired = self.tick(at, exact=True, winding=inbox) if wind else []
        try:
            return fired + self._apply(message, at, inbox)
        except StoreError:
            raise
        except Exception:
            LOG.exception("message %s could not be applied; it is quarantined", inbox)
            return fired + self._store.commit(self._fault(message, at, inbox))

    def _fault(self, message: Inbound, at: Moment, inbox: int) -> Batch:
        try:
            cause = self._cause(message, at, inbox)
        except ValueError as error:
            return Batch(at, self._book.library.company.zone, inbox, fault=str(error))
        return self._batches.of_fault(cause)

    def _cause(self, message: Inbound, at: Moment, inbox: int) -> Cause:
        """Return a message as a cause, and enrol its sender if new."""
        chat, crew = self._chats.enrol(message.chat)
        return Cause(at, inbox, chat, None if crew else chat, crew, message.stamped_ms)

    def tick(self, at: Moment, *, exact: bool = False, winding: int | None = None) -> list[Reply]:
        """Fire every timer that is due, the longest overdue first.

        Parameters
        ----------
        exact
            Each fires at its own due time instead of now.
        winding
            The message that made time pass.
        """
        fired: list[Reply] = []
        known: set[tuple[int, str, int, int]] = set()
        while True:
            timer = next(iter(self._store.due_timers(at)), None)
            if timer is None:
                return fired
            moment = _due_moment(timer, at) if exact else at
            cause = Cause(moment, fired=timer, winding=winding)
            same = (timer.job, timer.name, timer.generation, timer.due_mono_ns)
            if same in known:
                # Firing it sets it again at once: it would fire without end.
                LOG.error("timer %s of job %s is due again at once", timer.name, timer.job)
                fired += self._lose(cause)
                continue
            known.add(same)
            fired += self._tick(Tick(timer.name, timer.generation, moment), cause)

    def _lose(self, cause: Cause) -> list[Reply]:
        """Drop a timer that cannot be applied, and tell the crew."""
        job = cast("Timer", cause.fired).job
        return self._store.commit(self._batches.of_lost_timer(self._at(job), cause))

    def _tick(self, event: Tick, cause: Cause) -> list[Reply]:
        """Fire one timer; if it cannot be applied, drop it and tell the crew."""
        timer = cast("Timer", cause.fired)
        try:
            if timer.name in WATCHES:
                return self._watched(timer, cause)
            return self._run(self.job(timer.job), event, cause)
        except StoreError:
            raise
        except Exception:
            LOG.exception("timer %s of job %s could not be applied", timer.name, timer.job)
            return self._lose(cause)

    def _watched(self, timer: Timer, cause: Cause) -> list[Reply]:
        """Tell the desks what a timer of theirs stands for, if it does and is due by wall time."""
        job = self.job(timer.job)
        found = self._batches.watch.fallen_due(job, timer)
        if found is None:
            return self._store.commit(self._batches.of_dropped(timer, cause))
        if cause.at.wall_ms < found.due_ms(timer.generation):
            later = found.timer(job.ref, timer.generation, cause.at)
            return self._store.commit(self._batches.of_dropped(timer, cause, later))
        made = self._advanced(job, Told(found.name, cause.at))
        if found.key:
            again = self._said_again(found.key, made.job, timer.generation)
            return self._write(replace(made, replies=(*made.replies, *again)), cause)
        plain = Cause(cause.at, winding=cause.winding)
        return self._write_with(made, cause, self._batches.of_watch(found, made.job, plain))

    def _said_again(self, key: str, job: Job, told: int) -> list[Said]:
        """Return an alarm that no desk has answered: from the third time on to owners too."""
        to: tuple[To, ...] = ("dispatchers", "owners")
        is_owners_only = not any(chat.role == "dispatcher" for chat in self._store.chats())
        stop = to[:1] if told < OWNERS_FROM or is_owners_only else to
        return [Said(one, key, job, "stop") for one in stop]

    def _at(self, ref: int) -> str | None:
        """Return who was last at the vehicle, from the record alone."""
        return next((entry["vehicle"] for entry in reversed(self._store.entries(ref))), None)

    def next_due(self, at: Moment) -> int | None:
        """Return when the next timer is due on the boot clock [ns]; None if none is set."""
        timers = self._store.timers()
        if any(timer.boot != at.boot for timer in timers):
            return at.mono_ns
        return min((timer.due_mono_ns for timer in timers), default=None)

    def welcome_back(self, at: Moment, chat: str | None = None) -> list[Reply]:
        """Tell drivers who may have been away their job, its last step and its next."""
        found: list[Reply] = []
        for job in self._jobs.open():
            mine = chat is None or self._chats.chat_of(job.at_vehicle) == chat
            if job.at_vehicle is not None and mine:
                found += self._run(job, Told("restarted", at), Cause(at))
        return found

    def driver_gone(self, person: str, at: Moment) -> list[Reply]:
        """Pause every open job whose person at the vehicle may no longer speak."""
        jobs = [job for job in self._jobs.open() if job.at_vehicle == person]
        return [reply for job in jobs if job.paused_why != "driver_gone" for reply in
                self._run(job, Told("driver_gone", at), Cause(at))]  # fmt: skip

    def job(self, ref: int) -> Job:
        """Return a job in its current state."""
        return self._jobs.job(ref)

    def _apply(self, message: Inbound, at: Moment, inbox: int) -> list[Reply]:
        cause = self._cause(message, at, inbox)
        if message.tick:
            return self._store.commit(self._batches.of_silence(cause))
        message = in_words(message)
        heard = self._heard(message, at, cast("Chat", cause.chat))
        handled = self._dispatch.take(cast("Chat", cause.chat), heard, cause, message.to)
        if handled is not None:
            return handled
        if heard.media is not None and self._has_no_job(message, cast("Chat", cause.chat)):
            spoken = heard.spoken or self._listened(heard.media, OPENING)
            heard = replace(heard, spoken=spoken)
        if _opens(message, heard):
            return self._begin(heard, cause)
        return self._to_job(message, heard, cause)

    def _to_job(self, message: Inbound, heard: Heard, cause: Cause) -> list[Reply]:
        """Give a message to its job; a chat that names a job talks about it from now on."""
        chat = cast("Chat", cause.chat)
        called = named(message.text)
        bound = message.job or self._spoken_of(message, chat)
        ref = called or bound or self._usual_job(chat)
        if ref is None or not self._store.has_job(ref):
            return self._outside(heard, cause, "no_job" if ref is None else "no_such_job")
        job = self.job(ref)
        heard = self._with_words(heard, job)
        if called is None:
            return self._unnamed(job, heard, cause, is_bound=bound is not None)
        return self._named(job, heard, cause)

    def _unnamed(self, job: Job, heard: Heard, cause: Cause, *, is_bound: bool) -> list[Reply]:
        """Give a job words without its number; a desk whose words may be another's is asked."""
        chat = cast("Chat", cause.chat)
        cause = replace(cause, chat=replace(chat, focus_job=chat.focus_job or job.ref))
        made = self._advanced(job, heard)
        asked = None if is_bound else self._dispatch.which(chat, heard, made, cause)
        return self._write(made, cause) if asked is None else asked

    def _named(self, job: Job, heard: Heard, cause: Cause) -> list[Reply]:
        """Give a job words that begin with its number; the chat talks about it from now on."""
        chat = cast("Chat", cause.chat)
        heard = replace(heard, text=meant(heard.text, job, chat))
        left = self._leaving(chat, job.ref, heard.at)
        if left and left[-1].job.paused is None:
            return self._stay(job, heard, cause, left[-1])
        cause = replace(cause, chat=replace(chat, focus_job=job.ref))
        return self._run(job, heard, cause, left)

    def _stay(self, job: Job, heard: Heard, cause: Cause, first: Turn) -> list[Reply]:
        """Keep a driver at the job that cannot be left; danger at the other one counts anyway.

        The winch runs there: it is stopped, or the job handed over, before another begins.
        """
        danger = dangers_in(heard.text)
        if not danger:
            return self._write(first, cause)
        return self._run(job, replace(heard, text=danger), cause, (first,))

    def _spoken_of(self, message: Inbound, chat: Chat) -> int | None:
        """Return the job of the message that a desk answers."""
        answers = None if message.to is None else self._store.reply(chat.chat, message.to)
        if chat.role == "driver" or answers is None:
            return None
        ref = answers.body.get("job")
        return None if ref is None else int(ref)

    def _outside(self, heard: Heard, cause: Cause, key: str) -> list[Reply]:
        """Answer a message that is for no job: how to open one, or how to call for help."""
        if tells_danger(heard.text, heard.tap) or warns_by_voice(heard):
            key = "danger_outside"
        return self._store.commit(self._batches.of_words(key, cause, open_jobs=self._open_jobs()))

    def _with_words(self, heard: Heard, job: Job) -> Heard:
        """Return a message with the words of its voice note, if that was not heard yet."""
        media = heard.media
        if media is None or media.kind != "voice" or heard.spoken is not None:
            return heard
        return replace(heard, spoken=self._listened(media, open_for(job, heard.who.id)))

    def _has_no_job(self, message: Inbound, chat: Chat) -> bool:
        """Say whether a driver has no open job, so that a voice note can open one."""
        if chat.role != "driver" or message.job is not None or named(message.text) is not None:
            return False
        return chat.focus_job is None or self.job(chat.focus_job).ended is not None

    def _listened(self, media: Media, prompt: Prompt) -> Spoken | None:
        """Hear a kept voice note under the question its sender was asked."""
        if self.ears is None or media.kind != "voice" or not media.sha256:
            return None
        path = intact(media_path(self._store.folder, media.sha256), media.sha256)
        return None if path is None else self.ears.heard(path, prompt, self._book)

    def open_to(self, name: str) -> Prompt | None:
        """Return the question that a chat is asked now; None outside a job."""
        chat = self._store.chat(name)
        if chat is not None and self._has_no_job(Inbound(name, ""), chat):
            return OPENING
        ref = None if chat is None else self._usual_job(chat)
        if chat is None or ref is None or not self._store.has_job(ref):
            return None
        return open_for(self.job(ref), chat.person)

    def _usual_job(self, chat: Chat) -> int | None:
        """Return the job that a chat means without a number.

        For a dispatcher or owner who talks about no job that is the only open job, if there is
        just one.
        """
        if chat.focus_job is not None or chat.role == "driver":
            return chat.focus_job
        is_open = self._jobs.open()
        return is_open[0].ref if len(is_open) == 1 else None

    def _open_jobs(self) -> str:
        is_open = [str(job.ref) for job in self._jobs.open()]
        return ", ".join(is_open) or str(sentences()["words"]["none"])

    def _heard(self, message: Inbound, at: Moment, chat: Chat) -> Heard:
        place = message.place
        return Heard(
            who=Person(chat.person, cast("Role", chat.role)),
            at=at,
            text=message.text or "",
            tap=message.tap,
            ask=self._chats.ask_of(chat, message.to),
            stamped_ms=message.stamped_ms,
            is_edit=message.edit_of is not None,
            media=message.media,
            position=None if place is None else Position(*place),
            spoken=message.spoken,
            is_part=message.part,
            no_receipt=message.no_receipt,
        )

    def _begin(self, heard: Heard, cause: Cause, driver: Chat | None = None) -> list[Reply]:
        """Open a job from words, and ask its driver if there is one."""
        chat = cast("Chat", cause.chat)
        busy = None if chat.focus_job is None else self.job(chat.focus_job)
        if chat.role == "driver" and busy is not None and busy.ended is None:
            batch = self._batches.of_words("job_open", cause, ref=fill("{ref}", busy, {}))
            return self._store.commit(batch)
        ref = self._store.next_job()
        body: dict[str, object] = {
            "routine": {"id": self._book.routine.id, "sha256": self._book.routine.digest},
            "cards": dict(self._book.library.digests),
        }
        heard = replace(heard, fleet=fleet_of(self._jobs.on_trucks(), ref))
        made = opening(Job(ref, self._book), heard, body)
        cause = replace(cause, chat=replace(chat, focus_job=ref))
        if driver is None:
            return self._write(made, cause)
        return self._write_with(made, cause, self._dispatch.batch_to(made.job, driver, cause))

    def _run(
        self, job: Job, event: Event, cause: Cause, before: tuple[Turn, ...] = ()
    ) -> list[Reply]:
        return self._write(self._advanced(job, event), cause, before)

    def _advanced(self, job: Job, event: Event) -> Turn:
        return advance(job, replace(event, fleet=fleet_of(self._jobs.on_trucks(), job.ref)))

    def _write_with(
        self, made: Turn, cause: Cause, also: Batch, before: tuple[Turn, ...] = ()
    ) -> list[Reply]:
        """Write a turn with a batch of the desk's own lines behind it, in one transaction."""
        return self._write(made, cause, before, also)

    def _write(
        self, made: Turn, cause: Cause, before: tuple[Turn, ...] = (), also: Batch | None = None
    ) -> list[Reply]:
        """Write a turn, and the turns of other jobs that it leads to, in one transaction."""
        on_trucks = self._jobs.on_trucks()
        known = next((job for job in on_trucks if job.ref == made.job.ref), None)
        others = told_others(on_trucks, known, made, cause.at)
        turns = (*before, *others, made)
        batches = [self._batch(turn, cause if turn is made else Cause(cause.at)) for turn in turns]
        if also is not None:
            batches[-1] = followed_by(batches[-1], also)
        sent = self._store.commit(joined(batches))
        for turn, batch in zip(turns, batches, strict=True):
            self._keep(turn.job, batch, cause)
        return sent

    def _keep(self, job: Job, batch: Batch, cause: Cause) -> None:
        """Keep a job in memory as its written batch leaves it."""
        if batch.sealing is None:
            self._jobs.put(job)
            return
        self._jobs.put(_sealed(job, cause))
        self._sealer.remember(self._store, job.ref)

    def _batch(self, made: Turn, cause: Cause) -> Batch:
        if any(entry.kind == "concluded" for entry, _ in made.entries):
            # Before the entry that names it: a drawing that no entry names does no harm.
            keep_drawing(self._store.folder, drawing_of(made.job))
        batch = self._batches.of_turn(made, cause, self._store.timers(made.job.ref))
        return self._batches.told_before_photos(batch, made, self._store)

    def _leaving(self, chat: Chat, ref: int, at: Moment) -> tuple[Turn, ...]:
        """Return the turn of the job that a driver at its vehicle leaves for another job."""
        if chat.focus_job is None or chat.focus_job == ref:
            return ()
        left = self.job(chat.focus_job)
        if left.ended is not None or left.at_vehicle != chat.person:
            return ()
        fleet = fleet_of(self._jobs.on_trucks(), left.ref)
        return (advance(left, Told("left", at, fleet=fleet)),)


_IN_WORDS = re.compile(
    r"(?:job|new job|cancel job|can't take job)\b.* .*|.*, no driver yet", re.DOTALL
)


def in_words(message: Inbound) -> Inbound:
    """Return a message whose choice is an order in words with those words: an answer to nothing.

    Examples
    --------
    >>> in_words(Inbound("driver:sam", "1", to=4, tap="job 2")).text
    'job 2'
    >>> in_words(Inbound("driver:sam", "1", to=4, tap="none")).tap
    'none'
    """
    if message.tap is None or _IN_WORDS.fullmatch(message.tap) is None:
        return message
    return replace(message, text=message.tap, tap=None, to=None, job=None)


def _opens(message: Inbound, heard: Heard) -> bool:
    """Say whether a message opens a job."""
    return tokens(message.text or "")[:2] == ("new", "job") or opens_by_voice(heard)


def _sealed(job: Job, cause: Cause) -> Job:
    """Return the job after the checkpoint that the store wrote behind its entries."""
    return fold(job, Entry(CHECKPOINT, {}), Envelope(cause.at, BOT, job.seq))


def _due_moment(timer: Timer, at: Moment) -> Moment:
    """Return the moment a timer was due, or now if the machine was restarted since."""
    if timer.boot != at.boot or timer.due_mono_ns > at.mono_ns:
        return at
    behind_ms = (at.mono_ns - timer.due_mono_ns) // 1_000_000
    return replace(at, wall_ms=at.wall_ms - behind_ms, mono_ns=timer.due_mono_ns)
