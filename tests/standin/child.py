"""`rollproof start` at a stand-in, without the platform's rates: to be killed, or measured.

python -m tests.standin.child FOLDER PLATFORM TOKEN
"""

import asyncio
import sys
from pathlib import Path

from bot.channels.telegram import CHANNEL
from bot.channels.telegram.intake import account_of
from bot.channels.telegram.pacing import Pace
from bot.channels.telegram.serve import serve
from bot.channels.telegram.transport import Api
from bot.commands.bootstrap import open_company
from bot.commands.proving import packet_for_chat
from bot.desk.batches import Cause
from bot.machine.logs import log_to
from bot.machine.settings import Settings
from bot.record.rows import COMPANY, Chat, NewEntry
from flows.job.entries import Private
from flows.routine.carry import CARRY, Routine
from tests.standin.phones import UNBOUNDED


def enrol(folder: Path, crew: dict[int, str]) -> None:
    """Enrol people by their accounts, as an owner's approvals do."""
    company = open_company(Settings(folder), CHANNEL, packet_for_chat)
    with company.store:
        for number, (account, chat) in enumerate(crew.items(), 1):
            role, _, name = chat.partition(":")
            person = f"p{number}"
            body = {"person": person, "role": role, "name": Private(name),
                    "account": Private(account_of(account))}  # fmt: skip
            company.messages.write(
                Cause(company.clock.now()),
                (),
                [NewEntry(COMPANY, "enrolled", body, person)],
                [Chat(chat, person, role)],
            )


def main(routine: Routine = CARRY) -> None:
    folder, platform, token = sys.argv[1:]
    log_to()
    company = open_company(Settings(Path(folder)), CHANNEL, packet_for_chat, routine)
    with company.store:
        asyncio.run(serve(company, Api(token, platform), lambda _text: None, Pace(UNBOUNDED)))


if __name__ == "__main__":
    main()
