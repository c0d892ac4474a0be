"""Photos, voice notes, files and places, and what they count for.

A photo belongs to the item that is open when it comes, or to the set just settled. It is counted
once its bytes are kept; where a channel fetches those later, the receipt is recorded first.
"""

from flows.job.entries import Private
from flows.job.events import Heard, Media, Position, Told
from flows.measures.say import say_number
from flows.routine.items import Item, Photo
from flows.turn import effects
from flows.turn.turning import BOT, Turning


def keep(t: Turning, heard: Heard) -> None:
    """Record a place or a file, and say what it counts for."""
    if heard.position is not None:
        _keep_position(t, heard.position)
    elif heard.media is not None:
        _take(t, heard.media)


def _keep_position(t: Turning, position: Position) -> None:
    """Record a position, which is the place of the job too."""
    body = {"lat_udeg": position.lat_udeg, "lon_udeg": position.lon_udeg, "label": position.label}
    shown = position.label or f"{position.lat_udeg},{position.lon_udeg} microdegrees"
    t.note("media", kind="place", place=Private(body))
    effects.give(t, "place", shown, "typed", "open.place")
    t.answer_sender("place_kept")


def _take(t: Turning, media: Media) -> None:
    """Record the receipt of a file and, where they came with it, its bytes."""
    item = _set_of(t) if t.sender_is_driver() else None
    ref = {"ref": media.ref} if media.ref else {}
    receipt = t.note("received", kind=media.kind, item="" if item is None else item.id, **ref)
    if media.sha256:
        _verified(t, receipt, media)
    elif media.kind == "voice":
        _unheard(t)
    elif not is_part(t):
        t.answer_sender("media_received")


def told(t: Turning, event: Told) -> None:
    """Take the outcome of a file that a channel fetched: its bytes, or their loss."""
    if event.receipt not in t.job.receipts:
        return
    if event.media is not None:
        _verified(t, event.receipt, event.media)
    else:
        t.note("media_lost", BOT, receipt=event.receipt)
        _say_lost(t)


def _say_lost(t: Turning) -> None:
    """Tell of a lost file whoever can still do something about it."""
    if t.job.ended is None and t.job.at_vehicle is not None:
        t.say("media_lost")
        return
    if t.job.at_vehicle is not None:
        t.say("media_lost_over")
    t.say("media_lost_over", "dispatchers")


def _set_of(t: Turning) -> Item | None:
    """Return the item of a photo: the open one, or the set that was just settled."""
    item = t.job.next_item
    last = t.job.book.routine.items.get(t.job.last)
    return last if isinstance(last, Photo) and not isinstance(item, Photo) else item


def _verified(t: Turning, receipt: int, media: Media) -> None:
    kept = t.job.receipts[receipt]
    t.note("media", kind=kept.kind, sha256=media.sha256, size=media.size, type=media.type,
           receipt=receipt)  # fmt: skip
    item = t.job.book.routine.items.get(kept.item)
    if kept.kind == "voice":
        _unheard(t)
    elif is_part(t):
        return
    elif kept.kind == "photo" and isinstance(item, Photo):
        _counted(t, item)
    else:
        t.answer_sender("media_kept")


def is_part(t: Turning) -> bool:
    """Say whether more of the same message follows: the last part is answered."""
    return isinstance(t.event, Heard) and t.event.is_part


def _unheard(t: Turning) -> None:
    """Say that a voice note is kept and not heard, where nothing heard it."""
    if not isinstance(t.event, Heard) or t.event.spoken is None:
        t.answer_sender("voice_later")


def _counted(t: Turning, item: Photo) -> None:
    """Count a photo of a set; the last photo wanted settles it.

    Bytes that come behind "done" were spoken of with it: another question is open by then.
    """
    if isinstance(t.event, Told) and item.id in t.job.done:
        return
    count = t.job.photos[item.id]
    t.say("photo_kept", photo=say_number(count), photo_shown=str(count),
          wanted=say_number(item.wanted), wanted_shown=str(item.wanted))  # fmt: skip
    if count >= item.wanted and item.id not in t.job.done:
        t.note("done", item=item.id)


def settle(t: Turning, item: Photo) -> None:
    """Take "done" for a set of photos: of some that came, or are on their way, never of none."""
    coming = (one for one in t.job.receipts.values() if (one.kind, one.item) == ("photo", item.id))
    count = t.job.photos.get(item.id, 0) + sum(1 for _ in coming)
    if not count:
        t.answer_sender("photo_none")
        return
    t.note("done", item=item.id)
    if count < item.wanted:
        t.say("photos_some", photo=say_number(count), photo_shown=str(count),
              wanted=say_number(item.wanted), wanted_shown=str(item.wanted))  # fmt: skip


def unseen(t: Turning, item: str, reason: str) -> None:
    """Record that a set of photos could not be taken, and why: an honest gap."""
    if t.job.pending is not None:
        t.note("unpended", BOT)
    t.note("unseen", item=item, reason=Private(reason))
    t.answer_sender("unseen_noted")
