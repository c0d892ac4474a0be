"""Parts that the commands of the command line share."""

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TypeAlias

EXIT_OK, EXIT_FAILED, EXIT_USAGE, EXIT_INTERRUPTED = 0, 1, 2, 130
MOST_JOBS = 999_999_999
Commands: TypeAlias = "argparse._SubParsersAction[argparse.ArgumentParser]"  # noqa: SLF001  its only name


def add(
    commands: Commands,
    name: str,
    says: str,
    example: str,
    command: Callable[[argparse.Namespace], int],
) -> argparse.ArgumentParser:
    """Add a command: its name, description, an example, and the function it runs."""
    parser = commands.add_parser(name, help=says, description=says, epilog=f"Example: {example}")
    parser.set_defaults(command=command)
    return parser


def card_folder(parser: argparse.ArgumentParser) -> None:
    """Add the option for the folder of cards."""
    parser.add_argument("--cards", metavar="DIR", help="folder of cards (default: demo company)")


def truck_card(parser: argparse.ArgumentParser) -> None:
    """Add the option that names a truck."""
    parser.add_argument("--truck", required=True, metavar="NAME", help="the truck's card")


def truck_and_vehicle(parser: argparse.ArgumentParser) -> None:
    """Add the options that name a truck and a vehicle."""
    truck_card(parser)
    parser.add_argument("--vehicle", required=True, metavar="NAME", help="the vehicle's card")


def drawing_file(parser: argparse.ArgumentParser) -> None:
    """Add the option for the file of a drawing."""
    parser.add_argument(
        "--drawing", type=Path, metavar="FILE", help="write the drawing, as .svg or .png"
    )


def folders(parser: argparse.ArgumentParser) -> None:
    """Add the options for data folder, cards and key."""
    parser.add_argument(
        "--data", metavar="DIR", help="data folder with the record (default: rollproof-data)"
    )
    card_folder(parser)
    parser.add_argument(
        "--key", metavar="FILE", help="signing key (default: next to the data folder)"
    )


def job_number(text: str) -> int:
    """Read a job number."""
    number = int(text) if text.isdecimal() and len(text) < 12 else 0
    if not 1 <= number <= MOST_JOBS:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a job number; allowed: 1 to {MOST_JOBS}"
        )
    return number
