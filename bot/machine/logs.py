"""The log: a JSON object per line, without personal data and without the token.

An error's text may quote a person, so only an error's type and location are logged.
"""

import json
import logging
import re
import sys
from datetime import UTC, datetime
from typing import TextIO

from typing_extensions import override

# Any token of the platform, even of another bot; "SHA256:" before a fingerprint is none.
_TOKEN = re.compile(
    r"(?:(?<![a-z0-9])|(?<=bot))\d{3,20}(?::|%3A)[A-Za-z0-9_-]{30,100}", re.ASCII | re.IGNORECASE
)
QUIET = ("httpx", "httpcore", "telegram", "aiohttp", "asyncio")
DEEPEST = 12


class OneLine(logging.Formatter):
    """Formats a log record as a single line of JSON."""

    @override
    def format(self, record: logging.LogRecord) -> str:
        found: dict[str, object] = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "from": record.name,
            "says": record.getMessage().partition("\n")[0],
        }
        if record.exc_info and record.exc_info[0] is not None:
            found["error"] = record.exc_info[0].__name__
            found["where"] = _locations(record)
        return _TOKEN.sub("(token)", json.dumps(found, ensure_ascii=True))


def _locations(record: logging.LogRecord) -> list[str]:
    found: list[str] = []
    trace = record.exc_info[2] if record.exc_info else None
    while trace is not None:
        code = trace.tb_frame.f_code
        found.append(f"{code.co_filename.rpartition('/')[2]}:{trace.tb_lineno} {code.co_name}")
        trace = trace.tb_next
    return found[-DEEPEST:]


def log_to(stream: TextIO = sys.stderr) -> None:
    """Log to a stream and nowhere else; from libraries only warnings and errors."""
    handler = logging.StreamHandler(stream)
    handler.setFormatter(OneLine())
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(logging.INFO)
    for name in QUIET:
        logging.getLogger(name).setLevel(logging.WARNING)
