"""The sentences with which the journal refuses, and the errors that carry them."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from typing_extensions import override


@dataclass(frozen=True, slots=True)
class Words:
    """A refusal in three sentences: the fault, the values allowed, the next step.

    ``{name}`` marks where a value goes.
    """

    what: str
    allowed: str
    todo: str


NOT_JSON = Words(
    "This is not readable JSON ({why}): {value}.",
    "A line is one JSON object in UTF-8.",
    "Compare the line with the original record.",
)
NOT_OBJECT = Words(
    "This line is not a JSON object: {value}.",
    "A line is one JSON object in UTF-8.",
    "Compare the line with the original record.",
)
DUPLICATE_KEY = Words(
    "The key {value} is in the same object twice.",
    "Each key occurs once.",
    "Compare the line with the original record.",
)
FLOAT = Words(
    "{value} is not an integer.",
    "Numbers in the record are integers in a declared unit.",
    "Round it to that unit first.",
)
BIG_INTEGER = Words(
    "The integer {value} is too large for JSON.",
    "Integers run from -9007199254740991 to 9007199254740991.",
    "Write it as a string.",
)
BAD_KEY = Words(
    "{value} cannot be a key.",
    "Keys are ASCII strings.",
    "Use the key's English name and put the text into the value.",
)
BAD_TYPE = Words(
    "{value} cannot be written as JSON.",
    "Values are objects, lists, text in UTF-8, integers, true, false and null.",
    "Convert it to one of these first.",
)
RESERVED_KEY = Words(
    "A body has the key {value}, which marks a personal value.",
    "Personal values are passed as private values, never as ready-made commitments.",
    "Rename the key.",
)
NOT_NEXT = Words(
    "Entry {value} of job {job} is not the next entry.",
    "The next entry of this job is {allowed}.",
    "Read the job again and repeat the answer.",
)
JOB_OVER = Words(
    "Job {job} has ended, and takes no entry of the kind {value}.",
    "Words, files that were on their way, and checkpoints.",
    "Open another job. Nothing was written.",
)
UNKNOWN_CHAT = Words(
    "A reply is addressed to the chat {value}, which is not enrolled.",
    "Replies go to enrolled chats.",
    "Enrol the chat in the same batch.",
)
DUPLICATE_ID = Words(
    "The id {value} of chat {chat} was used before with another body.",
    "An id belongs to a single message; a repeat is identical.",
    "Send the new message under a new id. The first message is kept.",
)
ALREADY_DONE = Words(
    "Message {value} is already settled (state: {state}).",
    "Only a message in state new can be settled.",
    "Nothing was written. Answer with the replies already in the outbox.",
)
UNKNOWN_MESSAGE = Words(
    "There is no message {value} in the inbox.",
    "Only a received message can be settled.",
    "Receive it first. Nothing was written.",
)
IN_USE = Words(
    "The data folder {value} is in use by another rollproof, process {holder}.",
    "One data folder has one running process.",
    "Stop that process, or use another data folder.",
)
NEWER = Words(
    "The record {path} was written by a newer version: its form is {value}.",
    "This program reads form {allowed} or older.",
    "Install the newer program. Nothing was changed.",
)
FOREIGN = Words(
    "The file {value} is a database, but not a record of this program.",
    "The data folder contains a record made by rollproof, or no record yet.",
    "Move that file away, or use another data folder. Nothing was changed.",
)
NO_RECORD = Words(
    "There is no record at {value}.",
    "Only an existing record can be read.",
    "Check the data folder's name.",
)
NO_FOLDER = Words(
    "The data folder {value} cannot be used ({why}).",
    "The data folder must be a directory that this user can write.",
    "Check its permissions and whether its disk is mounted for writing.",
)
DISK_FULL = Words(
    "The disk with {value} is full.",
    "The record needs room for every entry.",
    "Free some space; unconfirmed messages are then processed again. Nothing is lost.",
)
READ_ONLY = Words(
    "The record {value} cannot be written: it is read-only.",
    "The data folder must be writable.",
    "Check its permissions and whether its disk is mounted for writing. Nothing is lost.",
)
LOCKED = Words(
    "The record {value} is locked by another program.",
    "Only this program writes the record.",
    "Close the other program; unconfirmed messages are then processed again. Nothing is lost.",
)
CANNOT_OPEN = Words(
    "The record {value} cannot be opened.",
    "The data folder must be a directory that this user can write.",
    "Check that it exists and its permissions.",
)
DAMAGED = Words(
    "The record {value} is damaged ({why}).",
    "The record must be an intact SQLite file.",
    "Keep this file as it is, and continue from the last backup.",
)
DISK_ERROR = Words(
    "The disk with {value} reports an error ({why}).",
    "The record needs a disk that works.",
    "Check the disk; unconfirmed messages are then processed again.",
)
REFUSED = Words(
    "The record {value} refused the change ({why}).",
    "Entries are only added, each as the next in its job.",
    "Read the job again. Nothing was written.",
)
NOT_SCRUBBED = Words(
    "Values were erased from {value}, but its write-ahead log may still contain them.",
    "The log can be cleared when no other program is reading the record.",
    "Close the other program and erase the same values again.",
)
FAILED = Words(
    "The record {value} could not be used ({why}).",
    "The record must be an SQLite file that only this program writes.",
    "Read the reason above; unconfirmed messages are then processed again.",
)

UNREADABLE_ENTRY = Words(
    "Entry {seq} of job {value} cannot be read ({why}).",
    "An entry has the form that this program wrote.",
    "Run rollproof verify, keep the record as it is, and find out why.",
)

READING = (ValueError, LookupError, TypeError, AttributeError, ArithmeticError, RecursionError)
"""What reading bytes that this program did not write may raise."""

_BY_CODE = {
    sqlite3.SQLITE_FULL: DISK_FULL,
    # The shared-memory file cannot grow.
    sqlite3.SQLITE_IOERR_SHMSIZE: DISK_FULL,
    sqlite3.SQLITE_READONLY: READ_ONLY,
    sqlite3.SQLITE_PERM: READ_ONLY,
    sqlite3.SQLITE_BUSY: LOCKED,
    sqlite3.SQLITE_CANTOPEN: CANNOT_OPEN,
    sqlite3.SQLITE_CORRUPT: DAMAGED,
    sqlite3.SQLITE_NOTADB: DAMAGED,
    sqlite3.SQLITE_IOERR: DISK_ERROR,
    sqlite3.SQLITE_CONSTRAINT: REFUSED,
}


class StoreError(Exception):
    """The journal refused; nothing was half done.

    Attributes
    ----------
    words
        Which refusal this is.
    what, allowed, todo
        Its sentences, with the values filled in.
    value
        The value that was refused.
    """

    def __init__(self, words: Words, *, value: object, **more: object) -> None:
        super().__init__(words, value)
        self.words = words
        self.value = value
        self.what = words.what.format(value=value, **more)
        self.allowed = words.allowed.format(value=value, **more)
        self.todo = words.todo.format(value=value, **more)

    @override
    def __str__(self) -> str:
        return f"{self.what} {self.allowed} {self.todo}"


class CanonicalError(StoreError):
    """A value that an entry cannot contain, or a line that is not canonical."""


class DuplicateIdError(StoreError):
    """A message id was used again with another body."""


class AlreadyDoneError(StoreError):
    """The message was settled before and cannot be applied twice."""


@contextmanager
def translated(path: object) -> Iterator[None]:
    """Turn every error of the database or its folder into a plain sentence.

    Parameters
    ----------
    path
        The file or folder that the sentence names.

    Raises
    ------
    StoreError
        Instead of the original error.

    Examples
    --------
    >>> try:
    ...     with translated("rollproof.db"):
    ...         raise sqlite3.OperationalError("disk I/O error")
    ... except StoreError as error:
    ...     print(error.what)
    The record rollproof.db could not be used (disk I/O error).
    """
    try:
        yield
    except sqlite3.Error as error:
        code = getattr(error, "sqlite_errorcode", 0)
        words = _BY_CODE.get(code) or _BY_CODE.get(code & 0xFF, FAILED)
        raise StoreError(words, value=path, why=error) from error
    except OSError as error:
        raise StoreError(NO_FOLDER, value=path, why=error.strerror) from error
