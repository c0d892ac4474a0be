"""Photos for a customer: the picture alone, without what a camera or a phone wrote into the file.

A photo's file may hold the place, the owner's name, the phone's number and a second picture. So
the picture is opened, and written again as pixels. The record names both digests: of the photo as
received, and of its copy.
"""

import json
from collections.abc import Iterable, Iterator, Set
from dataclasses import dataclass
from pathlib import Path

from bot.packet.case import Case
from bot.packet.pictures import pixels_alone
from bot.record.chain import digest
from bot.record.rows import COMPANY, NewEntry
from flows.turn.turning import BOT

COPIED = "copied"
"""The kind of the company's entry that names copies."""


@dataclass(frozen=True, slots=True)
class Copy:
    """A photo written again.

    Attributes
    ----------
    name
        Its name in the copy for the customer.
    original
        The digest of the photo as received.
    content
        The bytes of the copy.
    """

    name: str
    original: str
    content: bytes

    @property
    def sha256(self) -> str:
        """The digest of the copy."""
        return digest(self.content)

    @property
    def pair(self) -> tuple[str, str]:
        """Both digests."""
        return self.original, self.sha256


def copies_of(case: Case, named: Set[str], folder: Path) -> list[Copy]:
    """Return copies of the photos with these digests; none of a file that shows no picture.

    Parameters
    ----------
    folder
        An empty folder to work in.
    """
    photos = [file for file in case.files if file.kind == "photo" and file.sha256 in named]
    pairs = [(file.path, folder / f"{n}.jpg") for n, file in enumerate(photos) if file.path]
    pixels_alone(pairs)
    found = []
    for n, file in enumerate(photos):
        made = folder / f"{n}.jpg"
        if made.is_file():
            name = f"{file.name.rpartition('.')[0]}.jpg"
            found.append(Copy(name, file.sha256, made.read_bytes()))
    return found


def copied_lines(company: Iterable[str], job: int) -> Iterator[str]:
    """Yield the lines of the company's chain that name copies of a job's photos."""
    for line in company:
        entry = json.loads(line)
        if entry["kind"] == COPIED and entry["body"]["job"] == str(job):
            yield line


def unnamed(copies: Iterable[Copy], lines: Iterable[str]) -> list[Copy]:
    """Return the copies that no line names yet."""
    named = {
        (one["original"], one["copy"])
        for line in lines
        for one in json.loads(line)["body"]["photos"]
    }
    return [copy for copy in copies if copy.pair not in named]


def naming(job: int, copies: Iterable[Copy]) -> NewEntry:
    """Return the entry of the company's chain that names copies, each by both digests."""
    photos = [{"original": copy.original, "copy": copy.sha256} for copy in copies]
    return NewEntry(COMPANY, COPIED, {"job": str(job), "photos": photos}, by=BOT)
