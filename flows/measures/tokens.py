"""Cut spoken or typed text into tokens, with bounded work and a closed alphabet."""

import re
import unicodedata
from typing import Final

from flows.measures.words import NUMBER, OH, SOUNDS_LIKE_DIGIT, SOUNDS_ONLY, vocabulary

LONGEST: Final = 2000
"""Only this many characters are read."""

_GLUED_UNITS: Final = vocabulary(
    "lbs lb pounds kgs kg kilos tonnes tons ton t ft in inches inch feet foot yd mm cm km miles "
    "mi mins min hours hour hrs hr h m secs sec s volts volt v mv am pm ish hundred thousand"
)
"""Units that people write without a space after the figure."""

_TOKEN = re.compile(
    r"(?P<half>[ap])\.\s?m\b\.?"
    r"|(?P<over>\d+) ?/ ?(?P<under>\d+)(?:ths|th)?(?![^\W_])"
    r"|(?P<dashed>\d+(?:-\d+){2,})"
    r"|(?P<number>\d+(?:[.,:]\d+|'\d{3}(?!\d))*|\.\d+)"
    rf"(?:(?P<k>k)?(?P<unit>{'|'.join(sorted(_GLUED_UNITS))})?(?![^\W\d_])|(?P<rest>[^\W_]+))"
    r"|(?P<word>[^\W\d_][^\W_]*(?:'[^\W_]+)*)"
    r"|(?P<mark>''|[-,.;:!?'\"#%$~+\n])"
)
_GROUPED = re.compile(r"\d{1,3}(?:(?:,\d{3})+|(?:'\d{3})+)(?:\.\d+)?")
_ALIKE: Final = str.maketrans({
    "\u2018": "'", "\u2019": "'", "\u2032": "'", "\u02bc": "'", "\u201c": '"', "\u201d": '"',
    "\u2033": '"', "\u2010": "-", "\u2011": "-", "\u2012": "-", "\u2013": "-", "\u2014": "-",
    "\u2212": "-", "\u2044": "/", "\u2215": "/", "\u066b": ".", "\u066c": ",", "\u2248": "~",
    "\r": "\n", "\t": " ", "\u2028": "\n", "\u2029": "\n", "\u0085": "\n", "\u00d7": "x",
})  # fmt: skip
_ASCII_CONTROLS: Final = dict.fromkeys([*range(9), 11, 12, *range(14, 32), 127])
_ABBREVIATED: Final = vocabulary(
    "lb lbs kg kgs ft in yd mi min mins hr hrs h sec secs approx am pm mm cm km v mv"
)
_MARKS: Final = {
    "\n": ",", ";": ".", "!": ".", "?": ".", ":": ",", ",": ",", ".": ".", "#": "#", "%": "%",
    "$": "$", "~": "~", "+": "+",
}  # fmt: skip


def _plain_character(character: str) -> str:
    """Return a character in the closed alphabet; empty for control characters."""
    if character.isdecimal():
        return str(unicodedata.decimal(character))
    kind = unicodedata.category(character)
    if kind == "No":  # "2½" must not become "21/2"
        return " " + character
    return "" if kind[0] == "C" and character != "\n" else character


def _plain_text(text: str) -> str:
    """Return the text in lower case and plain digits and marks, without control characters."""
    if text.isascii():
        return text.translate(_ALIKE).translate(_ASCII_CONTROLS).lower()
    spaced = "".join(map(_plain_character, text.translate(_ALIKE)))
    return _unaccented(unicodedata.normalize("NFKC", spaced).translate(_ALIKE).lower())


def _unaccented(text: str) -> str:
    """Return the text without the accents of Latin letters; marks on other letters are kept."""
    kept: list[str] = []
    for character in unicodedata.normalize("NFD", text):
        is_mark = unicodedata.category(character) == "Mn"
        if not (is_mark and kept and kept[-1].isascii() and kept[-1].isalpha()):
            kept.append(character)
    return unicodedata.normalize("NFC", "".join(kept))


def _number(written: str) -> str:
    """Return a written number without its thousands marks; any other shape unchanged."""
    if written[0] == ".":
        return "0" + written
    return re.sub("[,']", "", written) if _GROUPED.fullmatch(written) else written


def _dash(text: str, start: int, stop: int) -> str | None:
    """Tell a minus, a dash between two things, and a hyphen inside a word (None)."""
    before, after = text[start - 1 : start] or " ", text[stop : stop + 1] or " "
    if before in " (,:\n=" and (after.isdecimal() or after == "."):
        return "minus"
    return None if before.isalpha() or after.isalpha() else "-"


class _Cutter:
    """Turns the matches of one text into tokens."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.found: list[str] = []
        self._quoted = False

    def add(self, match: re.Match[str]) -> None:
        """Append the tokens of one match."""
        if match["word"] is not None:
            if match["word"] not in SOUNDS_ONLY:
                self.found.append(match["word"])
        elif match["mark"] is not None:
            self._add_mark(match["mark"], match.start(), match.end())
        elif match["half"] is not None:
            self.found.append(match["half"] + "m")
        elif match["over"] is not None:
            self.found.append(f"{match['over']}/{match['under']}")
        elif match["dashed"] is not None:
            digits = match["dashed"].split("-")
            self.found.extend(digits if max(map(len, digits)) == 1 else [match["dashed"]])
        else:
            self._add_number(match)

    def _add_number(self, match: re.Match[str]) -> None:
        """Append a figure and the unit glued to it; with any other ending it stays one token."""
        if match["rest"] is not None:
            self.found.append(match["number"] + match["rest"])
        else:
            self.found.append(_number(match["number"]))
            self.found.extend(match[part] for part in ("k", "unit") if match[part])

    def _add_mark(self, mark: str, start: int, stop: int) -> None:
        """Append a mark, unless it only ends an abbreviation or joins two words."""
        if mark == "-":
            token = _dash(self.text, start, stop)
        elif mark in ("'", '"', "''"):
            token = self._tick(mark, start)
        elif mark == "." and self.found and self.found[-1] in _ABBREVIATED:
            token = None
        else:
            token = _MARKS[mark]
        if token is not None:
            self.found.append(token)

    def _tick(self, mark: str, start: int) -> str | None:
        """Return feet or inches for a tick right after a figure, None for a quotation mark."""
        if not self._quoted and self.found and self.text[start - 1 : start].isdecimal():
            return "'" if mark == "'" else '"'
        if mark == '"':
            self._quoted = not self._quoted
        return None


def _cut(text: str) -> str:
    """Return whole words of at most `LONGEST` characters."""
    if len(text) <= LONGEST:
        return text
    short = text[:LONGEST]
    return short[: max(short.rfind(" "), short.rfind("\n"), 0)]


_BETWEEN: Final = vocabulary("point and a an of or about , - .")
"""Words that may be inside a quantity that is cut in two."""


def _counts(token: str) -> bool:
    """Tell whether a token may belong to a number."""
    return (
        token[0].isdecimal()
        or token in NUMBER
        or token in OH
        or token in SOUNDS_LIKE_DIGIT
        or token in _BETWEEN
    )


def tokens(text: str) -> tuple[str, ...]:
    """Cut a text into lower-case tokens.

    Parameters
    ----------
    text
        Anything a person typed or a recogniser wrote. Only the first 2,000 characters are read,
        and a number across the cut is left out.

    Returns
    -------
    tuple of str
        Words, numbers without their thousands marks ("12000", "4.6", "3/8", "14:05"), units
        separated from figures, and the marks ``, . - ' " # % $ ~ +``. Control characters, accents
        of Latin letters and hesitations ("uh") are dropped.

    Examples
    --------
    >>> tokens("About 12,000lbs., uh, 3\u215c in")
    ('about', '12000', 'lbs', ',', ',', '3', '3/8', 'in')
    """
    plain = _cut(_plain_text(_cut(text)))
    cutter = _Cutter(plain)
    for match in _TOKEN.finditer(plain):
        cutter.add(match)
    found = cutter.found
    if len(text) > LONGEST:
        while found and _counts(found[-1]):
            found.pop()
    return tuple(found)
