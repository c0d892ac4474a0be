"""The commands about figures."""

import argparse
from pathlib import Path

from bot.commands import scene_parsers, securing_parsers
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
        "figure",
        help="Compute a figure, and show the working.",
        description="Compute a figure, and show the working.",
        epilog="Example: rollproof figure margin --truck wren --vehicle harrow",
    )
    inner = parser.add_subparsers(required=True, metavar="COMMAND")
    _margin_parser(inner)
    _loading_parser(inner)
    _winch_parser(inner)
    _pull_parser(inner)
    _rigging_parser(inner)
    scene_parsers.parsers(inner)
    securing_parsers.parsers(inner)
    page = add(
        inner,
        "page",
        "Write every formula with its worked example as a page.",
        "rollproof figure page --out figures.html",
        _page,
    )
    page.add_argument(
        "--out", type=Path, required=True, metavar="FILE", help="the HTML file to write"
    )
    vin = add(
        inner,
        "vin",
        "Decode a vehicle identification number, and check it.",
        "rollproof figure vin 1111 1111 1111 1111 1",
        _vin,
    )
    vin.add_argument("vin", nargs="+", metavar="VIN", help="typed, or spelled out in words")
    vin.add_argument(
        "--heavy",
        action="store_true",
        help="neither a car nor a light truck (10,000 lb GVWR at most)",
    )


def _margin_parser(commands: Commands) -> None:
    margin = add(
        commands,
        "margin",
        "Decide whether a truck can take a vehicle, where on the deck, and why.",
        "rollproof figure margin --truck wren --vehicle harrow --weight 4600lb --nose toward",
        _margin,
    )
    truck_and_vehicle(margin)
    _vehicle_options(margin, "")
    margin.add_argument(
        "--second", metavar="NAME", help="card of a second vehicle, on the wheel lift"
    )
    _vehicle_options(margin, "second-")
    margin.add_argument(
        "--at",
        metavar="LENGTH",
        help="from the headboard to the nearest end (default: the best position)",
    )
    margin.add_argument(
        "--aboard",
        action="append",
        default=[],
        metavar="PIECE",
        help="aboard since the ticket, with its distance behind the front axle: "
        '"blocks, 120 lb, 150 in"',
    )
    margin.add_argument(
        "--left",
        action="append",
        default=[],
        metavar="NAME",
        help="a piece on the truck's card that was left behind",
    )
    margin.add_argument(
        "--passengers",
        type=int,
        choices=range(7),
        default=0,
        metavar="COUNT",
        help="people in the cab that the ticket does not include",
    )
    margin.add_argument(
        "--recovery",
        action="store_true",
        help="bound for the nearest repair facility: no legal weight limits",
    )
    drawing_file(margin)
    card_folder(margin)


def _vehicle_options(parser: argparse.ArgumentParser, of: str) -> None:
    _weighed(parser, of)
    parser.add_argument(f"--{of}contents", metavar="WEIGHT", help="weight of things inside it")
    parser.add_argument(f"--{of}bed", metavar="WEIGHT", help="weight of things on its bed")
    parser.add_argument(f"--{of}sure", action="store_true", help="an unusual weight is right")


def _weighed(parser: argparse.ArgumentParser, of: str = "") -> None:
    parser.add_argument(
        f"--{of}weight",
        metavar="WEIGHT",
        help="a weight or a range, with its unit (default: the card's)",
    )
    parser.add_argument(
        f"--{of}how",
        choices=("label", "ticket"),
        default="label",
        help="the source of that weight (default: label)",
    )
    parser.add_argument(
        f"--{of}nose",
        choices=("toward", "away"),
        help="which way it faces (default: not known, the worse counts)",
    )


def _loading_parser(commands: Commands) -> None:
    loading = add(
        commands,
        "loading",
        "How light the truck's front axle gets while a vehicle is winched up.",
        "rollproof figure loading --truck wren --vehicle harrow --nose toward",
        _loading,
    )
    truck_and_vehicle(loading)
    _weighed(loading)
    loading.add_argument(
        "--at",
        metavar="LENGTH",
        help="final distance from the headboard to the nearest end (default: the margin's best)",
    )
    loading.add_argument(
        "--slides", metavar="WEIGHT", help="weight that slides with the deck (default: the card's)"
    )
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
        commands,
        "winch",
        "Find how many parts of line a winch needs for a pull.",
        "rollproof figure winch --truck wren --pull 9000lb --reach 20ft --distance 15ft",
        _winch,
    )
    truck_card(winch)
    winch.add_argument("--pull", required=True, metavar="WEIGHT", help="the pull needed")
    winch.add_argument("--reach", required=True, metavar="LENGTH", help="winch to vehicle")
    winch.add_argument("--distance", required=True, metavar="LENGTH", help="how far it is pulled")
    winch.add_argument(
        "--model",
        choices=("army", "plain", "roller", "handbook"),
        default="army",
        help="the model of the loss in a sheave (default: army)",
    )
    card_folder(winch)


def _pull_parser(commands: Commands) -> None:
    pull = add(
        commands,
        "pull",
        "The force needed to pull a vehicle over a surface and up a slope.",
        "rollproof figure pull --weight 5000lb --surface gravel --grade 20",
        _pull,
    )
    pull.add_argument("--weight", required=True, metavar="WEIGHT", help="weight of the vehicle")
    pull.add_argument("--surface", metavar="WORDS", help="the surface, by its name in the table")
    pull.add_argument(
        "--part",
        type=int,
        metavar="PERCENT",
        help="in place of a surface: resistance in percent of the weight, 1 to 400",
    )
    pull.add_argument(
        "--table",
        choices=("supplier", "commonwealth", "trade", "army"),
        default="supplier",
        help="the table of resistances (default: supplier)",
    )
    pull.add_argument(
        "--grade",
        type=int,
        default=0,
        metavar="PERCENT",
        help="slope, uphill, 0 to 100 (default: 0)",
    )
    pull.add_argument(
        "--degrees",
        type=int,
        default=0,
        metavar="DEGREES",
        help="the same in degrees, 0 to 45 (default: 0)",
    )
    pull.add_argument(
        "--locked",
        choices=("none", "half", "most"),
        default="none",
        help="share of the wheels that do not turn (default: none)",
    )


def _rigging_parser(commands: Commands) -> None:
    rigging = add(
        commands,
        "rigging",
        "Loads on a block and a bridle from a line pull.",
        "rollproof figure rigging --line 5000lb --gear snatch_blocks",
        _rigging,
    )
    rigging.add_argument("--line", required=True, metavar="WEIGHT", help="pull of the line")
    rigging.add_argument(
        "--block-angle",
        type=int,
        default=0,
        metavar="DEGREES",
        help="angle between the lines at the block (default: 0)",
    )
    rigging.add_argument(
        "--bridle-angle",
        type=int,
        default=60,
        metavar="DEGREES",
        help="angle between the legs of the bridle (default: 60)",
    )
    rigging.add_argument(
        "--gear",
        action="append",
        default=[],
        metavar="NAME",
        help="card of a block or a bridle to compare with",
    )
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
    from bot.commands.figure_rigging import GroundAsked, pull_lines

    slope = given.grade, given.degrees
    ground = GroundAsked(given.surface, given.table, given.part, *slope, given.locked)
    print("\n".join(pull_lines(given.weight, ground)))
    return EXIT_OK


def _rigging(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import book_for
    from bot.commands.figure_rigging import rigging_lines
    from bot.machine.settings import settings

    book = book_for(settings(None, given.cards))
    degrees = given.block_angle, given.bridle_angle
    print("\n".join(rigging_lines(book, given.line, degrees, given.gear, given.drawing)))
    return EXIT_OK
