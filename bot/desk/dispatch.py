"""A desk's orders: what is open, a job for a driver, words for a driver, a job called off."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

from bot.desk.batches import Batches, Cause
from bot.desk.chats import Chats
from bot.desk.finding import Finding
from bot.desk.given_jobs import GivenJobs
from bot.desk.job_lines import JobLines, how_ended
from bot.desk.job_named import arriving, named
from bot.desk.jobs_in_memory import JobsInMemory
from bot.desk.orders import (
    CANCEL,
    CANNOT,
    CANNOT_IT,
    HERE,
    NOBODY_HERE,
    TO_DESK,
    Order,
    may_be_name,
    order_of,
    reason_of,
)
from bot.desk.outgoing import Line, choices, line
from bot.desk.trail import trail_lines
from bot.desk.watch import UNHEARD
from bot.record.rows import COMPANY, Batch, Chat, NewEntry, Reply
from bot.record.store import Store
from flows.hearing.lexicon import universal
from flows.job.entries import Entry, Private
from flows.job.events import Heard
from flows.job.folding import fold
from flows.job.state import Envelope, Job
from flows.measures.tokens import tokens
from flows.routine.book import Book
from flows.telling.saying import brief
from flows.texts import desk_texts, sentences
from flows.turn.advance import advance, call_off
from flows.turn.reading_messages import tells_danger
from flows.turn.turning import Turn

LONGEST = 3500
"""The most characters in a message of a list: the strictest platform takes 4,096."""
MOST_FOUND, MOST_OFFERED = 5, 3
WHYS = ("called_off", "gone", "not_found", "twice")
"""The reasons that are offered for calling a job off."""

Begin = Callable[[Heard, Cause, Chat | None], list[Reply]]
Write = Callable[[Turn, Cause, Batch, tuple[Turn, ...]], list[Reply]]


@dataclass(frozen=True)
class Parts:
    """What a desk works with, beside the jobs."""

    store: Store
    book: Book
    jobs: JobsInMemory
    chats: Chats
    batches: Batches
    given: GivenJobs
    lines: JobLines


class Dispatch:
    """Carries out a desk's orders, and carries words between desk and drivers.

    Parameters
    ----------
    parts
        The record, the jobs and the people.
    begin
        Opens a job from words, for a driver or for nobody yet.
    write
        Writes a turn, with a batch of its own lines.
    """

    def __init__(self, parts: Parts, begin: Begin, write: Write) -> None:
        self._store, self._jobs, self._chats = parts.store, parts.jobs, parts.chats
        self._book, self._batches = parts.book, parts.batches
        self._given, self._lines = parts.given, parts.lines
        self._finding = Finding(parts.store, parts.lines)
        self._begin, self._write = begin, write

    def take(self, chat: Chat, heard: Heard, cause: Cause, to: int | None) -> list[Reply] | None:
        """Carry out an order, or pass words on; None if the message is for a job.

        Parameters
        ----------
        to
            The number of our message that it answers.
        """
        said = heard.text.strip()
        if heard.is_edit or not said:
            return None
        answered = None if to is None else self._store.reply(chat.chat, to)
        if chat.role == "driver":
            return self._of_driver(chat, heard, answered, cause)
        passed = _note_from(answered)
        if passed is not None and not tells_danger(said, None):
            return self._pass_to(self._chats.chat_of(passed), said, cause)
        found = order_of(said)
        return None if found is None else self._carried_out(found, heard, cause)

    def _carried_out(self, order: Order, heard: Heard, cause: Cause) -> list[Reply] | None:
        if order.kind in {"new", "send"}:
            return self._open(order, heard, cause)
        if order.kind == "cancel":
            return self._cancel(order, heard, cause)
        if order.kind == "noted":
            return self._noted(heard, cause)
        acts = {
            "jobs": self._jobs_list, "free": self._free, "help": self._help, "find": self._find,
            "trail": self._trail, "tell": self._tell, "about": self._about,
        }  # fmt: skip
        return acts.get(order.kind, self._give)(order, cause)

    def _noted(self, heard: Heard, cause: Cause) -> list[Reply] | None:
        """Answer all alarms that wait for a desk, each in its job; None if none waits."""
        refs = [timer.job for timer in self._store.timers() if timer.name == UNHEARD]
        if not refs:
            return None
        *others, made = [advance(self._jobs.job(ref), heard) for ref in refs]
        text = desk_texts()["alarm"]["all_noted"].format(jobs=", ".join(map(str, refs)))
        to = "" if cause.chat is None else cause.chat.chat
        also = self._batch(Cause(cause.at), [(to, line(text))])
        return self._write(replace(made, replies=()), cause, also, tuple(others))

    # What is open.

    def _jobs_list(self, _order: Order, cause: Cause) -> list[Reply]:
        texts, jobs = desk_texts()["jobs"], sorted(self._jobs.open(), key=_rank)
        head = texts["open"].format(count=len(jobs)) if jobs else texts["none"]
        ended = self._store.next_job() - 1 - len(jobs)
        parts = [head, *(self._lines.line(job, cause.at) for job in jobs)]
        parts += [texts["ended"].format(count=ended)] if ended else []
        return self._say(cause, *in_messages(parts))

    def _free(self, _order: Order, cause: Cause) -> list[Reply]:
        texts, (busy, asked) = desk_texts()["free"], self._busy_and_asked()
        names = {chat.person: self._chats.name_of(chat.person) for chat in self._chats.drivers()}
        free = [name for person, name in names.items() if person not in busy | asked]
        waits = [name for person, name in names.items() if person in asked]
        found = [texts["some"].format(names=", ".join(free)) if free else texts["none"]]
        found += [texts["asked"].format(names=", ".join(waits))] if waits else []
        return self._say(cause, "\n".join(found))

    def _busy_and_asked(self) -> tuple[set[str | None], set[str]]:
        """Return the drivers at a vehicle, and others asked for a job that nobody has taken."""
        busy = {job.at_vehicle for job in self._jobs.open()}
        asked = {given.driver for ref, given in self._given.all().items() if self._waits(ref)}
        return busy, asked - busy

    def _help(self, _order: Order, cause: Cause) -> list[Reply]:
        texts = desk_texts()["help"]
        is_owner = cause.chat is not None and cause.chat.role == "owner"
        return self._say(
            cause, f"{texts['text']}\n{texts['owner']}" if is_owner else texts["text"]
        )

    def _waits(self, ref: int) -> bool:
        """Say whether a job is open and nobody has taken it."""
        job = self._jobs.job(ref)
        return job.ended is None and job.at_vehicle is None

    def _waits_for(self, ref: int, chat: Chat) -> bool:
        """Say whether a job is open and its driver, if any, is somebody else."""
        job = self._jobs.job(ref)
        return job.ended is None and job.at_vehicle != chat.person

    def _about(self, order: Order, cause: Cause) -> list[Reply] | None:
        """Show the jobs of a driver that a desk asks about."""
        driver = self._chats.driver_named(order.name)
        if driver is None:
            return None
        given = self._given.all()
        mine = [job for job in self._jobs.open() if driver.person == job.at_vehicle
                or (job.ref in given and given[job.ref].driver == driver.person)]  # fmt: skip
        free = desk_texts()["free"]["some"].format(names=self._chats.name_of(driver.person))
        lines = [self._lines.line(job, cause.at) for job in mine]
        return self._say(cause, *in_messages(lines or [free]))

    def _find(self, order: Order, cause: Cause) -> list[Reply]:
        texts = desk_texts()["find"]
        found = self._finding.jobs(order.words, self._jobs.open(), cause.at)
        if not found:
            return self._say(cause, texts["none"].format(words=brief(order.words)))
        shown = found[:MOST_FOUND]
        which = "found" if len(shown) == len(found) else "most"
        head = texts[which].format(count=len(found), words=brief(order.words), most=len(shown))
        lines = [self._lines.line(self._jobs.job(ref), cause.at) for ref in shown]
        return self._say(cause, *in_messages([head, *lines]))

    def _trail(self, order: Order, cause: Cause) -> list[Reply]:
        shown = trail_lines(self._store, self._book, order.job)
        texts = desk_texts()["give"]
        if not shown:
            return self._say(cause, texts["no_job"].format(number=order.job))
        newest = line("\n".join(_newest(shown)))
        told = desk_texts()["jobs"]["trail"].format(number=order.job, size=len(shown))
        return self._bodies(cause, newest, {**line(told), "attach": {"trail": order.job}})

    # A job for a driver.

    def _open(self, order: Order, heard: Heard, cause: Cause) -> list[Reply] | None:
        """Open a job, and ask its driver; who is not known is asked about first."""
        words = order.words if order.kind == "new" else f"new job, {order.words}"
        driver = self._chats.driver_named(order.name)
        if driver is None and order.name:
            if not may_be_name(order.name):
                return None
            return self._who(words, order, cause)
        return self._begin(replace(heard, text=words), cause, driver)

    def _who(self, words: str, order: Order, cause: Cause) -> list[Reply]:
        """Ask who a job is for; each choice is the whole order again."""
        texts = desk_texts()["give"]
        free = [self._chats.name_of(chat.person) for chat in self._chats.drivers()]
        offered = [(f"{words}, no driver yet", texts["nobody_yet"])]
        offered += [(f"{words} for {name}", texts["for_name"].format(name=name))
                    for name in free[:MOST_OFFERED]]  # fmt: skip
        if order.kind == "new":
            whole = f"{words} for {order.name}, no driver yet"
            offered.append((whole, texts["of_place"]))
        asked = line(texts["who"].format(name=order.name))
        return self._bodies(cause, {**asked, "expects": choices(*offered)})

    def _give(self, order: Order, cause: Cause) -> list[Reply] | None:
        texts, driver = desk_texts()["give"], self._chats.driver_named(order.name)
        if driver is None and (order.kind != "give" or not may_be_name(order.name)):
            return None
        if not self._store.has_job(order.job):
            return self._say(cause, texts["no_job"].format(number=order.job))
        if driver is None:
            return self._say(cause, texts["no_driver"].format(name=order.name))
        job = self._jobs.job(order.job)
        if job.ended is not None:
            told = texts["over"].format(number=job.ref, how=how_ended(job))
            return self._say(cause, told)
        return self._store.commit(self.batch_to(job, driver, cause, settles=True))

    def batch_to(self, job: Job, driver: Chat, cause: Cause, *, settles: bool = False) -> Batch:
        """Return the batch that gives a job to a driver, and tells whoever had it.

        Parameters
        ----------
        settles
            Whether it settles the message that caused it.
        """
        texts, name = desk_texts()["give"], self._chats.name_of(driver.person)
        by = "bot" if cause.chat is None else cause.chat.person
        entry = NewEntry(COMPANY, "assigned", {"job": str(job.ref), "driver": driver.person}, by)
        desk = "" if cause.chat is None else cause.chat.chat
        told = line(texts["asked"].format(number=job.ref, name=name))
        lines = [(driver.chat, self._asked(job)), *self._had(job, driver, name), (desk, told)]
        return self._batch(cause if settles else Cause(cause.at), lines, (entry,))

    def _asked(self, job: Job) -> dict[str, Any]:
        place = job.value("place") or desk_texts()["jobs"]["no_place"]
        told = desk_texts()["give"]["yours"].format(number=job.ref, place=place)
        return {**line(told, "check"), "expects": _answers(job)}

    def _still_asked(self, job: Job) -> dict[str, Any]:
        told = desk_texts()["give"]["told_desk"].format(number=job.ref)
        return {**line(told), "expects": _answers(job)}

    def _had(self, job: Job, driver: Chat, name: str) -> list[Line]:
        """Return the line to whoever has the job, or was asked before."""
        given, texts = self._given.of(job.ref), desk_texts()["give"]
        if job.at_vehicle is not None:
            before, told = job.at_vehicle, "not_yours_at"
        else:
            before, told = "" if given is None else given.driver, "not_yours"
        chat = self._chats.chat_of(before)
        if chat is None or before == driver.person:
            return []
        priority = "check" if told == "not_yours_at" else "note"
        return [(chat, line(texts[told].format(number=job.ref, name=name), priority))]

    # A job called off.

    def _cancel(self, order: Order, heard: Heard, cause: Cause) -> list[Reply]:
        texts = desk_texts()["off"]
        if not self._store.has_job(order.job):
            return self._say(cause, desk_texts()["give"]["no_job"].format(number=order.job))
        job, number = self._jobs.job(order.job), order.job
        if job.ended is not None:
            return self._say(cause, texts["over"].format(number=number, how=how_ended(job)))
        why = reason_of(order.words)
        if job.at_vehicle is not None:
            return self._ask_driver(job, why, cause)
        if not why:
            return self._ask_why(number, cause)
        return self._called_off(job, heard, why, cause)

    def _called_off(self, job: Job, heard: Heard, why: str, cause: Cause) -> list[Reply]:
        made = call_off(job, heard, why)
        told = self._batch(Cause(cause.at), self._told_off(made.job, cause))
        return self._write(made, cause, told, ())

    def _ask_driver(self, job: Job, why: str, cause: Cause) -> list[Reply]:
        """Ask the driver at the vehicle to end a job: only whoever is there knows that it can."""
        texts, name = desk_texts()["off"], self._lines.driver(job)
        chat = self._chats.chat_of(job.at_vehicle)
        if chat is None or not _is_untouched(job):
            return self._say(cause, texts["taken"].format(number=job.ref, name=name))
        told = line(texts["asked"].format(number=job.ref, name=name))
        mine = "" if cause.chat is None else cause.chat.chat
        lines = [(chat, self._ends(job, why or "called_off")), (mine, told)]
        return self._store.commit(self._batch(cause, lines))

    @staticmethod
    def _ends(job: Job, why: str) -> dict[str, Any]:
        """Return the question whether a job ends where nothing was touched."""
        texts, reason = desk_texts()["off"], sentences()["reasons"][why]
        slots = {"number": job.ref, "reason": reason}
        end = (f"cancel job {job.ref}, {reason}", texts["end"].format(**slots))
        go_on = (f"job {job.ref} repeat", texts["go_on"])
        return {**line(texts["ends"].format(**slots), "check"), "expects": choices(end, go_on)}

    def _of_driver_there(self, job: Job, heard: Heard, cause: Cause) -> list[Reply] | None:
        """End a job for the driver at a vehicle that is not there, or is not wanted; ask first."""
        said = " ".join(heard.text.split())
        if cause.chat is None or job.at_vehicle != cause.chat.person or not _is_untouched(job):
            return None
        found = CANCEL.fullmatch(said)
        if found is not None and int(found["job"]) == job.ref and reason_of(found["words"]):
            return self._called_off(job, heard, reason_of(found["words"]), cause)
        if NOBODY_HERE.fullmatch(said) is None:
            return None
        return self._bodies(cause, self._ends(job, reason_of(said)))

    def _ask_why(self, number: int, cause: Cause) -> list[Reply]:
        offered = [
            (f"cancel job {number}, {words}", words)
            for words in (sentences()["reasons"][key] for key in WHYS)
        ]  # fmt: skip
        asked = line(desk_texts()["off"]["why"].format(number=number))
        return self._bodies(cause, {**asked, "expects": choices(*offered)})

    def _told_off(self, job: Job, cause: Cause) -> list[Line]:
        texts, given = desk_texts()["off"], self._given.of(job.ref)
        slots = {"number": job.ref, "how": how_ended(job)}
        asked = self._chats.chat_of(None if given is None else given.driver)
        mine = None if cause.chat is None else cause.chat.chat
        text = texts["told"].format(**slots)
        told: list[Line] = []
        if asked is not None and asked != mine:
            told = [(asked, line(texts["told_driver"].format(**slots), "check"))]
        others = [one for one in self._chats.chats_for("dispatchers", None, None) if one != mine]
        told += [(chat, line(text, "note")) for chat in others]
        return [*told, *([] if mine is None else [(mine, line(text))])]

    # Words between desk and drivers: kept, and facts of no job.

    def _of_driver(
        self, chat: Chat, heard: Heard, answered: Reply | None, cause: Cause
    ) -> list[Reply] | None:
        said = heard.text.strip()
        if tells_danger(said, None):
            return None
        if found := CANNOT.fullmatch(" ".join(said.split())):
            return self._declined(chat, int(found["job"]), cause)
        found = TO_DESK.fullmatch(said)
        if found is not None:
            return self._pass_to_desk(chat, found["words"] or found["more"], cause)
        if _note_from(answered) is not None:
            return self._pass_to_desk(chat, said, cause)
        job = self._open_job_of(chat)
        if job is not None:
            return self._of_driver_there(job, heard, cause)
        number = self._asked_of(chat)
        return None if number is None else self._of_asked(chat, number, heard, cause)

    def _asked_of(self, chat: Chat) -> int | None:
        """Return the one job that a driver without a job was asked to take; None for no such."""
        mine = [ref for ref, given in self._given.all().items()
                if given.driver == chat.person and self._waits_for(ref, chat)]  # fmt: skip
        return mine[0] if len(mine) == 1 else None

    def _of_asked(self, chat: Chat, number: int, heard: Heard, cause: Cause) -> list[Reply] | None:
        """Take the words of a driver who was asked to take a job: they are about that job."""
        said, words = heard.text.strip(), tokens(heard.text)
        if named(said) is not None or words[:2] == ("new", "job"):
            return None
        if words in universal():
            return self._bodies(cause, self._asked(self._jobs.job(number)))
        if CANNOT_IT.fullmatch(said):
            return self._declined(chat, number, cause)
        job = self._jobs.job(number)
        if HERE.fullmatch(said):
            here = replace(heard, text=arriving(job, chat))
            cause = replace(cause, chat=replace(chat, focus_job=number))
            return self._write(advance(job, here), cause, self._batch(Cause(cause.at), []), ())
        return self._pass_to_desk(chat, said, cause, job)

    def _declined(self, chat: Chat, number: int, cause: Cause) -> list[Reply] | None:
        given = self._given.of(number)
        if given is None or given.driver != chat.person or not self._waits_for(number, chat):
            return None
        texts, job = desk_texts()["give"], self._jobs.job(number)
        slots = {**self._lines.slots(job), "name": self._chats.name_of(chat.person)}
        told = line(texts["declined"].format(**slots), "check")
        lines: list[Line] = [(desk, told) for desk in self._desks()]
        mine = (chat.chat, line(texts["declined_told"].format(number=number)))
        entry = NewEntry(COMPANY, "declined", {"job": str(number)}, chat.person)
        return self._store.commit(self._batch(cause, [*lines, mine], (entry,)))

    def _tell(self, order: Order, cause: Cause) -> list[Reply] | None:
        """Pass a desk's words on; None if they begin with nobody's name."""
        said = order.words.split()
        for count in range(min(3, len(said)), 0, -1):
            driver = self._chats.driver_named(" ".join(said[:count]).strip(" ,:"))
            words = " ".join(said[count:]).strip(" ,:")
            if driver is not None and not words:
                name = self._chats.name_of(driver.person)
                return self._say(cause, desk_texts()["pass_on"]["no_words"].format(name=name))
            if driver is not None:
                return self._pass_to(driver.chat, words, cause)
        if not said or not may_be_name(said[0].strip(",:")):
            return None
        return self._say(cause, desk_texts()["give"]["no_driver"].format(name=said[0].strip(",:")))

    def _pass_to(self, name: str | None, words: str, cause: Cause) -> list[Reply] | None:
        driver = None if name is None else self._store.chat(name)
        if driver is None or cause.chat is None:
            return None
        texts, sender = desk_texts()["pass_on"], cause.chat
        job = self._open_job_of(driver)
        rolling = job is not None and job.acts["rolling"] == "rolling"
        told = texts["to_driver"].format(name=self._chats.name_of(sender.person), words=words)
        note = {**line(told, "note"), "note_from": sender.person}
        answer = texts["sent_rolling" if rolling else "sent"]
        sent = line(answer.format(name=self._chats.name_of(driver.person)))
        entry = _passed(job, sender.person, driver.person, words)
        lines = [(driver.chat, note), (sender.chat, sent)]
        return self._commit_passed(cause, lines, entry, job)

    def _pass_to_desk(
        self, chat: Chat, words: str, cause: Cause, asked: Job | None = None
    ) -> list[Reply]:
        """Pass a driver's words on to the desks, about their job or one they were asked for."""
        texts, desks = desk_texts()["pass_on"], self._desks()
        job = asked or self._open_job_of(chat)
        if not desks:
            phone = self._book.library.company.dispatch_phone
            return self._say(cause, texts["nobody"].format(phone=phone))
        of_job = "" if job is None else texts["of_job"].format(number=job.ref)
        name = self._chats.name_of(chat.person)
        told = texts["to_desk"].format(name=name, job=of_job, words=words)
        note = {**line(told, "note"), "note_from": chat.person}
        entry = _passed(job, chat.person, "dispatchers", words)
        mine = line(texts["sent_desk"]) if asked is None else self._still_asked(asked)
        lines = [*((desk, note) for desk in desks), (chat.chat, mine)]
        return self._commit_passed(cause, lines, entry, job)

    def _commit_passed(
        self, cause: Cause, lines: Iterable[Line], entry: NewEntry, job: Job | None
    ) -> list[Reply]:
        sent = self._store.commit(self._batch(cause, lines, (entry,)))
        if job is not None:
            at = Envelope(cause.at, entry.by, job.seq)
            self._jobs.put(fold(job, Entry("passed_on", entry.body), at))
        return sent

    def _open_job_of(self, chat: Chat) -> Job | None:
        """Return the open job that a driver talks about."""
        job = None if chat.focus_job is None else self._jobs.job(chat.focus_job)
        return None if job is None or job.ended is not None else job

    def _desks(self) -> list[str]:
        return self._chats.chats_for("dispatchers", None, None)

    # Words without a job's number.

    def which(self, chat: Chat, heard: Heard, made: Turn, cause: Cause) -> list[Reply] | None:
        """Ask which job a desk's words are for, if they change one and may be for another.

        Parameters
        ----------
        made
            The turn that they would be, in the job that the desk spoke of last.
        """
        if chat.role == "driver" or not heard.text or tells_danger(heard.text, heard.tap):
            return None
        if not _changes(made):
            return None
        jobs = self._jobs.open()
        if len(jobs) < 2 and not self._names_another(heard.text, made.job):
            return None
        first = sorted(jobs, key=lambda job: job.ref != made.job.ref)[:MOST_OFFERED]
        texts, said = desk_texts()["which"], " ".join(heard.text.split())
        offered = [
            (f"job {job.ref}, {said}",
             texts["choice"].format(**{**self._lines.slots(job), "number": job.ref}))
            for job in first
        ]  # fmt: skip
        offered.append((f"new job, {said}", texts["new"]))
        return self._bodies(cause, {**line(texts["job"]), "expects": choices(*offered)})

    def _names_another(self, text: str, job: Job) -> bool:
        """Say whether words name a driver who has nothing to do with a job."""
        said = set(tokens(text))
        given = self._given.of(job.ref)
        theirs = {job.at_vehicle, None if given is None else given.driver}
        others = (chat for chat in self._chats.drivers() if chat.person not in theirs)
        return any(said.issuperset(tokens(self._chats.name_of(one.person))) for one in others)

    # Out.

    def _say(self, cause: Cause, *texts: str) -> list[Reply]:
        return self._bodies(cause, *(line(text) for text in texts))

    def _bodies(self, cause: Cause, *bodies: dict[str, Any]) -> list[Reply]:
        to = "" if cause.chat is None else cause.chat.chat
        return self._store.commit(self._batch(cause, [(to, body) for body in bodies]))

    def _batch(
        self, cause: Cause, lines: Iterable[Line], entries: tuple[NewEntry, ...] = ()
    ) -> Batch:
        return self._batches.of_lines(cause, lines, entries)


UNCHANGED = frozenset({"heard", "unclear", "parked", "told", "asked", "reasked", "acknowledged"})
"""Entries that change nothing of what is known of a job, or of what was done."""


SCENE = frozenset({"bystanders", "truck", "warning"})
"""What is done at a scene before anybody touches the vehicle."""


def _is_untouched(job: Job) -> bool:
    """Say whether nothing was done to a vehicle, and no danger seen at it."""
    return job.acts.changed().keys() <= SCENE


def _answers(job: Job) -> dict[str, Any]:
    """Return what a driver who is asked to take a job can answer."""
    texts, number = desk_texts()["give"], job.ref
    here = (f"job {number}", texts["here"].format(number=number))
    cannot = (f"can't take job {number}", texts["cannot"].format(number=number))
    return choices(here, cannot)


def _changes(made: Turn) -> bool:
    return any(entry.kind not in UNCHANGED for entry, _ in made.entries)


def _note_from(answered: Reply | None) -> str | None:
    """Return whose words a message of ours passed on; None if it passed none on."""
    return None if answered is None else answered.body.get("note_from")


def _passed(job: Job | None, by: str, to: str, words: str) -> NewEntry:
    """Return the entry for words that were passed on: no fact of any job."""
    body = {"from": by, "to": to, "text": Private(words)}
    ref = COMPANY if job is None else job.ref
    return NewEntry(ref, "passed_on", body, by, None if job is None else job.at_vehicle)


def _rank(job: Job) -> tuple[bool, bool, int]:
    """Return the place of a job in a list: danger first, then those nobody has taken."""
    return job.acts["danger"] != "seen", job.at_vehicle is not None, job.ref


def in_messages(parts: Iterable[str], most: int = LONGEST) -> list[str]:
    r"""Return parts as few messages, each short enough for a chat.

    Examples
    --------
    >>> in_messages(["two open", "job 1", "job 2"], 16)
    ['two open\n\njob 1', 'job 2']
    """
    found: list[str] = []
    for part in parts:
        if found and len(found[-1]) + len(part) + 2 <= most:
            found[-1] = f"{found[-1]}\n\n{part}"
        else:
            found.append(part)
    return found


def _newest(lines: list[str]) -> list[str]:
    """Return the newest lines that fit in one message."""
    kept: list[str] = []
    for one in reversed(lines):
        if sum(map(len, kept)) + len(kept) + len(one) > LONGEST:
            break
        kept.append(one.strip())
    return kept[::-1]
