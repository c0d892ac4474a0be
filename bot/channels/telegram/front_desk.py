"""The front desk: strangers, invites and the crew. All other messages go on to the jobs."""

import hashlib
import hmac
import io
import re
import secrets
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from bot.channels.telegram.dispatch import Dispatch
from bot.channels.text import clean
from bot.desk.batches import Cause
from bot.desk.company import Company
from bot.desk.crew import GONE, ROLES, Invite, Knock, Member
from bot.desk.inbound import Inbound
from bot.desk.outgoing import Line, choices, line
from bot.record.rows import COMPANY, Chat, Moment, NewEntry, Reply, Stranger
from flows.hearing.prompts import Prompt
from flows.job.entries import Private
from flows.job.events import Spoken
from flows.job.intents import Chosen
from flows.measures.tokens import tokens
from flows.texts import air_texts
from flows.texts.visible import without_hidden
from flows.turn.reading_messages import tells_danger
from flows.turn.voicing import is_sure

INVITE_LIVES_MS = 15 * 60_000
DAY_MS, LOCK_MS = 24 * 3_600_000, 3_600_000
MOST_TRIES = 5
LONGEST_NAME = 40
TOKEN_BYTES = 16

_INVITE = re.compile(r"invite (?:an? )?(driver|dispatcher|owner)", re.IGNORECASE)
_ANSWER = re.compile(r"(approve|refuse)[ :](\d{1,6})", re.IGNORECASE | re.ASCII)
_REVOKE = re.compile(r"revoke (\S.*)", re.IGNORECASE)
SPEAK = {"speak": True, "speak to me": True, "be quiet": False, "quiet": False}
"""The words that turn spoken replies on and off."""
_ALOUD = {tokens(words): words for words in SPEAK if " " in words}
"""The same by voice: without single short words, which are too easily misheard."""
_START = re.compile(r"/start(?:\s+(\S{1,128}))?\s*", re.IGNORECASE)

Say = Callable[[int, str, bytes | None], None]
"""Says something outside the record: the address, the text, a picture."""


class FrontDesk:
    """Decides who may speak, and carries out an owner's orders about the crew.

    Parameters
    ----------
    company
        The company whose crew it is.
    dispatch
        Takes requests of dispatchers and owners about jobs.
    say
        Says things that must not be kept: an invite, or a refusal to a stranger.
    link
        Makes the link in which a token is handed out.
    """

    def __init__(
        self, company: Company, dispatch: Dispatch, say: Say, link: Callable[[str], str]
    ) -> None:
        self._dispatch = dispatch
        self._crew = company.crew
        self._messages = company.messages
        self._store = company.store
        self._desk = company.desk
        self._say = say
        self._link = link
        self.owed: list[Reply] = []

    # Strangers.

    def answer_group(self, group: int, member: Member | None) -> None:
        """Answer a word of danger in a group, where the record takes nothing down."""
        texts = air_texts()["says"]
        known = texts["group_known"].format(name="" if member is None else member.name)
        self._say(group, texts["group"] if member is None else known, None)

    def stranger(self, sender: int, update: Mapping[str, Any], at: Moment) -> None:
        """Deny by default: count, refuse once a day, and check an invite."""
        account = f"telegram:{sender}"
        known = self._store.stranger(account)
        message = _message_of(update)
        group = _group_of(message)
        if group is not None:
            self._stranger_in_group(group, known, message, at)
            return
        token = _token_of(message)
        if token is not None and known.locked_until_ms <= at.wall_ms:
            invite = self._invite(token, at)
            if invite is not None:
                self._use(invite, sender, _name(message), at)
                return
            known = _tried(known, at)
        is_due = _is_due(known, at)
        waits = account in {knock.account for knock in self._crew.waiting.values()}
        if is_due and not waits:
            known = replace(known, refused_ms=at.wall_ms)
            self._say(sender, air_texts()["crew"]["stranger"], None)
        self._store.keep_stranger(replace(known, seen=known.seen + 1))

    def _stranger_in_group(
        self, group: int, known: Stranger, message: Mapping[str, Any], at: Moment
    ) -> None:
        """Answer only danger, once a day for each stranger: nobody asked us."""
        if tells_danger(str(message.get("text", "")), None) and _is_due(known, at):
            self.answer_group(group, None)
            self._store.keep_stranger(replace(known, refused_ms=at.wall_ms))

    def _invite(self, token: str, at: Moment) -> Invite | None:
        """Return the invite of a token; all invites are compared, in constant time."""
        digest = _digest(token)
        found = [invite for invite in self._crew.invites.values()
                 if hmac.compare_digest(invite.digest, digest)]  # fmt: skip
        return next((invite for invite in found if invite.until_ms > at.wall_ms), None)

    def _use(self, invite: Invite, sender: int, name: str, at: Moment) -> None:
        account = f"telegram:{sender}"
        if not invite.needs_approval:
            knock = Knock(0, invite.role, name, account)
            self.owed += self._enrol(knock, {"invite": invite.digest}, Cause(at))
            return
        number = self._crew.next_knock()
        body = {"invite": invite.digest, "knock": number, "role": invite.role,
                "name": Private(name), "account": Private(account)}  # fmt: skip
        asked = self._asks(Knock(number, invite.role, name, account))
        entry = NewEntry(COMPANY, "knocked", body, "bot")
        self.owed += self._messages.write(Cause(at), asked, [entry])
        self._crew.refresh()
        self._say(sender, air_texts()["crew"]["wait"], None)

    def _asks(self, knock: Knock) -> list[Line]:
        texts = air_texts()["crew"]
        text = texts["asks"].format(name=knock.name, role=knock.role, number=knock.number)
        expects = choices(*((f"{word}:{knock.number}", texts[word].format(number=knock.number))
                            for word in ("approve", "refuse")))  # fmt: skip
        body = {**line(text, "check"), "expects": expects}
        return [(owner.chat, body) for owner in self._crew.owners()]

    # The crew.

    def take(self, member: Member, message: Inbound, cause: Cause) -> list[Reply] | None:
        """Take a message for the front desk; return None if it is for a job."""
        said = " ".join((message.tap or message.text or asked_aloud(message.spoken)).split())
        if message.edit_of is not None or not said:
            return None
        for take in (self._for_anyone, self._for_owners, self._crew_list):
            handled = take(member, said, cause)
            if handled is not None:
                return handled
        return self._dispatch.take(member, message, cause)

    def _for_owners(self, member: Member, said: str, cause: Cause) -> list[Reply] | None:
        """Take an order about the crew, which only owners may give."""
        for pattern, act in (
            (_INVITE, self._make_invite), (_ANSWER, self._answer), (_REVOKE, self._revoke),
        ):  # fmt: skip
            if found := pattern.fullmatch(said):
                is_owner = member.role == "owner"
                return (
                    act(member, found, cause)
                    if is_owner
                    else self._tell(member, "only_owner", cause)
                )
        return None

    def _crew_list(self, member: Member, said: str, cause: Cause) -> list[Reply] | None:
        if said.casefold() != "crew" or member.role == "driver":
            return None
        return self._messages.write(cause, [(member.chat, line(self._list()))])

    def _for_anyone(self, member: Member, said: str, cause: Cause) -> list[Reply] | None:
        if said.casefold() in SPEAK:
            return self._speak(member, cause, on=SPEAK[said.casefold()])
        if found := _START.fullmatch(said):
            return self._messages.write(
                cause, [(member.chat, self._started(member, found, cause))]
            )
        return None

    def _started(self, member: Member, found: re.Match[str], cause: Cause) -> dict[str, Any]:
        """Return the answer to somebody of the crew who opens a link; no invite is used up."""
        invite = None if found[1] is None else self._invite(found[1], cause.at)
        if found[1] is None:
            return _welcome(member)
        texts, slots = air_texts()["crew"], {"name": member.name, "mine": member.role}
        if invite is None:
            return line(texts["link_old"].format(**slots))
        return line(texts["link_not_used"].format(role=invite.role, **slots))

    def _speak(self, member: Member, cause: Cause, *, on: bool) -> list[Reply]:
        """Turn spoken replies on or off for one person, from now on."""
        text = air_texts()["speak"]["on" if on else "off"]
        entry = NewEntry(COMPANY, "speaks", {"person": member.person, "on": on}, member.person)
        written = self._messages.write(cause, [(member.chat, line(text))], [entry])
        self._crew.refresh()
        return written

    def owner_token(self, at: Moment) -> str:
        """Make the one-time token for the first owner; only its digest is kept."""
        return self._new_token("owner", "bot", Cause(at), needs_approval=False)

    def _new_token(
        self, role: str, by: str, cause: Cause, lines: tuple[Line, ...] = (),
        *, needs_approval: bool = True,
    ) -> str:  # fmt: skip
        token = secrets.token_urlsafe(TOKEN_BYTES)
        body = {"invite": _digest(token), "role": role, "needs_approval": needs_approval,
                "until_ms": cause.at.wall_ms + INVITE_LIVES_MS}  # fmt: skip
        entry = NewEntry(COMPANY, "invited", body, by)
        self.owed += self._messages.write(cause, lines, [entry])
        self._crew.refresh()
        return token

    def _make_invite(self, member: Member, found: re.Match[str], cause: Cause) -> list[Reply]:
        role, texts = found[1].lower(), air_texts()["crew"]
        told = line(texts["invited"].format(role=role))
        token = self._new_token(role, member.person, cause, ((member.chat, told),))
        link = self._link(token)
        # Said outside the record: a token that lets somebody in is stored nowhere.
        self._say(_number(member), texts["invite"].format(role=role, link=link), qr_png(link))
        return []

    def _answer(self, member: Member, found: re.Match[str], cause: Cause) -> list[Reply]:
        knock = self._crew.waiting.get(int(found[2]))
        if knock is None:
            return self._tell(member, "no_such", cause, number=found[2])
        if found[1].lower() == "approve":
            name = self._crew.free_name(knock.name)
            told = air_texts()["crew"]["approved"].format(name=name, role=knock.role)
            body = {"knock": knock.number, "approved_by": member.person}
            return self._enrol(knock, body, cause, ((member.chat, line(told)),))
        told = air_texts()["crew"]["refused"].format(name=knock.name)
        entry = NewEntry(COMPANY, "refused", {"knock": knock.number}, member.person)
        sent = self._messages.write(cause, [(member.chat, line(told))], [entry])
        self._crew.refresh()
        return sent

    def _enrol(
        self, knock: Knock, body: dict[str, Any], cause: Cause,
        lines: tuple[Line, ...] = (),
    ) -> list[Reply]:  # fmt: skip
        person = f"p{len(self._store.chats()) + 1}"
        name = self._crew.free_name(knock.name)
        chat = Chat(f"{knock.role}:{name}", person, knock.role)
        member = Member(person, knock.role, name, knock.account)
        entry = NewEntry(
            COMPANY, "enrolled",
            {"person": person, "role": knock.role, "name": Private(name),
             "account": Private(knock.account), **body},
            by=str(body.get("approved_by", person)),
        )  # fmt: skip
        welcome = (member.chat, _welcome(member))
        sent = self._messages.write(cause, (*lines, welcome), [entry], [chat])
        self._crew.refresh()
        return sent

    def _revoke(self, member: Member, found: re.Match[str], cause: Cause) -> list[Reply]:
        meant = self._meant(found[1])
        if not meant:
            return self._tell(member, "nobody", cause, name=found[1])
        if len(meant) > 1:
            return self._tell(member, "revoke_which", cause, name=found[1], which=_which(meant))
        (gone,) = meant
        if gone.role == "owner" and len(self._crew.owners()) <= 1:
            return self._tell(member, "revoke_self", cause)
        told = line(air_texts()["crew"]["revoked"].format(name=gone.name, role=gone.role))
        entry = NewEntry(COMPANY, "revoked", {"person": gone.person}, member.person)
        chat = self._store.chat(gone.chat)
        chats = [] if chat is None else [replace(chat, role=GONE)]
        sent = self._messages.write(cause, [(member.chat, told)], [entry], chats)
        self._crew.refresh()
        return sent + self._desk.driver_gone(gone.person, cause.at)

    def _meant(self, words: str) -> list[Member]:
        """Return the members that "sam" or "driver sam" may mean."""
        role, _, name = words.partition(" ")
        of_role = self._crew.all_named(name, role.lower()) if role.lower() in ROLES else []
        return self._crew.all_named(words) or of_role

    def left(self, member: Member, what: str, cause: Cause) -> list[Reply]:
        """Tell the dispatchers that somebody blocked the bot; who returns hears where we are."""
        if what != "blocked":
            back = self._messages.write(cause)
            return back + self._desk.welcome_back(cause.at, member.chat)
        return self.tell_dispatchers("blocked", cause, besides=member, name=member.name)

    def moved(self, before: int, after: int, cause: Cause) -> list[Reply]:
        """Follow a chat to its new address, and tell the dispatchers, once per move."""
        member = self._crew.by_account(f"telegram:{before}")
        if member is None:
            return self._messages.write(cause)
        body = {"person": member.person, "account": Private(f"telegram:{after}")}
        text = air_texts()["says"]["moved"].format(name=member.name)
        lines = [(chat, line(text, "note")) for chat in self._desks() if chat != member.chat]
        sent = self._messages.write(cause, lines, [NewEntry(COMPANY, "moved", body, "bot")])
        self._crew.refresh()
        return sent

    def _desks(self) -> list[str]:
        return self._messages.chats_of("dispatcher") or self._messages.chats_of("owner")

    def tell_dispatchers(
        self, key: str, cause: Cause, besides: Member | None = None,
        **slots: object,
    ) -> list[Reply]:  # fmt: skip
        """Say something to every dispatcher, or to the owners if nobody dispatches."""
        text = air_texts()["says"][key].format(**slots)
        mine = "" if besides is None else besides.chat
        lines = [(chat, line(text, "note")) for chat in self._desks() if chat != mine]
        return self._messages.write(cause, lines)

    def _tell(self, member: Member, key: str, cause: Cause, **slots: object) -> list[Reply]:
        text = air_texts()["crew"][key].format(**slots)
        return self._messages.write(cause, [(member.chat, line(text))])

    def _list(self) -> str:
        texts = air_texts()["crew"]
        here = [member for member in self._crew.members.values() if member.account]
        waiting = [texts["knock"].format(number=knock.number, name=knock.name, role=knock.role)
                   for knock in self._crew.waiting.values()]  # fmt: skip
        return str(texts["list"].format(
            members="\n".join(texts["member"].format(name=m.name, role=m.role) for m in here),
            waiting=", ".join(waiting) or texts["none"],
        ))  # fmt: skip


def open_to_voice(prompt: Prompt) -> Prompt:
    """Return a question, with the phrases for the front desk that may be spoken at any time."""
    added = [(phrase, Chosen(words)) for phrase, words in _ALOUD.items()]
    answer = prompt.answer
    return replace(prompt, answer=replace(answer, phrases=(*answer.phrases, *added)))


def asked_aloud(spoken: Spoken | None) -> str:
    """Return the order a voice note surely gives the front desk; empty for anything else."""
    if spoken is None or not is_sure(spoken):
        return ""
    return _ALOUD.get(tokens(spoken.text.rstrip(" .,!?")), "")


def _which(meant: list[Member]) -> str:
    """Return the orders that tell people of one name apart."""
    text = air_texts()["crew"]["revoke_one"]
    return "\n".join(text.format(role=one.role, name=one.name) for one in meant)


def _welcome(member: Member) -> dict[str, Any]:
    return line(air_texts()["crew"][f"welcome_{member.role}"].format(name=member.name))


def _is_due(known: Stranger, at: Moment) -> bool:
    return at.wall_ms - known.refused_ms >= DAY_MS


def _group_of(message: Mapping[str, Any]) -> int | None:
    """Return the address of the group that a raw message is in; None for no group."""
    chat = message.get("chat")
    if not isinstance(chat, Mapping) or chat.get("type", "private") == "private":
        return None
    number = chat.get("id")
    return number if isinstance(number, int) else None


def _tried(known: Stranger, at: Moment) -> Stranger:
    """Count a wrong invite; after the fifth, none is checked for an hour."""
    if known.tries + 1 < MOST_TRIES:
        return replace(known, tries=known.tries + 1)
    return replace(known, tries=0, locked_until_ms=at.wall_ms + LOCK_MS)


def _message_of(update: Mapping[str, Any]) -> Mapping[str, Any]:
    message = update.get("message")
    return message if isinstance(message, Mapping) else {}


def _token_of(message: Mapping[str, Any]) -> str | None:
    found = _START.fullmatch(str(message.get("text", "")))
    return None if found is None else found[1]


def _name(message: Mapping[str, Any]) -> str:
    sender = message.get("from")
    given = str(sender.get("first_name", "")) if isinstance(sender, Mapping) else ""
    name = " ".join(without_hidden(clean(given)).split())[:LONGEST_NAME].strip()
    return name or "?"


def _number(member: Member) -> int:
    return int((member.account or "0").rpartition(":")[2])


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()


def qr_png(link: str) -> bytes:
    """Return a QR code of a link, for a phone's camera."""
    import segno  # noqa: PLC0415  only when an invite is made

    picture = io.BytesIO()
    segno.make(link, error="m").save(picture, kind="png", scale=8)
    return picture.getvalue()
