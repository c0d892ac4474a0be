"""The packages named for the wheel are those on disk: a forgotten one breaks every install."""

import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent.parent


def test_every_package_is_named() -> None:
    named = set(
        tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["setuptools"]["packages"]
    )
    on_disk = {
        ".".join(path.parent.relative_to(ROOT).parts)
        for top in ("bot", "flows", "demo_data")
        for path in (ROOT / top).rglob("__init__.py")
    }
    assert on_disk <= named, on_disk - named
    assert named - on_disk == {"demo_data.conversations"}
