"""The one place where the parts are put together."""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from bot.desk.company import Company
from bot.desk.desk import Desk
from bot.machine.clock import SystemClock
from bot.machine.secret_files import company_key
from bot.machine.settings import STAMPER_VARIABLE, Settings
from bot.packet.bag import Progress, Sealed
from bot.packet.build import build
from bot.packet.case import Case, read_case
from bot.packet.customer import build_customer
from bot.record.arithmetic import fingerprint
from bot.record.checkpoints import CompanySeals, Sealer
from bot.record.copies import note_restored, put_back
from bot.record.errors import StoreError
from bot.record.keys import NO_KEY, Signer, make_key, read_key, scripted_signer
from bot.record.private import Salt, random_salt, seeded_salt
from bot.record.reader import Reader, open_reader
from bot.record.rotation import rotate
from bot.record.rows import COMPANY
from bot.record.schema import Connect, connect
from bot.record.seen import refuse_older
from bot.record.stamping import NO_ROOT, NO_SERVICE, UNSTAMPED, Rooted, Stamper, posted, roots_in
from bot.record.store import Store, open_store
from bot.voice.ears import LazyEars
from flows.cards.library import Library, library_from
from flows.errors import CardError, CardProblem
from flows.routine.book import Book
from flows.routine.carry import CARRY, Routine
from flows.texts import sentences

LOG = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Secrets:
    """Where salts and signatures come from.

    Attributes
    ----------
    salt
        Gives the salts of personal values.
    signer
        The signing key; None for that of the settings' file, which is made on first use.
    """

    salt: Salt = random_salt
    signer: Signer | None = None


CHANCE = Secrets()
"""What is used with the machine's own clock."""


def scripted(seed: str) -> Secrets:
    """Return secrets from a seed, so that a scripted conversation gives the same record."""
    return Secrets(seeded_salt(seed), scripted_signer(seed))


def read_cards(folder: Path | None) -> Library:
    """Read the company's cards, or the demo company's.

    Raises
    ------
    CardError
        For a folder that is not there, or a card that cannot be used.
    """
    return library_from(card_files(folder))


def card_files(folder: Path | None) -> dict[str, str | None]:
    """Return the text of every TOML file in a folder, or of the demo company's.

    A file that is no text in UTF-8 is None. Folders that no card belongs in are read too, so
    that a card in the wrong place is told and never passed over.

    Raises
    ------
    CardError
        For a folder that is not there.
    """
    if folder is not None and not folder.is_dir():
        allowed = "a folder with company.toml, vehicles, trucks and gear"
        raise CardError(str(folder), (CardProblem("", "no folder", allowed),))
    root: Traversable = files("demo_data") if folder is None else folder
    return dict(_toml_files(root, ""))


def _toml_files(root: Traversable, under: str) -> Iterator[tuple[str, str | None]]:
    for entry in sorted(root.iterdir(), key=lambda one: one.name):
        if entry.is_file() and entry.name.endswith(".toml"):
            yield under + entry.name, _text(entry.read_bytes())
        elif entry.is_dir() and not entry.name.startswith("."):
            yield from _toml_files(entry, f"{under}{entry.name}/")


def _text(content: bytes) -> str | None:
    """Return what a file says, without the mark that some editors put first."""
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None


def book_for(settings: Settings, routine: Routine = CARRY) -> Book:
    """Return the routine and the cards that jobs run by."""
    return Book(routine, read_cards(settings.cards))


def open_desk(
    settings: Settings,
    book: Book,
    channel: str,
    *,
    secrets: Secrets = CHANCE,
    connection: Connect = connect,
) -> tuple[Desk, Store]:
    """Open the record and a desk over it; the caller closes the store.

    Parameters
    ----------
    secrets
        Where salts and signatures come from.

    Raises
    ------
    StoreError
        When the record cannot be opened or is in use.
    """
    store = open_store(settings.data, salt=secrets.salt, connect=connection)
    try:
        sealer = _sealer(settings, secrets, store)
        return Desk(store, book, channel, sealer, LazyEars(opinion=settings.opinion)), store
    except BaseException:
        store.close()
        raise


def open_company(settings: Settings, channel: str, routine: Routine = CARRY) -> Company:
    """Open a company for a channel with a platform; the caller closes its store.

    Parameters
    ----------
    routine
        What jobs run by; another one than the carry is for measuring.

    Raises
    ------
    StoreError
        When the record cannot be opened or is in use.
    """
    book = book_for(settings, routine)
    desk, store = open_desk(settings, book, channel)
    zone = book.library.company.zone
    key = company_key(settings.data)

    def packet(job: int, out: Path) -> None:
        packet_all_the_same(settings, job, out)

    return Company(book, desk, store, SystemClock(zone), zone, channel, key, packet, desk.ears)


def _sealer(settings: Settings, secrets: Secrets, store: Store) -> Sealer:
    if secrets.signer is not None:
        return Sealer(secrets.signer)
    refuse_older(settings.seen_file, store)
    return Sealer(key_for(settings, store), settings.seen_file)


def key_for(settings: Settings, reader: Reader) -> Signer:
    """Read the signing key of a record; make one where nothing was signed yet.

    Raises
    ------
    StoreError
        When the file cannot be used, or is gone although the record was signed with it.
    """
    path = settings.key_file
    found = read_key(path, settings.data)
    if found is not None:
        return found
    company = CompanySeals()
    company.follow(reader)
    if company.public:
        raise StoreError(NO_KEY, value=path)
    made = make_key(path)
    text = sentences()["sealed"]["new_key"]
    LOG.warning("%s", text.format(path=path, mark=fingerprint(made.public)))
    return made


def read_signer(settings: Settings) -> Signer:
    """Read the signing key that is there.

    Raises
    ------
    StoreError
        When there is none, or it cannot be used.
    """
    found = read_key(settings.key_file, settings.data)
    if found is None:
        raise StoreError(NO_KEY, value=settings.key_file)
    return found


def rotate_key(settings: Settings, *, is_lost: bool) -> Signer:
    """Bring a new signing key into use; see `bot.record.rotation`."""
    with opened_record(settings) as (store, clock, zone):
        return rotate(store, settings.key_file, clock, zone, is_lost=is_lost)


def read_stamper(settings: Settings) -> Stamper | None:
    """Return the time-stamping service that is configured; None where there is none.

    Raises
    ------
    StoreError
        When only its address is given, without the certificate it is known by.
    """
    if settings.stamper is None:
        return None
    if settings.stamper_root is None:
        raise StoreError(NO_ROOT, value="no file", why="ROLLPROOF_STAMPER_ROOT is not set")
    return Stamper(settings.stamper, settings.stamper_root, settings.data, posted)


def stamp_newest(settings: Settings) -> tuple[Rooted, bytes] | None:
    """Have the newest root over all jobs stamped; None where there is no root yet.

    Raises
    ------
    StoreError
        When no service is configured, it does not answer, or what it answers does not hold.
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
    """Make the owner's packet of a job, stamped where a service is configured.

    Parameters
    ----------
    seed
        The seed of the script that made the record: it has no key file then.

    Raises
    ------
    StoreError
        When there is no such job, its record does not hold, or a file cannot be used.
    """
    signer = read_signer(settings) if seed is None else scripted_signer(seed)
    return build(_case(settings, job), signer, out, tell, read_stamper(settings))


def packet_all_the_same(settings: Settings, job: int, out: Path) -> None:
    """Make the owner's packet for a chat: without a stamp where there is none to be had now."""
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
    """Make the customer's copy of a job; as `make_packet`."""
    signer = read_signer(settings) if seed is None else scripted_signer(seed)
    return build_customer(_case(settings, job), signer, out, tell)


def _case(settings: Settings, job: int) -> Case:
    with open_reader(settings.data) as reader:
        return read_case(reader, job, book_for(settings))


@contextmanager
def opened_record(settings: Settings) -> Iterator[tuple[Store, SystemClock, str]]:
    """Open a record to write into it beside any job: with a clock, and the company's zone.

    Raises
    ------
    StoreError
        When it is in use, or is behind its last checkpoint.
    """
    zone = read_cards(settings.cards).company.zone
    with open_store(settings.data, salt=random_salt) as store:
        refuse_older(settings.seen_file, store)
        yield store, SystemClock(zone), zone


def restore(settings: Settings, copy: Path) -> list[tuple[int, int]]:
    """Put a copy of the record back; return which entries seen last are lost.

    Raises
    ------
    StoreError
        When the copy does not hold, or there is a record already.
    """
    put_back(copy, settings.data)
    zone = read_cards(settings.cards).company.zone
    with open_store(settings.data, salt=random_salt) as store:
        return note_restored(store, settings.seen_file, SystemClock(zone).now(), zone)
