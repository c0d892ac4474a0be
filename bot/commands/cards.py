"""The commands about cards: check a folder, show a card as a page, draft a card."""

from collections.abc import Iterator, Mapping
from pathlib import Path

from bot.commands.bootstrap import card_files, read_cards
from bot.desk.replaying import rebuilt
from bot.record.reader import Reader
from flows.cards import Card
from flows.cards.library import Checked, Library, check
from flows.cards.page import page
from flows.errors import FlowError
from flows.job.state import Job
from flows.reckoning.drafting import draft
from flows.routine.book import Book
from flows.texts import card_words


def check_folder(folder: Path | None) -> tuple[list[str], bool]:
    """Return a line for every file in a folder and every error in it; and whether all are ok.

    Parameters
    ----------
    folder
        The company's cards; None for the demo company's.

    Raises
    ------
    CardError
        If the folder does not exist.
    """
    files = card_files(folder)
    checked = check(files)
    return [*_lines(checked), _summary(checked)], not checked.errors


def _lines(checked: Checked) -> Iterator[str]:
    words = card_words()["check"]
    for file in sorted((*checked.cards, *checked.errors)):
        error = checked.errors.get(file)
        yield words["ok" if error is None else "wrong"].format(file=file)
        for line in () if error is None else error.lines:
            yield words["problem"].format(problem=line)


def _summary(checked: Checked) -> str:
    words, ok, wrong = card_words()["check"], len(checked.cards), len(checked.errors)
    text: str = words["some_wrong" if wrong else "all_ok"]
    return text.format(files=ok + wrong, ok=ok, wrong=wrong)


def show(name: str, folder: Path | None) -> str:
    """Return a card as a page.

    Parameters
    ----------
    name
        The card's id or name, in any case; "company" for the company's own.
    folder
        The company's cards; None for the demo company's.

    Raises
    ------
    CardError
        If the cards cannot be used.
    FlowError
        If no card has that name.
    """
    cards = _by_name(read_cards(folder))
    if name.lower() not in cards:
        names = ", ".join(sorted(cards))
        raise FlowError(card_words()["check"]["no_such_card"].format(name=name, names=names))
    return page(cards[name.lower()])


def draft_of(ref: int, reader: Reader, book: Book) -> str:
    """Return the facts of a job without a card as the beginning of a card in TOML.

    Raises
    ------
    FlowError
        If there is no such job, or nothing to draft from it.
    """
    if not reader.has_job(ref):
        raise FlowError(card_words()["draft"]["no_job"].format(number=ref))
    return draft(rebuilt(Job(ref, book), reader.entries(ref)))


def _by_name(library: Library) -> Mapping[str, Card]:
    found: dict[str, Card] = {"company": library.company}
    for shelf in (library.gear, library.trucks, library.vehicles):
        for card in shelf.values():
            found[card.name.lower()] = found[card.id] = card
    return found
