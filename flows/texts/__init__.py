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
    """Return the sentences of items and of everything else the bot says, and the words in them."""
    return _read("en.toml")


@cache
def phrases() -> Mapping[str, Any]:
    """Return people's phrases for facts, acts, steps, dangers and at any time, spelled out."""
    return MappingProxyType(_spelled_out(_read("en_words.toml")))


@cache
def alarm_words() -> Mapping[str, Any]:
    """Return the words of the net under emergencies, spelled out."""
    return MappingProxyType(_spelled_out(_read("en_alarms.toml")))


@cache
def lexicon_words() -> Mapping[str, Any]:
    """Return the words for parts and states, and the small words around them, spelled out."""
    return MappingProxyType(_spelled_out(_read("en_lexicon.toml")))


@cache
def meanings() -> Mapping[str, Any]:
    """Return what acts, facts and steps mean by parts and states; no word of any language."""
    return _read("meanings.toml")


@cache
def likely_weights() -> Mapping[str, Any]:
    """Return the weights by which a meaning is proposed; no word of any language."""
    return _read("likely.toml")


@cache
def card_words() -> Mapping[str, Any]:
    """Return the words of the commands about cards: labels of fields, units, whole lines."""
    return _read("en_cards.toml")


@cache
def figure_texts() -> Mapping[str, Any]:
    """Return the texts of a figure's drawing and of its page on the command line."""
    return _read("en_figures.toml")


@cache
def rigging_texts() -> Mapping[str, Any]:
    """Return the texts of the figures of pull, rigging and tie-downs, spoken and shown."""
    return _read("en_rigging.toml")


@cache
def air_texts() -> Mapping[str, Any]:
    """Return the texts around the conversation on a chat platform."""
    return _read("en_air.toml")


@cache
def desk_texts() -> Mapping[str, Any]:
    """Return the texts between a desk and the bot: jobs, orders, words for a driver."""
    return _read("en_desk.toml")


@cache
def voice_texts() -> Mapping[str, Any]:
    """Return the texts of the commands about voice."""
    return _read("en_voice.toml")


@cache
def packet_texts() -> Mapping[str, Any]:
    """Return the texts of a packet: its read-me, its certificates, its summary."""
    return _read("en_packet.toml")


def word(key: str) -> str:
    """Return one of the words that fill placeholders."""
    return str(sentences()["words"][key])


_CHOICE = re.compile(r" ?\(([^()]*)\)")


def spellings(pattern: str) -> Iterator[str]:
    """Yield every phrase of a pattern: each word in parentheses is an alternative.

    Examples
    --------
    >>> list(spellings("(hook|eye) (just|) slipped"))
    ['hook just slipped', 'hook slipped', 'eye just slipped', 'eye slipped']
    """
    found = _CHOICE.search(pattern)
    if found is None:
        yield pattern.strip()
        return
    before, after = pattern[: found.start()], pattern[found.end() :]
    for choice in found[1].split("|"):
        yield from spellings(f"{before} {choice}{after}" if choice else before + after)


def _spelled_out(part: Any) -> Any:  # noqa: ANN401  of any TOML shape
    """Return a part of the phrases with every pattern in its lists spelled out."""
    if isinstance(part, Mapping):
        return {name: _spelled_out(item) for name, item in part.items()}
    if isinstance(part, list):
        return [phrase for pattern in part for phrase in spellings(pattern)]
    return part


def _read(name: str) -> Mapping[str, Any]:
    text = files("flows.texts").joinpath(name).read_text("utf-8")
    return MappingProxyType(tomllib.loads(text))
