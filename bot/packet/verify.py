"""Checks a claim packet with only Python's own library. Short enough to read in full.

    python verify.py                      the packet that contains this file
    python verify.py PACKET               a packet's folder or its .zip
    python verify.py PACKET --receipt "job 1 entries 145 root 0a1b..."
    python verify.py PACKET --signed-by SHA256:...

Exit code: 0 everything is intact, 1 something is wrong, 2 this cannot be checked as a packet.
It cannot know whether the signing key is the company's (compare its fingerprint with a copy you
had before), or whether people told the truth.
"""

import argparse
import base64
import re
import sys
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, NamedTuple

if __name__ == "__main__":
    # Write no files into the packet while checking it.
    sys.dont_write_bytecode = True

try:
    from arithmetic import Tree, fingerprint, is_included, is_signed, leaf_hash
    from bound import check_head, check_keys, lacking_keys, missing_head
    from outside import SSH_TYPE, is_ssh_signed, ssh_string, stamped_digest
    from reading import (
        Bag,
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
        check_printed_receipt,
        check_process,
        check_received,
        check_tables,
        not_packed,
    )
except ImportError:  # inside the program that makes packets
    from bot.packet.bound import check_head, check_keys, lacking_keys, missing_head
    from bot.packet.outside import SSH_TYPE, is_ssh_signed, ssh_string, stamped_digest
    from bot.packet.reading import (
        Bag,
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
        check_printed_receipt,
        check_process,
        check_received,
        check_tables,
        not_packed,
    )
    from bot.record.arithmetic import Tree, fingerprint, is_included, is_signed, leaf_hash

PASSED, FAILED, NO_PACKET = 0, 1, 2
TAGS = ("bagit.txt", "bag-info.txt", "manifest-sha256.txt", "tagmanifest-sha256.txt",
        *(f"manifest-sha256.txt.{end}" for end in ("ed25519", "sig", "tsr")))  # fmt: skip
GENESIS = "0" * 64
HEAD, FILES = "data/proof/head.json", "data/proof/files.json"
SOME_ONLY = "data/proof/inclusion.json"
"""Only a customer's copy, which leaves entries out, has it."""


class Finding(NamedTuple):
    """A check's name, the problems it found, and what it would need and is not there."""

    name: str
    wrong: list[str]
    lacks: Sequence[str] = ()

    @property
    def state(self) -> str:
        """The result in a word: what is not there neither holds nor fails."""
        return "FAILS" if self.wrong else "NOT THERE" if self.lacks else "HOLDS"


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


def check_stamp(bag: Bag) -> tuple[list[str], list[str]]:
    """Return what is wrong with a time stamp by its own words, and what cannot be seen here."""
    name = "manifest-sha256.txt.tsr"
    if name not in bag.names:
        return [], ["no outside service stamped this packet's list of files"]
    manifest = text_of(bag, "manifest-sha256.txt").encode()
    stamped = stamped_digest(bytes_of(bag, name, 1 << 16))
    if stamped is None:
        return ["this is not a time stamp"], []
    if stamped.hex() != sha256(manifest):
        return ["the time stamp is for another manifest"], []
    return [], ["it is for this list of files by its own words; run F to see who signed it"]


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
    proof = only_line(bag, SOME_ONLY)
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
    found = [Finding("every file is listed and unchanged", list(check_files(bag)))]
    found.append(Finding("the signature over the manifest", list(check_signature(bag))))
    none = [] if known else ["get the company's fingerprint elsewhere; give it with --signed-by"]
    found.append(Finding("the fingerprint you had before", list(check_known(bag, known)), none))
    found.append(Finding("a time stamp", *check_stamp(bag)))
    lines = lines_of(bag, "data/entries.jsonl")
    try:
        found += check_entries(bag, lines, receipt)
    except (KeyError, TypeError, ValueError, AttributeError, RecursionError) as error:
        wrong = [f"something in them cannot be read ({error!r})"]
        found.append(Finding("the entries can be read", wrong))
    return found


def check_entries(bag: Bag, lines: Sequence[str], receipt: str) -> Iterator[Finding]:
    """Check the entries, and everything that shows their content."""
    if SOME_ONLY in bag.names:
        keys = company_keys(bag)
        wrong = list(check_proofs(bag, lines, keys))
        yield Finding("each entry shown was in the signed record", wrong)
    else:
        wrong = list(check_chain(lines))
        yield Finding("each entry follows from the entry before it", wrong)
        if lines and not wrong:
            keys = company_keys(bag)
            yield from check_bound(bag, lines, keys)
    told = lines_of(bag, "data/proof/company.jsonl")
    yield Finding("each personal value shown", list(check_values(bag, [*lines, *told])))
    yield Finding("the view for spreadsheets", list(check_view(bag, lines)))
    yield from check_made(bag, lines)
    if receipt:
        yield Finding("the receipt", list(check_receipt(lines, receipt)))


def check_bound(bag: Bag, lines: Sequence[str], keys: set[str]) -> Iterator[Finding]:
    """Check what binds a whole chain: its checkpoints, the root over all jobs, the signed head."""
    kinds = [entry_of(line).get("kind") for line in lines]
    marks = [seq for seq, kind in enumerate(kinds) if kind == "checkpoint"]
    none = [] if marks else ["the record of this job has no checkpoint"]
    yield Finding("each checkpoint", list(check_checkpoints(lines, keys)), none)
    yield Finding("nothing was added after the job's end", list(check_ended(lines)))
    roots = lines_of(bag, "data/proof/all-jobs.jsonl")
    none = [] if roots else ["there is no root over all jobs"]
    yield Finding("the newest root over all jobs", list(check_all_jobs(bag, lines, keys)), none)
    yield Finding("the company's key", list(check_keys(bag)), lacking_keys(bag))
    reach = f"its last checkpoint covers entries 0 to {marks[-1] - 1}" if marks else "nothing does"
    wrong, none = reached(bag, lines, roots, reach)
    yield Finding("the signed head reaches every entry", wrong, none)


def reached(
    bag: Bag, lines: Sequence[str], roots: Sequence[str], else_reach: str
) -> tuple[list[str], list[str]]:
    """Return what is wrong with the signed head, and what it would need and is not there."""
    if HEAD in bag.names:
        return list(check_head(bag, lines)), []
    none = (
        f"no signed head: of {len(lines)} entries, {else_reach}; "
        "what lies behind is bound by this packet's signature alone"
    )
    return list(missing_head(roots)), [none]


def check_made(bag: Bag, lines: Sequence[str]) -> Iterator[Finding]:
    """Make again from the entries what can be; of the rest, check its signed list."""
    entries = [entry_of(line) for line in lines]
    if SOME_ONLY not in bag.names:
        wrong = list(check_received(bag, entries))
        yield Finding("each file as received", wrong, list(not_packed(bag, entries)))
        names = people_of(bag) if "data/proof/company.jsonl" in bag.names else None
        none = [] if names is not None else ["the people's names are bound by no entry here"]
        yield Finding("the tables, made again", list(check_tables(bag, lines, names)), none)
        made = [*check_process(bag, entries), *check_printed_receipt(bag, receipt_of(lines))]
        yield Finding("checklist, cards and receipt", made)
    yield Finding("the files belong to these entries", *belonging(bag, lines))


def belonging(bag: Bag, lines: Sequence[str]) -> tuple[list[str], list[str]]:
    """Return what is wrong with the signed list of files, and that there is none."""
    if FILES in bag.names:
        return list(check_list(bag, lines)), []
    # It came with the signed head, so that a packet with the one has the other.
    wrong = ["proof/files.json is missing"] if HEAD in bag.names else []
    return wrong, ["no signed list of the files and the entries they belong to"]


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
    given = parser.parse_args(arguments)
    path = Path(given.packet) if given.packet else Path(__file__).resolve().parent.parent
    try:
        found = check(path, given.receipt, given.key)
        public = key_of(opened(path))
    except (NoPacketError, OSError) as error:
        print(f"This cannot be checked as a packet: {error}.")
        return NO_PACKET
    for one in found:
        print(f"{one.state}  {one.name}")
        for line in [*one.wrong[:20], *one.lacks[:20]]:
            print(f"       {line}")
    print(f"Signed with {fingerprint(public)}. Compare it with the fingerprint you had before.")
    return FAILED if any(one.wrong for one in found) else PASSED


if __name__ == "__main__":
    sys.exit(main())
