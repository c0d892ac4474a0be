"""The secrets in the data folder: the bot's token and the folder's own key."""

import os
import re
import secrets
from collections.abc import Callable
from pathlib import Path

TOKEN_FILE, KEY_FILE = "token", "key"
KEY_BYTES = 32
TOKEN_FORM = re.compile(r"\d{3,20}:[A-Za-z0-9_-]{30,100}", re.ASCII)


class NoTokenError(Exception):
    """There is no usable token; the message says what to do, and never contains a token."""


def read_token(folder: Path, given: str | None, ask: Callable[[], str] | None) -> str:
    """Return the bot's token: as given, else as kept, else as asked for; keep a new token.

    Parameters
    ----------
    folder
        The data folder; made if it does not exist.
    given
        From the environment.
    ask
        Asks at the terminal, without showing the typing; None without a terminal.

    Raises
    ------
    NoTokenError
        When there is no token, or it does not have a token's form.
    """
    path = folder / TOKEN_FILE
    kept = path.read_text("utf-8").strip() if path.is_file() else ""
    token = (given or kept or (ask() if ask else "")).strip()
    if not token:
        raise NoTokenError(
            "there is no token. Make a bot on the platform, then start again and type its token, "
            "or set ROLLPROOF_TOKEN."
        )
    if not TOKEN_FORM.fullmatch(token):
        raise NoTokenError(
            "this does not look like a token; allowed: a number, a colon, and at least 30 "
            f"letters, digits, - or _. Copy all of it. A kept token is in {path}."
        )
    if token != kept:
        _write(path, token.encode("ascii"))
    return token


def company_key(folder: Path) -> bytes:
    """Return the folder's own key, made at the first start."""
    path = folder / KEY_FILE
    if not path.is_file():
        _write(path, secrets.token_bytes(KEY_BYTES))
    return path.read_bytes()


def _write(path: Path, content: bytes) -> None:
    """Write a file that only its owner can read, completely or not at all."""
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    partial = path.with_suffix(".partial")
    partial.unlink(missing_ok=True)
    with os.fdopen(os.open(partial, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    partial.replace(path)
