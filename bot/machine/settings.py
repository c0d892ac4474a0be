"""Settings: the only reader of the environment and of the command line's folders."""

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
    """Where the record and the cards are.

    Parameters
    ----------
    data
        The data folder: one company, one record, one process.
    cards
        The folder of cards; None for the demo company.
    key
        The file of the signing key; None for one beside the data folder, named after it.
    stamper, stamper_root
        The address of a time-stamping service, and the file of its root certificate; None for
        no stamps.
    opinion
        The folder of a network that gives a second opinion on voice notes; None for none.
    """

    data: Path
    cards: Path | None = None
    key: Path | None = None
    stamper: str | None = None
    stamper_root: Path | None = None
    opinion: Path | None = None

    @property
    def key_file(self) -> Path:
        """Where the signing key lies: never in the data folder.

        Examples
        --------
        >>> Settings(Path("/srv/tow/rollproof-data")).key_file.as_posix()
        '/srv/tow/rollproof-data.key'
        """
        folder = self.data.resolve()
        return self.key or folder.with_name(f"{folder.name}.key")

    @property
    def seen_file(self) -> Path:
        """Where the last checkpoint is kept apart from the record: beside the key."""
        return self.key_file.with_name(f"{self.key_file.stem}.seen")


def settings(data: str | None, cards: str | None, key: str | None = None) -> Settings:
    """Return the settings: the command line beats the environment, which beats the default."""
    folder = data or os.environ.get(DATA_VARIABLE) or DEFAULT_DATA
    shelf = cards or os.environ.get(CARDS_VARIABLE)
    file = key or os.environ.get(KEY_VARIABLE)
    root = os.environ.get(STAMPER_ROOT_VARIABLE)
    opinion = os.environ.get(OPINION_VARIABLE)
    return Settings(
        Path(folder),
        Path(shelf) if shelf else None,
        Path(file) if file else None,
        os.environ.get(STAMPER_VARIABLE) or None,
        Path(root) if root else None,
        Path(opinion) if opinion else None,
    )


@dataclass(frozen=True, slots=True)
class Air:
    """The chat platform: the token where the environment gives one, and another address.

    Parameters
    ----------
    token
        Of the bot; kept out of every text that shows settings.
    platform
        The platform's address; None for its own.
    webhook, port
        Where the platform brings updates, and where we listen for them; None to ask for them.
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
