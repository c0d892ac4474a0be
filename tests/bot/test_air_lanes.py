"""Replies on their way: rates, alarms first, and the platform's answers to a send."""

import asyncio
import heapq
import itertools
import time
from collections import Counter
from collections.abc import Awaitable, Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from telegram.error import BadRequest, ChatMigrated, Forbidden, NetworkError, RetryAfter, TimedOut

from bot.channels.shown import shown_text
from bot.channels.telegram import lanes, transport
from bot.channels.telegram.lanes import Lanes
from bot.channels.telegram.pacing import Pace, Rates
from bot.channels.telegram.sending import Outcome, Queued, outcome_of
from bot.channels.telegram.transport import NotSentError
from bot.desk.outgoing import line
from bot.record.rows import Batch, Chat, NewReply, Reply
from bot.record.store import Store, open_store
from flows.texts import air_texts, sentences
from tests.bot.scripted import quick
from tests.bot.turns import NOW, SALT, ZONE
from tests.standin.phones import UNHURRIED, Phones

SAM, LEE, ANN, KIM = "driver:sam", "driver:lee", "dispatcher:ann", "owner:kim"
SAYS = air_texts()["says"]
AGAIN = sentences()["talk"]["repeat"]
RATES = Rates()


class Hours:
    """A clock that moves when everybody waits for it."""

    def __init__(self) -> None:
        self.now = 0.0
        self._count = itertools.count()
        self._sleepers: list[tuple[float, int, asyncio.Future[None]]] = []

    async def sleep(self, seconds: float) -> None:
        done: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        heapq.heappush(self._sleepers, (self.now + seconds, next(self._count), done))
        await done

    async def run(self, until: float = 1e9) -> None:
        while True:
            for _ in range(40):
                await asyncio.sleep(0)
            if not self._sleepers or self._sleepers[0][0] > until:
                return
            self.now, _, done = heapq.heappop(self._sleepers)
            done.set_result(None)


class Sent:
    """Lanes over a record, with a platform that notes each message and its time."""

    def __init__(self, store: Store, chats: int) -> None:
        self.store = store
        self.hours = Hours()
        self.sent: list[tuple[float, str, int]] = []
        self.answers: dict[str, list[Outcome]] = {}
        pace = Pace(RATES, lambda: self.hours.now, self.hours.sleep)
        self.lanes = Lanes(store, self.send, lambda _chat: 1, lambda *_: None, pace)
        self.names = [f"driver:d{number}" for number in range(chats)]
        people = [Chat(name, f"p{n}", "driver") for n, name in enumerate(self.names)]
        store.commit(Batch(NOW, ZONE, chats=tuple(people)))

    async def send(self, queued: Queued, _address: int) -> Outcome:
        self.sent.append((self.hours.now, queued.reply.chat, queued.reply.seq))
        found = self.answers.get(queued.reply.chat)
        return found.pop(0) if found else Outcome("sent", str(len(self.sent)))

    def queue(self, chat: str, *texts: str, priority: str = "reply") -> list[Reply]:
        replies = tuple(NewReply("telegram", chat, line(text, priority)) for text in texts)
        found = self.store.commit(Batch(NOW, ZONE, replies=replies))
        self.lanes.feed(found)
        return found


@contextmanager
def sending(folder: Path, chats: int) -> Iterator[tuple[Sent, Callable[..., None]]]:
    loop = asyncio.new_event_loop()
    try:
        with open_store(folder, salt=SALT, connect=quick) as store:
            sent = Sent(store, chats)

            def run(play: Callable[[], Awaitable[None]]) -> None:
                loop.run_until_complete(_run(play, sent))

            yield sent, run
    finally:
        loop.close()


async def _run(play: Callable[[], Awaitable[None]], sent: Sent) -> None:
    await play()
    await sent.hours.run()
    await sent.lanes.stop(0)


def most_within(times: list[float], window_s: float) -> int:
    """Return how many fell into the fullest window of a length."""
    return max(sum(start <= t < start + window_s for t in times) for start in times)


def test_the_platforms_rates_are_kept_and_everybody_is_served(tmp_path: Path) -> None:
    # The platform's page on limits: about 30 a second to all, one a second to one chat.
    with sending(tmp_path, 60) as (sent, run):

        async def play() -> None:
            for name in sent.names:
                sent.queue(name, *"abcde")

        run(play)
        assert len(sent.sent) == 300
        times = [at for at, _, _ in sent.sent]
        for window_s in (1, 5):
            assert most_within(times, window_s) <= 25 * window_s + 25 + 1
        for name in sent.names:
            mine = [(at, seq) for at, chat, seq in sent.sent if chat == name]
            assert [seq for _, seq in mine] == [1, 2, 3, 4, 5]
            assert most_within([at for at, _ in mine], 1.0) <= 3 + 1
        assert sent.store.pending() == []


def test_an_alarm_goes_before_the_rest_and_its_own_chat_stays_in_order(tmp_path: Path) -> None:
    with sending(tmp_path, 61) as (sent, run):
        late = sent.names[-1]

        async def play() -> None:
            for name in sent.names[:-1]:
                sent.queue(name, *"abcdefgh")
            sent.queue(late, *"vwxyz")
            await sent.hours.run(until=2.0)
            sent.queue(late, "Stop. Stop the winch.", priority="stop")

        run(play)
        mine = [(at, seq) for at, chat, seq in sent.sent if chat == late]
        assert [seq for _, seq in mine] == [1, 2, 3, 4, 5, 6]
        # Not behind the four hundred others, nor behind its own chat's rate.
        assert mine[-1][0] <= 2.0 + 0.5
        assert max(at for at, _, _ in sent.sent) > 10


def test_a_limit_on_one_chat_holds_that_chat_alone(tmp_path: Path) -> None:
    with sending(tmp_path, 2) as (sent, run):
        slow, other = sent.names
        sent.answers[slow] = [Outcome("wait", wait_s=7.0)]

        async def play() -> None:
            sent.queue(slow, "a", "b")
            sent.queue(other, "a", "b")

        run(play)
        first = {chat: max(at for at, name, _ in sent.sent if name == chat) for chat in sent.names}
        assert first[other] < 1
        assert first[slow] >= 7
        assert [seq for _, chat, seq in sent.sent if chat == slow] == [1, 1, 2]


@pytest.mark.parametrize(
    ("error", "how"),
    [
        (Forbidden("Forbidden: bot was blocked by the user"), "closed"),
        (ChatMigrated(-100), "closed"),
        (BadRequest("Chat not found"), "closed"),
        (BadRequest("Message is too long"), "refused"),
        (TimedOut(), "uncertain"),
        (NetworkError("Bad Gateway"), "uncertain"),
        (NotSentError("no connection"), "not_sent"),
    ],
)
def test_an_error_decides_the_outcome_of_a_message(error: Any, how: str) -> None:
    assert outcome_of(error).how == how


def test_how_long_the_platform_asks_to_wait() -> None:
    assert outcome_of(RetryAfter(7)) == Outcome("wait", wait_s=7.0, why=RetryAfter(7).message)


# Over HTTP, with the whole service.


def at_once() -> Pace:
    async def sleep(_seconds: float) -> None:
        await asyncio.sleep(0)

    return Pace(UNHURRIED, sleep=sleep)


def on_phones(folder: Path, play: Callable[[Phones], Awaitable[None]]) -> None:
    async def run() -> None:
        async with Phones(folder, pace=at_once()) as phones:
            await play(phones)

    asyncio.run(run())


@pytest.mark.parametrize("kind", ["cut", "500", "page"])
def test_a_message_that_may_have_arrived_comes_again_marked_as_a_repeat(
    tmp_path: Path, kind: str
) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(SAM, "new job breakdown")
        before = len(phones.texts(SAM))
        phones.platform.fails("sendMessage", kind, when="after")
        await phones.say(SAM, "status")
        first, second, *_ = phones.texts(SAM)[before:]
        assert second == f"{AGAIN} {first}"
        assert phones.store.pending() == []

    on_phones(tmp_path, play)


def test_a_message_that_was_answered_is_not_sent_again(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(SAM, "new job breakdown, mile 12")
        await phones.wait(5)
        lanes = phones.service.lanes
        goes_on = asyncio.Event()

        async def sleep(_seconds: float) -> None:
            await goes_on.wait()

        lanes._sleep = sleep
        phones.platform.fails("sendMessage", "cut", when="after")
        phones.platform.world.says(phones.accounts[SAM], "repeat")
        await phones.service.poller.once()
        while phones.platform.faults.scripted[-1].times:
            await asyncio.sleep(0.005)
        while not any(lane.fails for lane in lanes._lanes.values()):
            await asyncio.sleep(0.005)
        account = phones.accounts[SAM]
        newest = phones.messages(SAM)[-1]["message_id"]
        phones.platform.world.presses_button(account, newest, "none")
        await phones.service.poller.once()
        goes_on.set()
        await phones.settled()
        assert not any(text.startswith(AGAIN) for text in phones.texts(SAM))
        assert phones.store.pending() == []

    on_phones(tmp_path, play)


def test_a_limit_and_an_error_before_anything_was_done_repeat_nothing(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(SAM, "new job breakdown")
        before = len(phones.texts(SAM))
        phones.platform.fails("sendMessage", "429", retry_after=3)
        await phones.say(SAM, "status")
        assert len(phones.texts(SAM)) == before + 1
        assert not phones.last(SAM).startswith(AGAIN)

    on_phones(tmp_path, play)


def test_a_message_that_is_refused_is_parked_shown_and_holds_nothing_up(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        phones.enrol(ANN)
        await phones.say(SAM, "new job breakdown")
        phones.platform.fails("sendMessage", "400", chat=phones.accounts[SAM],
                              words="Bad Request: message is too long")  # fmt: skip
        await phones.say(SAM, "status")
        assert len(phones.store.parked()) == 1
        assert phones.last(ANN) == SAYS["refused"].format(name="sam")
        before = len(phones.texts(SAM))
        await phones.say(SAM, "status")
        assert len(phones.texts(SAM)) == before + 1

    on_phones(tmp_path, play)


@pytest.mark.parametrize("restarts", [False, True])
@pytest.mark.parametrize("returns", [True, False])
def test_what_was_kept_back_from_a_chat_that_shut_us_out_comes_when_it_is_back(
    tmp_path: Path, *, returns: bool, restarts: bool
) -> None:
    """Nothing is dropped: it says that it is from earlier, and the newest is what counts now."""

    async def play(phones: Phones) -> None:
        phones.enrol(ANN)
        await phones.say(SAM, "new job breakdown")
        account = phones.accounts[SAM]
        phones.platform.world.blocks(account)
        await phones.hears()
        assert phones.last(ANN) == SAYS["blocked"].format(name="sam")
        await phones.wait(120)  # asked again, in vain
        kept = [shown_text(one.body, is_repeat=False) for one in phones.store.pending()]
        assert len(kept) > 1
        told = [text for text in phones.texts(ANN) if "aren't getting through" in text]
        assert len(told) == 1, "once, not for each message"
        before = len(phones.texts(SAM))
        if restarts:
            await phones.restart()
        phones.platform.world.blocks(account, blocked=False)
        await (phones.hears() if returns else phones.say(SAM, "status"))
        late = phones.texts(SAM)[before:]
        assert late[: len(kept)] == [f"{SAYS['earlier']} {text}" for text in kept]
        assert len(late) > len(kept), "and then where the job is now"
        assert not late[-1].startswith(SAYS["earlier"])
        assert phones.store.pending() == phones.store.parked() == []

    on_phones(tmp_path, play)


def test_what_leads_to_a_question_comes_in_one_message_with_it(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(SAM, "new job breakdown")
        opened, place = sentences()["says"]["opened"], sentences()["items"]["open.place"]
        assert phones.texts(SAM) == [f"{opened['shown'].format(ref='one')}\n{place['shown']}"]
        phones.clock.to(phones.clock.at.mono_ns + 5_000_000_000)
        # An answer to the message is one to its question.
        sent = phones.messages(SAM)[-1]
        await phones.say(SAM, "mile 12", reply_to_message=sent)
        assert phones.company.desk.job(1).value("place") == "mile 12"
        # An alarm is a message of its own.
        await phones.say(SAM, "smoke")
        assert phones.last(SAM).startswith("Stop.")
        assert phones.store.pending() == []

    on_phones(tmp_path, play)


@pytest.mark.parametrize(
    ("leads", "texts"),
    [((True, False), ["a\nb"]), ((True, True, False), ["a\nb\nc"]), ((False, False), ["a", "b"]),
     ((True,), ["a"]), ((False, True), ["a", "b"])],
)  # fmt: skip
def test_only_a_question_is_led_to(leads: tuple[bool, ...], texts: list[str]) -> None:
    def row(number: int, *, is_lead: bool) -> Reply:
        body = {**line("abc"[number]), **({"leads": True} if is_lead else {"ask": {}})}
        return Reply(number, "telegram", SAM, number, 7, body, "pending")

    rows = [row(number, is_lead=is_lead) for number, is_lead in enumerate(leads)]
    found = [Queued(group[-1], led_by=tuple(group[:-1])) for group in lanes.led(rows)]
    assert [one.text() for one in found] == texts
    assert [number for one in found for number in one.rows] == list(range(len(leads)))


def test_a_long_verdict_is_a_message_of_its_own() -> None:
    long = Reply(1, "telegram", SAM, 1, 7, {**line("x" * 390), "leads": True}, "pending")
    asks = Reply(
        2, "telegram", SAM, 2, 7, {**line("Which truck are you in?"), "ask": {}}, "pending"
    )
    assert lanes.led([long, asks]) == [[long], [asks]]
    other = replace(asks, chat=LEE)
    assert lanes.led([replace(long, body={**line("x"), "leads": True}), other]) == [
        [replace(long, body={**line("x"), "leads": True})], [other]
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("tried", "boot", "marks"),
    [(0, "boot-1", ["", ""]), (1, "boot-1", [f"{AGAIN} ", ""]),
     (0, "boot-2", [f"{AGAIN} ", f"{AGAIN} "])],
)  # fmt: skip
def test_messages_unsent_at_the_end_are_sent_at_the_next_start(
    tmp_path: Path, tried: int, boot: str, marks: list[str]
) -> None:
    """Only what may have arrived is a repeat: tried, or with notes lost in another boot."""

    async def play(phones: Phones) -> None:
        await phones.say(SAM, "new job breakdown")
        before = phones.texts(SAM)
        two = [(SAM, line("One.")), (SAM, line("Two."))]
        for reply in phones.company.messages.write(phones.service._now(), two)[:tried]:
            phones.store.mark_tried([reply.id])
        assert len(phones.store.pending()) == 2
        phones.clock.at = replace(phones.clock.at, boot=boot)
        await phones.restart()
        assert phones.texts(SAM)[len(before) :][:2] == [f"{marks[0]}One.", f"{marks[1]}Two."]
        assert phones.store.pending() == []

    on_phones(tmp_path, play)


def test_a_message_is_noted_as_tried_before_it_goes(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(SAM, "new job breakdown")
        tried: list[set[int]] = []
        send = phones.service._sender.send

        async def sending(queued: Queued, address: int) -> Outcome:
            tried.append(phones.store.tried("boot-1") & {queued.reply.id})
            return await send(queued, address)

        phones.service._sender.send = sending  # type: ignore[method-assign]
        await phones.say(SAM, "status")
        assert tried
        assert all(tried)

    on_phones(tmp_path, play)


def test_t32_while_the_platform_is_down_time_and_record_go_on(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        phones.enrol(ANN)
        await phones.say(SAM, "new job breakdown, mile 12")
        count = len(phones.entries(1))
        shown = Counter(phones.texts(SAM))
        phones.platform.fails("getUpdates", "500", times=3)
        phones.platform.fails("sendMessage", "500", times=6)
        # Typed while it is down, in this order.
        for text in ("status", "none", "behind"):
            phones.platform.world.says(phones.accounts[SAM], text)
        for _ in range(3):
            assert await phones.service.poller.once() > 0
        await phones.wait(90)
        asked_again = [e["kind"] for e in phones.entries(1)[count:]]
        assert "reasked" in asked_again
        await phones.hears()
        heard = [e["body"]["text"]["value"] for e in phones.entries(1) if e["kind"] == "heard"]
        assert heard[-3:] == ["status", "none", "behind"]
        late = [e["late"] for e in phones.entries(1) if e["kind"] == "heard"]
        assert late == [False, True, True, True]
        assert phones.store.pending() == []
        assert phones.last(ANN).startswith("Note: I heard nothing from the platform")
        assert sum((Counter(phones.texts(SAM)) - shown).values()) > 3

    on_phones(tmp_path, play)


def test_t12_a_flood_leaves_memory_flat_and_an_alarm_on_time(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(LEE, "new job breakdown, mile 3")
        await phones.say(SAM, "new job breakdown, mile 12")
        most = 0
        for _ in range(10):
            for number in range(100):
                phones.platform.world.says(phones.accounts[SAM], f"wibble {number}")
            await phones.wait(1)
            await phones.service.poller.once()
            most = max(most, phones.service.lanes.waiting())
        phones.platform.world.says(phones.accounts[LEE], "smoke")
        await phones.service.poller.once()
        await until(lambda: "Stop." in phones.last(LEE) or "fire service" in phones.last(LEE))
        # What waits is limited by the rate for one person, however many messages came: the rest
        # is in the inbox.
        assert most < 200
        heard = [e for e in phones.entries(2) if e["kind"] == "heard"]
        assert len(heard) < 60
        assert len(phones.store.unfinished()) > 900
        assert phones.texts(SAM).count(SAYS["slow_down"]) < 12

    on_phones(tmp_path, play)


async def until(is_so: Callable[[], bool]) -> None:
    for _ in range(400):
        if is_so():
            return
        await asyncio.sleep(0.01)
    raise AssertionError("it never came")


def test_an_alarm_does_not_wait_behind_a_send_that_hangs(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(lanes, "OVERTAKE_S", 0.05)

    async def play(phones: Phones) -> None:
        phones.enrol(ANN)
        await phones.say(SAM, "new job breakdown, mile 12")
        ann = phones.accounts[ANN]
        phones.platform.fails("sendMessage", "delay", chat=ann, seconds=1.0)
        phones.platform.world.says(ann, "jobs")
        await phones.service.poller.once()
        phones.platform.world.says(phones.accounts[SAM], "smoke")
        await phones.service.poller.once()
        await until(lambda: any("danger" in text for text in phones.texts(ANN)))
        assert not any("1 open" in text for text in phones.texts(ANN)), "it still hangs"
        await phones.settled()
        assert sum("danger" in text for text in phones.texts(ANN)) == 1
        assert any("1 open" in text for text in phones.texts(ANN))
        assert phones.store.pending() == []

    on_phones(tmp_path, play)


def test_a_packet_that_does_not_go_through_is_told_once_and_holds_nothing_up(
    tmp_path: Path,
) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(SAM, "new job breakdown, mile 12")
        phones.enrol(KIM)
        phones.platform.fails("sendDocument", "cut", times=99)
        await phones.say(KIM, "record 1")
        told = [text for text in phones.texts(KIM) if "doesn't go through" in text]
        kept = phones.store.folder / "packets" / "job-1.zip"
        assert len(told) == 1
        assert str(kept) in told[0]
        assert kept.stat().st_mode & 0o077 == 0
        await phones.say(KIM, "jobs")
        assert "1 open" in phones.last(KIM)
        sent = phones.platform.counts["sendDocument"]
        await phones.restart()
        assert phones.platform.counts["sendDocument"] == sent

    async def run() -> None:
        async with Phones(tmp_path, pace=at_once()) as phones:
            await play(phones)

    asyncio.run(run())


def test_a_chat_goes_on_while_its_packet_is_on_its_way(tmp_path: Path) -> None:
    async def play(phones: Phones) -> None:
        await phones.say(SAM, "new job breakdown, mile 12")
        kim = phones.enrol(KIM)
        phones.platform.fails("sendDocument", "delay", seconds=1.0)
        phones.platform.world.says(kim, "record 1")
        phones.platform.world.says(kim, "jobs")
        await phones.service.poller.once()
        await until(lambda: any("1 open" in text for text in phones.texts(KIM)))
        assert not any("document" in message for message in phones.messages(KIM))
        await phones.settled()
        assert any("document" in message for message in phones.messages(KIM))

    on_phones(tmp_path, play)


def test_a_packet_over_the_platforms_size_comes_in_parts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("bot.channels.telegram.sending.MOST_UPLOAD", 20_000)

    async def play(phones: Phones) -> None:
        phones.platform.methods.most_upload = 21_000
        await phones.say(SAM, "new job breakdown, mile 12")
        phones.enrol(KIM)
        await phones.say(KIM, "record 1")
        files = [message["document"] for message in phones.messages(KIM) if "document" in message]
        assert len(files) > 1
        assert [one["file_name"] for one in files][:2] == ["job-1.zip.001", "job-1.zip.002"]
        whole = b"".join(phones.platform.world.files[one["file_id"]].data for one in files)
        assert whole == (phones.store.folder / "packets" / "job-1.zip").read_bytes()
        assert f"Part 1 of {len(files)}" in phones.texts(KIM)[-len(files)]

    on_phones(tmp_path, play)


def test_an_upload_may_take_as_long_as_it_moves(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each piece comes in time, the whole does not: that is no failure."""
    monkeypatch.setattr(transport, "CALL_S", 0.4)
    read = transport._Upload.read

    def slowly(upload: Any, size: int | None = -1, /) -> bytes:
        time.sleep(0.15)
        return read(upload, min(size or -1, 4_000) if size and size > 0 else size)

    async def play(phones: Phones) -> None:
        await phones.say(SAM, "new job breakdown, mile 12")
        phones.enrol(KIM)
        monkeypatch.setattr(transport._Upload, "read", slowly)
        began = time.monotonic()
        await phones.say(KIM, "record 1")
        assert time.monotonic() - began > 0.4
        assert phones.platform.counts["sendDocument"] == 1
        assert "document" in phones.messages(KIM)[-1]

    on_phones(tmp_path, play)
