"""Everything a company's channel works with: record, desk, crew and clock, put together once."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from bot.desk.company_messages import CompanyMessages
from bot.desk.crew import Crew
from bot.desk.desk import Desk
from bot.desk.ears import Ears
from bot.machine.clock import Clock
from bot.record.store import Store
from flows.routine.book import Book

Packet = Callable[[int, Path], object]


@dataclass(frozen=True)
class Company:
    """An open data folder: one company, one process.

    Parameters
    ----------
    book
        The routine and its cards.
    desk, store, clock
        Its desk, its record, and the clock of this machine.
    zone
        Its time zone.
    channel
        The channel's name in inbox and outbox.
    key
        The company's own key, for marks that nobody else can make.
    packet
        Writes a job's packet to a file; may take seconds, and opens the record for itself.
    ears
        Hears voice notes; None if they are not heard.
    """

    book: Book
    desk: Desk
    store: Store
    clock: Clock
    zone: str
    channel: str
    key: bytes
    packet: Packet
    ears: Ears | None = None
    crew: Crew = field(init=False)
    messages: CompanyMessages = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "crew", Crew(self.store))
        object.__setattr__(self, "messages", CompanyMessages(self.store, self.zone, self.channel))
        self.crew.refresh()
