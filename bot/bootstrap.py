"""The one place where the parts are put together."""

from collections.abc import Iterator
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from bot.clock import SystemClock
from bot.company import Company
from bot.desk import Desk
from bot.journal.private import Salt, random_salt
from bot.journal.schema import Connect, connect
from bot.journal.store import Store, open_store
from bot.secret_files import company_key
from bot.settings import Settings
from flows.book import Book
from flows.cards.library import Library, library_from
from flows.errors import CardError, CardProblem
from flows.routine import CARRY


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


def book_for(settings: Settings) -> Book:
    """Return the routine and the cards that jobs run by."""
    return Book(CARRY, read_cards(settings.cards))


def open_desk(
    settings: Settings,
    book: Book,
    channel: str,
    *,
    salt: Salt = random_salt,
    connection: Connect = connect,
) -> tuple[Desk, Store]:
    """Open the record and a desk over it; the caller closes the store.

    Raises
    ------
    StoreError
        When the record cannot be opened or is in use.
    """
    store = open_store(settings.data, salt=salt, connect=connection)
    return Desk(store, book, channel), store


def open_company(settings: Settings, channel: str) -> Company:
    """Open a company for a channel with a platform; the caller closes its store.

    Raises
    ------
    StoreError
        When the record cannot be opened or is in use.
    """
    book = book_for(settings)
    desk, store = open_desk(settings, book, channel)
    zone = book.library.company.zone
    return Company(desk, store, SystemClock(zone), zone, channel, company_key(settings.data))
