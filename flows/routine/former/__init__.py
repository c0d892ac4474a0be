"""The texts of former routines, kept so that the packet of an old record still has its checklist.

Before the routine is changed after a release, its text goes into a file here, as it is:
`CARRY.text` of `flows/routine/carry.py`, without a newline at the end.
"""

import hashlib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files


@cache
def former_texts() -> Mapping[str, str]:
    """Return the texts of former routines by their SHA-256, as records name them."""
    kept = (one.read_bytes() for one in files(__name__).iterdir() if one.name.endswith(".txt"))
    return {hashlib.sha256(text).hexdigest(): text.decode() for text in kept}
