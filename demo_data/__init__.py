"""The invented company of the demonstration: its trucks, its gear, and vehicles it has handled."""

from importlib.resources import files


def card_files() -> dict[str, str]:
    """Return the text of every card, by the name `flows.cards.library.library_from` expects."""
    root = files(__name__)
    found = {"company.toml": root.joinpath("company.toml").read_text("utf-8")}
    for folder in ("vehicles", "trucks", "gear"):
        for path in root.joinpath(folder).iterdir():
            if path.name.endswith(".toml"):
                found[f"{folder}/{path.name}"] = path.read_text("utf-8")
    return dict(sorted(found.items()))
