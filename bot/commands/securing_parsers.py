"""The commands about tie-downs in general, and about groups of axles."""

import argparse

from bot.commands.parts import EXIT_OK, Commands, add

KINDS = {"chain": "chain", "webbing": "webbing", "rope": "wire rope"}
COUNTS = {"direct": "direct", "same-side": "same side", "other-side": "other side"}


def parsers(commands: Commands) -> None:
    """Add the commands about tie-downs in general, and about groups of axles."""
    _limit_parser(commands)
    _securing_parser(commands)
    _bridge_parser(commands)


def _limit_parser(commands: Commands) -> None:
    limit = add(
        commands,
        "limit",
        "Default working load limit of a tie-down without a mark.",
        "rollproof figure limit --kind webbing --size 2in",
        _limit,
    )
    limit.add_argument("--kind", choices=tuple(KINDS), required=True, help="kind of tie-down")
    limit.add_argument(
        "--size", required=True, metavar="LENGTH", help="diameter, or width of webbing"
    )
    limit.add_argument(
        "--grade", type=int, metavar="GRADE", help="grade of a chain (default: not marked)"
    )


def _securing_parser(commands: Commands) -> None:
    securing = add(
        commands,
        "securing",
        "Compare a number of equal tie-downs on any article with the rules.",
        "rollproof figure securing --weight 11000lb --length 20ft --count 4 --limit 6600lb",
        _securing,
    )
    securing.add_argument("--weight", required=True, metavar="WEIGHT", help="of the article")
    securing.add_argument("--length", required=True, metavar="LENGTH", help="of the article")
    securing.add_argument(
        "--count", type=int, required=True, metavar="COUNT", help="number of tie-downs"
    )
    securing.add_argument(
        "--limit", required=True, metavar="WEIGHT", help="working load limit of each"
    )
    securing.add_argument(
        "--counts",
        choices=tuple(COUNTS),
        default="same-side",
        help="truck to cargo, over and back to the same side, or over to the other side "
        "(default: same-side)",
    )
    securing.add_argument(
        "--blocked", action="store_true", help="something keeps it from moving forward"
    )
    securing.add_argument(
        "--percent",
        type=int,
        default=50,
        metavar="PERCENT",
        help="part of the weight that they have to add up to (default: 50, the rule's)",
    )


def _bridge_parser(commands: Commands) -> None:
    bridge = add(
        commands,
        "bridge",
        "What a group of axles may carry by the bridge formula.",
        "rollproof figure bridge --axles 3 --length 20ft",
        _bridge,
    )
    bridge.add_argument(
        "--axles", type=int, required=True, metavar="COUNT", help="axles of the group, 2 to 9"
    )
    bridge.add_argument(
        "--length", required=True, metavar="LENGTH", help="from the first axle to the last"
    )


def _limit(given: argparse.Namespace) -> int:
    from bot.commands.typed import size_64in
    from flows.figures.result_pages import result_page
    from flows.figures.securing import limit

    found = limit(KINDS[given.kind], size_64in("--size", given.size), given.grade)
    print("\n".join(result_page(found)))
    return EXIT_OK


def _securing(given: argparse.Namespace) -> int:
    from bot.commands.typed import length_in, weight
    from flows.figures.result_pages import result_page
    from flows.figures.securing import securing
    from flows.figures.tiedowns import Tiedown

    one = Tiedown("tie-down", (weight("--limit", given.limit).low,), COUNTS[given.counts])
    found = securing(
        weight("--weight", given.weight).high,
        length_in("--length", given.length, is_up=True),
        [one] * given.count,
        is_blocked=given.blocked,
        part_pct=given.percent,
    )
    print("\n".join(result_page(found)))
    return EXIT_OK


def _bridge(given: argparse.Namespace) -> int:
    from bot.commands.typed import length_in
    from flows.figures.legal import bridge
    from flows.figures.result_pages import result_page

    found = bridge(given.axles, length_in("--length", given.length, is_up=False))
    print("\n".join(result_page(found)))
    return EXIT_OK
