"""What one turn writes: a turn and its cause, made into the one transaction of the store."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import chain
from typing import Any

from bot.desk.chats import Rooms
from bot.desk.outgoing import facts_of, figures_of, line_of
from bot.desk.replaying import claimed_ms
from bot.record.checkpoints import Codes, Sealer, is_pause
from bot.record.reader import Reader
from bot.record.rows import Batch, Chat, NewEntry, NewReply, Sealing, Timer
from flows.job.events import Moment
from flows.job.state import Job
from flows.routine.book import Book
from flows.routine.items import Photo
from flows.telling.reply import Reply
from flows.telling.saying import fill
from flows.texts import air_texts, sentences, word
from flows.turn.turning import Timer as Wanted, Turn

SILENT: dict[str, Any] = {
    "priority": "reply",
    "expects": {"kind": "nothing"},
    "spoken": "",
    "shown": "",
}


@dataclass(frozen=True, slots=True)
class Cause:
    """Why a turn happened.

    Parameters
    ----------
    at
        When, by our clocks.
    inbox
        The message it settles; None for a timer or a welcome.
    chat
        Who sent it, with the focus it has from now on.
    seat
        The same as the record holds it; None when it is new.
    crew
        Entries that enrol the sender, when new.
    stamped_ms
        When the platform took the message in.
    fired
        The timer that fell due.
    winding
        The message on whose account time passed, where time passes only by messages.
    """

    at: Moment
    inbox: int | None = None
    chat: Chat | None = None
    seat: Chat | None = None
    crew: tuple[NewEntry, ...] = ()
    stamped_ms: int | None = None
    fired: Timer | None = None
    winding: int | None = None

    @property
    def moved(self) -> tuple[Chat, ...]:
        """The sender's chat, if it is new or turned to another job."""
        return () if self.chat is None or self.chat == self.seat else (self.chat,)


class Batches:
    """Makes batches for one channel of one company."""

    def __init__(self, book: Book, channel: str, rooms: Rooms, sealer: Sealer) -> None:
        self._sealer = sealer
        self._book = book
        self._channel = channel
        self._rooms = rooms
        self._zone = book.library.company.zone

    def of_turn(self, made: Turn, cause: Cause, known: Sequence[Timer]) -> Batch:
        """Return everything a turn writes; `known` are the job's timers as they are set."""
        ref = made.job.ref
        wanted = {timer.name: timer for timer in made.timers}
        gone = {timer.name for timer in known if timer.name not in wanted}
        if cause.fired is not None:
            gone.add(cause.fired.name)
        standing = {timer.name: timer for timer in known if timer.name not in gone}
        return Batch(
            cause.at,
            self._zone,
            cause.inbox,
            entries=(*cause.crew, *_entries(made, cause)),
            replies=self._replies(made, cause),
            chats=cause.moved,
            timers=tuple(
                _timer(ref, timer, cause.at)
                for timer in wanted.values()
                if not _is_set(timer, standing.get(timer.name))
            ),
            dropped=tuple((ref, name) for name in sorted(gone)),
            states=((ref, "closed"),) if made.job.ended is not None else (),
            sealing=partial(self._seal, made, cause) if is_pause(made) else None,
        )

    def told_before_photos(self, batch: Batch, made: Turn, reader: Reader) -> Batch:
        """Return a turn's batch with what its channel tells before the first photos of a job."""
        items = made.job.book.routine.items
        sets = {one for one, item in items.items() if isinstance(item, Photo)}
        asked = (e.body["item"] for e, _ in made.entries if e.kind == "asked")
        text = air_texts()["before_photos"].get(self._channel)
        if text is None or sets.isdisjoint(asked):
            return batch
        before = (e["body"]["item"] for e in reader.entries(made.job.ref) if e["kind"] == "asked")
        if not sets.isdisjoint(before):
            return batch
        return replace(batch, replies=tuple(_told_before(batch.replies, sets, str(text))))

    def _seal(self, made: Turn, cause: Cause, reader: Reader) -> Iterator[NewEntry | NewReply]:
        """Yield the checkpoints over a turn as it was written, and what the chats are told."""
        is_over = any(entry.kind == "ended" for entry, _ in made.entries)
        for one in self._sealer.seal(reader, made.job.ref, cause.at, is_over=is_over):
            if isinstance(one, Codes):
                yield from self._told_codes(one, made, cause)
            else:
                vehicle = made.job.at_vehicle if one.job == made.job.ref else None
                yield replace(one, vehicle=vehicle)

    def _told_codes(self, codes: Codes, made: Turn, cause: Cause) -> Iterator[NewReply]:
        """Yield what binds the record: shown in the chats, never spoken."""
        texts, number = sentences()["sealed"], str(made.job.ref)
        shown = texts["job"].format(number=number, code=codes.code, size=codes.size)
        line = {**SILENT, "job": number, "shown": shown}
        if cause.winding is not None:
            line["turn"] = cause.winding
        for to in ("driver", "dispatchers"):
            for chat in self._rooms.chats_for(to, made.job.at_vehicle, None):
                yield NewReply(self._channel, chat, line)
                if codes.all_jobs is not None and to == "dispatchers":
                    whole = texts["all_jobs"].format(jobs=codes.jobs, code=codes.all_jobs)
                    yield NewReply(self._channel, chat, {**line, "shown": whole})

    def of_words(self, key: str, cause: Cause, **given: str) -> Batch:
        """Return a batch that only says something to the sender, of no job."""
        job = Job(0, self._book)
        texts = sentences()["says"][key]
        line = {
            "priority": texts["priority"],
            "expects": {"kind": "nothing"},
            "spoken": fill(texts["spoken"], job, given),
            "shown": fill(texts["shown"], job, given),
        }
        return self._to_sender(line, cause)

    def of_silence(self, cause: Cause) -> Batch:
        """Return the batch of a message that said nothing: one silent line."""
        return self._to_sender(SILENT, cause)

    def of_fault(self, cause: Cause) -> Batch:
        """Return the batch of a message that could not be used: kept apart, with words."""
        phone = self._book.library.company.dispatch_phone
        words = {
            name: text.format(dispatch_phone=phone) for name, text in sentences()["fault"].items()
        }
        line = {**SILENT, "error": words}
        return replace(self._to_sender(line, cause), fault=str(words["wrong"]))

    def of_lost_timer(self, driver: str | None, cause: Cause) -> Batch:
        """Return the batch that drops a timer which cannot be applied, and says so."""
        timer = cause.fired
        texts = sentences()["says"]["timer_lost"]
        job = Job(0 if timer is None else timer.job, self._book)
        line = {
            **SILENT,
            "priority": texts["priority"],
            "job": str(job.ref),
            "spoken": fill(texts["spoken"], job, {}),
            "shown": fill(texts["shown"], job, {}),
        }
        chats = [
            chat
            for to in ("driver", "dispatchers")
            for chat in self._rooms.chats_for(to, driver, None)
        ]
        return Batch(
            cause.at,
            self._zone,
            replies=tuple(NewReply(self._channel, chat, line) for chat in chats),
            dropped=() if timer is None else ((timer.job, timer.name),),
        )

    def _to_sender(self, line: dict[str, Any], cause: Cause) -> Batch:
        to = "" if cause.chat is None else cause.chat.chat
        return Batch(
            cause.at,
            self._zone,
            cause.inbox,
            entries=cause.crew,
            chats=cause.moved,
            replies=(NewReply(self._channel, to, {**line, "last": True}),),
        )

    def _line(self, reply: Reply, job: Job, name: str, cause: Cause) -> dict[str, Any]:
        """Return a message as a line; an alarm of another job than the chat's names its own."""
        line = line_of(reply, job)
        chat = cause.chat if cause.chat is not None and cause.chat.chat == name else None
        focus = self._rooms.focus_of(name) if chat is None else chat.focus_job
        if reply.priority == "reply" or focus in {None, job.ref} or "{ref}" in _template(reply):
            return line
        named = {"spoken": word("named_spoken"), "shown": word("named_shown")}
        return line | {k: fill(v, job, {"text": line[k]}) for k, v in named.items()}

    def _replies(self, made: Turn, cause: Cause) -> tuple[NewReply, ...]:
        rows = [
            NewReply(self._channel, name, self._line(reply, made.job, name, cause))
            for reply in made.replies
            for name in self._rooms.chats_for(reply.to, reply.job.at_vehicle, cause.chat)
        ]
        if not rows and cause.chat is not None:
            rows = [NewReply(self._channel, cause.chat.chat, SILENT)]
        if not rows:
            return ()
        if cause.winding is not None:
            rows = [replace(row, body={**row.body, "turn": cause.winding}) for row in rows]
        rows[-1] = replace(rows[-1], body={**rows[-1].body, **_told(made, cause)})
        return tuple(rows)


def _told_before(replies: Sequence[NewReply], items: set[str], text: str) -> Iterator[NewReply]:
    """Yield replies, and a text before the one that asks for one of some items."""
    for one in replies:
        if one.body.get("item") in items and "ask" in one.body:
            line = {**SILENT, "job": one.body["job"], "spoken": text, "shown": text}
            yield replace(one, body=line)
        yield one


def _template(reply: Reply) -> str:
    table, _, key = reply.key.partition(".")
    return str(sentences()[table][key]["spoken"])


def joined(batches: Sequence[Batch]) -> Batch:
    """Return what several turns write as one; the last of them is what the message led to."""
    *others, last = batches
    if not others:
        return last
    makers = [one.sealing for one in batches if one.sealing is not None]
    return replace(
        last,
        entries=tuple(entry for one in batches for entry in one.entries),
        replies=tuple(reply for one in batches for reply in one.replies),
        chats=tuple(chat for one in batches for chat in one.chats),
        timers=tuple(timer for one in batches for timer in one.timers),
        dropped=tuple(name for one in batches for name in one.dropped),
        states=tuple(state for one in batches for state in one.states),
        sealing=partial(_sealed_by, makers) if makers else None,
    )


def _sealed_by(makers: Sequence[Sealing], reader: Reader) -> Iterator[NewEntry | NewReply]:
    """Yield what binds each job of a transaction, one after the other."""
    return chain.from_iterable(make(reader) for make in makers)


def _told(made: Turn, cause: Cause) -> dict[str, Any]:
    """Return what the last line of a turn carries: facts and figures of it, and that it is."""
    found: dict[str, Any] = {"facts": facts_of(made), "figures": figures_of(made)}
    if cause.inbox is not None:
        found["last"] = True
    return {name: value for name, value in found.items() if value}


def _entries(made: Turn, cause: Cause) -> Iterator[NewEntry]:
    first = made.job.seq - len(made.entries)
    for place, (entry, by) in enumerate(made.entries):
        yield NewEntry(
            made.job.ref,
            entry.kind,
            entry.body,
            by,
            made.job.at_vehicle,
            claimed_ms(entry, made.job),
            cause.stamped_ms,
            seq=first + place,
        )


def _is_set(timer: Wanted, known: Timer | None) -> bool:
    if known is None:
        return False
    is_set = (known.generation, known.due_mono_ns, known.boot)
    return is_set == (timer.generation, timer.due_ns, timer.boot)


def _timer(ref: int, timer: Wanted, at: Moment) -> Timer:
    wall = at.wall_ms + (timer.due_ns - at.mono_ns) // 1_000_000
    return Timer(ref, timer.name, timer.generation, timer.due_ns, timer.boot, wall, {})
