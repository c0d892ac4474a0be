"""How long a packet takes: `python -m tests.bench.packets`. Not a test: nothing here fails.

Each time stands beside what plain `zip` and `sha256sum` take for the same files, in the same run.
"""

import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from time import perf_counter

from bot.commands.bootstrap import scripted
from bot.commands.demo import Player, conversation, parse
from bot.record.checkpoints import Codes, Sealer
from bot.record.media import Media, keep
from bot.record.rows import Batch, NewEntry
from flows.job.entries import Private
from tests.packet.packets import JPEG, unpacked

PHOTO_BYTES = 4_000_000


def record(folder: Path, entries: int, photos: int) -> None:
    """Make a record of a job with so many entries and photos of 4 MB."""
    player = Player(folder)
    for step in parse(conversation("hold_and_resume"))[:12]:
        if step.kind != "=":
            player.step(step)
    rows: list[NewEntry] = []
    for number in range(photos):
        picture = folder.with_name("photo.jpg")
        picture.write_bytes(JPEG + number.to_bytes(4, "big") * (PHOTO_BYTES // 4))
        media: Media = keep(folder, "photo", str(picture))
        body = {"kind": "photo", "sha256": media.sha256, "size": media.size}
        rows.append(NewEntry(1, "media", body, by="p1"))
    missing = entries - len(player.store.lines(1)) - len(rows) - 1
    words = {"text": Private("a word or two"), "role": "driver", "from_driver": False}
    rows += [NewEntry(1, "heard", words, by="p1")] * missing
    at = replace(player.at, wall_ms=player.at.wall_ms + 1000)
    player.store.commit(Batch(at, "America/Denver", entries=tuple(rows)))
    sealer = Sealer(scripted("1").signer)  # type: ignore[arg-type]  it has one

    def sealing(reader):  # type: ignore[no-untyped-def]  # noqa: ANN001, ANN202  as above
        made = sealer.seal(reader, 1, at, is_over=False)
        return (one for one in made if not isinstance(one, Codes))

    start = perf_counter()
    player.store.commit(Batch(at, "America/Denver", sealing=sealing))
    say(f"  a checkpoint over {entries} entries: {1000 * (perf_counter() - start):.1f} ms")
    player.close()


def say(text: str) -> None:
    """Print a line."""
    sys.stdout.write(f"{text}\n")


def timed(work: Callable[[], object]) -> float:
    """Return how long something takes [s]."""
    start = perf_counter()
    work()
    return perf_counter() - start


def bench(entries: int, photos: int) -> None:
    """Print the times and the memory of one size."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        say(f"{entries} entries, {photos} photos of 4 MB")
        record(folder / "data", entries, photos)
        packet, code = folder / "job-1.zip", "import sys; from bot.commands.cli import main; "
        options = f"'--data','{folder}/data','--seed','1','--out','{packet}'"
        make = f"sys.exit(main(['packet','1',{options}]))"
        check = f"sys.exit(main(['verify','{packet}']))"
        for what, command in (("packet", make), ("verify", check)):
            run = [sys.executable, "-c", code + command]
            took = timed(lambda run=run: subprocess.run(run, check=True, capture_output=True))
            peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss // 1024
            say(f"  {what}: {took:.2f} s, peak of any child so far {peak} MB")
        top = unpacked(packet, folder / "out")
        plain = f"zip -q -r -0 {folder}/plain.zip {top} && find {top} -type f | xargs sha256sum"
        shell = ["sh", "-c", plain]
        took = timed(lambda: subprocess.run(shell, check=True, capture_output=True))
        say(f"  zip and sha256sum of the same files: {took:.2f} s")


if __name__ == "__main__":
    for entries, photos in ((300, 0), (300, 40), (10_000, 0)):
        bench(entries, photos)
