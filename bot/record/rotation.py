"""Replacing the signing key; both keys sign, unless the old key is lost."""

from pathlib import Path

from bot.machine.clock import Clock
from bot.machine.settings import head_file
from bot.record.checkpoints import CompanySeals, key_entry
from bot.record.errors import StoreError
from bot.record.heads import Binder
from bot.record.keys import NO_KEY, Signer, make_key, read_key
from bot.record.rows import Batch
from bot.record.store import Store

COMING = ".new"
"""Ends the name of a key that is made and not yet in use."""


def rotate(
    store: Store,
    path: Path,
    clock: Clock,
    zone: str,
    *,
    is_lost: bool = False,
) -> Signer:
    """Replace the signing key.

    Parameters
    ----------
    store
        The record, opened for writing.
    path
        The key file; the old key is kept next to it, as NAME.before.
    clock, zone
        For the times of the entry.
    is_lost
        Whether the old key is gone: the entry then says "replaced" and has one signature.

    Raises
    ------
    StoreError
        When the old key is missing but not given as lost, or a file cannot be used.
    """
    company = CompanySeals()
    company.follow(store)
    old = None if is_lost else _in_use(path, store.folder)
    if old is not None and not company.public and store.signed_head() is not None:
        # It has signed heads, and no pause yet that would have named it.
        store.bind(Binder(old, head_file(path)))
        store.commit(Batch(clock.now(), zone, entries=(key_entry(old, before=""),)))
        company.follow(store)
    coming = path.with_name(path.name + COMING)
    made = read_key(coming, store.folder) or make_key(coming)
    # If a rotation was interrupted after its entry was written, only the files are left to move.
    if company.public != made.public.hex():
        entry = key_entry(made, company.public, old if company.public else None)
        store.bind(Binder(made, head_file(path)))
        store.commit(Batch(clock.now(), zone, entries=(entry,)))
    _put_in_place(coming, path)
    return made


def _in_use(path: Path, folder: Path) -> Signer:
    found = read_key(path, folder)
    if found is None:
        raise StoreError(NO_KEY, value=path)
    return found


def finish(path: Path, folder: Path, public: str) -> None:
    """Put a new key in its place, if the record names it already: a rotation was interrupted.

    Parameters
    ----------
    path
        The key file.
    folder
        The data folder.
    public
        The key that the record names last, in hex.
    """
    coming = path.with_name(path.name + COMING)
    if public and coming.exists():
        made = read_key(coming, folder)
        if made is not None and made.public.hex() == public:
            _put_in_place(coming, path)


def _put_in_place(coming: Path, path: Path) -> None:
    if path.exists():
        path.replace(path.with_name(path.name + ".before"))
    coming.replace(path)
