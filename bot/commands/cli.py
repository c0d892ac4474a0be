"""The command line: talk, start, lines, demo, explore, cards, figure, status, sheet, and more."""

import argparse
import sys
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from bot.commands import air, figure_parsers, packets, voice
from bot.commands.parts import (
    EXIT_FAILED,
    EXIT_INTERRUPTED,
    EXIT_OK,
    EXIT_USAGE,
    Commands,
    add,
    card_folder,
    folders,
    job_number,
)

if TYPE_CHECKING:
    from bot.desk.desk import Desk
    from bot.machine.clock import Clock
    from bot.record.store import Store


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; return 0 if all is well, 1 if something is wrong, 2 for misuse."""
    # Imports are inside the commands, so that help and first replies come at once.
    from bot.commands.outlet import outlets

    with outlets():
        return _run(parser().parse_args(arguments))


def _run(given: argparse.Namespace) -> int:
    from bot.record.errors import StoreError
    from flows.errors import FlowError
    from flows.texts.visible import visible

    command: Callable[[argparse.Namespace], int] = given.command
    try:
        return command(given)
    except StoreError as error:
        print(f"rollproof: {visible(str(error))}", file=sys.stderr)
        return EXIT_FAILED
    except FlowError as error:
        print(f"rollproof: {error}", file=sys.stderr)
        return EXIT_FAILED
    except BrokenPipeError:
        return EXIT_FAILED
    except KeyboardInterrupt:
        return EXIT_INTERRUPTED
    except OSError as error:
        print(
            f"rollproof: the output cannot be written ({error.strerror}). Nothing is lost; "
            "what was not shown is repeated at the next start.",
            file=sys.stderr,
        )
        return EXIT_FAILED


def parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    parser = argparse.ArgumentParser(
        prog="rollproof",
        description="The mate on the radio for a vehicle recovery. It asks, computes, keeps time "
        "and records; it cannot see. Follow the maker's guide, local law and company policy.",
        epilog="Example: rollproof talk",
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    _talk_parser(commands)
    air.parsers(commands)
    _lines_parser(commands)
    _demo_parser(commands)
    _explore_parser(commands)
    _cards_parsers(commands)
    figure_parsers.parsers(commands)
    _job_parsers(commands)
    packets.parsers(commands)
    voice.parsers(commands)
    return parser


def _talk_parser(commands: Commands) -> None:
    parser = add(commands, "talk", "Talk with the bot in this terminal.", "rollproof talk", _talk)
    folders(parser)
    parser.add_argument(
        "--as",
        dest="who",
        default="driver:you",
        metavar="ROLE:NAME",
        help="you: driver:, dispatcher: or owner: and a name (default: driver:you)",
    )
    parser.add_argument(
        "--speak",
        metavar="DIR",
        help="speak replies; write them as files to DIR if nothing here can play them",
    )


def _lines_parser(commands: Commands) -> None:
    parser = add(
        commands,
        "lines",
        "Talk with a program: one JSON object per line, in and out.",
        "rollproof lines --data rollproof-data --clock given < script.jsonl",
        _lines,
    )
    folders(parser)
    parser.add_argument(
        "--clock",
        choices=("system", "given"),
        default="system",
        help="given: time passes only as the input says (default: system)",
    )
    parser.add_argument(
        "--seed",
        default="1",
        help="makes a scripted record repeatable, with a given clock (default: 1)",
    )
    parser.add_argument(
        "--schema", action="store_true", help="print the JSON schema of the lines, and exit"
    )


def _demo_parser(commands: Commands) -> None:
    parser = add(
        commands, "demo", "Play a recorded conversation.", "rollproof demo plain_carry", _demo
    )
    parser.add_argument("name", nargs="?", help="the conversation (default: list their names)")


def _explore_parser(commands: Commands) -> None:
    parser = add(
        commands,
        "explore",
        "Check the safety rules in every reachable state.",
        "rollproof explore",
        _explore,
    )
    parser.add_argument(
        "--deep",
        type=int,
        default=0,
        choices=(0, 1),
        help="disturbances per job (default: 0; 1 takes long)",
    )
    parser.add_argument(
        "--width",
        default="places",
        choices=("all", "values", "places"),
        help="where to try them: in all states, in enough states to show every "
        "value, or in one state per place in the routine (default: places)",
    )
    parser.add_argument(
        "--section",
        metavar="NAME",
        help="with --deep 1, try them only while this section asks: minutes instead of hours",
    )


def _cards_parsers(commands: Commands) -> None:
    parser = commands.add_parser(
        "cards",
        help="Check the company's cards, show a card, draft a card.",
        description="Check the company's cards, show a card, draft a card.",
        epilog="Example: rollproof cards check demo_data",
    )
    inner = parser.add_subparsers(required=True, metavar="COMMAND")
    checks = add(
        inner,
        "check",
        "Check every card in a folder, and list all errors.",
        "rollproof cards check demo_data",
        _cards_check,
    )
    checks.add_argument(
        "dir",
        nargs="?",
        metavar="DIR",
        help="the folder: company.toml, vehicles, trucks, gear (default: "
        "ROLLPROOF_CARDS, or else the demo company)",
    )
    shows = add(
        inner, "show", "Show a card as a page.", "rollproof cards show harrow", _cards_show
    )
    shows.add_argument("card", metavar="CARD", help="the card's name or id, or company")
    card_folder(shows)
    drafts = add(
        inner,
        "draft",
        "Draft a card from a job without a card, to complete and approve.",
        "rollproof cards draft 1",
        _cards_draft,
    )
    drafts.add_argument("job", type=job_number, help="the job's number")
    folders(drafts)


def _job_parsers(commands: Commands) -> None:
    status = add(commands, "status", "Show the state of each job.", "rollproof status", _status)
    folders(status)
    trail = add(commands, "trail", "Show a job's time line.", "rollproof trail 1", _trail)
    trail.add_argument("job", type=job_number, help="the job's number")
    folders(trail)
    sheet = add(
        commands,
        "sheet",
        "List the steps ahead in a job, to take along.",
        "rollproof sheet 1 --page sheet.html",
        _sheet,
    )
    sheet.add_argument("job", type=job_number, help="the job's number")
    sheet.add_argument("--page", metavar="FILE", help="write it to an HTML file, to print")
    folders(sheet)


def _talk(given: argparse.Namespace) -> int:
    from pathlib import Path

    from bot.channels import talk
    from bot.commands.bootstrap import book_for, open_desk
    from bot.machine.clock import SystemClock
    from bot.machine.settings import settings
    from bot.voice.speak import Aloud

    chosen = settings(given.data, given.cards, given.key)
    book = book_for(chosen)
    desk, store = open_desk(chosen, book, talk.CHANNEL)
    with store:
        clock = SystemClock(book.library.company.zone)
        aloud = None if given.speak is None else Aloud(Path(given.speak))
        say = None if aloud is None else aloud.say
        try:
            if sys.stdin.isatty():
                return _talk_in_terminal(desk, store, clock, given.who, say)
            conversation = talk.Talk(desk, store, clock, given.who, talk.Plain())
            conversation.aloud = say
            talk.run(conversation, clock)
        finally:
            if aloud is not None:
                aloud.close()
    return EXIT_OK


def _talk_in_terminal(
    desk: "Desk", store: "Store", clock: "Clock", who: str, say: Callable[[str], None] | None
) -> int:
    import asyncio

    from bot.channels import talk, terminal
    from bot.channels.waiting import Timers

    screen = terminal.Screen()
    conversation = talk.Talk(desk, store, clock, who, screen)
    conversation.aloud = say
    asyncio.run(terminal.converse(conversation, Timers(conversation, clock), screen))
    return EXIT_OK


def _lines(given: argparse.Namespace) -> int:
    from bot.channels import lines

    if given.schema:
        return _print_schema()
    from bot.commands.bootstrap import CHANCE, book_for, open_desk, scripted
    from bot.machine.clock import GivenClock, SystemClock
    from bot.machine.settings import settings

    chosen = settings(given.data, given.cards, given.key)
    book = book_for(chosen)
    is_given = given.clock == "given"
    secrets = scripted(given.seed) if is_given else CHANCE
    desk, store = open_desk(chosen, book, lines.CHANNEL, secrets=secrets)
    zone = book.library.company.zone
    with store:
        channel = lines.Lines(desk, store, chosen.data, sys.stdout)
        if is_given:
            sys.stdin.reconfigure(errors="replace")  # type: ignore[union-attr]  # a text file
            lines.serve_given(channel, GivenClock(zone), sys.stdin)
        else:
            lines.serve(channel, SystemClock(zone), sys.stdin.fileno())
    return EXIT_OK


def _print_schema() -> int:
    import json

    from bot.channels.lines_out_form import schema

    print(json.dumps(schema(), indent=2, sort_keys=True))
    return EXIT_OK


def _demo(given: argparse.Namespace) -> int:
    from bot.commands.demo import names, play

    if given.name is None or given.name not in names():
        print("\n".join(names()))
        return EXIT_OK if given.name is None else EXIT_USAGE
    for line in play(given.name):
        print(line)
    return EXIT_OK


def _explore(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import read_cards
    from flows.explore.report import main_report

    def watch(states: int, transitions: int, waiting: int) -> None:
        line = f"states {states}, transitions {transitions}, still to do {waiting}"
        print(line, file=sys.stderr, flush=True)

    text, holds = main_report(given.deep, given.width, read_cards(None), watch, given.section)
    print(text)
    return EXIT_OK if holds else EXIT_FAILED


def _cards_check(given: argparse.Namespace) -> int:
    from bot.commands.cards import check_folder
    from bot.machine.settings import settings

    lines, is_ok = check_folder(settings(None, given.dir).cards)
    print("\n".join(lines))
    return EXIT_OK if is_ok else EXIT_FAILED


def _cards_show(given: argparse.Namespace) -> int:
    from bot.commands.cards import show
    from bot.machine.settings import settings

    print(show(given.card, settings(None, given.cards).cards))
    return EXIT_OK


def _cards_draft(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import book_for
    from bot.commands.cards import draft_of
    from bot.machine.settings import settings
    from bot.record.reader import open_reader

    chosen = settings(given.data, given.cards, given.key)
    with open_reader(chosen.data) as reader:
        print(draft_of(given.job, reader, book_for(chosen)), end="")
    return EXIT_OK


def _status(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import book_for
    from bot.desk.trail import status_lines
    from bot.machine.settings import settings
    from bot.record.reader import open_reader

    chosen = settings(given.data, given.cards, given.key)
    with open_reader(chosen.data) as reader:
        print("\n".join(status_lines(reader, book_for(chosen))))
    return EXIT_OK


def _trail(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import book_for
    from bot.desk.trail import trail_lines
    from bot.machine.settings import settings
    from bot.record.reader import open_reader
    from flows.texts import sentences

    chosen = settings(given.data, given.cards, given.key)
    with open_reader(chosen.data) as reader:
        lines = trail_lines(reader, book_for(chosen), given.job)
    if not lines:
        text = sentences()["trail"]["no_such_job"].format(number=given.job)
        print(f"rollproof: {text}", file=sys.stderr)
        return EXIT_FAILED
    print("\n".join(lines))
    return EXIT_OK


def _sheet(given: argparse.Namespace) -> int:
    from pathlib import Path

    from bot.commands.bootstrap import book_for
    from bot.desk.trail import sheet_lines
    from bot.machine.settings import settings
    from bot.record.reader import open_reader

    chosen = settings(given.data, given.cards)
    page = None if given.page is None else Path(given.page)
    with open_reader(chosen.data) as reader:
        lines, is_there = sheet_lines(reader, book_for(chosen), given.job, page)
    print("\n".join(lines), file=sys.stdout if is_there else sys.stderr)
    return EXIT_OK if is_there else EXIT_FAILED


if __name__ == "__main__":
    sys.exit(main())
