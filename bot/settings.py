"""Settings: the only reader of the environment and of the command line's folders."""

import os
from dataclasses import dataclass, field
from pathlib import Path

DATA_VARIABLE = "ROLLPROOF_DATA"
CARDS_VARIABLE = "ROLLPROOF_CARDS"
TOKEN_VARIABLE = "ROLLPROOF_TOKEN"  # noqa: S105  the name of a variable
PLATFORM_VARIABLE = "ROLLPROOF_PLATFORM"
DEFAULT_DATA = "rollproof-data"


@dataclass(frozen=True, slots=True)
class Settings:
    """Where the record and the cards are.

    Parameters
    ----------
    data
        The data folder: one company, one record, one process.
    cards
        The folder of cards; None for the demo company.
    """

    data: Path
    cards: Path | None = None


def settings(data: str | None, cards: str | None) -> Settings:
    """Return the settings: the command line beats the environment, which beats the default."""
    folder = data or os.environ.get(DATA_VARIABLE) or DEFAULT_DATA
    shelf = cards or os.environ.get(CARDS_VARIABLE)
    return Settings(Path(folder), Path(shelf) if shelf else None)


@dataclass(frozen=True, slots=True)
class Air:
    """The chat platform: the token where the environment gives one, and another address.

    Parameters
    ----------
    token
        Of the bot; kept out of every text that shows settings.
    platform
        The platform's address; None for its own.
    """

    token: str | None = field(default=None, repr=False)
    platform: str | None = None


def air_settings() -> Air:
    """Return the settings of the chat platform, from the environment alone."""
    token, platform = os.environ.get(TOKEN_VARIABLE), os.environ.get(PLATFORM_VARIABLE)
    return Air(token or None, platform or None)
