"""What a tampering is, and what of it packets and records share."""

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from bot.record.chain import link


@dataclass(frozen=True)
class Tamper:
    """One tampering: its name, what its doer has, and how it is done to a copy."""

    name: str
    has: str
    do: Callable[[Path], None]


def flip(path: Path) -> None:
    """Change one bit in the middle of a file, so that text stays text."""
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 1
    path.write_bytes(content)


def add_to(path: Path) -> None:
    """Say something else at the end of a file: its last line again."""
    content = path.read_bytes()
    path.write_bytes(content + content.rstrip(b"\n").rpartition(b"\n")[2] + b"\n")


def fact_changed(lines: list[str]) -> list[str]:
    return [line.replace('"value":"breakdown"', '"value":"crash"') for line in lines]


def verdict_changed(lines: list[str]) -> list[str]:
    return [line.replace('"verdict":"go"', '"verdict":"no-go"') for line in lines]


def last_gone(lines: list[str]) -> list[str]:
    return lines[:-1]


def tail_gone(lines: list[str]) -> list[str]:
    return lines[: len(lines) // 2]


def one_gone(lines: list[str]) -> list[str]:
    return [*lines[:20], *lines[21:]]


def one_added(lines: list[str]) -> list[str]:
    return [*lines, lines[-1]]


def two_swapped(lines: list[str]) -> list[str]:
    return [*lines[:30], lines[31], lines[30], *lines[32:]]


def who_changed(lines: list[str]) -> list[str]:
    return [line.replace('"by":"p1"', '"by":"p2"') for line in lines]


def time_changed(lines: list[str]) -> list[str]:
    return [line.replace('"written":"2', '"written":"3') for line in lines]


def late_hidden(lines: list[str]) -> list[str]:
    return [line.replace('"late":false', '"late":true') for line in lines]


ENTRY_CHANGES = (fact_changed, verdict_changed, last_gone, tail_gone, one_gone, one_added,
                 two_swapped, who_changed, time_changed, late_hidden)  # fmt: skip


def relinked(lines: list[str]) -> list[str]:
    """Return lines as a chain of their own."""
    prev, made = "0" * 64, []
    for seq, text in enumerate(lines):
        entry = json.loads(text) | {"seq": seq}
        entry.pop("prev")
        line, prev = link(prev, entry)
        made.append(line)
    return made
