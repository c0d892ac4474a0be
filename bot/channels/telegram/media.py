"""Fetching files from the platform: only by its own path, complete, of the size it named."""

import re

from telegram.error import BadRequest, NetworkError

from bot.channels.telegram.transport import Api
from bot.channels.telegram.updates import File
from bot.record.media import LARGEST

# The library treats a path that exists under the working directory as a local file; this path is
# only ever appended to the platform's own address.
_PATH = re.compile(r"[A-Za-z0-9_\-]+(/[A-Za-z0-9_\-.]*[A-Za-z0-9_\-])+", re.ASCII)


class NoFileError(Exception):
    """A file that will never come; names the sentence that says why."""


async def fetch(api: Api, file: File) -> bytes:
    """Return a file's bytes.

    Raises
    ------
    NoFileError
        If it is too large or gone, or the platform gave a path that is none of its own.
    telegram.error.TelegramError
        If it did not come this time.
    """
    if file.size is not None and file.size > LARGEST:
        raise NoFileError("big_file")
    try:
        found = await api.raw("getFile", file_id=file.id)
    except BadRequest as error:
        raise NoFileError("big_file" if "too big" in error.message else "no_file") from error
    path, size = str(found.get("file_path", "")), found.get("file_size")
    if not _is_path(path):
        raise NoFileError("no_file")
    data = await api.file(path, LARGEST)
    if size is not None and len(data) != size:
        raise NetworkError(f"the file came with {len(data)} bytes of {size}")
    return data


def _is_path(path: str) -> bool:
    return _PATH.fullmatch(path) is not None and ".." not in path
