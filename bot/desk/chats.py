"""Who is in which chat: people enrolled, chats by role, the question a message asked."""

from bot.record.reader import Reader
from bot.record.rows import COMPANY, Chat, NewEntry
from flows.job.entries import Private

ROLES = ("driver", "dispatcher", "owner")


class Chats:
    """The enrolled chats of a company, read from the record as they change."""

    def __init__(self, store: Reader) -> None:
        self._store = store

    def enrol(self, name: str) -> tuple[Chat, tuple[NewEntry, ...]]:
        """Return a chat, and the entry that enrols it if it is new.

        Raises
        ------
        ValueError
            When the name is not ROLE:NAME with a known role.
        """
        chat = self._store.chat(name)
        if chat is not None:
            return chat, ()
        check(name)
        role, _, person = name.partition(":")
        chat = Chat(name, f"p{len(self._store.chats()) + 1}", role)
        body = {"person": chat.person, "role": role, "name": Private(person)}
        return chat, (NewEntry(COMPANY, "enrolled", body, by=chat.person),)

    def chat_of(self, person: str | None) -> str | None:
        """Return a person's chat; None if they have none."""
        return next((c.chat for c in self._store.chats() if c.person == person), None)

    def name_of(self, person: str | None) -> str:
        """Return a person's name; empty if nobody is meant or has a chat."""
        return "" if person is None else (self.chat_of(person) or "").partition(":")[2]

    def drivers(self) -> list[Chat]:
        """Return the chats of the drivers, by name."""
        return [chat for chat in self._store.chats() if chat.role == "driver"]

    def driver_named(self, name: str) -> Chat | None:
        """Return the chat of the driver with a name, upper or lower case alike."""
        wanted = " ".join(name.split()).strip(" .,").casefold()
        return next((one for one in self.drivers() if _name(one).casefold() == wanted), None)

    def focus_of(self, chat: str) -> int | None:
        """Return the job that a chat talks about; None for no job."""
        seat = self._store.chat(chat)
        return None if seat is None else seat.focus_job

    def chats_for(self, to: str, driver: str | None, sender: Chat | None) -> list[str]:
        """Return the chats a message goes to."""
        match to:
            case "driver":
                return self._of_driver(driver, sender)
            case "sender":
                return [] if sender is None else [sender.chat]
            case "dispatchers":
                return self._with_role("dispatcher") or self._with_role("owner")
            case _:
                return self._with_role("owner")

    def _of_driver(self, driver: str | None, sender: Chat | None) -> list[str]:
        if sender is not None and sender.person == driver:
            return [sender.chat]
        chat = self.chat_of(driver)
        return [] if chat is None else [chat]

    def _with_role(self, role: str) -> list[str]:
        return sorted(chat.chat for chat in self._store.chats() if chat.role == role)

    def ask_of(self, chat: Chat, to: int | None) -> int | None:
        """Return the number of the question that our message `to` of a chat asked.

        Question 0 stands for a message that asked nothing or was never sent: no question of a
        job has that number, so a driver's reply to such a message answers nothing. A desk is asked
        nothing: its reply only says which job it speaks of.
        """
        if to is None:
            return None
        line = self._store.reply(chat.chat, to)
        if chat.role != "driver" and line is not None and "ask" not in line.body:
            return None
        return 0 if line is None else int(line.body.get("ask", 0))


def _name(chat: Chat) -> str:
    return chat.chat.partition(":")[2]


def check(name: str) -> None:
    """Make sure that a chat's name is made of a role and a person.

    Raises
    ------
    ValueError
        When it is not ROLE:NAME with a known role.
    """
    role, _, person = name.partition(":")
    if role not in ROLES or not person.strip():
        allowed = ", ".join(f"{known}:NAME" for known in ROLES)
        raise ValueError(f"chat is {name!r}; allowed: {allowed}. Correct the chat's name.")
