"""Text as it comes in over any channel."""


def clean(text: str) -> str:
    r"""Return text without control characters or halves of characters that no entry may hold.

    Examples
    --------
    >>> clean("mile\x07 9\n")
    'mile 9\n'
    """
    whole = text.encode("utf-8", "replace").decode("utf-8")
    return "".join(one for one in whole if one in "\n\t" or (ord(one) >= 32 and ord(one) != 127))
