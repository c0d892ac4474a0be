"""Text of other people with nothing hidden in it: characters that act, hide or turn are named.

Every packet carries this file beside `verify.py`, so it imports only Python's own library.
"""

import re

_HIDDEN = (
    # Controls: C0, DEL, C1. A terminal obeys them.
    "\x00-\x1f\x7f-\x9f"
    # Without width, or turning the direction: Unicode's format characters that show nothing.
    "\u00ad\u034f\u061c\u115f\u1160\u17b4\u17b5\u180b-\u180f\u200b-\u200f\u2028-\u202e\u2060-\u206f"
    "\u3164\ufe00-\ufe0d\ufeff\uffa0\ufff0-\ufffb\ufffe\uffff"
    "\U0001107f\U00013430-\U0001345f\U0001bca0-\U0001bca3\U0001d173-\U0001d17a\U000e0000-\U000e0fff"
    # Halves of a character, and characters that mean something else on every machine.
    "\ud800-\udfff\ue000-\uf8ff\U000f0000-\U0010ffff"
)
_ALL = re.compile("[" + _HIDDEN + "]")
_BUT_LINES = re.compile("[" + _HIDDEN.replace("\x00-\x1f", "\x00-\x09\x0b-\x1f") + "]")


def visible(text: str) -> str:
    r"""Return a text for one line, in which nothing acts on a terminal or hides something.

    Examples
    --------
    >>> visible("red\x1b[2J barn"), visible("mile\u202e 12\u200b"), visible("gate 4\nHOLDS")
    ('red<U+001B>[2J barn', 'mile<U+202E> 12<U+200B>', 'gate 4<U+000A>HOLDS')
    >>> visible("Añejo, 東, 🚗")
    'Añejo, 東, 🚗'
    """
    return _ALL.sub(_named, text)


def visible_lines(text: str) -> str:
    r"""Return a text of several lines in the same way; the lines stay, a tab becomes a space.

    Examples
    --------
    >>> visible_lines("one\n\ttwo\r")
    'one\n two<U+000D>'
    """
    return _BUT_LINES.sub(_named, text.replace("\t", " "))


def without_hidden(text: str) -> str:
    r"""Return a name as it is taken in: what would have to be named in it is left out.

    Examples
    --------
    >>> without_hidden("red\u202e barn\u200b")
    'red barn'
    """
    return _ALL.sub("", text)


def _named(found: "re.Match[str]") -> str:
    return "<U+{:04X}>".format(ord(found[0]))
