"""The text of a line, for any channel that shows text; marked if it is sent again."""

import re
from collections.abc import Mapping
from typing import Any

from flows.texts import sentences

# Characters without width, or that turn the direction: they can make a line read differently.
_HIDDEN = re.compile("[\u061c\u200b-\u200f\u202a-\u202e\u2060-\u2064\u2066-\u2069\ufeff]")


def shown_text(body: Mapping[str, Any], *, is_repeat: bool, before: str = "") -> str:
    """Return the text of a line, empty for a silent one.

    Parameters
    ----------
    body
        The line as the outbox has it.
    is_repeat
        Whether it may have been seen before.
    before
        Goes between the mark of a repeat and the text.
    """
    error = body.get("error")
    text = f"{error['wrong']} {error['do']}" if error else body["shown"]
    if not text:
        return ""
    again = sentences()["talk"]["repeat"] + " " if is_repeat else ""
    return f"{again}{before}{text}"


def without_hidden(text: str) -> str:
    r"""Return text without characters that are invisible or turn the reading direction.

    Examples
    --------
    >>> without_hidden("red\u202e barn\u200b")
    'red barn'
    """
    return _HIDDEN.sub("", text)
