"""The only place where cards, record, desk and company are put together."""

import logging
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache, partial
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from bot.desk.company import Company
from bot.desk.desk import Desk
from bot.desk.outgoing import is_line
from bot.machine.clock import SystemClock
from bot.machine.secret_files import company_key
from bot.machine.settings import Settings
from bot.record.arithmetic import fingerprint
from bot.record.checkpoints import CompanySeals, Sealer
from bot.record.errors import StoreError
from bot.record.heads import Binder
from bot.record.keys import NO_KEY, OTHER_KEY, Signer, make_key, read_key, scripted_signer
from bot.record.private import Salt, random_salt, seeded_salt
from bot.record.reader import Reader
from bot.record.rotation import finish
from bot.record.schema import Connect, connect
from bot.record.seen import refuse_older
from bot.record.store import Store, open_store
from bot.voice.ears import LazyEars
from flows.cards.library import Library, library_from
from flows.errors import CardError, CardProblem
from flows.routine.book import Book
from flows.routine.carry import CARRY, Routine
from flows.texts import sentences

LOG = logging.getLogger(__name__)

MakePacket = Callable[[Settings, int, Path], object]
"""Writes the packet of a job to a file."""


@dataclass(frozen=True, slots=True)
class Secrets:
    """The sources of salts and signatures.

    Attributes
    ----------
    salt
        Makes the salts of personal values.
    signer
        The signing key; None for the key file in the settings, which is made on first use.
    """

    salt: Salt = random_salt
    signer: Signer | None = None


CHANCE = Secrets()
"""The secrets to use with the machine's own clock."""


def scripted(seed: str) -> Secrets:
    """Return secrets made from a seed, so that a script always gives the same record."""
    return Secrets(seeded_salt(seed), scripted_signer(seed))


def read_cards(folder: Path | None) -> Library:
    """Read the company's cards, or the demo company's.

    The same texts read again give the same library, and with it all that was worked out of it.

    Raises
    ------
    CardError
        If the folder does not exist, or a card cannot be used.
    """
    return _library(tuple(card_files(folder).items()))


@lru_cache(maxsize=2)
def _library(files: tuple[tuple[str, str | None], ...]) -> Library:
    return library_from(dict(files))


def card_files(folder: Path | None) -> dict[str, str | None]:
    """Return the text of every TOML file in a folder, or of the demo company's.

    A file that is not UTF-8 text is None. All folders are read, so that a card in the wrong place
    is reported and never passed over.

    Raises
    ------
    CardError
        If the folder does not exist.
    """
    if folder is not None and not folder.is_dir():
        allowed = "a folder with company.toml, vehicles, trucks and gear"
        raise CardError(str(folder), (CardProblem("", "no folder", allowed),))
    root: Traversable = files("demo_data") if folder is None else folder
    return dict(_toml_files(root, ""))


def _toml_files(root: Traversable, under: str) -> Iterator[tuple[str, str | None]]:
    for entry in sorted(root.iterdir(), key=lambda entry: entry.name):
        if entry.is_file() and entry.name.endswith(".toml"):
            yield under + entry.name, _text(entry.read_bytes())
        elif entry.is_dir() and not entry.name.startswith("."):
            yield from _toml_files(entry, f"{under}{entry.name}/")


def _text(content: bytes) -> str | None:
    """Return the text of a file, without the byte order mark some editors put first."""
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
        The sources of salts and signatures.

    Raises
    ------
    StoreError
        If the record cannot be opened or is in use.
    """
    store = open_store(settings.data, salt=secrets.salt, connect=connection)
    try:
        sealer = _sealer(settings, secrets, store)
        store.set_apart(store.unreadable(is_line))
        store.bind(sealer.binder)
        return Desk(store, book, channel, sealer, LazyEars(opinion=settings.opinion)), store
    except BaseException:
        store.close()
        raise


def open_company(
    settings: Settings, channel: str, packet: MakePacket, routine: Routine = CARRY
) -> Company:
    """Open a company for a channel with a platform; the caller closes its store.

    Parameters
    ----------
    packet
        Writes a job's packet to a file.
    routine
        The routine that jobs run by; only benchmarks use another than the carry.

    Raises
    ------
    StoreError
        If the record cannot be opened or is in use.
    """
    book = book_for(settings, routine)
    desk, store = open_desk(settings, book, channel)
    zone = book.library.company.zone
    key = company_key(settings.data)
    clock, write = SystemClock(zone), partial(packet, settings)
    return Company(book, desk, store, clock, zone, channel, key, write, desk.ears)


def _sealer(settings: Settings, secrets: Secrets, store: Store) -> Sealer:
    if secrets.signer is not None:
        _refuse_other(secrets.signer, store, settings)
        return Sealer(secrets.signer)
    refuse_older(settings.seen_file, settings.head_file, store)
    return Sealer(key_for(settings, store), settings.seen_file, settings.head_file)


def key_for(settings: Settings, reader: Reader) -> Signer:
    """Read the signing key of a record; make a key if nothing was signed yet.

    A rotation that was interrupted behind its entry is finished first.

    Raises
    ------
    StoreError
        If the file cannot be used, is another key than the record's, or is gone although the
        record was signed with it.
    """
    path = settings.key_file
    public = _key_in_use(reader)
    finish(path, settings.data, public)
    found = read_key(path, settings.data)
    if found is not None:
        _refuse_other(found, reader, settings)
        return found
    if public:
        raise StoreError(NO_KEY, value=path)
    made = make_key(path)
    text = sentences()["sealed"]["new_key"]
    LOG.warning("%s", text.format(path=path, mark=fingerprint(made.public)))
    return made


def _refuse_other(signer: Signer, reader: Reader, settings: Settings) -> None:
    """Refuse a key that is not the record's."""
    if _key_in_use(reader) not in {"", signer.public.hex()}:
        raise StoreError(OTHER_KEY, value=settings.key_file, mark=fingerprint(signer.public))


def _key_in_use(reader: Reader) -> str:
    """Return the key that a record names last, or before its first pause that of its head."""
    company, head = CompanySeals(), reader.signed_head()
    company.follow(reader)
    return company.public or ("" if head is None else head.key)


@contextmanager
def opened_record(
    settings: Settings, *, is_bound: bool = True, signer: Signer | None = None
) -> Iterator[tuple[Store, SystemClock, str]]:
    """Open a record to write to it outside any job: with a clock, and the company's zone.

    Parameters
    ----------
    is_bound
        Whether the key in use moves its signed head; a rotation brings its own.
    signer
        The key of a scripted record; None for the key file.

    Raises
    ------
    StoreError
        If it is in use, or is behind its last checkpoint.
    """
    zone = read_cards(settings.cards).company.zone
    with open_store(settings.data, salt=random_salt) as store:
        refuse_older(settings.seen_file, settings.head_file, store)
        if is_bound:
            store.bind(Binder(signer or key_for(settings, store), settings.head_file))
        yield store, SystemClock(zone), zone
