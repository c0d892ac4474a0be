"""Settings: nothing else reads the environment or the folders on the command line."""

import os
from dataclasses import dataclass, field
from pathlib import Path

DATA_VARIABLE = "ROLLPROOF_DATA"
CARDS_VARIABLE = "ROLLPROOF_CARDS"
TOKEN_VARIABLE = "ROLLPROOF_TOKEN"  # noqa: S105  the name of a variable
PLATFORM_VARIABLE = "ROLLPROOF_PLATFORM"
WEBHOOK_VARIABLE = "ROLLPROOF_WEBHOOK"
PORT_VARIABLE = "ROLLPROOF_WEBHOOK_PORT"
KEY_VARIABLE = "ROLLPROOF_KEY"
STAMPER_VARIABLE = "ROLLPROOF_STAMPER"
STAMPER_ROOT_VARIABLE = "ROLLPROOF_STAMPER_ROOT"
OPINION_VARIABLE = "ROLLPROOF_OPINION"
DEFAULT_DATA = "rollproof-data"
DEFAULT_PORT = "8081"


@dataclass(frozen=True, slots=True)
class Settings:
    """The paths and services of a company.

    Parameters
    ----------
    data
        The data folder, with the record of a single company; a single process uses it.
    cards
        The folder of cards; None for the demo company.
    key
        The file of the signing key; None for a file next to the data folder, named after it.
    stamper, stamper_root
        The address of a time-stamping service, and the file of its root certificate; None for
        no stamps.
    opinion
        The folder of a network for a second opinion on voice notes; None without it.
    """

    data: Path
    cards: Path | None = None
    key: Path | None = None
    stamper: str | None = None
    stamper_root: Path | None = None
    opinion: Path | None = None

    @property
    def key_file(self) -> Path:
        """The path of the signing key, outside the data folder unless set otherwise.

        Examples
        --------
        >>> Settings(Path("/srv/tow/rollproof-data")).key_file.as_posix()
        '/srv/tow/rollproof-data.key'
        """
        folder = self.data.resolve()
        return self.key or folder.with_name(f"{folder.name}.key")

    @property
    def seen_file(self) -> Path:
        """The file of the last checkpoint seen, next to the key."""
        return self.key_file.with_name(f"{self.key_file.stem}.seen")

    @property
    def head_file(self) -> Path:
        """The file of the last signed head, next to the key."""
        return head_file(self.key_file)


def head_file(key: Path) -> Path:
    """Return the file of the last signed head for a key file: next to it."""
    return key.with_name(f"{key.stem}.head")


def settings(data: str | None, cards: str | None, key: str | None = None) -> Settings:
    """Return the settings: the command line beats the environment, which beats the default."""
    return Settings(
        _path(data, DATA_VARIABLE) or Path(DEFAULT_DATA),
        _path(cards, CARDS_VARIABLE),
        _path(key, KEY_VARIABLE),
        os.environ.get(STAMPER_VARIABLE) or None,
        _path(None, STAMPER_ROOT_VARIABLE),
        _path(None, OPINION_VARIABLE),
    )


def _path(given: str | None, variable: str) -> Path | None:
    path = given or os.environ.get(variable)
    return Path(path) if path else None


@dataclass(frozen=True, slots=True)
class Air:
    """The chat platform: how to reach it, and how it reaches us.

    Parameters
    ----------
    token
        The bot's token, if the environment has it; never shown with the settings.
    platform
        The platform's address; None for its usual address.
    webhook, port
        The address to which the platform sends updates, and the port we listen on; without a
        webhook we poll.
    """

    token: str | None = field(default=None, repr=False)
    platform: str | None = None
    webhook: str | None = None
    port: str = DEFAULT_PORT


def air_settings() -> Air:
    """Return the settings of the chat platform, from the environment alone."""
    token, platform = os.environ.get(TOKEN_VARIABLE), os.environ.get(PLATFORM_VARIABLE)
    webhook = os.environ.get(WEBHOOK_VARIABLE)
    port = os.environ.get(PORT_VARIABLE) or DEFAULT_PORT
    return Air(token or None, platform or None, webhook or None, port)
