"""Packets for the tests: a recorded carry, its packet, and how strangers check it."""

import hashlib
import shutil
import subprocess
import sys
import zipfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from bot.commands.demo import Player, conversation, parse
from bot.commands.proving import make_packet
from bot.desk.inbound import Inbound
from bot.machine.settings import Settings
from bot.packet.bag import MANIFEST, ssh_signature
from bot.record.heads import Binder
from bot.record.keys import scripted_signer
from bot.record.media import keep
from bot.record.private import random_salt
from bot.record.store import Store, open_store
from tests.bot.scripted import with_key as with_key  # noqa: PLC0414  for every packet too

ALONE = (sys.executable, "-S", "-E", "data/verify.py")
"""The packet's own checker, which can import only the packet's files and the standard library."""

CHECKS = ("sha256sum", "openssl", "ssh-keygen", "bagit", "verify.py")
JPEG = b"\xff\xd8\xff\xe0\x00\x10JFIF"


def carried(folder: Path, name: str = "window_runs_out", photos: int = 3) -> None:
    """Play a recorded conversation into a record, with some photos added."""
    player = Player(folder)
    steps = parse("@dispatcher:ann> status\n" + conversation(name))
    for number, step in enumerate(steps):
        if step.kind != "=":
            player.step(step)
        if 10 <= number < 10 + photos:
            picture = folder.with_name(f"picture-{number}.jpg")
            picture.write_bytes(JPEG + bytes([number]) * 5_000)
            media = keep(folder, "photo", str(picture))
            player.desk.take(Inbound("driver:sam", f"p{number}", media=media), player.at)
    player.close()


def written(data: Path, seed: str = "1") -> Store:
    """Open a scripted record to write to it, with its key."""
    store = open_store(data, salt=random_salt)
    store.bind(Binder(scripted_signer(seed), Settings(data).head_file))
    return store


def packed(data: Path, out: Path, job: int = 1) -> Path:
    make_packet(Settings(data), job, out, max, seed="1")
    return out


def unpacked(packet: Path, folder: Path) -> Path:
    with zipfile.ZipFile(packet) as found:
        found.extractall(folder)
    (top,) = folder.iterdir()
    return top


def run(command: list[object], cwd: Path, given: bytes | None = None) -> int:
    return subprocess.run(
        [str(part) for part in command], cwd=cwd, input=given, capture_output=True, check=False
    ).returncode


def holds(check: str, top: Path) -> bool:
    """Run a check with the command in the read-me."""
    manifest = top / "manifest-sha256.txt"
    match check:
        case "sha256sum":
            return run(["sha256sum", "-c", "--quiet", manifest.name], top) == 0
        case "openssl":
            args = "pkeyutl -verify -pubin -inkey data/proof/public-key.pem -rawin"
            files = f"-in {manifest.name} -sigfile {manifest.name}.ed25519"
            return run(["openssl", *args.split(), *files.split()], top) == 0
        case "ssh-keygen":
            args = "-Y verify -f data/proof/allowed-signers.txt -I packet -n rollproof-packet -s"
            command = ["ssh-keygen", *args.split(), f"{manifest.name}.sig"]
            return run(command, top, manifest.read_bytes()) == 0
        case "bagit":
            return run([sys.executable, "-m", "bagit", "--validate", "--quiet", "."], top) == 0
        case _:
            return run([*ALONE], top) == 0


def caught_by(top: Path, checks: Sequence[str] = CHECKS) -> set[str]:
    return {check for check in checks if not holds(check, top)}


def redone(top: Path, *, sign: str | None = None) -> None:
    """Make the manifests again, and the signatures if a key is given."""
    lines = [
        f"{hashlib.sha256(path.read_bytes()).hexdigest()}  {path.relative_to(top).as_posix()}\n"
        for path in sorted((top / "data").rglob("*"))
        if path.is_file()
    ]
    (top / MANIFEST).write_text("".join(lines))
    size = sum(path.stat().st_size for path in (top / "data").rglob("*") if path.is_file())
    info = (top / "bag-info.txt").read_text().splitlines()
    kept = [line for line in info if not line.startswith("Payload-Oxum")]
    (top / "bag-info.txt").write_text("\n".join([*kept, f"Payload-Oxum: {size}.{len(lines)}", ""]))
    tags = [
        f"{hashlib.sha256((top / name).read_bytes()).hexdigest()}  {name}\n"
        for name in ("bag-info.txt", "bagit.txt", MANIFEST)
    ]
    (top / "tagmanifest-sha256.txt").write_text("".join(tags))
    if sign is not None:
        signer, text = scripted_signer(sign), (top / MANIFEST).read_bytes()
        (top / f"{MANIFEST}.ed25519").write_bytes(signer.sign(text))
        (top / f"{MANIFEST}.sig").write_bytes(ssh_signature(signer, text))


def copies(top: Path, folder: Path) -> Iterator[Path]:
    """Yield copies of an unpacked packet to tamper with."""
    number = 0
    while True:
        number += 1
        yield Path(shutil.copytree(top, folder / str(number) / top.name))
