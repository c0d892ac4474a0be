"""The commands about the chat platform: serve there, and check that all is well."""

import argparse
import sys
from pathlib import Path

from bot.commands.parts import EXIT_FAILED, EXIT_OK, Commands, add, folders


def parsers(commands: Commands) -> None:
    """Add the commands about the chat platform."""
    start = add(
        commands,
        "start",
        "Serve the crew on the chat platform.",
        "rollproof start --data rollproof-data",
        _start,
    )
    folders(start)
    doctor = add(
        commands,
        "doctor",
        "Check a data folder, its settings and the platform.",
        "rollproof doctor --data rollproof-data",
        _doctor,
    )
    folders(doctor)


def _start(given: argparse.Namespace) -> int:
    import asyncio
    from getpass import getpass

    from bot.channels.telegram import CHANNEL
    from bot.channels.telegram.serve import BadTokenError, serve
    from bot.channels.telegram.service import SecondProgramError
    from bot.channels.telegram.transport import PLATFORM, Api
    from bot.channels.telegram.webhook import BadHookError, hook_of
    from bot.commands.bootstrap import open_company
    from bot.commands.proving import packet_for_chat
    from bot.machine.logs import log_to
    from bot.machine.secret_files import NoTokenError, read_token
    from bot.machine.settings import air_settings, settings
    from flows.texts import air_texts

    chosen, air = settings(given.data, given.cards, given.key), air_settings()
    log_to()

    def ask() -> str:
        return getpass(air_texts()["start"]["token"])

    try:
        token = read_token(chosen.data, air.token, ask if sys.stdin.isatty() else None)
        hook = None if air.webhook is None else hook_of(air.webhook, air.port)
        company = open_company(chosen, CHANNEL, packet_for_chat)
        with company.store:
            api = Api(token, air.platform or PLATFORM)
            asyncio.run(serve(company, api, _print_now, hook=hook))
    except (NoTokenError, BadTokenError, BadHookError, SecondProgramError) as error:
        print(f"rollproof: {error}", file=sys.stderr)
        return EXIT_FAILED
    return EXIT_OK


def _print_now(text: str) -> None:
    print(text, flush=True)


def _doctor(given: argparse.Namespace) -> int:
    from bot.commands.doctor import examine
    from bot.machine.settings import settings
    from flows.texts import air_texts

    chosen = settings(given.data, given.cards, given.key)
    folder, texts, is_well = chosen.data, air_texts()["doctor"], True
    for finding in examine(folder, lambda: _name_at_platform(folder), chosen.opinion):
        print(texts["well" if finding.is_well else "ill"].format(says=finding.says))
        is_well = is_well and finding.is_well
    return EXIT_OK if is_well else EXIT_FAILED


def _name_at_platform(folder: Path) -> str | None:
    import asyncio

    from bot.channels.telegram.serve import who_we_are
    from bot.channels.telegram.transport import PLATFORM, Api
    from bot.machine.secret_files import NoTokenError, read_token
    from bot.machine.settings import air_settings

    air = air_settings()
    try:
        token = read_token(folder, air.token, None)
    except NoTokenError:
        return None
    return asyncio.run(who_we_are(Api(token, air.platform or PLATFORM)))
