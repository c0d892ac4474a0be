"""Checks a claim packet with only Python's own library. Short enough to read in full.

    python verify.py                      the packet that contains this file
    python verify.py PACKET               a packet's folder or its .zip
    python verify.py PACKET --receipt "job 1 entries 145 root 0a1b..."
    python verify.py PACKET --key SHA256:...

Exit code: 0 everything is intact, 1 something is wrong, 2 this cannot be checked as a packet.
It cannot know whether the signing key is the company's (compare its fingerprint with a copy you
had before), or whether people told the truth.
"""

import argparse
import base64
import json
import re
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NoReturn

if __name__ == "__main__":
    # Write no files into the packet while checking it.
    sys.dont_write_bytecode = True

try:
    from arithmetic import Tree, fingerprint, is_included, is_signed, leaf_hash
    from reading import Bag, NoPacketError, check_name, digest_of, opened, sha256, text_of
except ImportError:  # inside the program that makes packets
    from bot.packet.reading import (
        Bag,
        NoPacketError,
        check_name,
        digest_of,
        opened,
        sha256,
        text_of,
    )
    from bot.record.arithmetic import Tree, fingerprint, is_included, is_signed, leaf_hash

PASSED, FAILED, NO_PACKET = 0, 1, 2
TAGS = ("bagit.txt", "bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt",
        *(f"manifest-sha256.txt.{end}" for end in ("ed25519", "sig", "tsr")))  # fmt: skip
GENESIS = "0" * 64
Finding = tuple[str, list[str]]
"""A check's name, and the problems it found."""

PUBLIC_KEY = "data/proof/public-key.pem"


# Entries: RFC 8785 lines, integers only.


def no_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Refuse an object with the same key twice."""
    found = dict(pairs)
    if len(found) != len(pairs):
        raise ValueError("a key occurs twice")
    return found


def no_floats(text: str) -> NoReturn:
    """Refuse a number that is not an integer."""
    raise ValueError(f"{text[:20]} is not an integer")


def entry_of(line: str) -> dict[str, Any]:
    """Read a line; refuse it if two programs could read it differently."""
    entry = json.loads(line, object_pairs_hook=no_twins, parse_float=no_floats,
                       parse_constant=no_floats)  # fmt: skip
    if not isinstance(entry, dict):
        raise ValueError("not an object")  # noqa: TRY004  a value like any other that is wrong
    if canonical(entry) != line:
        raise ValueError("not in canonical form")
    return entry


def canonical(value: Any) -> str:
    """Write a value in canonical form."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def lines_of(bag: Bag, name: str) -> list[str]:
    """Return the lines of a file, without their ends; none if there is no such file."""
    if name not in bag.names:
        return []
    text = text_of(bag, name)
    lines: list[str] = text.split("\n")
    if lines.pop() != "":
        raise NoPacketError(f"the last line of {name} has no end")
    return lines


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
    for path, digest in listed.items():
        if path not in bag.names:
            yield f"{path} is listed, but missing"
        elif digest_of(bag, path) != digest:
            yield f"{path} was changed"
    for path in bag.names:
        if path not in listed and path not in TAGS:
            yield f"{path} is not listed: it was added"


def key_of(bag: Bag) -> bytes:
    """Return the packet's public key; empty if it has none."""
    text = text_of(bag, PUBLIC_KEY) if PUBLIC_KEY in bag.names else ""
    try:
        return base64.b64decode("".join(text.splitlines()[1:-1]), validate=True)[-32:]
    except ValueError:
        return b""


def check_signature(bag: Bag, known: str) -> Iterator[str]:
    """The manifest, and so everything it lists, was signed with the key in the packet."""
    public = key_of(bag)
    name = "manifest-sha256.txt.ed25519"
    signature = b""
    if name in bag.names and bag.size(name) == 64:
        with bag.open(name) as file:
            signature = file.read(64)
    manifest = text_of(bag, "manifest-sha256.txt").encode()
    if not is_signed(public, manifest, signature):
        yield "the signature over the manifest is not valid"
    if known and fingerprint(public) != known:
        yield f"the packet was signed with {fingerprint(public)}, not with {known}"


def check_stamp(bag: Bag) -> Iterator[str]:
    """If the manifest has a time stamp, it is for this manifest; openssl checks the rest."""
    name = "manifest-sha256.txt.tsr"
    if name not in bag.names:
        return
    manifest = text_of(bag, "manifest-sha256.txt").encode()
    with bag.open(name) as file:
        stamp = file.read(1 << 16)
    if bytes.fromhex(sha256(manifest)) not in stamp:
        yield "the time stamp is for another manifest"


def check_chain(lines: Sequence[str]) -> Iterator[str]:
    """Each entry follows from the entry before it, and is in canonical form."""
    prev, job = GENESIS, None
    for seq, line in enumerate(lines):
        try:
            entry = entry_of(line)
        except (ValueError, RecursionError) as error:
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


def check_checkpoints(lines: Sequence[str], keys: set[str]) -> Iterator[str]:
    """Each root is over the entries before it, and signed with a key of the company."""
    tree = Tree()
    for seq, line in enumerate(lines):
        entry = entry_of(line)
        if entry.get("kind") == "checkpoint":
            root = tree.root().hex()
            said = statement(entry.get("job"), tree.size, root)
            yield from check_signed(entry.get("body"), said, root, keys, f"entry {seq}")
        tree.add(leaf_hash(line.encode()))


def check_all_jobs(bag: Bag, lines: Sequence[str], keys: set[str]) -> Iterator[str]:
    """The newest root over all jobs is signed, and covers the entries of this job.

    It covers every job as of the roots before it, so checking an older root adds nothing.
    """
    roots = [entry_of(line) for line in lines_of(bag, "data/proof/all-jobs.jsonl")]
    heads = {int(head["job"]): head for root in roots for head in root["body"]["changed"]}
    for newest in roots[-1:]:
        where = f"entry {newest['seq']} over all jobs"
        yield from check_all_jobs_root(newest["body"], heads, keys, where)
        yield from check_head(heads, lines, where)


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


def check_head(heads: dict[int, Any], lines: Sequence[str], where: str) -> Iterator[str]:
    """The last digest of this job under a root over all jobs is that of an entry here."""
    for head in (heads[job] for job in heads if str(job) == entry_of(lines[0])["job"]):
        there = lines[head["size"] - 1 : head["size"]]
        if [sha256(line.encode()) for line in there] != [head["head"]]:
            yield f"{where} names other entries of this job than these"


def statement(job: Any, size: int, root: str) -> bytes:
    """Return the bytes that a checkpoint signs."""
    said = {"what": "rollproof checkpoint 1", "job": job, "size": size, "root": root}
    return canonical(said).encode()


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
    """Return the packet's own key, and the keys named in its copy of the company's entries."""
    keys = {key_of(bag).hex()}
    for line in lines_of(bag, "data/proof/keys.jsonl"):
        body = entry_of(line).get("body")
        if isinstance(body, dict) and body.get("before", "") in keys | {""}:
            keys.add(str(body.get("public")))
    return keys


def check_values(bag: Bag, lines: Sequence[str]) -> Iterator[str]:
    """Each personal value shown matches a commitment in an entry."""
    said = set(re.findall(r'"commitment":"([0-9a-f]{64})"', "".join(lines)))
    for line in lines_of(bag, "data/proof/values.jsonl"):
        shown = entry_of(line)
        made = sha256(canonical({"salt": shown["salt"], "value": shown["value"]}).encode())
        if made != shown["commitment"]:
            yield f"a value does not match its commitment: {str(shown['value'])[:40]!r}"
        if shown["commitment"] not in said:
            yield "a value is shown that no entry commits to"


def check_proofs(bag: Bag, lines: Sequence[str], keys: set[str]) -> Iterator[str]:
    """In a customer's copy, which leaves entries out, each entry shown was in the record."""
    proof = entry_of(lines_of(bag, "data/proof/inclusion.json")[0])
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
    """Check a packet; return (name of the check, its problems) for each check, in order."""
    bag = opened(path)
    found = [("every file is listed and unchanged", list(check_files(bag)))]
    found.append(("the signature over the manifest", list(check_signature(bag, known))))
    found.append(("the time stamp, if there is one", list(check_stamp(bag))))
    lines = lines_of(bag, "data/entries.jsonl")
    try:
        found += check_entries(bag, lines, receipt)
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError) as error:
        found.append(
            ("the entries can be read", [f"something in them cannot be read ({error!r})"])
        )
    return found


def check_entries(bag: Bag, lines: Sequence[str], receipt: str) -> Iterator[Finding]:
    """Check the entries, and everything that shows their content."""
    if "data/proof/inclusion.json" in bag.names:
        keys = company_keys(bag)
        yield "each entry shown was in the signed record", list(check_proofs(bag, lines, keys))
    else:
        wrong = list(check_chain(lines))
        yield "each entry follows from the entry before it", wrong
        if lines and not wrong:
            keys = company_keys(bag)
            yield "each checkpoint", list(check_checkpoints(lines, keys))
            yield "the newest root over all jobs", list(check_all_jobs(bag, lines, keys))
    yield "each personal value shown", list(check_values(bag, lines))
    yield "the view for spreadsheets", list(check_view(bag, lines))
    if receipt:
        yield "the receipt", list(check_receipt(lines, receipt))


def main(arguments: Sequence[str] | None = None) -> int:
    """Check the packet given on the command line; print each check and its problems."""
    parser = argparse.ArgumentParser(description="Check a claim packet.")
    parser.add_argument("packet", nargs="?", help="its folder or zip (default: this file's own)")
    parser.add_argument("--receipt", default="", help='"job N entries N root HEX"')
    parser.add_argument("--key", default="", help="the company's fingerprint, SHA256:...")
    given = parser.parse_args(arguments)
    path = Path(given.packet) if given.packet else Path(__file__).resolve().parent.parent
    try:
        found = check(path, given.receipt, given.key)
        public = key_of(opened(path))
    except (NoPacketError, OSError) as error:
        print(f"This cannot be checked as a packet: {error}.")
        return NO_PACKET
    for name, wrong in found:
        print(f"{'HOLDS' if not wrong else 'FAILS'}  {name}")
        for problem in wrong[:20]:
            print(f"       {problem}")
    print(f"Signed with {fingerprint(public)}. Compare it with the fingerprint you had before.")
    return FAILED if any(wrong for _, wrong in found) else PASSED


if __name__ == "__main__":
    sys.exit(main())
