"""The platform's rates: how many messages and edits it takes, and what it says when it takes none.

Its page on limits names about 30 a second to all, one a second to a chat with short bursts, and 20
a minute to a group. What it counts exactly it does not say: here each call counts that changes a
chat, and a chat may have five at once.
"""

import math
from collections import Counter, deque
from collections.abc import Callable
from dataclasses import dataclass, field

from tests.standin.faults import ApiError
from tests.standin.world import Chat

ALL_PER_S, ALL_BURST = 30, 60
CHAT_PER_S, CHAT_BURST = 1, 5
GROUP_PER_MIN = 20


@dataclass
class Limits:
    """Counts what goes to each chat, by a clock of its own [s]."""

    now: Callable[[], float]
    refused: Counter[int] = field(default_factory=Counter)
    _times: dict[int, deque[float]] = field(default_factory=dict)

    def count(self, chat: Chat) -> None:
        """Count one message or edit, or refuse it."""
        windows = [(0, ALL_BURST / ALL_PER_S, ALL_BURST)]
        if chat.type == "private":
            windows.append((chat.id, CHAT_BURST / CHAT_PER_S, CHAT_BURST + CHAT_BURST))
        else:
            windows.append((chat.id, 60.0, GROUP_PER_MIN))
        for key, window_s, most in windows:
            times = self._times.setdefault(key, deque())
            while times and times[0] <= self.now() - window_s:
                times.popleft()
            if len(times) >= most:
                self.refused[chat.id] += 1
                wait_s = max(1, math.ceil(times[0] + window_s - self.now()))
                words = f"Too Many Requests: retry after {wait_s}"
                raise ApiError(429, words, retry_after=wait_s)
        for key, *_ in windows:
            self._times[key].append(self.now())
