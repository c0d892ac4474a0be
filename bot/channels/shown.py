"""The text of a line, for any channel that shows text; marked if it is sent again."""

from collections.abc import Mapping
from typing import Any

from flows.texts import sentences
from flows.texts.visible import visible_lines


def shown_text(body: Mapping[str, Any], *, is_repeat: bool, before: str = "") -> str:
    """Return the text of a line with nothing hidden in it, empty for a silent one.

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
    return visible_lines(f"{again}{before}{text}")
