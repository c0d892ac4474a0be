"""One message as any channel gives it to the desk, and its form in the inbox."""

from dataclasses import asdict, dataclass
from typing import Any

from flows.job.events import Media, Spoken


@dataclass(frozen=True, slots=True)
class Inbound:
    """A message that came in: its chat, id, time stamp, and one body.

    Parameters
    ----------
    chat
        Who speaks: "driver:sam", "dispatcher:ann", "owner:kim".
    id
        Unique in its chat.
    stamped_ms
        When the platform received it [ms UTC]; None on a channel without a platform.
    to
        The number of our message that this answers.
    job
        The job it is for, if not the chat's current job.
    edit_of
        The id of the message that this edits.
    text, tap, media, place, tick
        The body: words, a choice's id, a kept file, a position in microdegrees with its
        label, or only the passing of time.
    part
        Whether it is a file in an album, and not the last.
    no_receipt
        Whether the channel tells no time of receipt: its stamp then shows no delay.
    spoken
        The words of a voice note, if already heard; the inbox does not keep them.
    """

    chat: str
    id: str
    stamped_ms: int | None = None
    to: int | None = None
    job: int | None = None
    edit_of: str | None = None
    text: str | None = None
    tap: str | None = None
    media: Media | None = None
    place: tuple[int, int, str] | None = None
    tick: bool = False
    spoken: Spoken | None = None
    part: bool = False
    no_receipt: bool = False

    def body(self) -> dict[str, Any]:
        """Return the form kept in the inbox, without absent fields."""
        kept = {name: value for name, value in asdict(self).items() if value not in (None, False)}
        left_out = {"chat", "id", "spoken"}
        return {name: value for name, value in kept.items() if name not in left_out}

    @classmethod
    def from_body(cls, chat: str, ext_id: str, body: dict[str, Any]) -> "Inbound":
        """Return the message of an inbox row."""
        media, place = body.get("media"), body.get("place")
        return cls(
            chat,
            ext_id,
            **{name: body[name] for name in _PLAIN if name in body},
            media=None if media is None else _media(media),
            place=None if place is None else (place[0], place[1], place[2]),
        )


def _media(media: dict[str, Any] | list[Any]) -> Media:
    """Return the file of an inbox row; older rows have kind, digest and size only."""
    return Media(**media) if isinstance(media, dict) else Media(*media)


_PLAIN = ("stamped_ms", "to", "job", "edit_of", "text", "tap", "tick", "part", "no_receipt")
