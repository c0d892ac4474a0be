"""The tokens of the recogniser: pieces of words, and the text of a row of them."""

import string
from collections.abc import Sequence

SPACE = "\u2581"
"""The character for a space within a token."""

LETTERS = frozenset(SPACE + string.ascii_letters + string.digits + ".,!-'/")
"""The characters of answers; tokens with others are in no grammar."""

Branch = dict[str | None, "Branch | int"]
"""Tokens letter by letter; under None is the number of the token that ends here."""


class Vocabulary:
    """The pieces, in order, from the tokenizer's file.

    Parameters
    ----------
    data
        Each piece after its length: one byte, or two if the first is 128 or more, the length then
        being first - 128 + 128 * second. An empty piece has length 0.
    """

    def __init__(self, data: bytes) -> None:
        self.pieces = tuple(_pieces(data))

    def read(self, tokens: Sequence[int]) -> str:
        """Return the text of a row of tokens."""
        found = b"".join(_bytes_of(self.pieces[one]) for one in tokens)
        return found.decode("utf-8", "replace").replace(SPACE, " ").strip()

    def branches(self) -> Branch:
        """Return the tokens that are text, letter by letter."""
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
    index = 0
    while index < len(data):
        length = data[index]
        index += 1
        if length >= 128:
            length += data[index] * 128 - 128
            index += 1
        found.append(data[index : index + length])
        index += length
    return found


def _bytes_of(piece: bytes) -> bytes:
    """Return the bytes of a piece; a piece like "<0x0A>" is the byte it names."""
    if len(piece) == 6 and piece.startswith(b"<0x"):
        return bytes([int(piece[3:5], 16)])
    return piece
