"""A check of a data folder: its findings, good or bad, each with a remedy."""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from bot.desk.crew import Crew
from bot.machine.secret_files import KEY_FILE, TOKEN_FILE, TOKEN_FORM
from bot.record.errors import StoreError
from bot.record.reader import Reader, open_reader
from bot.record.schema import FILE_NAME
from bot.voice.ears import load_opinion
from bot.voice.weights import ENGINE, NoEngineError, read_weights
from flows.texts import air_texts, voice_texts

LEAST_FREE = 500 * 1024 * 1024
OTHERS = 0o077


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding: whether all is well there, and a sentence about it."""

    is_well: bool
    says: str


def _said(key: str, *, is_well: bool, **given: object) -> Finding:
    return Finding(is_well, str(air_texts()["doctor"][key]).format(**given))


def examine(
    folder: Path, reach: Callable[[], str | None], opinion: Path | None = None
) -> Iterator[Finding]:
    """Check a data folder, even while the bot runs; nothing is changed.

    Parameters
    ----------
    folder
        The data folder.
    reach
        Asks the platform for the bot's name; returns None if it is not reached.
    opinion
        The folder of the network for second opinions; None if none is set.
    """
    if not folder.is_dir():
        yield _said("no_folder", is_well=False, folder=folder)
        return
    yield from _secrecy(folder)
    yield from _room(folder)
    yield from _record(folder)
    yield _voice()
    if opinion is not None:
        yield _opinion(opinion)
    name = reach()
    yield (
        _said("unreached", is_well=False)
        if name is None
        else _said("reached", is_well=True, name=name)
    )


def _secrecy(folder: Path) -> Iterator[Finding]:
    """Check that only the owner of the files may read them, and that there is a token."""
    private = [folder, *(folder / name for name in (TOKEN_FILE, KEY_FILE, FILE_NAME))]
    open_ = list(filter(_is_open, private))
    for path in open_:
        yield _said("open", is_well=False, path=path, mode="700" if path.is_dir() else "600")
    if not open_:
        yield _said("closed", is_well=True)
    token = folder / TOKEN_FILE
    if not token.is_file():
        yield _said("no_token", is_well=False)
    elif not TOKEN_FORM.fullmatch(token.read_text("utf-8", "replace").strip()):
        yield _said("bad_token", is_well=False, path=token)


def _is_open(path: Path) -> bool:
    """Say whether others than the owner may use a file."""
    return path.exists() and bool(path.stat().st_mode & OTHERS)


def _voice() -> Finding:
    """Check whether voice notes are heard or only kept; either is well."""
    texts = voice_texts()["doctor"]
    try:
        weights = read_weights()
    except NoEngineError as error:
        is_well = error.key == "not_installed"
        return Finding(is_well, str(texts[error.key]).format(value=error.value))
    said = str(texts["well"]).format(engine=ENGINE, version=weights.version)
    return Finding(is_well=True, says=said)


def _opinion(folder: Path) -> Finding:
    """Check the second opinion: it was asked for, so it must start."""
    texts = voice_texts()["doctor"]
    try:
        writer = load_opinion(folder)
    except NoEngineError as error:
        return Finding(is_well=False, says=str(texts[error.key]).format(value=error.value))
    said = str(texts["opinion_well"]).format(engine=writer.engine, version=writer.version[:12])
    return Finding(is_well=True, says=said)


def _room(folder: Path) -> Iterator[Finding]:
    free = shutil.disk_usage(folder).free
    mb = free // (1024 * 1024)
    yield _said("room" if free >= LEAST_FREE else "no_room", is_well=free >= LEAST_FREE, mb=mb)


def _record(folder: Path) -> Iterator[Finding]:
    try:
        with open_reader(folder) as reader:
            yield from _chains(reader)
            yield from _queues(reader)
            crew = Crew(reader)
            crew.refresh()
            owners, members = len(crew.owners()), len(crew.members) - len(crew.gone)
    except StoreError as error:
        yield Finding(is_well=False, says=str(error))
        return
    told = "crew" if owners else "no_owner"
    yield _said(told, is_well=bool(owners), owners=owners, members=members)


def _chains(reader: Reader) -> Iterator[Finding]:
    problems = reader.verify()
    for one in problems:
        yield _said("broken", is_well=False, job=one.job, seq=one.seq, what=one.what)
    if not problems:
        yield _said("chains", is_well=True, count=len(reader.heads()))


def _queues(reader: Reader) -> Iterator[Finding]:
    """Count messages that wait, are quarantined, or could not be delivered."""
    waiting, apart = len(reader.unfinished()), reader.quarantined()
    pending, parked = len(reader.pending()), len(reader.parked())
    yield _said("queues", is_well=True, waiting=waiting, pending=pending)
    if apart:
        yield _said("apart", is_well=False, count=apart)
    if parked:
        yield _said("parked", is_well=False, count=parked)
