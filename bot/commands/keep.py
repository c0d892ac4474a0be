"""The commands about keeping: what has had its time, holds, copies, and putting one back."""

import argparse

from bot.commands.parts import EXIT_OK, Commands, add, folders, job_number


def parsers(commands: Commands) -> None:
    """Add the commands about keeping."""
    parser = add(commands, "keep", "Show what has had its time; erase it, or hold a job.",
                 "rollproof keep", _keep)  # fmt: skip
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--erase", action="store_true", help="erase the values shown")
    which.add_argument(
        "--hold", type=job_number, metavar="JOB", help="put a job on hold: erase nothing in it"
    )
    which.add_argument("--release", type=job_number, metavar="JOB", help="end a job's hold")
    parser.add_argument("--why", default="", metavar="TEXT", help="why you set or end a hold")
    folders(parser)
    parser = add(commands, "backup", "Copy the record and its files, also while it is in use.",
                 "rollproof backup copy-of-today", _backup)  # fmt: skip
    parser.add_argument("to", metavar="DIR", help="a folder that does not exist yet")
    folders(parser)
    parser = add(commands, "restore", "Put a copy in the place of a record that is gone.",
                 "rollproof restore copy-of-today", _restore)  # fmt: skip
    parser.add_argument("copy", metavar="DIR", help="a folder that backup made")
    folders(parser)


def _keep(given: argparse.Namespace) -> int:
    from bot.commands.bootstrap import opened_record
    from bot.machine.settings import settings
    from bot.record.keeping import Hold, erase, expired, hold, in_words
    from flows.texts import packet_texts

    texts = packet_texts()["kept"]
    with opened_record(settings(given.data, given.cards, given.key)) as (store, clock, zone):
        now = clock.now()
        job = given.hold or given.release
        if job is not None:
            hold(store, Hold(job, given.why, given.hold is not None), now, zone)
            print(texts["held" if given.hold else "released"].format(job=job))
            return EXIT_OK
        found = list(expired(store, now.wall_ms))
        print("\n".join(in_words(store, found)))
        for old in found if given.erase else []:
            erase(store, old, now, zone)
        if found:
            print(texts["done" if given.erase else "say_so"])
    return EXIT_OK


def _backup(given: argparse.Namespace) -> int:
    from pathlib import Path

    from bot.machine.settings import settings
    from bot.record.copies import back_up
    from flows.texts import packet_texts

    count = back_up(settings(given.data, given.cards, given.key).data, Path(given.to))
    print(packet_texts()["kept"]["backed_up"].format(path=given.to, files=count))
    return EXIT_OK


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
