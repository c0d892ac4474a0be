"""The commands about figures."""

import argparse

from bot.cli_parts import EXIT_OK, Commands, add


def parsers(commands: Commands) -> None:
    """Add the commands about figures."""
    parser = commands.add_parser(
        "figure", help="Compute a figure and show its working.",
        description="Compute a figure and show its working.",
        epilog="Example: rollproof figure margin --truck wren --vehicle harrow",
    )  # fmt: skip
    inner = parser.add_subparsers(required=True, metavar="COMMAND")
    _margin_parser(inner)
    vin = add(inner, "vin", "What a vehicle number says, and what looks wrong with it.",
               "rollproof figure vin 1111 1111 1111 1111 1", _vin)  # fmt: skip
    vin.add_argument("vin", nargs="+", metavar="VIN", help="typed, or spelled out in words")
    vin.add_argument("--heavy", action="store_true",
                     help="no car and no light truck of 10,000 lb GVWR at most")  # fmt: skip


def _margin_parser(commands: Commands) -> None:
    margin = add(
        commands, "margin", "Whether a truck can take a vehicle, where on the deck, and why.",
        "rollproof figure margin --truck wren --vehicle harrow --weight 4600lb --nose toward",
        _margin,
    )  # fmt: skip
    margin.add_argument("--truck", required=True, metavar="NAME", help="the truck's card")
    margin.add_argument("--vehicle", required=True, metavar="NAME", help="the vehicle's card")
    _vehicle_options(margin, "")
    margin.add_argument("--second", metavar="NAME", help="card of a vehicle on the wheel lift")
    _vehicle_options(margin, "second-")
    margin.add_argument("--at", metavar="LENGTH", help="nearest end behind the headboard")
    margin.add_argument("--aboard", action="append", default=[], metavar="PIECE",
                        help='aboard since the ticket: "blocks, 120 lb, 150 in", behind the front '
                        "axle")  # fmt: skip
    margin.add_argument("--left", action="append", default=[], metavar="NAME",
                        help="a piece on the card that was left behind")  # fmt: skip
    margin.add_argument("--passengers", type=int, choices=range(7), default=0, metavar="COUNT",
                        help="in the cab, whom the ticket does not have")  # fmt: skip
    margin.add_argument("--recovery", action="store_true",
                        help="to the nearest repair facility: no legal limit")  # fmt: skip
    margin.add_argument("--drawing", metavar="FILE", help="write the drawing, an SVG file")
    margin.add_argument("--cards", metavar="DIR", help="cards folder (default: demo company)")


def _vehicle_options(parser: argparse.ArgumentParser, of: str) -> None:
    parser.add_argument(f"--{of}weight", metavar="WEIGHT",
                        help="one or a range, with its unit (default: the card's)")  # fmt: skip
    parser.add_argument(f"--{of}how", choices=("label", "ticket"), default="label",
                        help="where that weight stands (default: label)")  # fmt: skip
    parser.add_argument(f"--{of}nose", choices=("toward", "away"),
                        help="toward or away from the truck")  # fmt: skip
    parser.add_argument(f"--{of}contents", metavar="WEIGHT", help="weight of what is in it")
    parser.add_argument(f"--{of}bed", metavar="WEIGHT", help="weight of what is on its bed")
    parser.add_argument(f"--{of}sure", action="store_true", help="an unusual weight is right")


def _margin(given: argparse.Namespace) -> int:
    from pathlib import Path

    from bot.bootstrap import book_for
    from bot.figure import Asked, Vehicle, margin_lines
    from bot.settings import settings

    def vehicle(name: str, of: str) -> Vehicle:
        parts = ("weight", "how", "nose", "contents", "bed", "sure")
        return Vehicle(name, *(getattr(given, f"{of}{part}") for part in parts))

    asked = Asked(
        given.truck,
        vehicle(given.vehicle, ""),
        None if given.second is None else vehicle(given.second, "second_"),
        aboard=tuple(given.aboard),
        left=tuple(given.left),
        passengers=given.passengers,
        at=given.at,
        is_recovery=given.recovery,
    )
    drawing = None if given.drawing is None else Path(given.drawing)
    print("\n".join(margin_lines(asked, book_for(settings(None, given.cards)), drawing)))
    return EXIT_OK


def _vin(given: argparse.Namespace) -> int:
    from bot.figure import vin_lines

    print("\n".join(vin_lines(given.vin, is_light=not given.heavy)))
    return EXIT_OK
