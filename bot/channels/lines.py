"""The lines channel: one JSON object a line in, one a line out. See `lines_form`."""

import json
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, TextIO

from pydantic import ValidationError

from bot.channels.lines_form import LineIn
from bot.channels.text import clean
from bot.channels.waiting import Timers, incoming
from bot.desk.desk import Desk
from bot.desk.inbound import Inbound
from bot.machine.clock import Clock, GivenClock
from bot.record.errors import DuplicateIdError, StoreError
from bot.record.media import FileRefusedError, MediaKind, keep
from bot.record.rows import Reply
from bot.record.store import Store
from flows.job.events import Media, Moment

CHANNEL = "lines"
INTERNAL = ("ask", "turn", "drawing", "attach", "note_from", "leads")
LONGEST = 1_000_000
KINDS: tuple[MediaKind, ...] = ("photo", "voice", "file")
UDEG = 1_000_000


class BadLineError(Exception):
    """A line that cannot be used: the fault, the value, the allowed form, the remedy."""

    def __init__(self, wrong: str, value: str, allowed: str, do: str) -> None:
        super().__init__(wrong)
        self.fields = {"wrong": wrong, "value": value[:200], "allowed": allowed, "do": do}


class Lines:
    """Serves any number of chats over two streams.

    Parameters
    ----------
    desk, store
        The desk and its record.
    files
        The data folder, where received files are kept.
    out
        Where lines go.
    """

    def __init__(self, desk: Desk, store: Store, files: Path, out: TextIO) -> None:
        self._desk = desk
        self._store = store
        self._files = files
        self._out = out

    def start(self, at: Moment | None) -> None:
        """Send lines that an earlier process left, marked as repeats, then pick the jobs up."""
        left = self._store.pending()
        caught_up = self._desk.catch_up(wind=at is None)
        for reply in left:
            self._send([reply], is_repeat=True)
        self._send(caught_up)
        if at is not None:
            self._send(self._desk.welcome_back(at))

    def take(self, line: str, moment: Callable[[LineIn], Moment], *, wind: bool) -> Moment | None:
        """Take one line in, and write all lines that it leads to.

        Returns
        -------
        Moment or None
            When it was taken; None if it changed nothing: it was refused, or a repeat.
        """
        try:
            given = parsed(line)
            message, at = self._message(given), moment(given)
            if wind and given.received_at is None:
                # Only the stamps of all chats move the clock: none is late by another's.
                message = replace(message, no_receipt=True)
            taken = self._desk.take(message, at, wind=wind)
        except BadLineError as error:
            self._write({"error": error.fields, "last": True})
        except DuplicateIdError as error:
            bad = BadLineError(error.what, str(error.value), error.allowed, error.todo)
            self._write({"error": bad.fields, "last": True})
        else:
            self._send(taken.replies, re=given.id, is_repeat=taken.is_repeat)
            return None if taken.is_repeat else at
        return None

    def tick(self, at: Moment) -> None:
        """Fire the timers that are due, and send their lines unasked."""
        self._send(self._desk.tick(at))

    def next_due(self, at: Moment) -> int | None:
        """Return when the next timer is due on the boot clock [ns]."""
        return self._desk.next_due(at)

    def refuse_tick(self, error: StoreError) -> None:
        """Say, unasked, that the record refuses to be written; the timers stay set."""
        self.refuse(error, is_last=False)

    def refuse(self, error: StoreError, *, is_last: bool = True) -> None:
        """Say that the record refuses to be written; the input may be sent again."""
        bad = BadLineError(error.what, str(error.value), error.allowed, error.todo)
        self._write({"error": bad.fields, **({"last": True} if is_last else {})})

    def _message(self, given: LineIn) -> Inbound:
        place = given.place
        return Inbound(
            given.chat,
            given.id,
            _ms(given.at),
            given.to,
            None if given.job is None else int(given.job),
            given.edit_of,
            None if given.text is None else clean(given.text),
            None if given.tap is None else clean(given.tap),
            self._media(given),
            None
            if place is None
            else (round(place.lat * UDEG), round(place.lon * UDEG), clean(place.label)),
            given.tick is True,
        )

    def _media(self, given: LineIn) -> Media | None:
        for kind in KINDS:
            path = getattr(given, kind)
            if path is not None:
                try:
                    return keep(self._files, kind, path)
                except FileRefusedError as error:
                    raise BadLineError(
                        str(error),
                        path,
                        "a file of at most 20 MB, of a type for its kind",
                        "Give the path of one.",
                    ) from None
        return None

    def _send(
        self, replies: Iterable[Reply], *, re: str | None = None, is_repeat: bool = False
    ) -> None:
        sent = list(replies)
        for reply in sent:
            asked = re if reply.inbox_id is not None else None
            if asked is None and reply.inbox_id is not None:
                message = self._store.message(reply.inbox_id)
                asked = None if message is None else message.ext_id
            self._write(line_out(reply, asked, is_repeat=is_repeat))
        # If the disk is full the mark fails: the lines will be sent again as repeats.
        with suppress(StoreError):
            self._store.mark_sent(reply.id for reply in sent if reply.state == "pending")

    def _write(self, line: dict[str, Any]) -> None:
        self._out.write(json.dumps(line, ensure_ascii=True, separators=(",", ":")) + "\n")
        self._out.flush()


def line_out(reply: Reply, re: str | None, *, is_repeat: bool) -> dict[str, Any]:
    """Return a reply in the published form."""
    line: dict[str, Any] = {"chat": reply.chat, "seq": reply.seq}
    if re is not None:
        line["re"] = re
    if is_repeat:
        line["repeat"] = True
    line |= {name: value for name, value in reply.body.items() if name not in INTERNAL}
    if "window" in line:
        line["window"] = _window_out(line["window"])
    return line


def _window_out(window: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {"opened": _utc(window["opened_ms"]), "promised": window["promised"]}
    if "ends_ms" in window:
        found |= {"ends": _utc(window["ends_ms"]), "left_min": window["left_min"]}
    return found


def parsed(line: str) -> LineIn:
    """Read one line in.

    Raises
    ------
    BadLineError
        When it is not JSON, or not of this form.
    """
    if len(line) > LONGEST:
        raise BadLineError("the line is too long", f"{len(line)} characters",
                           f"at most {LONGEST} characters", "Send a shorter line.")  # fmt: skip
    try:
        given = json.loads(line)
    except (ValueError, RecursionError) as error:
        raise BadLineError(
            f"the line is not JSON ({error})", line, "one JSON object a line", "Correct it."
        ) from None
    try:
        return LineIn.model_validate(given)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(str(part) for part in first["loc"]) or "the line"
        raise BadLineError(
            f"{where}: {first['msg']}",
            repr(first.get("input")),
            "the form that `rollproof lines --schema` prints",
            "Correct the line and send it again; nothing was changed.",
        ) from None


def _ms(when: datetime) -> int:
    return int(when.timestamp() * 1000)


def _utc(ms: int) -> str:
    when = datetime.fromtimestamp(ms / 1000, UTC)
    return when.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def serve_given(lines: Lines, clock: GivenClock, source: Iterable[str]) -> None:
    """Serve with a clock that moves only as the lines say."""
    lines.start(None)

    def moment(given: LineIn) -> Moment:
        received = None if given.received_at is None else _ms(given.received_at)
        return clock.moment_of(received, _ms(given.at), given.mono_ms, given.boot)

    for line in source:
        at = _take(lines, line, moment, wind=True) if line.strip() else None
        if at is not None:
            clock.move(at)


def serve(lines: Lines, clock: Clock, source: int) -> None:
    """Serve with the machine's clock: timers fire while nothing comes in."""
    lines.start(clock.now())
    timers = Timers(lines, clock)
    for line in incoming(source, timers.fire, timers.wait_s):
        if line.strip():
            _take(lines, line, lambda _given: clock.now(), wind=False)


def _take(
    lines: Lines, line: str, moment: Callable[[LineIn], Moment], *, wind: bool
) -> Moment | None:
    try:
        return lines.take(line, moment, wind=wind)
    except StoreError as error:
        lines.refuse(error)
        return None
