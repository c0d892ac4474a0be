"""Options shared by all tests."""

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--wording", action="store_true", help="write the wording of the conversations anew"
    )
