"""Settings: the only reader of the environment and of the command line's folders."""

import os
from dataclasses import dataclass
from pathlib import Path

DATA_VARIABLE = "ROLLPROOF_DATA"
CARDS_VARIABLE = "ROLLPROOF_CARDS"
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
