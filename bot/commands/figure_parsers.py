"""The commands about figures."""

import argparse
from pathlib import Path

from bot.commands import scene_parsers
from bot.commands.parts import (
    EXIT_OK,
    Commands,
    add,
    card_folder,
    drawing_file,
    truck_and_vehicle,
    truck_card,
)


def parsers(commands: Commands) -> None:
    """Add the commands about figures."""
    parser = commands.add_parser(
        "figure", help="Compute a figure and show its working.",
        description="Compute a figure and show its working.",
        epilog="Example: rollproof figure margin --truck wren --vehicle harrow",
    )  # fmt: skip
    inner = parser.add_subparsers(required=True, metavar="COMMAND")
    _margin_parser(inner)
    _loading_parser(inner)
    _winch_parser(inner)
    _pull_parser(inner)
    _rigging_parser(inner)
    scene_parsers.parsers(inner)
    page = add(inner, "page", "Write every formula with its worked example as a page.",
               "rollproof figure page --out figures.html", _page)  # fmt: skip
    page.add_argument("--out", type=Path, required=True, metavar="FILE", help="HTML to write")
    vin = add(inner, "vin", "Read a VIN and check it for mistakes.",
               "rollproof figure vin 1111 1111 1111 1111 1", _vin)  # fmt: skip
    vin.add_argument("vin", nargs="+", metavar="VIN", help="typed, or spelled out in words")
    vin.add_argument("--heavy", action="store_true",
                     help="not a car, and not a light truck up to 10,000 lb GVWR")  # fmt: skip


def _margin_parser(commands: Commands) -> None:
    margin = add(
        commands, "margin", "Whether a truck can take a vehicle, where on the deck, and why.",
        "rollproof figure margin --truck wren --vehicle harrow --weight 4600lb --nose toward",
        _margin,
    )  # fmt: skip
    truck_and_vehicle(margin)
    _vehicle_options(margin, "")
    margin.add_argument("--second", metavar="NAME", help="card of a vehicle on the wheel lift")
    _vehicle_options(margin, "second-")
    margin.add_argument("--at", metavar="LENGTH", help="nearest end behind the headboard")
    margin.add_argument("--aboard", action="append", default=[], metavar="PIECE",
                        help='aboard since the ticket: "blocks, 120 lb, 150 in", behind the front '
                        "axle")  # fmt: skip
    margin.add_argument("--left", action="append", default=[], metavar="NAME",
                        help="a piece on the card that is not aboard")  # fmt: skip
    margin.add_argument("--passengers", type=int, choices=range(7), default=0, metavar="COUNT",
                        help="in the cab, not counted on the ticket")  # fmt: skip
    margin.add_argument("--recovery", action="store_true",
                        help="to the nearest repair facility: no legal limits")  # fmt: skip
    drawing_file(margin)
    card_folder(margin)


def _vehicle_options(parser: argparse.ArgumentParser, of: str) -> None:
    _weighed(parser, of)
    parser.add_argument(f"--{of}contents", metavar="WEIGHT", help="weight of the load in it")
    parser.add_argument(f"--{of}bed", metavar="WEIGHT", help="weight of the load on its bed")
    parser.add_argument(f"--{of}sure", action="store_true", help="an unusual weight is right")


def _weighed(parser: argparse.ArgumentParser, of: str = "") -> None:
    parser.add_argument(f"--{of}weight", metavar="WEIGHT",
                        help="one or a range, with its unit (default: the card's)")  # fmt: skip
    parser.add_argument(f"--{of}how", choices=("label", "ticket"), default="label",
                        help="where that weight comes from (default: label)")  # fmt: skip
    parser.add_argument(f"--{of}nose", choices=("toward", "away"),
                        help="toward or away from the truck")  # fmt: skip


def _loading_parser(commands: Commands) -> None:
    loading = add(
        commands, "loading", "How light the front axle gets while a vehicle is winched up.",
        "rollproof figure loading --truck wren --vehicle harrow --nose toward", _loading,
    )  # fmt: skip
    truck_and_vehicle(loading)
    _weighed(loading)
    loading.add_argument("--at", metavar="LENGTH",
                         help="nearest end behind the headboard, once loaded "
                         "(default: the margin's best)")  # fmt: skip
    loading.add_argument("--slides", metavar="WEIGHT",
                         help="that slides with the deck (default: the card's)")  # fmt: skip
    drawing_file(loading)
    card_folder(loading)


def _margin(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import book_for
    from bot.commands.figure import Asked, Vehicle, margin_lines
    from bot.machine.settings import settings

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
    print("\n".join(margin_lines(asked, book_for(settings(None, given.cards)), given.drawing)))
    return EXIT_OK


def _loading(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import book_for
    from bot.commands.figure import Vehicle
    from bot.commands.figure_loading import LoadingAsked, loading_lines
    from bot.machine.settings import settings

    vehicle = Vehicle(given.vehicle, given.weight, given.how, given.nose)
    asked = LoadingAsked(given.truck, vehicle, given.at, given.slides)
    print("\n".join(loading_lines(book_for(settings(None, given.cards)), asked, given.drawing)))
    return EXIT_OK


def _vin(given: argparse.Namespace) -> int:
    from bot.commands.figure import vin_lines

    print("\n".join(vin_lines(given.vin, is_light=not given.heavy)))
    return EXIT_OK


def _page(given: argparse.Namespace) -> int:
    from bot.commands.worked import write_worked

    print(write_worked(given.out))
    return EXIT_OK


def _winch_parser(commands: Commands) -> None:
    winch = add(
        commands, "winch", "With how many parts of line a winch is strong enough.",
        "rollproof figure winch --truck wren --pull 9000lb --reach 20ft --distance 15ft", _winch,
    )  # fmt: skip
    truck_card(winch)
    winch.add_argument("--pull", required=True, metavar="WEIGHT", help="pull the vehicle needs")
    winch.add_argument("--reach", required=True, metavar="LENGTH", help="winch to vehicle")
    winch.add_argument("--distance", required=True, metavar="LENGTH", help="how far it is pulled")
    winch.add_argument("--model", choices=("army", "plain", "roller", "handbook"), default="army",
                       help="whose model of sheave loss (default: army)")  # fmt: skip
    card_folder(winch)


def _pull_parser(commands: Commands) -> None:
    pull = add(
        commands, "pull", "What it takes to pull a vehicle on a surface and up a slope.",
        "rollproof figure pull --weight 5000lb --surface gravel --grade 20", _pull,
    )  # fmt: skip
    pull.add_argument("--weight", required=True, metavar="WEIGHT", help="of the vehicle")
    pull.add_argument("--surface", required=True, metavar="WORDS", help="as the table calls it")
    pull.add_argument("--table", choices=("supplier", "commonwealth", "trade", "army"),
                      default="supplier", help="whose table (default: supplier)")  # fmt: skip
    pull.add_argument("--grade", type=int, default=0, metavar="PERCENT", help="uphill, 0 to 100")
    pull.add_argument("--locked", choices=("none", "half", "most"), default="none",
                      help="axles with wheels that do not turn (default: none)")  # fmt: skip


def _rigging_parser(commands: Commands) -> None:
    rigging = add(
        commands, "rigging", "What a block and a bridle bear of a line pull.",
        "rollproof figure rigging --line 5000lb --gear snatch_blocks", _rigging,
    )  # fmt: skip
    rigging.add_argument("--line", required=True, metavar="WEIGHT", help="pull of the line")
    rigging.add_argument("--block-angle", type=int, default=0, metavar="DEGREES",
                         help="between the lines at the block (default: 0)")  # fmt: skip
    rigging.add_argument("--bridle-angle", type=int, default=60, metavar="DEGREES",
                         help="between the legs of the bridle (default: 60)")  # fmt: skip
    rigging.add_argument("--gear", action="append", default=[], metavar="NAME",
                         help="a block or a bridle by its card")  # fmt: skip
    drawing_file(rigging)
    card_folder(rigging)


def _winch(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import book_for
    from bot.commands.figure_rigging import PullAsked, winch_lines
    from bot.machine.settings import settings

    book = book_for(settings(None, given.cards))
    asked = PullAsked(given.truck, given.pull, given.reach, given.distance, given.model)
    print("\n".join(winch_lines(book, asked)))
    return EXIT_OK


def _pull(given: argparse.Namespace) -> int:
    from bot.commands.figure_rigging import pull_lines

    asked = (given.weight, given.surface, given.table, given.grade, given.locked)
    print("\n".join(pull_lines(*asked)))
    return EXIT_OK


def _rigging(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import book_for
    from bot.commands.figure_rigging import rigging_lines
    from bot.machine.settings import settings

    book = book_for(settings(None, given.cards))
    degrees = given.block_angle, given.bridle_angle
    print("\n".join(rigging_lines(book, given.line, degrees, given.gear, given.drawing)))
    return EXIT_OK
