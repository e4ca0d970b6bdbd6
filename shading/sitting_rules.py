"""Rules for the values of a sitting file: numbers within a range, words, flags, dates, rows.

A rule turns a value as read into the value kept, or raises SittingError with one sentence that names
the key, the value and what is allowed.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Protocol


class SittingError(ValueError):
    """A sitting that cannot be read: one sentence that names the key, the value and what is allowed."""


def shown(value: object) -> str:
    """A value as one short line of printable characters, strings in double quotes."""
    try:
        text = f'"{value}"' if isinstance(value, str) else f"{value!s}"
    except ValueError:  # Python refuses to write out whole numbers of more than 4300 digits
        return "an enormous number"
    if isinstance(value, bool):
        text = text.lower()
    text = "".join(character if character.isprintable() else "\N{REPLACEMENT CHARACTER}" for character in text)
    return text if len(text) <= 60 else text[:59] + "…"


def near_miss(word: str, choices: Iterable[str]) -> str:
    """' (did you mean "x"?)' where a choice is close to the word, else nothing."""
    lowered = {choice.lower(): choice for choice in choices}
    close = difflib.get_close_matches(word.lower()[:80], lowered, n=1, cutoff=0.6)
    return f' (did you mean "{lowered[close[0]]}"?)' if close else ""


def refuse(where: str, value: object, allowed: str, hint: str = "") -> SittingError:
    """The error for a value that a key may not hold."""
    return SittingError(f"{where} is {shown(value)}{hint}; allowed is {allowed}")


class Rule(Protocol):
    """What every rule is: something to call with a value and its key, that can say what it allows."""

    @property
    def allowed(self) -> str: ...

    def __call__(self, value: object, where: str) -> object: ...


@dataclass(frozen=True)
class Number:
    """A finite number within a range; `above` leaves out the lower end."""

    low: float
    high: float
    above: bool = False

    @property
    def allowed(self) -> str:
        low, high = (f"{end:.12g}" for end in (self.low, self.high))  # a million in digits, not as a power
        return f"a number above {low} up to {high}" if self.above else f"a number from {low} to {high}"

    def __call__(self, value: object, where: str) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise refuse(where, value, self.allowed)
        inside = self.low < value <= self.high if self.above else self.low <= value <= self.high
        if not inside:  # also where the value is NaN
            raise refuse(where, value, self.allowed)
        return float(value)


@dataclass(frozen=True)
class Whole:
    """A whole number within a range."""

    low: int
    high: int

    @property
    def allowed(self) -> str:
        return f"a whole number from {self.low} to {self.high}"

    def __call__(self, value: object, where: str) -> int:
        if isinstance(value, bool) or not isinstance(value, int) or not self.low <= value <= self.high:
            raise refuse(where, value, self.allowed)
        return value


@dataclass(frozen=True)
class OneOf:
    """One of a few words or numbers."""

    choices: tuple[str | int, ...]

    @property
    def allowed(self) -> str:
        return ("one of " if len(self.choices) > 1 else "") + ", ".join(map(shown, self.choices))

    def __call__(self, value: object, where: str) -> str | int:
        for choice in self.choices:
            if type(value) is type(choice) and value == choice:
                return choice
        words = [choice for choice in self.choices if isinstance(choice, str)]
        raise refuse(where, value, self.allowed, near_miss(value, words) if isinstance(value, str) else "")


@dataclass(frozen=True)
class Text:
    """One line of text, neither empty nor padded with spaces."""

    what: str = "a line of text"
    longest: int = 200

    @property
    def allowed(self) -> str:
        return f"{self.what}, of 1 to {self.longest} characters, without line breaks or spaces around it"

    def __call__(self, value: object, where: str) -> str:
        if not isinstance(value, str) or not 1 <= len(value) <= self.longest or value != value.strip():
            raise refuse(where, value, self.allowed)
        if not all(character.isprintable() for character in value):
            raise refuse(where, value, self.allowed)
        return value


_ELSEWHERE = re.compile(r"[\\/]{2}|[a-zA-Z][a-zA-Z0-9+.-]+:[\\/]{2}")


@dataclass(frozen=True)
class NameOrFile(Text):
    """A name, or the path of a file on this computer. Asking another one for a file would tell it of this one, so
    that a sitting from a stranger could."""

    def __call__(self, value: object, where: str) -> str:
        text = super().__call__(value, where)
        check_is_here(text, where)
        return text


def check_is_here(name: str, where: str) -> None:
    """SittingError for the name of a file on another computer."""
    if _ELSEWHERE.match(name):
        raise refuse(where, name, "a file on this computer: put it beside this one and name it alone")


@dataclass(frozen=True)
class Flag:
    """true or false."""

    allowed: str = "true or false"

    def __call__(self, value: object, where: str) -> bool:
        if not isinstance(value, bool):
            raise refuse(where, value, self.allowed)
        return value


@dataclass(frozen=True)
class Moment:
    """A date and time between 1950 and 2100, with its offset from UTC where it has one."""

    allowed: str = "a date and time with its offset from UTC, such as 2026-11-21T16:30:00+01:00, from 1950 to 2099"

    def __call__(self, value: object, where: str) -> datetime:
        moment = value
        if isinstance(value, str):
            try:
                moment = datetime.fromisoformat(value)
            except ValueError:
                raise refuse(where, value, self.allowed) from None
        if not isinstance(moment, datetime) or not 1950 <= moment.year < 2100:
            raise refuse(where, value, self.allowed)
        if (moment.utcoffset() or timedelta()) % timedelta(minutes=1):
            raise refuse(where, value, self.allowed)
        return moment


@dataclass(frozen=True)
class Either:
    """What the first fitting rule of several allows."""

    rules: tuple[Rule, ...]

    @property
    def allowed(self) -> str:
        return ", or ".join(rule.allowed for rule in self.rules)

    def __call__(self, value: object, where: str) -> object:
        hint = ""
        for rule in self.rules:
            try:
                return rule(value, where)
            except SittingError:
                if isinstance(rule, OneOf) and isinstance(value, str):
                    hint = near_miss(value, [word for word in rule.choices if isinstance(word, str)])
        raise refuse(where, value, self.allowed, hint)


@dataclass(frozen=True)
class Row:
    """An array with one rule for each of its places, or one rule for any number of places."""

    each: Rule
    length: tuple[int, int]
    what: str

    @property
    def allowed(self) -> str:
        return self.what

    def __call__(self, value: object, where: str) -> tuple:
        if not isinstance(value, list | tuple) or not self.length[0] <= len(value) <= self.length[1]:
            raise refuse(where, value, self.allowed)
        return tuple(self.each(item, f"{where}[{place}]") for place, item in enumerate(value))


@dataclass(frozen=True)
class SkyType:
    """A sky by its word, or by its number in ISO 15469 (which may be written as text)."""

    words: tuple[str, ...] = ("overcast", "uniform", "open shade")

    @property
    def allowed(self) -> str:
        return OneOf(self.words).allowed + ", or a type from 1 to 16 of ISO 15469"

    def __call__(self, value: object, where: str) -> str | int:
        if isinstance(value, str) and value in self.words:
            return value
        number = int(value) if isinstance(value, str) and re.fullmatch(r"[0-9]{1,2}", value) else value
        if isinstance(number, int) and not isinstance(number, bool) and 1 <= number <= 16:
            return number
        hint = near_miss(value, self.words) if isinstance(value, str) else ""
        raise refuse(where, value, self.allowed, hint)


@dataclass(frozen=True)
class Matching:
    """A text of a given form."""

    form: re.Pattern[str]
    what: str

    @property
    def allowed(self) -> str:
        return self.what

    def __call__(self, value: object, where: str) -> str:
        if not isinstance(value, str) or not self.form.fullmatch(value):
            raise refuse(where, value, self.allowed)
        return value


def check_table(value: object, rules: Mapping[str, Rule], where: str, of: str) -> dict[str, object]:
    """The table's values, each passed through its rule; a key without a rule is an error."""
    if not isinstance(value, Mapping):
        raise SittingError(f"{where} is {shown(value)}; allowed is a table with keys {', '.join(rules)}")
    for key in value:
        if key not in rules:
            name = f"{where}.{shown(key)[1:-1]}"
            raise SittingError(f"{name} is not a key of {of}{near_miss(key, rules)}; allowed are {', '.join(rules)}")
    return {key: rules[key](item, f"{where}.{key}") for key, item in value.items()}
