"""Copies of photos, and the times in them, made by a child process with tight limits.

A picture comes from outside and may be built to fill the memory of any program that opens it.
So its size is checked first, only three formats are tried, and a child process with limits on
memory and time opens it. A picture that cannot be shown remains a file: its bytes are evidence.
"""

import re
import resource
import subprocess
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 64_000_000
MOST_MEMORY = 1_500_000_000
MOST_SECONDS = 20
LONG_SIDE = 640
QUALITY, QUALITY_WHOLE = 80, 92
SMALL, WHOLE = "small", "whole"


Pair = tuple[Path, Path]

# Exif 2.32 (CIPA DC-008), section 4.6: the Exif IFD, and two of its tags.
_EXIF_IFD, _TAKEN, _OFFSET = 0x8769, 0x9003, 0x9011
_TIME = re.compile(r"(\d{4}):(\d\d):(\d\d) (\d\d:\d\d:\d\d)\x00?")
_ZONE = re.compile(r"([+-]\d\d:\d\d)\x00?")
_TOLD = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d([+-]\d\d:\d\d)?")


def thumbnails(pairs: Sequence[Pair]) -> dict[Path, str]:
    """Make thumbnails of pictures, as (picture, thumbnail); if it cannot be shown, none is made.

    A child process makes them in order. If a picture ends the process, another child continues
    after that picture.

    Returns
    -------
    dict
        The time that a camera wrote into a picture (Exif ``DateTimeOriginal``), as ISO 8601, with
        its offset if the camera wrote that too. A camera's clock may be set to any time.
    """
    left, taken = list(pairs), dict[Path, str]()
    while left:
        times = _tried(left)
        # The child has read a stranger's file, so nothing but a time is accepted from it.
        taken |= {
            source: time for (source, _), time in zip(left, times, strict=False)
            if _TOLD.fullmatch(time)
        }  # fmt: skip
        if len(times) < len(left):
            left[len(times)][1].unlink(missing_ok=True)
        left = left[len(times) + 1 :]
    return taken


def pixels_alone(pairs: Sequence[Pair]) -> None:
    """Write pictures again in their full size, as (picture, copy), with nothing but their pixels.

    If a picture cannot be shown, no copy is made.
    """
    left = list(pairs)
    while left:
        done = len(_tried(left, WHOLE))
        if done < len(left):
            left[done][1].unlink(missing_ok=True)
        left = left[done + 1 :]


def _tried(pairs: Sequence[Pair], size: str = SMALL) -> list[str]:
    """Run a child on some pictures and return its line for each picture that it finished."""
    names = [str(path) for pair in pairs for path in pair]
    command = [sys.executable, "-I", "-m", "bot.packet.pictures", size, *names]
    try:
        done = subprocess.run(  # noqa: S603  our own program, and paths of ours
            command, capture_output=True, check=False, timeout=MOST_SECONDS * (1 + len(pairs))
        )
        said = done.stdout
    except subprocess.TimeoutExpired as late:
        said = late.stdout or b""
    *whole, _ = said.decode("ascii", "replace").split("\n")
    return whole


def main(size: str, names: Sequence[str]) -> None:
    """Make copies in the child process; write a line for each: the time in it, or nothing."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    seconds = MOST_SECONDS + len(names)
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    for source, target in zip(names[::2], names[1::2], strict=True):
        taken = ""
        try:
            taken = _make(source, target, is_small=size == SMALL)
        except (OSError, ValueError, SyntaxError, MemoryError):
            Path(target).unlink(missing_ok=True)
        sys.stdout.write(f"{taken}\n")
        sys.stdout.flush()


def _make(source: str, target: str, *, is_small: bool) -> str:
    from PIL import Image, ImageOps  # noqa: PLC0415  only under the limits

    with Image.open(source, formats=FORMATS) as picture:
        if picture.width * picture.height > MOST_PIXELS:
            return ""
        said = picture.getexif().get_ifd(_EXIF_IFD)
        if is_small:
            picture.draft("RGB", (LONG_SIDE * 2, LONG_SIDE * 2))
        upright = ImageOps.exif_transpose(picture).convert("RGB")
        if is_small:
            upright.thumbnail((LONG_SIDE, LONG_SIDE))
        # A picture of its own, which brings nothing along from the file but its pixels.
        alone = Image.new("RGB", upright.size)
        alone.paste(upright)
        alone.save(target, "JPEG", quality=QUALITY if is_small else QUALITY_WHOLE)
    return camera_time(str(said.get(_TAKEN, "")), str(said.get(_OFFSET, "")))


def camera_time(taken: str, offset: str) -> str:
    """Return a camera's time as ISO 8601; empty if it is not a time.

    Examples
    --------
    >>> camera_time("2026:11:25 10:03:09", "-07:00"), camera_time("2026:11:25 10:03:09", "")
    ('2026-11-25T10:03:09-07:00', '2026-11-25T10:03:09')
    >>> camera_time("0000:00:00 00:00:00", ""), camera_time("yesterday", "")
    ('', '')
    """
    time, zone = _TIME.fullmatch(taken), _ZONE.fullmatch(offset)
    if time is None:
        return ""
    said = f"{time[1]}-{time[2]}-{time[3]}T{time[4]}{'' if zone is None else zone[1]}"
    try:
        datetime.fromisoformat(said)
    except ValueError:
        return ""
    return said


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2:])
