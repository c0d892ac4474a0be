"""The only place where the parts of proof are put together: packets, stamps, keys, copies."""

import logging
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

from bot.commands.bootstrap import book_for, key_for, opened_record, read_cards
from bot.machine.clock import SystemClock
from bot.machine.settings import STAMPER_VARIABLE, Settings
from bot.packet.bag import Progress, Sealed
from bot.packet.build import build
from bot.packet.case import Case, read_case
from bot.packet.customer import Photos, build_customer, photos_in
from bot.packet.customer_photos import copied_lines, copies_of, naming, unnamed
from bot.record.copies import check_copy, note_restored, put_back
from bot.record.errors import READING, StoreError, Words
from bot.record.heads import Binder, read_note
from bot.record.keys import NO_KEY, Signer, read_key, scripted_signer
from bot.record.private import random_salt
from bot.record.reader import open_reader
from bot.record.rotation import rotate
from bot.record.rows import COMPANY, Batch
from bot.record.stamping import NO_ROOT, NO_SERVICE, UNSTAMPED, Rooted, Stamper, posted, roots_in
from bot.record.store import open_store

LOG = logging.getLogger(__name__)

ODD = Words(
    "No packet can be made of job {value}: something in its entries cannot be read ({why}).",
    "Entries have the form that this program writes.",
    "Run rollproof trail, which names them, and keep the record as it is.",
)


def read_signer(settings: Settings) -> Signer:
    """Read the existing signing key.

    Raises
    ------
    StoreError
        If there is none, or it cannot be used.
    """
    found = read_key(settings.key_file, settings.data)
    if found is None:
        raise StoreError(NO_KEY, value=settings.key_file)
    return found


def rotate_key(settings: Settings, *, is_lost: bool) -> Signer:
    """Start using a new signing key; see `bot.record.rotation`."""
    with opened_record(settings, is_bound=False) as (store, clock, zone):
        return rotate(store, settings.key_file, clock, zone, is_lost=is_lost)


def read_stamper(settings: Settings) -> Stamper | None:
    """Return the configured time-stamping service; None if there is none.

    Raises
    ------
    StoreError
        If its address is given without its root certificate.
    """
    if settings.stamper is None:
        return None
    if settings.stamper_root is None:
        raise StoreError(NO_ROOT, value="no file", why="ROLLPROOF_STAMPER_ROOT is not set")
    return Stamper(settings.stamper, settings.stamper_root, settings.data, posted)


def stamp_newest(settings: Settings) -> tuple[Rooted, bytes] | None:
    """Have the newest root over all jobs stamped; return None if there is no root yet.

    Raises
    ------
    StoreError
        If no service is configured, it does not answer, or its answer does not verify.
    """
    stamper = read_stamper(settings)
    if stamper is None:
        raise StoreError(NO_SERVICE, value=STAMPER_VARIABLE)
    with open_reader(settings.data) as reader:
        roots = list(roots_in(reader.lines(COMPANY)))
    return (roots[-1], stamper.stamp(roots[-1].statement)) if roots else None


def make_packet(
    settings: Settings, job: int, out: Path, tell: Progress, *, seed: str | None = None
) -> Sealed:
    """Make the owner's packet of a job, time-stamped if a service is configured.

    Parameters
    ----------
    seed
        The seed of the script that made the record, which then has no key file.

    Raises
    ------
    StoreError
        If there is no such job, its record does not verify, or a file cannot be used.
    """
    signer = read_signer(settings) if seed is None else scripted_signer(seed)
    with _told(job):
        return build(_case(settings, job), signer, out, tell, read_stamper(settings))


@contextmanager
def _told(job: int) -> Iterator[None]:
    """Say of a job whose entries have another form than ours that no packet can be made of it."""
    try:
        yield
    except READING as error:
        raise StoreError(ODD, value=job, why=repr(error)) from error


def packet_for_chat(settings: Settings, job: int, out: Path) -> None:
    """Make the owner's packet for a chat; without a stamp if none can be had now."""
    try:
        make_packet(settings, job, out, max)
    except StoreError as error:
        if error.words not in UNSTAMPED:
            raise
        LOG.warning("a packet goes out without a time stamp: %s", error.what)
        make_packet(replace(settings, stamper=None), job, out, max)


def make_customer_copy(
    settings: Settings, job: int, out: Path, tell: Progress, *, seed: str | None = None
) -> Sealed:
    """Make the customer's copy of a job; otherwise as `make_packet`.

    Its photos are written again. The first time, the record names them; it may not be in use then.
    """
    signer = read_signer(settings) if seed is None else scripted_signer(seed)
    with _told(job):
        case = _case(settings, job)
        photos = _photos(settings, case, None if seed is None else signer)
        return build_customer(case, signer, out, photos, tell)


def _photos(settings: Settings, case: Case, scripted: Signer | None) -> Photos:
    """Return the copies of a job's photos, and the lines that name them, written if need be."""
    with tempfile.TemporaryDirectory() as folder:
        copies = copies_of(case, photos_in(case), Path(folder))
    lines = _named(settings, case.ref)
    if fresh := unnamed(copies, lines):
        with opened_record(settings, signer=scripted) as (store, clock, zone):
            store.commit(Batch(clock.now(), zone, entries=(naming(case.ref, fresh),)))
        lines = _named(settings, case.ref)
    return Photos(copies, lines)


def _named(settings: Settings, job: int) -> list[str]:
    """Return the company's lines that name copies of a job's photos."""
    with open_reader(settings.data) as reader:
        return list(copied_lines(reader.lines(COMPANY), job))


def _case(settings: Settings, job: int) -> Case:
    with open_reader(settings.data) as reader:
        return read_case(reader, job, book_for(settings))


def restore(settings: Settings, copy: Path) -> list[tuple[int, int]]:
    """Put a copy of the record back; return the last entries seen that it has lost.

    Raises
    ------
    StoreError
        If the copy does not verify, there is already a record, or the key is missing.
    """
    check_copy(copy, settings.data)
    zone = read_cards(settings.cards).company.zone
    with open_reader(copy) as reader:
        binder = Binder(key_for(settings, reader), settings.head_file)
    put_back(copy, settings.data)
    with open_store(settings.data, salt=random_salt) as store:
        store.bind(binder)
        noted = read_note(settings.head_file)
        binder.count_from(0 if noted is None else noted.number)
        return note_restored(store, settings.seen_file, SystemClock(zone).now(), zone)
