"""Options shared by all tests."""

import gc
import os
from pathlib import PurePath
from typing import Any

import pytest
from hypothesis import settings
from typing_extensions import override
from xdist.scheduler import LoadScopeScheduling

# A busy machine is no fault of the code: times are measured in tests/bench/ only.
settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")
# Every process that a test starts would compile all modules again.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)


def pytest_collection_finish() -> None:
    """Leave the tests themselves out of what is looked through for garbage from here on."""
    gc.collect()
    gc.freeze()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--wording", action="store_true", help="write the wording of the conversations anew"
    )


SHARED = {
    **dict.fromkeys(
        (
            "test_contracts.py",
            "test_explorer.py",
            "test_mutant_paths.py",
            "test_mutants.py",
            "test_spoken.py",
        ),
        "the straight ways",
    ),
    "test_wording.py": "sentences",
    "test_margin.py": "margins",
    **dict.fromkeys(
        ("test_conversations.py", "test_air_conversations.py", "test_same_record.py"),
        "at the desk",
    ),
    **dict.fromkeys(("test_entries.py", "test_lines.py"), "over lines"),
}
"""Modules whose tests share what takes long to make, and what that is."""
BY_PARAMETER = frozenset({"at the desk", "over lines", "margins"})
"""What is shared only by tests with the same parameter: a conversation, a part of the cases."""


class SharedOnce(LoadScopeScheduling):  # type: ignore[misc]  the library gives no types
    """Each test to whichever process is free, but those that share something all to one.

    The library's own groups, `--dist loadgroup`, do nothing with this pytest: they add the group
    to `Item._nodeid`, which no longer exists. A test is known here by its id alone.
    """

    @override
    def _split_scope(self, nodeid: str) -> str:
        shared = SHARED.get(PurePath(nodeid.partition("::")[0]).name)
        if shared is None:
            return nodeid
        return f"{shared} {nodeid.partition('[')[2]}" if shared in BY_PARAMETER else shared


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadScopeScheduling:
    return SharedOnce(config, log)
