"""The rules' own ear: the three words that are understood in every state.

It shares nothing with the hearing that it judges. It hears the words alone, or among words that
say nothing else; what a longer sentence means is not for a rule to say.
"""

import re
from functools import lru_cache
from typing import Literal

Cry = Literal["", "danger", "stop"]
_SEEN = r"i see|we have|there is|there s|it is|it s"
_SIGN = r"(?:smoke|fire)"
_DANGER = re.compile(rf"(?:stop )?(?:(?:{_SEEN}) )?(?:a )?{_SIGN}(?: {_SIGN})*(?: (?:now|here))?")
_STOP = re.compile(r"(?:(?:hey|please) )?stop(?: stop)*(?: now)?(?: please)?")
_GAP = re.compile(r"[^a-z0-9]+")


@lru_cache(maxsize=1024)
def hears(words: str) -> Cry:
    """Return what is cried out: a danger, "stop", or neither.

    Examples
    --------
    >>> hears("Stop!"), hears("there's smoke here"), hears("no smoke"), hears("stopped")
    ('stop', 'danger', '', '')
    """
    said = _GAP.sub(" ", words.lower()).strip()
    if _DANGER.fullmatch(said):
        return "danger"
    return "stop" if _STOP.fullmatch(said) else ""
