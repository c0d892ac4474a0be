"""Small copies of photos, made in a process of their own that may not take much.

A picture comes from outside: it may be made to fill the memory of whoever opens it. So its size
is looked at first, only four formats are tried, and a child process with limits opens it. What
it cannot show stays a file; its bytes are evidence all the same.
"""

import resource
import subprocess
import sys
from pathlib import Path

FORMATS = ("JPEG", "PNG", "WEBP")
MOST_PIXELS = 64_000_000
MOST_MEMORY = 1_500_000_000
MOST_SECONDS = 20
LONG_SIDE = 640
QUALITY = 80


def thumbnail(source: Path, target: Path) -> bool:
    """Make a small copy of a picture; say whether there is one."""
    command = [sys.executable, "-I", "-m", "bot.packet.pictures", str(source), str(target)]
    try:
        done = subprocess.run(  # noqa: S603  our own program, and two paths of ours
            command, capture_output=True, check=False, timeout=2 * MOST_SECONDS
        )
    except subprocess.TimeoutExpired:
        return False
    return done.returncode == 0 and target.is_file()


def main(source: str, target: str) -> int:
    """Make one small copy; in the child process."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
    from PIL import Image, ImageOps  # noqa: PLC0415  only under the limits

    with Image.open(source, formats=FORMATS) as picture:
        if picture.width * picture.height > MOST_PIXELS:
            return 1
        picture.draft("RGB", (LONG_SIDE * 2, LONG_SIDE * 2))
        upright = ImageOps.exif_transpose(picture).convert("RGB")
        upright.thumbnail((LONG_SIDE, LONG_SIDE))
        upright.save(target, "JPEG", quality=QUALITY)
    return 0


if __name__ == "__main__":
    try:
        sys.exit(main(*sys.argv[1:]))
    except (OSError, ValueError, SyntaxError, MemoryError) as error:
        sys.exit(f"no picture: {error!r}")
