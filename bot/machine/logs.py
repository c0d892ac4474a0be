"""The log: one JSON object a line, without personal data and without the token.

What a person said may stand in an error's text, so an error is logged by its kind and its
place only.
"""

import json
import logging
import re
import sys
from datetime import UTC, datetime
from typing import TextIO

from typing_extensions import override

# Any token of the platform, also of another bot.
_TOKEN = re.compile(r"\d{3,20}(?::|%3A)[A-Za-z0-9_-]{30,100}", re.ASCII | re.IGNORECASE)
QUIET = ("httpx", "httpcore", "telegram", "aiohttp", "asyncio")
DEEPEST = 12


class OneLine(logging.Formatter):
    """Writes a record as one line of JSON."""

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
            found["where"] = _places(record)
        return _TOKEN.sub("(token)", json.dumps(found, ensure_ascii=True))


def _places(record: logging.LogRecord) -> list[str]:
    places: list[str] = []
    trace = record.exc_info[2] if record.exc_info else None
    while trace is not None:
        code = trace.tb_frame.f_code
        places.append(f"{code.co_filename.rpartition('/')[2]}:{trace.tb_lineno} {code.co_name}")
        trace = trace.tb_next
    return places[-DEEPEST:]


def log_to(stream: TextIO = sys.stderr) -> None:
    """Log to a stream, and nowhere else; libraries only what went wrong."""
    handler = logging.StreamHandler(stream)
    handler.setFormatter(OneLine())
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(logging.INFO)
    for name in QUIET:
        logging.getLogger(name).setLevel(logging.WARNING)
