"""The lock files: every part pinned and hashed, all that is declared among them."""

import re
import tomllib
from collections.abc import Iterator

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.tidy.source import ROOT

LOCKS = ("requirements.lock", "requirements-voice.lock", "requirements-dev.lock")
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
_PINNED = re.compile(r"(?P<name>[\w.-]+)(?:\[[\w,-]+\])?==(?P<version>[\w.+!-]+)")
_HASH = re.compile(r"--hash=sha256:[0-9a-f]{64}")


def requirements(lock: str) -> Iterator[str]:
    """Yield each requirement of a lock as one line, without comments."""
    text = (ROOT / lock).read_text("utf-8").replace("\\\n", " ")
    return (
        line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")
    )


def pins(lock: str) -> dict[str, str]:
    found = [_PINNED.match(line) for line in requirements(lock)]
    return {canonicalize_name(one["name"]): one["version"] for one in found if one}


@pytest.mark.parametrize("lock", LOCKS)
def test_every_part_is_pinned_and_hashed(lock: str) -> None:
    loose = [
        line[:60]
        for line in requirements(lock)
        if not (_PINNED.match(line) and _HASH.search(line))
    ]
    assert loose == [], "make it again with pip-compile --generate-hashes"


@pytest.mark.parametrize(
    ("lock", "declared"),
    [
        ("requirements.lock", PROJECT["project"]["dependencies"]),
        ("requirements.lock", PROJECT["build-system"]["requires"]),
        ("requirements-voice.lock", PROJECT["project"]["optional-dependencies"]["voice"]),
        ("requirements-dev.lock", PROJECT["project"]["optional-dependencies"]["voice"]),
        ("requirements-dev.lock", PROJECT["project"]["optional-dependencies"]["dev"]),
    ],
)
def test_all_that_is_declared_is_locked(lock: str, declared: list[str]) -> None:
    locked = pins(lock)
    wanted = [Requirement(one) for one in declared]
    wrong = [
        str(one)
        for one in wanted
        if not one.specifier.contains(locked.get(canonicalize_name(one.name), "0"))
    ]
    assert wrong == []


@pytest.mark.parametrize("lock", ["requirements.lock", "requirements-voice.lock"])
def test_what_is_developed_against_is_what_runs(lock: str) -> None:
    assert pins(lock).items() <= pins("requirements-dev.lock").items()


def test_voice_adds_to_what_it_runs_on_and_changes_nothing() -> None:
    assert pins("requirements.lock").items() <= pins("requirements-voice.lock").items()
