"""The commands about proof: packets, checks, keys, keeping and copies."""

import argparse
import sys

from bot.commands import keep
from bot.commands.parts import EXIT_FAILED, EXIT_OK, Commands, add, folders, job_number

MANY_FILES = 20


def parsers(commands: Commands) -> None:
    """Add the commands about proof."""
    _packet_parser(commands)
    _stamp_parser(commands)
    _verify_parser(commands)
    _key_parsers(commands)
    keep.parsers(commands)


def _packet_parser(commands: Commands) -> None:
    parser = add(
        commands,
        "packet",
        "Write a job's record to a file that others can verify.",
        "rollproof packet 1",
        _packet,
    )
    parser.add_argument("job", type=job_number, help="the job's number")
    parser.add_argument(
        "--out", metavar="PATH", help="a file or a folder (default: job-N.zip here)"
    )
    parser.add_argument(
        "--customer",
        action="store_true",
        help="the customer's copy: without names and spoken words",
    )
    parser.add_argument(
        "--no-stamp", action="store_true", help="do not ask the time-stamping service"
    )
    parser.add_argument("--seed", help="the seed of a scripted record, instead of a key")
    folders(parser)


def _stamp_parser(commands: Commands) -> None:
    parser = add(
        commands, "stamp", "Time-stamp the newest root over all jobs.", "rollproof stamp", _stamp
    )
    folders(parser)


def _stamp(given: argparse.Namespace) -> int:
    from bot.commands.proving import stamp_newest
    from bot.machine.settings import settings
    from bot.record.stamping import time_of
    from flows.texts import packet_texts

    texts = packet_texts()["told"]
    made = stamp_newest(settings(given.data, given.cards, given.key))
    if made is None:
        print(texts["no_root"])
        return EXIT_OK
    root, stamp = made
    print(texts["stamped"].format(seq=root.seq, time=time_of(stamp).isoformat(" ")))
    return EXIT_OK


def _verify_parser(commands: Commands) -> None:
    parser = add(
        commands,
        "verify",
        "Verify a packet, or the whole record.",
        "rollproof verify job-1.zip",
        _verify,
    )
    parser.add_argument(
        "packet",
        nargs="?",
        metavar="PACKET",
        help="a packet's zip or folder (default: the whole record)",
    )
    parser.add_argument(
        "--receipt",
        default="",
        metavar="TEXT",
        help='a receipt it must match: "job N entries N root HEX"',
    )
    parser.add_argument(
        "--signed-by",
        default="",
        metavar="FINGERPRINT",
        help="the fingerprint of the key it must be signed with",
    )
    parser.add_argument(
        "--json", action="store_true", help="print one JSON object instead of text"
    )
    folders(parser)


def _key_parsers(commands: Commands) -> None:
    parser = commands.add_parser(
        "key",
        help="Show the signing key, or replace it.",
        description="Show the signing key, or replace it.",
        epilog="Example: rollproof key show",
    )
    inner = parser.add_subparsers(required=True, metavar="COMMAND")
    shows = add(
        inner, "show", "Show the key's file and its fingerprint.", "rollproof key show", _key_show
    )
    folders(shows)
    rotates = add(
        inner,
        "rotate",
        "Make a new key, signed by the old key.",
        "rollproof key rotate",
        _key_rotate,
    )
    rotates.add_argument(
        "--lost", action="store_true", help="the old key is lost: record that instead"
    )
    folders(rotates)


def _key_show(given: argparse.Namespace) -> int:
    from bot.commands.proving import read_signer
    from bot.machine.settings import settings
    from bot.record.arithmetic import fingerprint
    from flows.texts import sentences

    chosen = settings(given.data, given.cards, given.key)
    mark = fingerprint(read_signer(chosen).public)
    print(sentences()["sealed"]["key"].format(path=chosen.key_file, mark=mark))
    return EXIT_OK


def _key_rotate(given: argparse.Namespace) -> int:
    from bot.commands.proving import rotate_key
    from bot.machine.settings import settings
    from bot.record.arithmetic import fingerprint
    from flows.texts import sentences

    chosen = settings(given.data, given.cards, given.key)
    mark = fingerprint(rotate_key(chosen, is_lost=given.lost).public)
    print(sentences()["sealed"]["rotated"].format(path=chosen.key_file, mark=mark))
    return EXIT_OK


def _packet(given: argparse.Namespace) -> int:
    from dataclasses import replace
    from pathlib import Path

    from bot.commands.proving import make_customer_copy, make_packet
    from bot.machine.settings import settings
    from flows.texts import packet_texts
    from flows.texts.visible import visible

    texts = packet_texts()
    name = texts["file"]["customer" if given.customer else "name"].format(job=given.job)
    out = Path(given.out or f"{name}.zip")
    if out.is_dir():
        out /= f"{name}.zip"
    chosen = settings(given.data, given.cards, given.key)
    if given.no_stamp:
        chosen = replace(chosen, stamper=None)
    maker = make_customer_copy if given.customer else make_packet
    made = maker(chosen, given.job, out, _progress, seed=given.seed)
    print(texts["told"]["made"].format(path=out, files=made.files, manifest=made.manifest))
    for line in (*made.wrong, *made.left_out):
        print(visible(line.strip()), file=sys.stderr)
    return EXIT_FAILED if made.wrong else EXIT_OK


def _progress(done: int, of: int) -> None:
    """Show the progress of a large packet on a terminal."""
    is_told = done % MANY_FILES == 0 or done == of
    if of > MANY_FILES and is_told and sys.stderr.isatty():
        print(f"{done}/{of}", file=sys.stderr, flush=True)


def _verify(given: argparse.Namespace) -> int:
    from pathlib import Path

    from bot.machine.settings import settings
    from bot.packet.checking import check_packet, check_whole, json_text
    from flows.texts import packet_texts

    if given.packet is None:
        result = check_whole(settings(given.data, given.cards, given.key))
    else:
        result = check_packet(Path(given.packet), given.receipt, given.signed_by)
    print(json_text(result) if given.json else "\n".join(result.words(packet_texts()["checked"])))
    return result.code
