"""Small copies of photos, made in a process of their own that may not take much.

A picture comes from outside: it may be made to fill the memory of whoever opens it. So its size
is looked at first, only four formats are tried, and a child process with limits opens it. What
it cannot show stays a file; its bytes are evidence all the same.
"""

import resource
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 64_000_000
MOST_MEMORY = 1_500_000_000
MOST_SECONDS = 20
LONG_SIDE = 640
QUALITY = 80


Pair = tuple[Path, Path]


def thumbnails(pairs: Sequence[Pair]) -> None:
    """Make small copies of pictures, as (picture, where to); what cannot be shown has none.

    One child makes them in turn. Where a picture ends it, another goes on behind that picture.
    """
    left = list(pairs)
    while left:
        names = [str(path) for pair in left for path in pair]
        command = [sys.executable, "-I", "-m", "bot.packet.pictures", *names]
        try:
            done = subprocess.run(  # noqa: S603  our own program, and paths of ours
                command, capture_output=True, check=False, timeout=MOST_SECONDS * (1 + len(left))
            )
            tried = done.stdout.count(b"\n")
        except subprocess.TimeoutExpired as late:
            tried = (late.stdout or b"").count(b"\n")
        if tried < len(left):
            left[tried][1].unlink(missing_ok=True)
        left = left[tried + 1 :]


def main(names: Sequence[str]) -> None:
    """Make small copies, in the child process; say a line after each that was tried."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    seconds = MOST_SECONDS + len(names)
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds))
    for source, target in zip(names[::2], names[1::2], strict=True):
        try:
            _make(source, target)
        except (OSError, ValueError, SyntaxError, MemoryError):
            Path(target).unlink(missing_ok=True)
        sys.stdout.write("\n")
        sys.stdout.flush()


def _make(source: str, target: str) -> None:
    from PIL import Image, ImageOps  # noqa: PLC0415  only under the limits

    with Image.open(source, formats=FORMATS) as picture:
        if picture.width * picture.height > MOST_PIXELS:
            return
        picture.draft("RGB", (LONG_SIDE * 2, LONG_SIDE * 2))
        upright = ImageOps.exif_transpose(picture).convert("RGB")
        upright.thumbnail((LONG_SIDE, LONG_SIDE))
        upright.save(target, "JPEG", quality=QUALITY)


if __name__ == "__main__":
    main(sys.argv[1:])
