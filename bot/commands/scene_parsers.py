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
        commands, "window", "Whether a pull is over before a neutral hold is.",
        "rollproof figure window --truck wren --reach 20ft --distance 15ft --speed 10 --hold 30",
        _window,
    )  # fmt: skip
    truck_card(window)
    window.add_argument("--reach", required=True, metavar="LENGTH", help="winch to vehicle")
    window.add_argument("--distance", required=True, metavar="LENGTH", help="how far it is pulled")
    window.add_argument("--parts", type=int, default=1, metavar="COUNT",
                        help="parts of line (default: 1)")  # fmt: skip
    window.add_argument("--speed", type=int, required=True, metavar="FEET",
                        help="feet a minute on the first layer, as measured")  # fmt: skip
    window.add_argument("--hold", type=int, required=True, metavar="MINUTES",
                        help="how long neutral holds")  # fmt: skip
    drawing_file(window)
    card_folder(window)


def _tiedowns_parser(commands: Commands) -> None:
    ties = add(
        commands, "tiedowns", "What a strap at each wheel is held against, and with one lost.",
        "rollproof figure tiedowns --weight 5000lb --gear wheel_straps --date 2026-03-01",
        _tiedowns,
    )  # fmt: skip
    ties.add_argument("--weight", required=True, metavar="WEIGHT", help="of the vehicle")
    ties.add_argument("--gear", required=True, metavar="NAME", help="the strap's card")
    ties.add_argument("--up", type=int, default=40, metavar="DEGREES",
                      help="of a strap's end above the deck (default: 40)")  # fmt: skip
    ties.add_argument("--aside", type=int, default=20, metavar="DEGREES",
                      help="of a strap's end from the line of travel (default: 20)")  # fmt: skip
    ties.add_argument("--date", type=date.fromisoformat, required=True, metavar="DATE",
                      help="today, to check for inspections that are due")  # fmt: skip
    drawing_file(ties)
    card_folder(ties)


def _lift_parser(commands: Commands) -> None:
    lift = add(
        commands, "lift", "What a wheel lift and dollies bear, and what the front axle keeps.",
        "rollproof figure lift --truck mallet --vehicle harrow --end front", _lift,
    )  # fmt: skip
    truck_and_vehicle(lift)
    lift.add_argument("--end", choices=("front", "rear"), required=True, help="the end to lift")
    lift.add_argument("--weight", metavar="WEIGHT",
                      help="one or a range, with its unit (default: the card's)")  # fmt: skip
    lift.add_argument("--how", choices=("label", "ticket"), default="label",
                      help="where that weight comes from (default: label)")  # fmt: skip
    lift.add_argument("--dollies", metavar="NAME", help="card of the set under the other axle")
    lift.add_argument("--date", type=date.fromisoformat, metavar="DATE",
                      help="today, to check for inspections that are due")  # fmt: skip
    drawing_file(lift)
    card_folder(lift)


def _charge_parser(commands: Commands) -> None:
    charge = add(commands, "charge", "How full a lead-acid battery is, by its voltage at rest.",
                 "rollproof figure charge --volts 12.4V --temperature 50", _charge)  # fmt: skip
    charge.add_argument("--volts", required=True, metavar="VOLTS", help="at rest, with the unit")
    charge.add_argument("--temperature", type=int, default=80, metavar="DEGREES",
                        help="of the battery, Fahrenheit (default: 80)")  # fmt: skip
    charge.add_argument("--kind", choices=("lead-acid", "lithium"), default="lead-acid",
                        help="of the battery (default: lead-acid)")  # fmt: skip


def _distance_parsers(commands: Commands) -> None:
    devices = add(commands, "devices", "Where the warning devices stand.",
                  "rollproof figure devices --road divided", _scene)  # fmt: skip
    devices.add_argument("--road", choices=("two-way", "divided"), required=True,
                         help="two-way, or divided and one-way")  # fmt: skip
    devices.set_defaults(what="devices", names=("road",))
    taper = add(commands, "taper", "How long the taper of a closed lane is.",
                "rollproof figure taper --mph 45 --width 12", _scene)  # fmt: skip
    taper.add_argument("--mph", type=int, required=True, dest="speed_mph", metavar="SPEED",
                       help="miles an hour")  # fmt: skip
    taper.add_argument("--width", type=int, required=True, dest="width_ft", metavar="FEET",
                       help="how far traffic is moved aside")  # fmt: skip
    taper.set_defaults(what="taper", names=("speed_mph", "width_ft"))
    storage = add(commands, "storage", "How far a damaged electric vehicle stands from others.",
                  "rollproof figure storage --nearest 40", _scene)  # fmt: skip
    storage.add_argument("--nearest", type=int, required=True, dest="nearest_ft", metavar="FEET",
                         help="to the nearest structure, vehicle or "
                         "anything that burns")  # fmt: skip
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
    asked = StrapsAsked(given.weight, given.gear, (given.up, given.aside), given.date)
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
