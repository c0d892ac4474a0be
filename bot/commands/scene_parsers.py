"""The commands about figures of the scene: the window, straps, the battery, distances."""

import argparse
from datetime import date

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
    """Add the commands about figures of the scene."""
    _window_parser(commands)
    _tiedowns_parser(commands)
    _lift_parser(commands)
    _charge_parser(commands)
    _distance_parsers(commands)


def _window_parser(commands: Commands) -> None:
    window = add(
        commands,
        "window",
        "Check that a pull ends before the neutral hold does.",
        "rollproof figure window --truck wren --reach 20ft --distance 15ft --speed 10 --hold 30",
        _window,
    )
    truck_card(window)
    window.add_argument("--reach", required=True, metavar="LENGTH", help="winch to vehicle")
    window.add_argument("--distance", required=True, metavar="LENGTH", help="how far it is pulled")
    window.add_argument(
        "--parts", type=int, default=1, metavar="COUNT", help="parts of line (default: 1)"
    )
    window.add_argument(
        "--speed",
        type=int,
        required=True,
        metavar="FEET",
        help="line speed on the first layer, as measured, in feet per minute",
    )
    window.add_argument(
        "--hold",
        type=int,
        required=True,
        metavar="MINUTES",
        help="how long the vehicle stays in neutral",
    )
    drawing_file(window)
    card_folder(window)


def _tiedowns_parser(commands: Commands) -> None:
    ties = add(
        commands,
        "tiedowns",
        "Compare a strap at each wheel with the rules, also with one strap lost.",
        "rollproof figure tiedowns --weight 5000lb --gear wheel_straps --date 2026-03-01",
        _tiedowns,
    )
    ties.add_argument("--weight", required=True, metavar="WEIGHT", help="weight of the vehicle")
    strap = ties.add_mutually_exclusive_group(required=True)
    strap.add_argument("--gear", metavar="NAME", help="the strap's card")
    strap.add_argument("--webbing", metavar="LENGTH", help="the width of webbing without a mark")
    ties.add_argument(
        "--up",
        type=int,
        default=40,
        metavar="DEGREES",
        help="angle of a strap above the deck (default: 40)",
    )
    ties.add_argument(
        "--aside",
        type=int,
        default=20,
        metavar="DEGREES",
        help="angle of a strap from the direction of travel (default: 20)",
    )
    ties.add_argument(
        "--date",
        type=date.fromisoformat,
        required=True,
        metavar="DATE",
        help="today, to tell overdue inspections",
    )
    drawing_file(ties)
    card_folder(ties)


def _lift_parser(commands: Commands) -> None:
    lift = add(
        commands,
        "lift",
        "Loads on wheel lift and dollies, and the load left on the front axle.",
        "rollproof figure lift --truck mallet --vehicle harrow --end front",
        _lift,
    )
    truck_and_vehicle(lift)
    lift.add_argument(
        "--end", choices=("front", "rear"), required=True, help="the end that is lifted"
    )
    lift.add_argument(
        "--weight",
        metavar="WEIGHT",
        help="a weight or a range, with its unit (default: the card's)",
    )
    lift.add_argument(
        "--how",
        choices=("label", "ticket"),
        default="label",
        help="the source of that weight (default: label)",
    )
    lift.add_argument("--dollies", metavar="NAME", help="card of the set under the other axle")
    lift.add_argument(
        "--date",
        type=date.fromisoformat,
        metavar="DATE",
        help="today, to tell overdue inspections",
    )
    drawing_file(lift)
    card_folder(lift)


def _charge_parser(commands: Commands) -> None:
    charge = add(
        commands,
        "charge",
        "State of charge of a lead-acid battery, from its voltage at rest.",
        "rollproof figure charge --volts 12.4V --temperature 50",
        _charge,
    )
    charge.add_argument(
        "--volts", required=True, metavar="VOLTS", help="voltage at rest, with its unit"
    )
    charge.add_argument(
        "--temperature",
        type=int,
        default=80,
        metavar="DEGREES",
        help="temperature of the battery, in Fahrenheit (default: 80)",
    )
    charge.add_argument(
        "--kind",
        choices=("lead-acid", "lithium"),
        default="lead-acid",
        help="kind of battery (default: lead-acid)",
    )


def _distance_parsers(commands: Commands) -> None:
    devices = add(
        commands,
        "devices",
        "Distances of the warning devices.",
        "rollproof figure devices --road divided",
        _scene,
    )
    devices.add_argument(
        "--road",
        choices=("two-way", "divided"),
        required=True,
        help="two-way, or divided and one-way",
    )
    devices.set_defaults(what="devices", names=("road",))
    taper = add(
        commands,
        "taper",
        "Length of the taper of a closed lane.",
        "rollproof figure taper --mph 45 --width 12",
        _scene,
    )
    taper.add_argument(
        "--mph",
        type=int,
        required=True,
        dest="speed_mph",
        metavar="SPEED",
        help="speed of traffic, in miles per hour",
    )
    taper.add_argument(
        "--width",
        type=int,
        required=True,
        dest="width_ft",
        metavar="FEET",
        help="how far traffic moves aside, in feet",
    )
    taper.set_defaults(what="taper", names=("speed_mph", "width_ft"))
    storage = add(
        commands,
        "storage",
        "Distance to keep around a damaged electric vehicle in storage.",
        "rollproof figure storage --nearest 40",
        _scene,
    )
    storage.add_argument(
        "--nearest",
        type=int,
        required=True,
        dest="nearest_ft",
        metavar="FEET",
        help="feet to the nearest structure, vehicle or combustible",
    )
    storage.set_defaults(what="storage", names=("nearest_ft",))


def _window(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import book_for
    from bot.commands.figure_rigging import PullAsked, window_lines
    from bot.machine.settings import settings

    book = book_for(settings(None, given.cards))
    asked = PullAsked(given.truck, "", given.reach, given.distance)
    pull = given.parts, given.speed, given.hold
    print("\n".join(window_lines(book, asked, pull, given.drawing)))
    return EXIT_OK


def _tiedowns(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import book_for
    from bot.commands.figure_rigging import StrapsAsked, tiedowns_lines
    from bot.machine.settings import settings

    book = book_for(settings(None, given.cards))
    asked = StrapsAsked(
        given.weight, given.gear, (given.up, given.aside), given.date, given.webbing
    )
    print("\n".join(tiedowns_lines(book, asked, given.drawing)))
    return EXIT_OK


def _lift(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import book_for
    from bot.commands.figure import Vehicle
    from bot.commands.figure_rigging import LiftAsked, lift_lines
    from bot.machine.settings import settings

    book = book_for(settings(None, given.cards))
    nose = {"front": "toward", "rear": "away"}[given.end]
    vehicle = Vehicle(given.vehicle, given.weight, given.how, nose)
    asked = LiftAsked(given.truck, vehicle, given.dollies, given.date)
    print("\n".join(lift_lines(book, asked, given.drawing)))
    return EXIT_OK


def _charge(given: argparse.Namespace) -> int:
    from bot.commands.figure_rigging import charge_lines

    print("\n".join(charge_lines(given.volts, given.temperature, given.kind)))
    return EXIT_OK


def _scene(given: argparse.Namespace) -> int:
    from bot.commands.figure_rigging import scene_lines

    print("\n".join(scene_lines(given.what, {one: getattr(given, one) for one in given.names})))
    return EXIT_OK
