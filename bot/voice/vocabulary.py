"""The tokens of the recogniser: pieces of words, and how a row of them reads."""

import string
from collections.abc import Sequence

SPACE = "\u2581"
"""What stands for a space within a token."""

LETTERS = frozenset(SPACE + string.ascii_letters + string.digits + ".,!-'/")
"""What answers are written with; tokens with others are of no grammar."""

Branch = dict[str | None, "Branch | int"]
"""Tokens by their letters; under None the number of the token that ends here."""


class Vocabulary:
    """The pieces in order, from the tokenizer's file.

    Parameters
    ----------
    data
        Each piece after its length: one byte, or two where the first has its highest bit set,
        which then counts 128 times the second more. A piece without letters has length 0.
    """

    def __init__(self, data: bytes) -> None:
        self.pieces = tuple(_pieces(data))

    def read(self, tokens: Sequence[int]) -> str:
        """Return the text of a row of tokens."""
        found = b"".join(_bytes_of(self.pieces[one]) for one in tokens)
        return found.decode("utf-8", "replace").replace(SPACE, " ").strip()

    def branches(self) -> Branch:
        """Return the tokens that are text, by their letters."""
        root: Branch = {}
        for number, piece in enumerate(self.pieces):
            text = piece.decode("utf-8", "ignore")
            if not text or not LETTERS.issuperset(text):
                continue
            at = root
            for letter in text:
                inner = at.setdefault(letter, {})
                if isinstance(inner, dict):
                    at = inner
            at.setdefault(None, number)
        return root


def _pieces(data: bytes) -> list[bytes]:
    found: list[bytes] = []
    place = 0
    while place < len(data):
        length = data[place]
        place += 1
        if length >= 128:
            length += data[place] * 128 - 128
            place += 1
        found.append(data[place : place + length])
        place += length
    return found


def _bytes_of(piece: bytes) -> bytes:
    """Return the bytes of a piece; one that names a byte stands for it."""
    if len(piece) == 6 and piece.startswith(b"<0x"):
        return bytes([int(piece[3:5], 16)])
    return piece
