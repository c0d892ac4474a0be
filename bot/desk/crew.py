"""The crew: who is enrolled, invited or waiting. Only a fold over the company's chain."""

from dataclasses import dataclass, replace

from bot.record.reader import Reader
from bot.record.rows import COMPANY
from flows.job.entries import plain

ROLES = ("driver", "dispatcher", "owner")
GONE = "gone"
"""The role of a chat after its person was removed: nothing is sent to it or taken from it."""


@dataclass(frozen=True, slots=True)
class Member:
    """Somebody enrolled, and the platform account they speak from, if any."""

    person: str
    role: str
    name: str
    account: str | None

    @property
    def chat(self) -> str:
        """Return the name of their chat."""
        return f"{self.role}:{self.name}"


@dataclass(frozen=True, slots=True)
class Invite:
    """An invite: only its digest is kept, and it works once."""

    digest: str
    role: str
    until_ms: int
    needs_approval: bool


@dataclass(frozen=True, slots=True)
class Knock:
    """Somebody who used an invite and waits for an owner's approval."""

    number: int
    role: str
    name: str
    account: str


class Crew:
    """The crew as the company's chain tells it, read on as the chain grows."""

    def __init__(self, record: Reader) -> None:
        self._record = record
        self._next = 0
        self._knocks = 0
        self.members: dict[str, Member] = {}
        self.invites: dict[str, Invite] = {}
        self.waiting: dict[int, Knock] = {}
        self.gone: set[str] = set()
        self.spoken_to: set[str] = set()

    def refresh(self) -> None:
        """Read the entries added since the last call."""
        head = self._record.head(COMPANY)
        if head is None or head.seq < self._next:
            return
        for entry in self._record.entries(COMPANY, self._next):
            body = {name: plain(value) for name, value in entry["body"].items()}
            self._fold(entry["kind"], body)
        self._next = head.seq + 1

    def _fold(self, kind: str, body: dict[str, object]) -> None:
        folds = {
            "enrolled": self._enrolled,
            "invited": self._invited,
            "knocked": self._knocked,
            "refused": self._answered,
            "revoked": self._revoked,
            "moved": self._moved,
            "speaks": self._speaks,
        }
        if kind in folds:
            folds[kind](body)

    def by_account(self, account: str) -> Member | None:
        """Return the member who speaks from a platform account."""
        return next((one for one in self.members.values() if one.account == account), None)

    def by_chat(self, chat: str) -> Member | None:
        """Return the member whose chat it is."""
        return next((one for one in self.members.values() if one.chat == chat), None)

    def named(self, name: str, role: str = "") -> Member | None:
        """Return the member with a name, as `all_named`; None where there is none, or several."""
        found = self.all_named(name, role)
        return found[0] if len(found) == 1 else None

    def all_named(self, name: str, role: str = "") -> list[Member]:
        """Return the members with a name who are still in, upper or lower case alike.

        Parameters
        ----------
        role
            Only members of that role, and where the very name is among them, only that one.
        """
        wanted = name.strip()
        found = [
            member
            for member in self._still_in()
            if member.name.casefold() == wanted.casefold() and role in {"", member.role}
        ]
        same = [member for member in found if member.name == wanted]
        return same if role and same else found

    def _still_in(self) -> list[Member]:
        return [one for person, one in self.members.items() if person not in self.gone]

    def owners(self) -> list[Member]:
        """Return the owners who speak from a platform account."""
        return [one for one in self.members.values() if one.role == "owner" and one.account]

    def next_knock(self) -> int:
        """Return the number for the next person who waits."""
        return self._knocks + 1

    def free_name(self, name: str) -> str:
        """Return a name that nobody here has or had, in any role: "Sam", "Sam 2"."""
        taken = {member.name.casefold() for member in self.members.values()}
        tried, number = name, 1
        while tried.casefold() in taken or self._has_chat(tried):
            number += 1
            tried = f"{name} {number}"
        return tried

    def _has_chat(self, name: str) -> bool:
        return any(self._record.chat(f"{role}:{name}") is not None for role in ROLES)

    def _enrolled(self, body: dict[str, object]) -> None:
        person, account = str(body["person"]), body.get("account")
        self.members[person] = Member(
            person, str(body["role"]), str(body["name"]), None if account is None else str(account)
        )
        self._answered(body)

    def _answered(self, body: dict[str, object]) -> None:
        self.waiting.pop(int(str(body.get("knock", 0))), None)
        self.invites.pop(str(body.get("invite", "")), None)

    def _invited(self, body: dict[str, object]) -> None:
        digest = str(body["invite"])
        self.invites[digest] = Invite(
            digest, str(body["role"]), int(str(body["until_ms"])), bool(body["needs_approval"])
        )

    def _knocked(self, body: dict[str, object]) -> None:
        self._knocks = int(str(body["knock"]))
        self.invites.pop(str(body["invite"]), None)
        self.waiting[self._knocks] = Knock(
            self._knocks, str(body["role"]), str(body["name"]), str(body["account"])
        )

    def _speaks(self, body: dict[str, object]) -> None:
        change = self.spoken_to.add if body["on"] else self.spoken_to.discard
        change(str(body["person"]))

    def _moved(self, body: dict[str, object]) -> None:
        member = self.members.get(str(body["person"]))
        if member is not None and member.account is not None:
            self.members[member.person] = replace(member, account=str(body["account"]))

    def _revoked(self, body: dict[str, object]) -> None:
        member = self.members.get(str(body["person"]))
        if member is not None:
            self.members[member.person] = replace(member, account=None)
            self.gone.add(member.person)
