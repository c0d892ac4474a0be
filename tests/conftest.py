"""Options shared by all tests."""

from pathlib import PurePath
from typing import Any

import pytest
from hypothesis import settings
from typing_extensions import override
from xdist.scheduler import LoadScopeScheduling

# A busy machine is no fault of the code: times are measured in tests/bench/ only.
settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--wording", action="store_true", help="write the wording of the conversations anew"
    )


ASK_FOR_STRAIGHT = frozenset(
    {"test_apart.py", "test_contracts.py", "test_explorer.py", "test_mutants.py", "test_spoken.py"}
)
"""Modules that ask for the straight ways, which take most of a minute to explore."""


class StraightOnce(LoadScopeScheduling):  # type: ignore[misc]  the library gives no types
    """Each test to whichever process is free, but for those: all to one, which explores once."""

    @override
    def _split_scope(self, nodeid: str) -> str:
        module = PurePath(nodeid.partition("::")[0]).name
        return "straight" if module in ASK_FOR_STRAIGHT else nodeid


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadScopeScheduling:
    return StraightOnce(config, log)
