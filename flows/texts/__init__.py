"""Every sentence, and every phrase that is understood: read once from the packaged files."""

import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Any


@cache
def sentences() -> Mapping[str, Any]:
    """Return the sentences of items, of what else is said, and the words in them."""
    return _read("en.toml")


@cache
def phrases() -> Mapping[str, Any]:
    """Return what people say for facts, acts, steps, dangers and at any time, spelled out."""
    return MappingProxyType(_spelled_out(_read("en_words.toml")))


@cache
def card_words() -> Mapping[str, Any]:
    """Return the words of the commands about cards: labels of fields, units, whole lines."""
    return _read("en_cards.toml")


@cache
def figure_texts() -> Mapping[str, Any]:
    """Return what a figure's drawing and its page on the command line say."""
    return _read("en_figures.toml")


@cache
def rigging_texts() -> Mapping[str, Any]:
    """Return what the figures of pull, rigging and tie-downs say, spoken and shown."""
    return _read("en_rigging.toml")


@cache
def air_texts() -> Mapping[str, Any]:
    """Return what is said around the conversation where there is a platform."""
    return _read("en_air.toml")


@cache
def voice_texts() -> Mapping[str, Any]:
    """Return what the commands about voice say."""
    return _read("en_voice.toml")


@cache
def packet_texts() -> Mapping[str, Any]:
    """Return what a packet says: its read-me, its certificates, its summary."""
    return _read("en_packet.toml")


def word(key: str) -> str:
    """Return one of the words that fill placeholders."""
    return str(sentences()["words"][key])


_ONE_OF = re.compile(r" ?\(([^()]*)\)")


def spellings(pattern: str) -> Iterator[str]:
    """Yield every phrase of a pattern; of words in parentheses each is one way to say it.

    Examples
    --------
    >>> list(spellings("(hook|eye) (just|) slipped"))
    ['hook just slipped', 'hook slipped', 'eye just slipped', 'eye slipped']
    """
    found = _ONE_OF.search(pattern)
    if found is None:
        yield pattern.strip()
        return
    before, after = pattern[: found.start()], pattern[found.end() :]
    for one in found[1].split("|"):
        yield from spellings(f"{before} {one}{after}" if one else before + after)


def _spelled_out(part: Any) -> Any:  # noqa: ANN401  of any TOML shape
    """Return a part of the phrases with every pattern in its lists spelled out."""
    if isinstance(part, Mapping):
        return {name: _spelled_out(one) for name, one in part.items()}
    if isinstance(part, list):
        return [phrase for one in part for phrase in spellings(one)]
    return part


def _read(name: str) -> Mapping[str, Any]:
    text = files("flows.texts").joinpath(name).read_text("utf-8")
    return MappingProxyType(tomllib.loads(text))
