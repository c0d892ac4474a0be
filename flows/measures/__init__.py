"""A closed grammar for typed and spoken quantities, and the words to say them back.

Every phrase gives all its readings; an ambiguous phrase is never guessed.
"""

from flows.measures.clock import find_clock
from flows.measures.durations import find_minutes
from flows.measures.found import Clock, ClockFound, Found, Reading, Unit, whole
from flows.measures.quantities import find_length, find_mass, find_miles, find_volts
from flows.measures.tokens import tokens

__all__ = [
    "Clock", "ClockFound", "Found", "Reading", "Unit", "find_clock", "find_length", "find_mass",
    "find_miles", "find_minutes", "find_volts", "tokens", "whole",
]  # fmt: skip
