"""Checks a claim packet with only Python's own library. Short enough to read in full.

    python verify.py                      the packet that contains this file
    python verify.py PACKET               a packet's folder or its .zip
    python verify.py PACKET --receipt "job 1 entries 145 root 0a1b..."
    python verify.py PACKET --signed-by SHA256:...

Python 3.8 or newer.

Exit code: 0 everything is intact, 1 something is wrong, 2 this cannot be checked as a packet.
It cannot know whether the signing key is the company's (compare its fingerprint with a copy you
had before), or whether people told the truth.
"""

from __future__ import annotations

import argparse
import base64
import re
import sys
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

if __name__ == "__main__":
    # Write no files into the packet while checking it.
    sys.dont_write_bytecode = True
    if sys.version_info < (3, 8):  # noqa: UP036  an old Python is told what is needed
        sys.stdout.write("This needs Python 3.8 or newer.\n")
        sys.exit(2)

try:
    from arithmetic import Tree, fingerprint, is_included, is_signed, leaf_hash
    from bound import check_head, check_keys, lacking_keys, missing_head
    from outside import SSH_TYPE, is_ssh_signed, ssh_string, stamped_digest
    from reading import (
        NoPacketError,
        bytes_of,
        canonical,
        check_name,
        digest_of,
        entry_of,
        key_of,
        lines_of,
        only_line,
        opened,
        sha256,
        text_of,
    )
    from remade import (
        check_copies,
        check_printed_receipt,
        check_process,
        check_received,
        check_tables,
        not_copied,
        not_packed,
    )
    from visible import visible
except ImportError:  # inside the program that makes packets
    from bot.packet.bound import check_head, check_keys, lacking_keys, missing_head
    from bot.packet.outside import SSH_TYPE, is_ssh_signed, ssh_string, stamped_digest
    from bot.packet.reading import (
        NoPacketError,
        bytes_of,
        canonical,
        check_name,
        digest_of,
        entry_of,
        key_of,
        lines_of,
        only_line,
        opened,
        sha256,
        text_of,
    )
    from bot.packet.remade import (
        check_copies,
        check_printed_receipt,
        check_process,
        check_received,
        check_tables,
        not_copied,
        not_packed,
    )
    from bot.record.arithmetic import Tree, fingerprint, is_included, is_signed, leaf_hash
    from flows.texts.visible import visible

if TYPE_CHECKING:
    from bot.packet.reading import Bag

PASSED, FAILED, NO_PACKET = 0, 1, 2
TAGS = ("bagit.txt", "bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt",
        *(f"manifest-sha256.txt.{end}" for end in ("ed25519", "sig", "tsr")))  # fmt: skip
GENESIS = "0" * 64
HEAD, FILES = "data/proof/head.json", "data/proof/files.json"
SOME_ONLY = "data/proof/inclusion.json"
"""Only a customer's copy, which leaves entries out, has it."""
MOST_TOLD, LONGEST = 20, 500
"""How many problems of a check are told, in how many characters each: more say nothing more."""
MOST_MARKS = 300
"""A job pauses some twenty times, and each signature takes some milliseconds to check."""
READING = (ValueError, LookupError, TypeError, AttributeError, ArithmeticError, RecursionError)
"""What reading bytes that nobody wrote may raise."""


class Finding(NamedTuple):
    """A check's name, the problems it found, and what it would need and is not there."""

    name: str
    wrong: list[str]
    lacks: Sequence[str] = ()

    @property
    def state(self) -> str:
        """The result in a word: what is not there neither holds nor fails."""
        return "FAILS" if self.wrong else "NOT THERE" if self.lacks else "HOLDS"

    @property
    def told(self) -> list[str]:
        """What to print below it, each sentence on a line."""
        return [visible(line)[:LONGEST] for line in (*self.wrong, *self.lacks)]


def finding(name: str, wrong: Iterable[str], lacks: Iterable[str] = ()) -> Finding:
    """Return what a check finds; if it cannot go on, that is a problem too."""
    problems, stopped = told_of(wrong)
    absent, why = told_of(lacks)
    return Finding(name, problems + stopped + why, absent)


def told_of(sentences: Iterable[str]) -> tuple[list[str], list[str]]:
    """Return the first sentences, and why there are no more: none if all is well."""
    found: list[str] = []
    try:
        for one in sentences:
            found.append(one)
            if len(found) == MOST_TOLD:
                break
    except READING as error:
        kind = type(error).__name__
        return found, [f"this cannot be checked: {str(error) or kind} ({kind})"]
    return found, []


# The checks. Each yields its problems as sentences; data that failed a check is not used again.


def listed_in(bag: Bag, name: str, listed: dict[str, str]) -> Iterator[str]:
    """Read a manifest into a dictionary; yield the problems with it."""
    for line in lines_of(bag, name):
        digest, gap, path = line.partition("  ")
        if not gap or not re.fullmatch("[0-9a-f]{64}", digest):
            yield f"{name} has a line that does not list a file: {line[:80]!r}"
            continue
        check_name(path)
        if path in listed:
            yield f"{path} is listed twice"
        listed[path] = digest


def check_files(bag: Bag) -> Iterator[str]:
    """Every file is listed, every listed file is there, and none was changed."""
    listed: dict[str, str] = {}
    for name in ("manifest-sha256.txt", "tagmanifest-sha256.txt"):
        yield from listed_in(bag, name, listed)
    yield from (f"{name} is listed nowhere" for name in TAGS[:3] if name not in listed)
    yield from check_listed(bag, listed)
    for path in bag.names:
        if path not in listed and path not in TAGS:
            yield f"{path} is not listed: it was added"


def check_listed(bag: Bag, listed: dict[str, str]) -> Iterator[str]:
    """Every listed file is there, and has the digest that is listed."""
    for path, digest in listed.items():
        if path not in bag.names:
            yield f"{path} is listed, but missing"
        elif digest_of(bag, path) != digest:
            yield f"{path} was changed"


def check_known(bag: Bag, known: str) -> Iterator[str]:
    """The packet was signed with the key whose fingerprint somebody had before."""
    mark = fingerprint(key_of(bag))
    if known and mark != known:
        yield f"the packet was signed with {mark}, not with {known}"


def check_signature(bag: Bag) -> Iterator[str]:
    """The manifest, and so everything it lists, was signed with the key in the packet, twice."""
    public = key_of(bag)
    manifest = text_of(bag, "manifest-sha256.txt").encode()
    if not is_signed(public, manifest, bytes_of(bag, "manifest-sha256.txt.ed25519", 65)):
        yield "the signature over the manifest is not valid"
    if not is_ssh_signed(public, manifest, bytes_of(bag, "manifest-sha256.txt.sig", 4096)):
        yield "the SSH signature over the manifest is not valid"
    blob = base64.b64encode(ssh_string(SSH_TYPE) + ssh_string(public)).decode()
    for name in ("data/proof/key.pub", "data/proof/allowed-signers.txt"):
        if name not in bag.names or f"ssh-ed25519 {blob}" not in text_of(bag, name):
            yield f"{name} is not the key that signed"


STAMP = "manifest-sha256.txt.tsr"


def check_stamp(bag: Bag) -> Iterator[str]:
    """A time stamp is one, and for this list of files by its own words."""
    if STAMP in bag.names:
        stamped = stamped_digest(bytes_of(bag, STAMP, 1 << 16))
        if stamped is None:
            yield "this is not a time stamp"
        elif stamped.hex() != digest_of(bag, "manifest-sha256.txt"):
            yield "the time stamp is for another manifest"


def unseen_stamp(bag: Bag) -> Iterator[str]:
    """Say what of a time stamp cannot be seen here."""
    if STAMP in bag.names:
        yield "it is for this list of files by its own words; run F to see who signed it"
    else:
        yield "no outside service stamped this packet's list of files"


def check_chain(lines: Sequence[str]) -> Iterator[str]:
    """Each entry follows from the entry before it, and is in canonical form."""
    prev, job = GENESIS, None
    for seq, line in enumerate(lines):
        try:
            entry = entry_of(line)
        except READING as error:
            yield f"entry {seq} cannot be read: {error}"
            return
        job = entry.get("job") if job is None else job
        if entry.get("seq") != seq or entry.get("job") != job:
            yield f"entry {seq} of job {job} is missing or in the wrong position"
            return
        if entry.get("prev") != prev:
            yield f"entry {seq} does not follow from the entry before it"
            return
        prev = sha256(line.encode())


AFTER_END = {"checkpoint", "done", "heard", "media", "media_lost", "told"}


def check_ended(lines: Sequence[str]) -> Iterator[str]:
    """A job that has ended takes no more than words, files on their way and checkpoints."""
    is_over = False
    for seq, line in enumerate(lines):
        kind = entry_of(line).get("kind")
        if is_over and kind not in AFTER_END:
            yield f"entry {seq} ({kind}) was added after the job had ended"
        is_over = is_over or kind == "ended"


def check_checkpoints(lines: Sequence[str], keys: set[str]) -> Iterator[str]:
    """Each root is over the entries before it, and signed with a key of the company."""
    tree, count = Tree(), 0
    for seq, line in enumerate(lines):
        entry = entry_of(line)
        if entry.get("kind") == "checkpoint":
            count += 1
            if count > MOST_MARKS:
                yield f"there are more than {MOST_MARKS} checkpoints: no job has so many"
                return
            root = tree.root().hex()
            said = statement(entry.get("job"), tree.size, root)
            yield from check_signed(entry.get("body"), said, root, keys, f"entry {seq}")
        tree.add(leaf_hash(line.encode()))


def check_all_jobs(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """The newest root over all jobs is signed, and covers the entries of this job.

    It covers every job as of the roots before it, so checking an older root adds nothing.
    """
    keys = company_keys(bag)
    roots = [entry_of(line) for line in lines_of(bag, "data/proof/all-jobs.jsonl")]
    heads = {int(head["job"]): head for root in roots for head in root["body"]["changed"]}
    for newest in roots[-1:]:
        where = f"entry {newest['seq']} over all jobs"
        yield from check_all_jobs_root(newest["body"], heads, keys, where)
        yield from check_tail(heads, lines, where)


def check_all_jobs_root(
    body: Any, heads: dict[int, Any], keys: set[str], where: str
) -> Iterator[str]:
    """A root over all jobs is over the size and last digest of each job, in order."""
    tree = Tree()
    for job in sorted(heads):
        tree.add(leaf_hash(canonical(heads[job]).encode()))
    root = tree.root().hex()
    said = {"what": "rollproof all jobs 1", "date": body["date"], "jobs": body["jobs"]}
    text = canonical({**said, "root": root}).encode()
    yield from check_signed(body, text, root, keys, where)


def check_tail(heads: dict[int, Any], lines: Sequence[str], where: str) -> Iterator[str]:
    """The last digest of this job under a root over all jobs is that of an entry here."""
    for head in (heads[job] for job in heads if str(job) == entry_of(lines[0])["job"]):
        there = lines[head["size"] - 1 : head["size"]]
        if [sha256(line.encode()) for line in there] != [head["head"]]:
            yield f"{where} names other entries of this job than these"


def statement(job: Any, size: int, root: str) -> bytes:
    """Return the bytes that a checkpoint signs."""
    said = {"what": "rollproof checkpoint 1", "job": job, "size": size, "root": root}
    text: str = canonical(said)
    return text.encode()


def check_signed(body: Any, said: bytes, root: str, keys: set[str], where: str) -> Iterator[str]:
    """A signed root equals the root computed here, and the signature is the company's."""
    try:
        key, signature = body["key"], bytes.fromhex(body["signature"])
        if body["root"] != root:
            yield f"the checkpoint in {where} was signed over other entries than these"
        elif key not in keys:
            yield f"the checkpoint in {where} is signed with a key that is not the company's"
        elif not is_signed(bytes.fromhex(key), said, signature):
            yield f"the signature in {where} is not valid"
    except (KeyError, TypeError, ValueError):
        yield f"the checkpoint in {where} cannot be read"


def company_keys(bag: Bag) -> set[str]:
    """Return the packet's own key, and the keys named in its copy of the company's entries.

    A copy that cannot be read is told elsewhere.
    """
    keys = {key_of(bag).hex()}
    try:
        bodies = [entry_of(line).get("body") for line in lines_of(bag, "data/proof/keys.jsonl")]
    except READING:
        return keys
    for body in bodies:
        if isinstance(body, dict) and body.get("before", "") in {"", *keys}:
            keys.add(str(body.get("public")))
    return keys


def check_values(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """Each personal value shown matches a commitment in an entry, of the job or the company."""
    whole = "".join([*lines, *lines_of(bag, "data/proof/company.jsonl")])
    said = set(re.findall(r'"commitment":"([0-9a-f]{64})"', whole))
    for line in lines_of(bag, "data/proof/values.jsonl"):
        shown = entry_of(line)
        made = sha256(canonical({"salt": shown["salt"], "value": shown["value"]}).encode())
        if made != shown["commitment"]:
            yield f"a value does not match its commitment: {str(shown['value'])[:40]!r}"
        if shown["commitment"] not in said:
            yield "a value is shown that no entry commits to"


def check_proofs(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """In a customer's copy, which leaves entries out, each entry shown was in the record."""
    proof, keys = only_line(bag, SOME_ONLY), company_keys(bag)
    root, size = proof["root"], proof["size"]
    yield from check_signed(proof, statement(proof["job"], size, root), root, keys, "the proof")
    whole = bytes.fromhex(root)
    paths = proof["paths"]
    for line in lines:
        entry = entry_of(line)
        path = [bytes.fromhex(node) for node in paths.get(str(entry["seq"]), ["00"])]
        if not is_included(leaf_hash(line.encode()), entry["seq"], size, path, whole):
            yield f"entry {entry['seq']} is not in the record that was signed"


def check_view(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """The view for spreadsheets has a row for each entry, with its digest."""
    if "data/entries.csv" not in bag.names:
        return
    text = text_of(bag, "data/entries.csv")
    shown = re.findall(r",([0-9a-f]{64})\r\n", text)
    if shown != [sha256(line.encode()) for line in lines]:
        yield "entries.csv does not show the entries of entries.jsonl"


def check_receipt(lines: Sequence[str], receipt: str) -> Iterator[str]:
    """The record starts with the entries that a receipt was given for."""
    found = re.fullmatch(r"\s*job (\d+) entries (\d+) root ([0-9a-f ]{16,79})\s*", receipt.lower())
    if found is None:
        yield "the receipt does not have the form: job N entries N root HEX"
        return
    job, size, root = found[1], int(found[2]), found[3].replace(" ", "")
    tree = Tree()
    for line in lines[:size]:
        tree.add(leaf_hash(line.encode()))
    if not lines or entry_of(lines[0]).get("job") != job or len(lines) < size:
        yield "the receipt is for another job, or for more entries than there are"
    elif not tree.root().hex().startswith(root):
        yield "this is not the record that the receipt was given for"


def check(path: Path, receipt: str = "", known: str = "") -> list[Finding]:
    """Check a packet; return what each check finds, in order."""
    bag = opened(path)
    none = [] if known else ["get the company's fingerprint elsewhere; give it with --signed-by"]
    found = [
        finding("every file is listed and unchanged", check_files(bag)),
        finding("the signature over the manifest", check_signature(bag)),
        finding("the fingerprint you had before", check_known(bag, known), none),
        finding("a time stamp", check_stamp(bag), unseen_stamp(bag)),
    ]
    lines, problems = told_of_lines(bag)
    if problems:
        found.append(Finding("the entries can be read", problems))
    return found + list(check_entries(bag, lines, receipt))


def told_of_lines(bag: Bag) -> tuple[list[str], list[str]]:
    """Return the entries, and why they are none if they cannot be read."""
    try:
        return lines_of(bag, "data/entries.jsonl"), []
    except READING as error:
        return [], [str(error)]


def check_entries(bag: Bag, lines: Sequence[str], receipt: str) -> Iterator[Finding]:
    """Check the entries, and everything that shows their content."""
    if SOME_ONLY in bag.names:
        yield finding("each entry shown was in the signed record", check_proofs(bag, lines))
        none = not_copied(bag, lines)
        yield finding("each photo, written again", check_copies(bag, lines), none)
    else:
        yield finding("each entry follows from the entry before it", check_chain(lines))
        yield from check_bound(bag, lines)
        yield from check_made(bag, lines)
    yield finding("each personal value shown", check_values(bag, lines))
    yield finding("the view for spreadsheets", check_view(bag, lines))
    yield finding("the files belong to these entries", check_list(bag, lines), no_list(bag))
    if receipt:
        yield finding("the receipt", check_receipt(lines, receipt))


def check_bound(bag: Bag, lines: Sequence[str]) -> Iterator[Finding]:
    """Check what binds a whole chain: its checkpoints, the root over all jobs, the signed head."""
    marks = [seq for seq, line in enumerate(lines) if is_checkpoint(line)]
    none = [] if marks else ["the record of this job has no checkpoint"]
    yield finding("each checkpoint", check_checkpoints(lines, company_keys(bag)), none)
    yield finding("nothing was added after the job's end", check_ended(lines))
    yield finding("the newest root over all jobs", check_all_jobs(bag, lines), no_roots(bag))
    yield finding("the company's key", check_keys(bag), lacking_keys(bag))
    reach = f"its last checkpoint covers entries 0 to {marks[-1] - 1}" if marks else "nothing does"
    none = [] if HEAD in bag.names else [
        f"no signed head: of {len(lines)} entries, {reach}; "
        "what lies behind is bound by this packet's signature alone"
    ]  # fmt: skip
    yield finding("the signed head reaches every entry", reached(bag, lines), none)


def is_checkpoint(line: str) -> bool:
    """Say whether a line is a checkpoint; one that cannot be read is told elsewhere."""
    try:
        return bool(entry_of(line).get("kind") == "checkpoint")
    except READING:
        return False


def no_roots(bag: Bag) -> Iterator[str]:
    """Say that there is no root over all jobs."""
    if not lines_of(bag, "data/proof/all-jobs.jsonl"):
        yield "there is no root over all jobs"


def reached(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """The signed head is over these entries; one that was left out is named."""
    if HEAD in bag.names:
        yield from check_head(bag, lines)
    else:
        yield from missing_head(lines_of(bag, "data/proof/all-jobs.jsonl"))


def check_made(bag: Bag, lines: Sequence[str]) -> Iterator[Finding]:
    """Make again from the entries what can be."""
    yield finding("each file as received", check_received(bag, lines), not_packed(bag, lines))
    names, why = None, ["the people's names are bound by no entry here"]
    if "data/proof/company.jsonl" in bag.names:
        names, why = told_of_people(bag)
    yield finding("the tables, made again", check_tables(bag, lines, names), why)
    yield finding("checklist, cards and receipt", check_process_and_receipt(bag, lines))


def check_process_and_receipt(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """The checklist, the cards and the receipt are those of the entries."""
    yield from check_process(bag, lines)
    yield from check_printed_receipt(bag, receipt_of(lines))


def no_list(bag: Bag) -> Iterator[str]:
    """Say that there is no signed list of files."""
    if FILES not in bag.names:
        yield "no signed list of the files and the entries they belong to"


def told_of_people(bag: Bag) -> tuple[dict[str, str] | None, list[str]]:
    """Return the people's names, and why there are none."""
    try:
        return people_of(bag), []
    except READING as error:
        return None, [f"the people's names cannot be read: {error}"]


def people_of(bag: Bag) -> dict[str, str]:
    """Return the names of the people in a packet, as the company's entries commit to them."""
    shown = [entry_of(line) for line in lines_of(bag, "data/proof/values.jsonl")]
    values = {one["commitment"]: str(one["value"]) for one in shown}
    found = {}
    for line in lines_of(bag, "data/proof/company.jsonl"):
        entry = entry_of(line)
        if entry["kind"] == "enrolled":
            person = entry["body"]["person"]
            found[person] = values.get(entry["body"]["name"]["commitment"], person)
    return found


def receipt_of(lines: Sequence[str]) -> str:
    """Return the receipt of some entries."""
    tree = Tree()
    for line in lines:
        tree.add(leaf_hash(line.encode()))
    job = entry_of(lines[0])["job"] if lines else ""
    return f"job {job} entries {len(lines)} root {tree.root().hex()}"


def check_list(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """The signed list of files is of these entries, and of all the files here."""
    if FILES not in bag.names:
        # It came with the signed head, so that a packet with the one has the other.
        yield from ["proof/files.json is missing"] if HEAD in bag.names else []
        return
    said = only_line(bag, FILES)
    if not is_list_signed(said, key_of(bag)):
        yield "the signature over the list of files is not valid"
    of = f"job {said['job']} entries {said['size']} root {said['root']}"
    is_whole = SOME_ONLY not in bag.names
    if is_whole and of != receipt_of(lines):
        yield "the list of files is of other entries than these"
    yield from check_named(bag, said["files"])


def is_list_signed(said: dict[str, Any], public: bytes) -> bool:
    """Say whether a list of files is one, and is signed with this packet's key."""
    rest = dict(said)
    key, signature = rest.pop("key"), rest.pop("signature")
    text = canonical(rest).encode()
    is_ours = bool(key == public.hex() and rest["what"] == "rollproof files 1")
    return is_ours and is_signed(bytes.fromhex(key), text, bytes.fromhex(signature))


def check_named(bag: Bag, files: dict[str, str]) -> Iterator[str]:
    """The files here are those on the signed list, which cannot have its own digest."""
    for name, digest in files.items():
        if f"data/{name}" not in bag.names or digest_of(bag, f"data/{name}") != digest:
            yield f"data/{name} is not the file that was made, or received, for these entries"
    listed = {*files, "proof/files.json"}
    for name in bag.names:
        if name.startswith("data/") and name[5:] not in listed:
            yield f"{name} was added"


def main(arguments: Sequence[str] | None = None) -> int:
    """Check the packet given on the command line; print each check and its problems."""
    parser = argparse.ArgumentParser(description="Check a claim packet.")
    parser.add_argument("packet", nargs="?", help="its folder or zip (default: this file's own)")
    parser.add_argument("--receipt", default="", help='"job N entries N root HEX"')
    parser.add_argument("--signed-by", "--key", dest="key", default="",
                        help="the company's fingerprint, SHA256:...")  # fmt: skip
    if hasattr(sys.stdout, "reconfigure"):
        # A terminal without these letters shows their numbers; nothing stops for it.
        sys.stdout.reconfigure(errors="backslashreplace")
    given = parser.parse_args(arguments)
    path = Path(given.packet) if given.packet else Path(__file__).resolve().parent.parent
    try:
        found = check(path, given.receipt, given.key)
        public = key_of(opened(path))
    except (NoPacketError, OSError) as error:
        print(visible(f"This cannot be checked as a packet: {error}.")[:LONGEST])
        return NO_PACKET
    for one in found:
        print(f"{one.state}  {one.name}")
        for line in one.told:
            print(f"       {line}")
    print(f"Signed with {fingerprint(public)}. Compare it with the fingerprint you had before.")
    return FAILED if any(one.wrong for one in found) else PASSED


if __name__ == "__main__":
    sys.exit(main())
