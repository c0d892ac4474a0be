"""The one place where the parts are put together."""

from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from bot.desk import Desk
from bot.journal.private import Salt, random_salt
from bot.journal.schema import Connect, connect
from bot.journal.store import Store, open_store
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
    if folder is not None and not folder.is_dir():
        problem = CardProblem("", "no folder", "a folder with company.toml, vehicles and trucks")
        raise CardError(str(folder), (problem,))
    root: Traversable = files("demo_data") if folder is None else folder
    return library_from(dict(_toml_files(root, "")))


def _toml_files(root: Traversable, under: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []
    for entry in sorted(root.iterdir(), key=lambda one: one.name):
        if entry.is_file() and entry.name.endswith(".toml"):
            found.append((under + entry.name, entry.read_text("utf-8")))
        elif entry.is_dir() and not under and entry.name in {"vehicles", "trucks"}:
            found += _toml_files(entry, entry.name + "/")
    return found


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
