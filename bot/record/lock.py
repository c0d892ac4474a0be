"""At most one running process per data folder."""

import fcntl
import os
from pathlib import Path

from bot.record.errors import IN_USE, StoreError, translated

LOCK_NAME = "rollproof.lock"
"""File that the running process keeps locked; it remains, unlocked, when the process ends."""


class FolderLock:
    """An exclusive lock on a data folder; the system drops it when the process ends.

    Parameters
    ----------
    folder
        The data folder; made, for its owner only, if it does not exist.

    Raises
    ------
    StoreError
        If another process has the lock, or the folder cannot be used.
    """

    def __init__(self, folder: Path) -> None:
        with translated(folder):
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            self._file = os.open(folder / LOCK_NAME, os.O_RDWR | os.O_CREAT, 0o600)
        try:
            fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            holder = os.pread(self._file, 20, 0).decode("ascii", "replace").strip() or "?"
            os.close(self._file)
            raise StoreError(IN_USE, value=folder, holder=holder) from error
        self._sign()

    def release(self) -> None:
        """Release the folder to other processes; a second call does nothing."""
        if self._file >= 0:
            os.close(self._file)
            self._file = -1

    def _sign(self) -> None:
        """Write the process id, which a second process names when it is refused."""
        try:
            os.ftruncate(self._file, 0)
            os.pwrite(self._file, str(os.getpid()).encode("ascii"), 0)
        except OSError:  # a full disk: the folder is locked even so
            return
