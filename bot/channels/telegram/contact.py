"""Contact with the platform: when it last answered, and how long to wait after a failure."""

import logging
from collections.abc import Callable

from telegram.error import Conflict

from bot.machine.clock import Clock

LOG = logging.getLogger(__name__)
QUIET_MS = 90_000
FIRST_WAIT_S, LONGEST_WAIT_S = 1.0, 30.0


class Contact:
    """Counts failures, and reports a long silence of the platform once it is over.

    Parameters
    ----------
    clock
        Dates the last contact.
    silence
        Called after a silence with its start and end [ms UTC].
    """

    def __init__(self, clock: Clock, silence: Callable[[int, int], None]) -> None:
        self._clock = clock
        self._silence = silence
        self._fails = 0
        self._heard_ms = clock.now().wall_ms

    def heard(self) -> None:
        """Note that the platform answered or called."""
        now = self._clock.now().wall_ms
        since, self._heard_ms = self._heard_ms, now
        if self._fails and now - since >= QUIET_MS:
            self._silence(since, now)

    def well(self) -> None:
        """Note that an exchange with it is complete."""
        self._fails = 0

    def failed(self, error: Exception) -> float:
        """Count a failure; return how long to wait before the next try [s]."""
        self._fails += 1
        kind = type(error).__name__
        if isinstance(error, Conflict):
            LOG.error("another program polls with this bot's token; stop the other one")
        else:
            LOG.warning("the platform was not reached (%s), %s times in a row", kind, self._fails)
        return float(min(LONGEST_WAIT_S, FIRST_WAIT_S * 1.5 ** (self._fails - 1)))
