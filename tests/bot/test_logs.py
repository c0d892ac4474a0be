"""The log: the token never, the fingerprint always."""

import logging

import pytest

from bot.machine.logs import OneLine
from bot.record.arithmetic import fingerprint
from tests.standin.server import TOKEN


def logged(text: str) -> str:
    record = logging.LogRecord("bot", logging.INFO, "", 1, text, None, None)
    return OneLine().format(record)


@pytest.mark.parametrize("key", [bytes([n]) * 32 for n in range(8)])
def test_a_fingerprint_in_the_log_is_the_one_to_write_down(key: bytes) -> None:
    mark = fingerprint(key)
    assert mark in logged(f"A new key was made: {mark}. Write it down.")


@pytest.mark.parametrize(
    "text",
    ["{}", "no answer from /bot{}/getMe", "token={}", "'{}'", "BOT{}", "file/bot{}/photo", "({})"],
)
def test_a_token_is_in_no_line_of_the_log(text: str) -> None:
    for token in (TOKEN, TOKEN.replace(":", "%3A"), "123456789:" + "Aa0-_" * 7):
        found = logged(text.format(token))
        assert token not in found
        assert "(token)" in found
