"""The commands about proof: keys, packets, checks, keeping and copies."""

import argparse

from bot.cli_parts import EXIT_FAILED, EXIT_OK, Commands, add, folders


def parsers(commands: Commands) -> None:
    """Add the commands about proof."""
    _verify_parser(commands)
    _key_parsers(commands)


def _verify_parser(commands: Commands) -> None:
    verify = add(commands, "verify", "Check every chain of the record.", "rollproof verify",
                  _verify)  # fmt: skip
    folders(verify)


def _key_parsers(commands: Commands) -> None:
    parser = commands.add_parser(
        "key", help="The signing key: show it, or bring a new one into use.",
        description="The signing key: show it, or bring a new one into use.",
        epilog="Example: rollproof key show",
    )  # fmt: skip
    inner = parser.add_subparsers(required=True, metavar="COMMAND")
    shows = add(inner, "show", "Where the key lies, and its fingerprint.", "rollproof key show",
                 _key_show)  # fmt: skip
    folders(shows)
    rotates = add(inner, "rotate", "Make a new key; the old one signs for it.",
                   "rollproof key rotate", _key_rotate)  # fmt: skip
    rotates.add_argument("--lost", action="store_true", help="the old key is gone: say so")
    folders(rotates)


def _key_show(given: argparse.Namespace) -> int:
    from bot.bootstrap import read_signer
    from bot.packet.keys import fingerprint
    from bot.settings import settings
    from flows.texts import sentences

    chosen = settings(given.data, given.cards, given.key)
    mark = fingerprint(read_signer(chosen).public)
    print(sentences()["sealed"]["key"].format(path=chosen.key_file, mark=mark))
    return EXIT_OK


def _key_rotate(given: argparse.Namespace) -> int:
    from bot.bootstrap import rotate_key
    from bot.packet.keys import fingerprint
    from bot.settings import settings
    from flows.texts import sentences

    chosen = settings(given.data, given.cards, given.key)
    mark = fingerprint(rotate_key(chosen, is_lost=given.lost).public)
    print(sentences()["sealed"]["rotated"].format(path=chosen.key_file, mark=mark))
    return EXIT_OK


def _verify(given: argparse.Namespace) -> int:
    from bot.journal.reader import open_reader
    from bot.packet.seals import check_record
    from bot.settings import settings
    from flows.texts import sentences

    with open_reader(settings(given.data, given.cards, given.key).data) as reader:
        problems = reader.verify()
        heads = reader.heads()
        problems += [] if problems else check_record(reader)
    for problem in problems:
        print(f"job {problem.job}, entry {problem.seq}: {problem.what}")
    if problems:
        return EXIT_FAILED
    entries = sum(head.seq + 1 for head in heads.values())
    print(sentences()["trail"]["chains_hold"].format(chains=len(heads), entries=entries))
    return EXIT_OK
