"""The commands about keeping: retention and erasure, holds, copies, restoring a copy."""

import argparse
import sys
from typing import TYPE_CHECKING

from bot.commands.parts import EXIT_FAILED, EXIT_OK, Commands, add, folders, job_number

if TYPE_CHECKING:
    from bot.record.store import Store
    from flows.job.events import Moment


def parsers(commands: Commands) -> None:
    """Add the commands about keeping."""
    parser = add(
        commands,
        "keep",
        "List data past its retention time; erase it, or hold a job.",
        "rollproof keep",
        _keep,
    )
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--erase", action="store_true", help="erase the data listed")
    which.add_argument(
        "--hold", type=job_number, metavar="JOB", help="keep all of a job until its release"
    )
    which.add_argument("--release", type=job_number, metavar="JOB", help="end a job's hold")
    parser.add_argument(
        "--why", default="", metavar="TEXT", help="the reason for a hold or its end"
    )
    folders(parser)
    parser = add(
        commands,
        "backup",
        "Copy the record and its files, even while in use.",
        "rollproof backup copy-of-today",
        _backup,
    )
    parser.add_argument("to", metavar="DIR", help="the new folder for the copy")
    folders(parser)
    parser = add(
        commands,
        "restore",
        "Restore a lost record from a copy.",
        "rollproof restore copy-of-today",
        _restore,
    )
    parser.add_argument("copy", metavar="DIR", help="a copy made by rollproof backup")
    folders(parser)


def _keep(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import opened_record
    from bot.machine.settings import settings
    from bot.record.keeping import Hold, hold
    from flows.texts import packet_texts

    texts = packet_texts()["kept"]
    job = given.hold or given.release
    chosen, writes = settings(given.data, given.cards, given.key), job is not None or given.erase
    with opened_record(chosen, is_bound=writes) as (store, clock, zone):
        now = clock.now()
        if job is not None:
            hold(store, Hold(job, given.why, given.hold is not None), now, zone)
            print(texts["held" if given.hold else "released"].format(job=job))
            return EXIT_OK
        _expired(store, now, zone, erases=given.erase)
    return EXIT_OK


def _expired(store: "Store", now: "Moment", zone: str, *, erases: bool) -> None:
    """List what is past its retention time, and erase it if that is asked for."""
    from bot.record.keeping import erase, expired, in_words
    from flows.texts import packet_texts

    texts, found = packet_texts()["kept"], list(expired(store, now.wall_ms))
    print("\n".join(in_words(store, found)))
    for old in found if erases else []:
        erase(store, old, now, zone)
    if found:
        print(texts["done" if erases else "say_so"])


def _backup(given: argparse.Namespace) -> int:
    from pathlib import Path

    from bot.machine.settings import settings
    from bot.packet.checking import check_files
    from bot.record.copies import back_up
    from bot.record.reader import open_reader
    from flows.texts import packet_texts

    count = back_up(settings(given.data, given.cards, given.key).data, Path(given.to))
    print(packet_texts()["kept"]["backed_up"].format(path=given.to, files=count))
    with open_reader(Path(given.to)) as reader:
        wrong = check_files(reader).wrong
    for line in wrong:
        print(line, file=sys.stderr)
    return EXIT_FAILED if wrong else EXIT_OK


def _restore(given: argparse.Namespace) -> int:
    from pathlib import Path

    from bot.commands.proving import restore
    from bot.machine.settings import settings
    from flows.texts import packet_texts

    texts = packet_texts()["kept"]
    chosen = settings(given.data, given.cards, given.key)
    lost = restore(chosen, Path(given.copy))
    print(texts["restored"].format(path=chosen.data))
    for job, seq in lost:
        print(texts["lost"].format(job=job, seq=seq))
    return EXIT_OK
