"""The orders that a desk sends, read from its words. Anything else is for a job."""

import re
from dataclasses import dataclass

_NAME = r"(?P<name>[^,]{1,60}?)"
_JOB = r"job (?P<job>\d{1,9})"
_OFF = (
    r"(?:cancel(?:l?ed)?|call(?:ed)? off|customer (?:called|cancel)|gone on arrival"
    r"|goa\b|no show)"
)

_KINDS: tuple[tuple[str, str], ...] = (
    ("jobs", r"(?:list |show )?(?:all |open |the )?jobs|what'?s open|what is open"),
    ("free", r"(?:who is |who'?s |whos )?(?:free|available)"),
    ("help", r"help|commands|\?"),
    ("noted", r"noted"),
    ("find", r"(?:find|look up|search(?: for)?|where is|where'?s) (?P<words>.+)"),
    ("about", r"(?:what'?s (?:going on|happening|up) with|what about|any (?:word|news) (?:from|of)"
              rf"|how'?s|how is|is|status of) {_NAME}"
              r"(?: (?:doing|ok|okay|alright|all right|there yet|free))?\??"),
    ("tell", r"(?:tell|message|text|note to|note for)(?: (?P<words>.+))?"),
    ("trail", r"trail (?:job )?(?P<job>\d{1,9})"),
    ("cancel", rf"(?:cancel|call off|drop|end) {_JOB}[ ,:.]*(?:because )?(?P<words>.*)"),
    ("cancel", rf"(?P<words>{_OFF}.*?)[ ,:.]+(?:(?:for|on|at) )?{_JOB}"),
    ("cancel", rf"{_JOB}[ ,:.]*(?:is |was |has been |got )?(?P<words>{_OFF}.*)"),
    ("give", rf"(?:assign |give )?{_JOB},? (?:is )?for {_NAME}"),
    ("give_known", rf"(?:assign |give |hand )?{_JOB},? (?:over |goes |on )*to {_NAME}"),
    ("give_named", rf"(?:give|send|hand|get|put) {_NAME} (?:over |on |out )*(?:to |on )?{_JOB}"),
    ("send", rf"(?:send|get|dispatch|roll|put) {_NAME} (?:out |over |up |down |on |a call )*"
             r"(?:to|at|for) (?P<words>.+)"),
)  # fmt: skip
_READ = tuple((kind, re.compile(form, re.IGNORECASE | re.DOTALL)) for kind, form in _KINDS)

_NEW = re.compile(r"(?P<words>new (?:job|call)\b.*?)[ ,]+(?<!asked )for (?P<name>[^,]{1,60})",
                  re.IGNORECASE | re.DOTALL)  # fmt: skip
_NEW_FOR = re.compile(r"new (?:job|call) for (?P<name>[^,:]{1,60})[,:] +(?P<words>.+)",
                      re.IGNORECASE | re.DOTALL)  # fmt: skip
_CALL = re.compile(r"new call\b", re.IGNORECASE)
"""A new job by its other name."""

_NOBODY = re.compile(r"(?P<words>new (?:job|call)\b.*?)[ ,]+no driver yet", re.I | re.S)
_NO_NAME = frozenset({"the", "a", "an", "my", "our", "his", "her", "their", "by", "some"})
"""Words that no name begins with: "for the county lot" belongs to a place."""
MOST_NAME = 2
"""The most words of a name that nobody has, to be asked about."""

_REASONS: tuple[tuple[str, str], ...] = (
    ("gone", r"gone|goa\b|left already|drove off"),
    ("not_found", r"no show|not there|nobody|no one|no (?:car|vehicle)|not found"
                  r"|unable to locate|can'?t find|cannot find|wrong"),
    ("twice", r"duplicate|twice|double"),
    ("called_off", r"custom|call(?:ed|er)|owner|cancel(?:l?ed)"),
)  # fmt: skip
CANCEL = re.compile(rf"cancel {_JOB}[ ,:.]*(?P<words>.*)", re.IGNORECASE | re.DOTALL)
"""What a driver at the vehicle answers to end a job there was nothing to do in."""

CANNOT = re.compile(rf"(?:i )?(?:can'?t|cannot|won'?t) take {_JOB}.*", re.IGNORECASE | re.DOTALL)
"""A driver's answer to a job that was given to them."""

CANNOT_IT = re.compile(
    r"(?:sorry,? )?(?:i )?(?:can'?t|cannot|won'?t)(?: (?:make|take|do) (?:it|that|this(?: one)?))?"
    r"(?: *[,.;].*)?", re.IGNORECASE | re.DOTALL
)  # fmt: skip
"""The same of the one job that a driver was asked to take."""

HERE = re.compile(
    r"(?:i'?m |i am |we'?re )?(?:here|on scene|on site|on location|at the scene|arrived)"
    r"(?: now)?[ .!]*", re.IGNORECASE
)  # fmt: skip
"""A driver's arrival at the one job that they were asked to take."""

NOBODY_HERE = re.compile(
    rf"{_OFF}.*|(?:there'?s |there is )?(?:nobody|no one|no car|no vehicle)(?:'?s| is)? here.*"
    r"|(?:he|she|it|car|customer|vehicle)(?:'?s|'?re| is| are| has)? (?:gone|left).*",
    re.IGNORECASE | re.DOTALL,
)
"""A driver's words at a scene where there is nothing to recover."""

TO_DESK = re.compile(
    r"(?:tell|message|note (?:to|for)|text|to) (?:the )?(?:dispatch(?:er)?|desk|office)"
    r"[ ,:]+(?P<words>.+)|dispatch(?:er)?[,:] *(?P<more>.+)", re.IGNORECASE | re.DOTALL
)  # fmt: skip
"""A driver's words for the desk, and no answer."""


@dataclass(frozen=True, slots=True)
class Order:
    """An order of a desk.

    Parameters
    ----------
    kind
        "jobs", "free", "help", "noted", "find", "tell", "trail", "cancel", "give", "send", "new";
        "give_known", "give_named" and "about" count only if somebody has that name.
    job, name, words
        What it names: a job, a driver, and the rest.
    """

    kind: str
    job: int = 0
    name: str = ""
    words: str = ""


def order_of(said: str) -> Order | None:
    """Return the order in a desk's words; None if they are none.

    Examples
    --------
    >>> order_of("Job 3 for Lou.")
    Order(kind='give', job=3, name='Lou', words='')
    >>> order_of("send lou out to 9th and garnet, electric")
    Order(kind='send', job=0, name='lou', words='9th and garnet, electric')
    >>> order_of("new job, mile 12, no driver yet")
    Order(kind='new', job=0, name='', words='new job, mile 12')
    >>> order_of("new call for Max, pickup at the mall")
    Order(kind='new', job=0, name='Max', words='new job pickup at the mall')
    >>> order_of("customer cancelled job 4"), order_of("is ray ok?").name
    (Order(kind='cancel', job=4, name='', words='customer cancelled'), 'ray')
    >>> order_of("job 3 status") is None, order_of("job 3, customer called off").kind
    (True, 'cancel')
    """
    text = _CALL.sub("new job", said.strip().rstrip(" .!"), 1)
    if found := _NOBODY.fullmatch(text):
        return Order("new", words=found["words"])
    if found := _NEW_FOR.fullmatch(text):
        return Order("new", name=found["name"].strip(), words=f"new job {found['words']}")
    if found := _NEW.fullmatch(text):
        return Order("new", name=found["name"].strip(), words=found["words"])
    if _CALL.match(said.strip()):
        return Order("new", words=text)
    flat = " ".join(text.split())
    for kind, form in _READ:
        if found := form.fullmatch(flat):
            return _order(kind, found)
    return None


def _order(kind: str, found: re.Match[str]) -> Order:
    given = {name: value for name, value in found.groupdict().items() if value}
    name, words = given.get("name", ""), given.get("words", "")
    return Order(kind, int(given.get("job", 0)), name.strip(" ,"), words.strip(" ,:"))


def may_be_name(words: str) -> bool:
    """Say whether words can be the name of a driver that nobody has.

    Examples
    --------
    >>> may_be_name("Zed"), may_be_name("the county lot"), may_be_name("garage on 5th street")
    (True, False, False)
    """
    said = words.casefold().split()
    is_short = 0 < len(said) <= MOST_NAME and said[0] not in _NO_NAME
    return is_short and all(one.replace("-", "").replace("'", "").isalpha() for one in said)


def reason_of(words: str) -> str:
    """Return the key of the reason for which a job is called off; empty for none.

    Examples
    --------
    >>> reason_of("customer called off"), reason_of("GOA"), reason_of("the boss said so")
    ('called_off', 'gone', 'desk')
    >>> reason_of(""), reason_of("cancelled")
    ('', '')
    """
    plain = re.sub(r"^(?:cancell?ed|called off|call off)[ ,:.]*", "", words.strip(), flags=re.I)
    if not plain:
        return ""
    for key, form in _REASONS:
        if re.search(form, plain, re.IGNORECASE):
            return key
    return "desk"
