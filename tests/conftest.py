"""Options shared by all tests."""

import pytest
from hypothesis import settings

# A busy machine is no fault of the code: times are measured in tests/bench/ only.
settings.register_profile("any machine", deadline=None)
settings.load_profile("any machine")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--wording", action="store_true", help="write the wording of the conversations anew"
    )
