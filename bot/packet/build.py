"""Makes a job's packet from its record: everything a claim needs, checkable without us."""

import io
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from bot.desk.trail import said
from bot.packet import bound, outside, reading, remade, verify
from bot.packet.bag import Part, Payload, Progress, Sealed, allowed_signers, write_bag
from bot.packet.case import Case, facts_of, kind_of, lines_bytes, reach_says
from bot.packet.process import opening, process_parts, software
from bot.packet.spreadsheet import table
from bot.packet.summary import summary
from bot.record import arithmetic
from bot.record.arithmetic import fingerprint
from bot.record.canonical import canonical
from bot.record.chain import digest
from bot.record.checkpoints import ALL_JOBS, KEY
from bot.record.keys import Signer, public_pem, ssh_line
from bot.record.reach import Proof
from bot.record.stamping import Stamper, kept_stamps
from flows.job.state import Job
from flows.texts import packet_texts, visible as visible_module
from flows.texts.visible import visible

CHECKERS = (
    ("verify", verify), ("arithmetic", arithmetic), ("bound", bound), ("outside", outside),
    ("reading", reading), ("remade", remade), ("visible", visible_module),
)  # fmt: skip
"""The checker that every packet has, in parts."""


def build(
    case: Case,
    signer: Signer,
    target: Path,
    tell: Progress = max,
    stamper: Stamper | None = None,
) -> Sealed:
    """Write the owner's packet of a job, with time stamps if a service is configured.

    Raises
    ------
    StoreError
        When the file cannot be written or stamped; no file is left then.
    """
    top = packet_texts()["file"]["name"].format(job=case.ref)
    stamped = () if stamper is None else tuple(_stamped(case, stamper))
    parts = (*common_parts(case, signer), *_own_parts(case, signer, top), *stamped)
    parts = with_list(parts, signer, {"job": str(case.ref), "size": len(case.lines),
                                         "root": case.root})  # fmt: skip
    stamp = None if stamper is None else stamper.stamp
    sealed = write_bag(target, Payload(top, parts, info_of(case), stamp), signer, tell)
    return replace(sealed, wrong=tuple(_wrong(case)))


def _wrong(case: Case) -> Iterator[str]:
    """Yield what of a record cannot be packed, and no entry says why."""
    texts = packet_texts()["readme"]
    for file in case.files:
        if file.is_wrong:
            yield texts[f"line_{file.state}"].format(
                seq=file.seq, kind=file.kind, sha256=file.sha256
            )
    if case.lost:
        yield texts["lost"].format(count=case.lost)


def with_list(parts: Iterable[Part], signer: Signer, of: Mapping[str, object]) -> tuple[Part, ...]:
    """Add the signed list of the files that belong to the entries.

    Parameters
    ----------
    parts
        The files of a packet.
    signer
        Signs the list.
    of
        The entries they belong to: job, size and root.
    """
    whole = tuple(parts)
    files = {part.name: part.digest for part in whole}
    said = {"what": "rollproof files 1", **of, "files": files}
    signature = signer.sign(canonical(said)).hex()
    signed = canonical({**said, "key": signer.public.hex(), "signature": signature})
    return (*whole, Part("proof/files.json", signed + b"\n"))


def head_proof(case: Case, proof: Proof) -> bytes:
    """Return the proof that the entries here, and the company's, are under the signed head."""
    head = proof.head
    (job_size, job_root), (size, root) = proof.job, proof.company
    said = {
        "number": head.number,
        "chains": head.chains,
        "root": head.root,
        "key": head.key,
        "signature": head.signature,
        "job": {"job": str(case.ref), "size": job_size, "root": job_root,
                "path": [node.hex() for node in proof.job_path]},
        "company": {"job": "0", "size": size, "root": root, "paths": case.paths,
                    "path": [node.hex() for node in proof.company_path]},
    }  # fmt: skip
    return canonical(said) + b"\n"


def _stamped(case: Case, stamper: Stamper) -> Iterator[Part]:
    """Yield the bytes of every stamped root over all jobs, and its stamp."""
    for root, stamp in kept_stamps(stamper.folder, case.company):
        name = f"proof/all-jobs-{root.seq:05d}"
        yield Part(f"{name}.json", root.statement)
        yield Part(f"{name}.tsr", stamp)


def info_of(case: Case) -> dict[str, str]:
    """Return the fields of bag-info.txt; the date is the last entry's, never today's."""
    return {
        "Bag-Software-Agent": f"rollproof {software()}",
        "Bagging-Date": case.entries[-1]["times"]["written"][:10],
        "External-Identifier": f"job-{case.ref}",
        "Source-Organization": visible(case.book.library.company.name),
    }


def common_parts(case: Case, signer: Signer) -> Iterator[Part]:
    """Yield the files that every packet has: the checker and the keys."""
    for name, module in CHECKERS:
        yield Part(f"{name}.py", Path(str(module.__file__)).read_bytes())
    yield Part("proof/public-key.pem", public_pem(signer.public).encode())
    yield Part("proof/key.pub", f"{ssh_line(signer.public)} rollproof\n".encode())
    yield Part("proof/allowed-signers.txt", allowed_signers(signer.public).encode())
    keys = (line for line in case.company if kind_of(line) == KEY)
    yield Part("proof/keys.jsonl", lines_bytes(keys))


def _own_parts(case: Case, signer: Signer, top: str) -> Iterator[Part]:
    """Yield the files that only the owner's packet has."""
    yield Part("00-READ-ME-FIRST.txt", _readme(case, signer, top))
    yield Part("entries.jsonl", lines_bytes(case.lines))
    yield Part("entries.csv", view(case))
    code = receipt_svg(receipt_text(case))
    yield Part("receipt.svg", code)
    yield Part("summary.pdf", summary(case, fingerprint(signer.public), code))
    yield Part("receipt.txt", f"{receipt_text(case)}\n".encode())
    roots = (line for line in case.company if kind_of(line) == ALL_JOBS)
    yield Part("proof/all-jobs.jsonl", lines_bytes(roots))
    yield Part("proof/company.jsonl", lines_bytes(case.told))
    if case.proof is not None:
        yield Part("proof/head.json", head_proof(case, case.proof))
    yield Part("proof/values.jsonl", values_of(case.values))
    yield Part("process/people.csv", _people(case))
    yield from process_parts(case.entries, case.book)
    yield from _certificates(case)
    for file in case.files:
        if file.path is not None:
            yield Part(file.name, file.path, file.sha256)


def _people(case: Case) -> bytes:
    """Return the table of everybody who was heard, in each of their roles."""
    people = sorted(
        {(e["by"], e["body"].get("role", "")) for e in case.entries if e["kind"] == "heard"}
    )
    rows = [(person, role, case.names.get(person, "")) for person, role in people]
    return table(packet_texts()["view"]["people"], rows)


def receipt_text(case: Case) -> str:
    """Return the text of a receipt: job, number of entries, root."""
    text = packet_texts()["receipt"]["text"]
    return str(text.format(job=case.ref, size=len(case.lines), root=case.root))


def receipt_svg(text: str) -> bytes:
    """Draw a text as a QR code."""
    import segno  # noqa: PLC0415  slow to import

    out = io.BytesIO()
    segno.make(text, error="m", micro=False).save(out, kind="svg", scale=4, xmldecl=False)
    return out.getvalue()


def view(case: Case) -> bytes:
    """Return the view for spreadsheets."""
    job = Job(case.ref, case.book)
    rows = []
    for line, entry in zip(case.lines, case.entries, strict=True):
        times = entry["times"]
        when = (
            times["written"],
            times["claimed"],
            times["stamped"],
            "late" if entry["late"] else "",
        )
        who = (entry["by"], case.names.get(entry["by"], ""))
        fields = canonical(json.loads(line)["body"]).decode()
        words = said(entry, job, case.names)
        rows.append(
            (entry["seq"], *when, *who, entry["kind"], words, fields, digest(line.encode()))
        )
    return table(packet_texts()["view"]["columns"], rows)


def values_of(values: list[tuple[str, str, Any]]) -> bytes:
    """Return personal values as lines that `verify.py` compares with their commitments."""
    return lines_bytes(
        canonical({"commitment": mark, "salt": salt, "value": value}).decode()
        for mark, salt, value in values
    )


def _readme(case: Case, signer: Signer, top: str) -> bytes:
    texts = packet_texts()["readme"]
    missing = [
        texts[f"line_{file.state}"].format(seq=file.seq, kind=file.kind, sha256=file.sha256)
        for file in case.files
        if file.path is None
    ]
    erased = texts["erased"].format(count=case.erased) if case.erased else texts["none"]
    if case.lost:
        erased += "\n" + texts["lost"].format(count=case.lost)
    said_ = {
        "erased": erased,
        "missing": "\n".join(missing) or texts["none"],
        "fingerprint": fingerprint(signer.public),
        "receipt": receipt_text(case),
        "reach": reach_says(case),
        "top": top,
        **facts_of(case),
    }
    return str(texts["text"]).lstrip("\n").format_map(said_).encode()


def _certificates(case: Case) -> Iterator[Part]:
    texts = packet_texts()["certificates"]
    given = {
        **facts_of(case),
        "version": software(),
        "routine": opening(case.entries).get("routine", {}).get("sha256", "-"),
        "entries": digest(lines_bytes(case.lines)),
        "selftest": texts["holds"],
    }
    for name in ("902-11", "902-13", "902-14", "claim"):
        text = texts[name].lstrip("\n").format_map(given)
        yield Part(f"certificates/{name}.txt", text.encode())
