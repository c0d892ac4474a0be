"""The invented company of the demonstration: Brindlemere Recovery, its trucks, its vehicles."""

from importlib.resources import files


def card_files() -> dict[str, str]:
    """Return the text of every card, by the name `flows.cards.library.library_from` expects."""
    root = files(__name__)
    found = {"company.toml": root.joinpath("company.toml").read_text("utf-8")}
    for folder in ("vehicles", "trucks"):
        for path in root.joinpath(folder).iterdir():
            if path.name.endswith(".toml"):
                found[f"{folder}/{path.name}"] = path.read_text("utf-8")
    return dict(sorted(found.items()))
