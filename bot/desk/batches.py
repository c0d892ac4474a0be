"""From a turn and its cause to a batch: everything that one transaction writes."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import chain
from typing import Any, Literal

from bot.desk.chats import Chats
from bot.desk.job_lines import JobLines
from bot.desk.jobs_in_memory import is_open
from bot.desk.outgoing import Line, choices, facts_of, figures_of, line_of
from bot.desk.replaying import claimed_ms
from bot.desk.watch import UNHEARD, WATCHES, Watch, Watched
from bot.record.checkpoints import Codes, Sealer, is_pause
from bot.record.reader import Reader
from bot.record.rows import Batch, Chat, NewEntry, NewReply, Sealing, Timer
from flows.job.events import Moment
from flows.job.state import Job
from flows.routine.book import Book
from flows.routine.items import Photo
from flows.telling.reply import Reply
from flows.telling.saying import fill
from flows.texts import air_texts, desk_texts, sentences, word
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
        When it happened, by our clocks.
    inbox
        The message it settles; None for a timer or a welcome.
    chat
        The sender's chat, with the job it talks about from now on.
    seat
        The same chat as the record has it; None if it is new.
    crew
        Entries that enrol the sender, if new.
    stamped_ms
        When the platform received the message [ms UTC].
    fired
        The timer that fell due.
    winding
        The message that made time pass, on a channel where only messages do.
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
        """The sender's chat, if it is new or now talks about another job."""
        return () if self.chat is None or self.chat == self.seat else (self.chat,)


class Batches:
    """Makes batches for one channel of one company."""

    def __init__(
        self, book: Book, channel: str, chats: Chats, sealer: Sealer, lines: JobLines
    ) -> None:
        self._sealer = sealer
        self._book = book
        self._lines = lines
        self.watch = Watch(lines.given, book.library.company)
        self._channel = channel
        self._chats = chats
        self._zone = book.library.company.zone

    def of_turn(self, made: Turn, cause: Cause, known: Sequence[Timer]) -> Batch:
        """Return everything a turn writes; `known` are the timers already set for its job."""
        ref = made.job.ref
        timers, dropped = _timers(made, cause, [one for one in known if one.name not in WATCHES])
        watched, past = self.watch.of_turn(made, cause.at, known, cause.fired)
        return Batch(
            cause.at,
            self._zone,
            cause.inbox,
            entries=(*cause.crew, *_entries(made, cause)),
            replies=self._replies(made, cause),
            chats=cause.moved,
            timers=(*timers, *watched),
            dropped=(*dropped, *((ref, name) for name in sorted(past))),
            states=() if is_open(made.job) else ((ref, "closed"),),
            sealing=partial(self._seal, made, cause) if is_pause(made) else None,
        )

    def told_before_photos(self, batch: Batch, made: Turn, reader: Reader) -> Batch:
        """Return a turn's batch, with the channel's advice ahead of a job's first photos."""
        text = air_texts()["before_photos"].get(self._channel)
        items = _photo_items(made.job.book)
        now = ((entry.kind, entry.body) for entry, _ in made.entries)
        if text is None or not _asks_for(items, now):
            return batch
        before = ((entry["kind"], entry["body"]) for entry in reader.entries(made.job.ref))
        if _asks_for(items, before):
            return batch
        return replace(batch, replies=tuple(_told_before(batch.replies, items, str(text))))

    def _seal(self, made: Turn, cause: Cause, reader: Reader) -> Iterator[NewEntry | NewReply]:
        """Yield the checkpoints over a turn that is written, and the lines that announce them."""
        is_over = any(entry.kind == "ended" for entry, _ in made.entries)
        for sealed in self._sealer.seal(reader, made.job.ref, cause.at, is_over=is_over):
            if isinstance(sealed, Codes):
                yield from self._told_codes(sealed, made, cause)
            else:
                vehicle = made.job.at_vehicle if sealed.job == made.job.ref else None
                yield replace(sealed, vehicle=vehicle)

    def _told_codes(self, codes: Codes, made: Turn, cause: Cause) -> Iterator[NewReply]:
        """Yield the codes that bind the record: shown in the chats, never spoken."""
        texts, number = sentences()["sealed"], str(made.job.ref)
        shown = texts["job"].format(number=number, code=codes.code, size=codes.size)
        line = {**SILENT, "job": number, "shown": shown}
        if cause.winding is not None:
            line["turn"] = cause.winding
        for chat in self._chats.chats_for("driver", made.job.at_vehicle, None):
            yield NewReply(self._channel, chat, line, "or_alone")
        # A desk has many jobs: by itself it gets a code when a job ends, and once a day.
        under: Literal["or_alone", "or_not"] = "or_not" if codes.all_jobs is None else "or_alone"
        if codes.all_jobs is not None:
            whole = texts["all_jobs"].format(jobs=codes.jobs, code=codes.all_jobs, mark=codes.mark)
            line = {**line, "shown": f"{shown}\n{whole}"}
        for chat in self._chats.chats_for("dispatchers", made.job.at_vehicle, None):
            yield NewReply(self._channel, chat, line, under)

    def of_words(self, key: str, cause: Cause, **given: str) -> Batch:
        """Return a batch that only tells the sender something, and belongs to no job."""
        job = Job(0, self._book)
        texts = sentences()["says"][key]
        line = {
            "priority": texts["priority"],
            "expects": {"kind": "nothing"},
            "spoken": fill(texts["spoken"], job, given),
            "shown": fill(texts["shown"], job, given),
        }
        return self._to_sender(line, cause)

    def of_lines(
        self, cause: Cause, lines: Iterable[Line],
        entries: Sequence[NewEntry] = (),
    ) -> Batch:  # fmt: skip
        """Return a batch of lines, each for a chat, with their entries."""
        turn = {} if cause.winding is None else {"turn": cause.winding}
        rows = [NewReply(self._channel, chat, {**body, **turn}) for chat, body in lines]
        if cause.inbox is not None and rows:
            rows[-1] = _as_last(rows[-1])
        return Batch(
            cause.at, self._zone, cause.inbox, entries=(*cause.crew, *entries),
            replies=tuple(rows), chats=cause.moved,
        )  # fmt: skip

    def of_silence(self, cause: Cause) -> Batch:
        """Return the batch for a message that said nothing: one silent line."""
        return self._to_sender(SILENT, cause)

    def of_fault(self, cause: Cause) -> Batch:
        """Return the batch for a message that could not be used: set apart, its sender told."""
        phone = self._book.library.company.dispatch_phone
        words = {
            name: text.format(dispatch_phone=phone) for name, text in sentences()["fault"].items()
        }
        line = {**SILENT, "error": words}
        return replace(self._to_sender(line, cause), fault=str(words["wrong"]))

    def of_dropped(self, timer: Timer, cause: Cause, later: Timer | None = None) -> Batch:
        """Return the batch that drops a timer, or sets it for later, and says nothing."""
        dropped = ((timer.job, timer.name),)
        return Batch(cause.at, self._zone, dropped=dropped, timers=(later,) if later else ())

    def of_lost_timer(self, driver: str | None, cause: Cause) -> Batch:
        """Return the batch that drops a timer that cannot be applied, and says so."""
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
            for chat in self._chats.chats_for(to, driver, None)
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
        """Return a message as a line; an alarm about another job than the chat's names it."""
        line = line_of(reply, job)
        if reply.to in {"dispatchers", "owners"} and reply.priority in {"check", "stop"}:
            line = self._as_alarm(line, job, cause)
        focus = self._focus(name, cause)
        if reply.priority == "reply" or focus in {None, job.ref} or "{ref}" in _template(reply):
            return line
        named = {"spoken": word("named_spoken"), "shown": word("named_shown")}
        return line | {k: fill(v, job, {"text": line[k]}) for k, v in named.items()}

    def _focus(self, name: str, cause: Cause) -> int | None:
        """Return the job that a chat talks about: the sender's own as its message leaves it."""
        if cause.chat is not None and cause.chat.chat == name:
            return cause.chat.focus_job
        return self._chats.focus_of(name)

    def _as_alarm(self, line: dict[str, Any], job: Job, cause: Cause) -> dict[str, Any]:
        """Return a desk's alarm with who, where and last step, and a button that answers it."""
        texts, shown = desk_texts()["alarm"], [line["shown"], self._lines.alarm(job)]
        fired = cause.fired
        if fired is not None and fired.name == UNHEARD:
            minutes = (cause.at.wall_ms - int(fired.payload["since_ms"])) // 60_000
            shown.insert(1, texts["again"].format(minutes=minutes))
        noted = (f"job {job.ref} noted", texts["noted"].format(number=job.ref))
        offered = line["expects"] if line["expects"]["kind"] != "nothing" else choices(noted)
        return {**line, "shown": "\n".join(shown), "expects": offered}

    def of_watch(self, watched: Watched, job: Job, cause: Cause) -> Batch:
        """Return the lines that tell a desk of a job not taken, or of a silent driver."""
        texts = desk_texts()["alarm"]
        minutes = (cause.at.wall_ms - watched.since_ms) // 60_000
        slots = {**self._lines.slots(job), "minutes": minutes}
        said = {
            "spoken": fill(texts[f"{watched.name}_spoken"], job, {}),
            "shown": texts[watched.name].format(**slots),
        }
        body = {**SILENT, "priority": "check", "job": str(job.ref), **said}
        body = self._as_alarm(body, job, cause)
        return self.of_lines(
            cause, [(chat, body) for chat in self._chats.chats_for("dispatchers", None, None)]
        )

    def _replies(self, made: Turn, cause: Cause) -> tuple[NewReply, ...]:
        rows = [
            NewReply(self._channel, name, self._line(reply, made.job, name, cause))
            for reply in made.replies
            for name in self._chats.chats_for(reply.to, reply.job.at_vehicle, cause.chat)
        ]
        if not rows and cause.chat is not None:
            rows = [NewReply(self._channel, cause.chat.chat, SILENT)]
        if not rows:
            return ()
        if cause.winding is not None:
            rows = [replace(row, body={**row.body, "turn": cause.winding}) for row in rows]
        rows[-1] = replace(rows[-1], body={**rows[-1].body, **_told(made, cause)})
        return tuple(rows)


def _timers(
    made: Turn, cause: Cause, known: Sequence[Timer]
) -> tuple[tuple[Timer, ...], tuple[tuple[int, str], ...]]:
    """Return the timers that a turn sets, and job and name of those that it drops."""
    ref = made.job.ref
    wanted = {timer.name: timer for timer in made.timers}
    dropped = {timer.name for timer in known} - wanted.keys() | _fired(cause)
    kept = {timer.name: timer for timer in known if timer.name not in dropped}
    new = (timer for timer in wanted.values() if not _is_set(timer, kept.get(timer.name)))
    rows = tuple(_timer(ref, timer, cause.at) for timer in new)
    return rows, tuple((ref, name) for name in sorted(dropped))


def _fired(cause: Cause) -> set[str]:
    return set() if cause.fired is None else {cause.fired.name}


def _photo_items(book: Book) -> set[str]:
    return {name for name, item in book.routine.items.items() if isinstance(item, Photo)}


def _asks_for(items: set[str], entries: Iterable[tuple[str, Mapping[str, Any]]]) -> bool:
    """Say whether some entry, by its kind and body, asks for one of these items."""
    return any(kind == "asked" and body["item"] in items for kind, body in entries)


def _told_before(replies: Sequence[NewReply], items: set[str], text: str) -> Iterator[NewReply]:
    """Yield the replies, with a text ahead of each that asks for one of these items."""
    for reply in replies:
        if reply.body.get("item") in items and "ask" in reply.body:
            line = {**SILENT, "job": reply.body["job"], "spoken": text, "shown": text}
            yield replace(reply, body=line)
        yield reply


def _template(reply: Reply) -> str:
    table, _, key = reply.key.partition(".")
    return str(sentences()[table][key]["spoken"])


def followed_by(batch: Batch, also: Batch) -> Batch:
    """Return a turn's batch with the lines and entries of another behind its own.

    The silent line of a turn that says nothing gives way to them.
    """
    said = [row for row in batch.replies if row.body.get("shown")]
    if not also.replies:
        return replace(batch, entries=(*batch.entries, *also.entries))
    mine = (replace(row, body={k: v for k, v in row.body.items() if k != "last"}) for row in said)
    newest = also.replies[-1] if batch.inbox_id is None else _as_last(also.replies[-1])
    rows = (*mine, *also.replies[:-1], newest)
    return replace(batch, entries=(*batch.entries, *also.entries), replies=rows)


def _as_last(row: NewReply) -> NewReply:
    return replace(row, body={**row.body, "last": True})


_PARTS = ("entries", "replies", "chats", "timers", "dropped", "states")
"""Parts of a batch that are rows in order: those of several batches follow one another."""


def joined(batches: Sequence[Batch]) -> Batch:
    """Return the batches of several turns as one; the last is the message's own turn."""
    *others, last = batches
    if not others:
        return last
    rows: dict[str, Any] = {
        part: tuple(chain.from_iterable(getattr(batch, part) for batch in batches))
        for part in _PARTS
    }
    makers = [batch.sealing for batch in batches if batch.sealing is not None]
    return replace(last, **rows, sealing=partial(_sealed_by, makers) if makers else None)


def _sealed_by(makers: Sequence[Sealing], reader: Reader) -> Iterator[NewEntry | NewReply]:
    """Yield the checkpoints of each job in a transaction, one job after another."""
    return chain.from_iterable(make(reader) for make in makers)


def _told(made: Turn, cause: Cause) -> dict[str, Any]:
    """Return the fields that only a turn's last line has: facts, figures, the mark "last"."""
    found: dict[str, Any] = {"facts": facts_of(made), "figures": figures_of(made)}
    if cause.inbox is not None:
        found["last"] = True
    return {name: value for name, value in found.items() if value}


def _entries(made: Turn, cause: Cause) -> Iterator[NewEntry]:
    first = made.job.seq - len(made.entries)
    for seq, (entry, by) in enumerate(made.entries, first):
        yield NewEntry(
            made.job.ref,
            entry.kind,
            entry.body,
            by,
            made.job.at_vehicle,
            claimed_ms(entry, made.job),
            cause.stamped_ms,
            seq=seq,
        )


def _is_set(timer: Wanted, known: Timer | None) -> bool:
    if known is None:
        return False
    is_set = (known.generation, known.due_mono_ns, known.boot)
    return is_set == (timer.generation, timer.due_ns, timer.boot)


def _timer(ref: int, timer: Wanted, at: Moment) -> Timer:
    wall = at.wall_ms + (timer.due_ns - at.mono_ns) // 1_000_000
    return Timer(ref, timer.name, timer.generation, timer.due_ns, timer.boot, wall, {})
