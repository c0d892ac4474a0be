"""Fetching files from the platform: by its own path only, of the size it named, whole."""

import re

from telegram.error import BadRequest, NetworkError

from bot.channels.telegram.transport import Api
from bot.channels.telegram.updates import File
from bot.record.media import LARGEST

# The library takes a path that exists under the working directory for a file already here; this
# one is only ever put behind the platform's own address.
_PATH = re.compile(r"[A-Za-z0-9_\-]+(/[A-Za-z0-9_\-.]*[A-Za-z0-9_\-])+", re.ASCII)


class NoFileError(Exception):
    """A file that will not come, however often it is asked for; says which sentence fits."""


async def fetch(api: Api, file: File) -> bytes:
    """Return a file's bytes.

    Raises
    ------
    NoFileError
        When it is too large, gone, or its path or size is not as the platform said.
    telegram.error.TelegramError
        When it did not come this time.
    """
    if file.size is not None and file.size > LARGEST:
        raise NoFileError("big_file")
    try:
        found = await api.raw("getFile", file_id=file.id)
    except BadRequest as error:
        raise NoFileError("big_file" if "too big" in error.message else "no_file") from error
    path, size = str(found.get("file_path", "")), found.get("file_size")
    if not _PATH.fullmatch(path) or ".." in path:
        raise NoFileError("no_file")
    data = await api.file(path, LARGEST)
    if size is not None and len(data) != size:
        raise NetworkError(f"the file came with {len(data)} bytes of {size}")
    return data
