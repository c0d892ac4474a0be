"""Text that comes in over any channel."""


def clean(text: str) -> str:
    r"""Return text without control characters and lone surrogates, which no entry may hold.

    Examples
    --------
    >>> clean("mile\x07 9\n")
    'mile 9\n'
    """
    whole = text.encode("utf-8", "replace").decode("utf-8")
    return "".join(c for c in whole if c in "\n\t" or (ord(c) >= 32 and ord(c) != 127))
