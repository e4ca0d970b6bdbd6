"""Sittings of every kind, made from the same rules that the reader holds them to."""

from __future__ import annotations

from copy import deepcopy
from datetime import datetime, timedelta, timezone
from functools import singledispatch
from pathlib import Path

import tomli_w
from hypothesis import strategies as st

from sitterlight.shading import sitting_keys, sitting_rules
from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sitting_file import from_dict
from sitterlight.shading.skin import LIMITS

_LETTERS = st.characters(exclude_categories=("C", "Z"))
_WORDS = st.text(_LETTERS, min_size=1, max_size=12)
MOMENTS = st.builds(
    lambda when, minutes: when.replace(tzinfo=timezone(timedelta(minutes=minutes))),
    st.datetimes(datetime(1950, 1, 2), datetime(2099, 12, 30)),
    st.integers(-12 * 60, 14 * 60),
)


@singledispatch
def allowed(rule: object) -> st.SearchStrategy:
    """Values that a rule allows."""
    raise TypeError(rule)


@allowed.register
def _(rule: sitting_rules.Number) -> st.SearchStrategy:
    numbers = st.floats(rule.low, rule.high, exclude_min=rule.above)
    return numbers | st.sampled_from([rule.high, rule.high if rule.above else rule.low])


@allowed.register
def _(rule: sitting_rules.Whole) -> st.SearchStrategy:
    return st.integers(rule.low, rule.high)


@allowed.register
def _(rule: sitting_rules.OneOf) -> st.SearchStrategy:
    return st.sampled_from(rule.choices)


@allowed.register
def _(rule: sitting_rules.Text) -> st.SearchStrategy:
    return st.lists(_WORDS, min_size=1, max_size=3).map(lambda words: " ".join(words)[: rule.longest].strip())


@allowed.register
def _(rule: sitting_rules.Flag) -> st.SearchStrategy:
    return st.booleans()


@allowed.register
def _(rule: sitting_rules.Moment) -> st.SearchStrategy:
    return MOMENTS


@allowed.register
def _(rule: sitting_rules.Either) -> st.SearchStrategy:
    return st.one_of(*map(allowed, rule.rules))


@allowed.register
def _(rule: sitting_rules.Row) -> st.SearchStrategy:
    low, high = rule.length
    return st.lists(allowed(rule.each), min_size=low, max_size=min(high, 6), unique=high > low)


@allowed.register
def _(rule: sitting_rules.SkyType) -> st.SearchStrategy:
    return st.sampled_from(rule.words) | st.integers(1, 16)


@allowed.register
def _(rule: sitting_rules.Matching) -> st.SearchStrategy:
    return st.from_regex(rule.form, fullmatch=True)


def table(rules: dict[str, object]) -> st.SearchStrategy[dict]:
    """A table with some of the keys."""
    return st.fixed_dictionaries({}, optional={key: allowed(rule) for key, rule in rules.items() if _is_known(rule)})


def _is_known(rule: object) -> bool:
    """Whether a value can be made from the rule; what has a rule of its own kind keeps its default."""
    return allowed.dispatch(type(rule)) is not allowed.dispatch(object)


_AMOUNTS = st.fixed_dictionaries({}, optional={key: st.floats(*limits) for key, limits in LIMITS.items()})
_LAB = st.tuples(st.floats(0, 100), st.floats(-150, 150), st.floats(-150, 150)).map(list)
_COLOURS = st.fixed_dictionaries({"Lab": _LAB}, optional={"light": allowed(sitting_keys.SPECTRUM)}) | st.builds(
    lambda code: {"srgb": code}, allowed(sitting_keys.COLOUR["srgb"])
)


def _some(rules: dict[str, object], *keys: str) -> st.SearchStrategy[dict]:
    return table({key: rules[key] for key in keys})


# Made once: the making of a strategy takes longer than a draw from it.
_SKIN = _some(sitting_keys.SKIN, "roughness", "oil", "regions")
_HEAD = _some(sitting_keys.HEAD, "turn", "tilt", "lean")
_LIGHTS = {kind: _some(rules, *(rules.keys() - {"name"})) for kind, rules in sitting_keys.LIGHTS.items()}


@st.composite
def skins(draw: st.DrawFn) -> dict:
    """A table [skin] with one source of the skin."""
    skin = draw(_SKIN)
    source = draw(st.sampled_from(("ladder", "amounts", "reflectance", "colour", None)))
    if source == "ladder":
        skin["ladder"] = draw(st.integers(1, 9))
    elif source == "amounts":
        skin["amounts"] = draw(_AMOUNTS.filter(bool))
    elif source == "reflectance":
        skin |= {"reflectance": "skin.csv", "sheen_included": draw(st.booleans())}
    elif source == "colour":
        skin["colour"] = draw(_COLOURS)
    return skin


@st.composite
def heads(draw: st.DrawFn) -> dict:
    """A table [head]: built in, or a mesh of one's own with unit and axes."""
    head = draw(_HEAD)
    if draw(st.booleans()):
        up = draw(st.sampled_from(sitting_keys.AXES))
        front = draw(st.sampled_from([axis for axis in sitting_keys.AXES if axis[1] != up[1]]))
        head |= {
            "mesh": "heads/my head.obj",
            "unit": draw(st.sampled_from(("mm", "cm", "m", "in"))),
            "up": up,
            "front": front,
        }
    return head


@st.composite
def lights(draw: st.DrawFn) -> dict:
    """One [[light]] without its name."""
    kind = draw(st.sampled_from(tuple(sitting_keys.LIGHTS)))
    light = draw(_LIGHTS[kind]) | {"kind": kind}
    if kind == "lamp":
        for key in ("distance", "diameter"):
            light.pop(key, None)
        if draw(st.booleans()):
            light.pop("size", None)
            light["distance"] = draw(st.floats(200, 1e6))
            light["diameter"] = draw(st.floats(1, min(1e6, 1.89 * light["distance"])))
    return light


_SECTIONS = st.fixed_dictionaries(
    {},
    optional={
        "title": allowed(sitting_rules.Text("a title")),
        "head": heads(),
        "skin": skins(),
        "surround": table(sitting_keys.SURROUND),
        "eye": table(sitting_keys.EYE),
        "easel": table(sitting_keys.EASEL),
        "palette": table(sitting_keys.PALETTE),
    },
)


@st.composite
def tables(draw: st.DrawFn) -> dict:
    """A whole sitting as the tables of its file, some keys left to their defaults."""
    found = {"format": "sitterlight/1"}
    found |= draw(_SECTIONS)
    if draw(st.booleans()):
        found["light"] = [
            light | {"name": f"light {n}"} for n, light in enumerate(draw(st.lists(lights(), max_size=4)))
        ]
    return found


_ODD = st.one_of(
    st.none(), st.booleans(), st.integers(), st.integers(2**63, 2**70), st.floats(), st.text(max_size=20),
    st.just("x" * 3000),
    st.lists(st.integers(), max_size=4), st.dictionaries(st.text(max_size=5), st.integers(), max_size=2), MOMENTS,
    st.dates(), st.times(), st.sampled_from(("../../etc/passwd", "/dev/zero", "http://localhost/x.csv",
    "//host/x.csv", "a\nb")),
)  # fmt: skip


@st.composite
def wrong_tables(draw: st.DrawFn) -> dict:
    """A sitting with one value of another kind, or one key that is none."""
    found = deepcopy(draw(tables()))
    place = found
    while True:
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        if not keys:
            return found
        key = draw(st.sampled_from(keys))
        if isinstance(place[key], dict | list) and draw(st.booleans()):
            place = place[key]
            continue
        if isinstance(place, dict) and draw(st.booleans()):
            place[draw(st.text(max_size=12))] = draw(_ODD.filter(lambda value: value is not None))
        else:
            place[key] = draw(_ODD.filter(lambda value: value is not None))
        return found


def sittings(folder: Path | None = None) -> st.SearchStrategy:
    """Sitting values that can be written and read, though what they name need not be there."""
    return tables().map(lambda found: _sitting(found, folder)).filter(bool)


def _sitting(found: dict, folder: Path | None) -> Sitting | None:
    """None where two keys do not go together."""
    try:
        return from_dict(found, folder)
    except sitting_rules.SittingError:
        return None


def as_toml(found: dict) -> bytes:
    """The text of a file, damaged or not."""
    return tomli_w.dumps(found).encode("utf-8", "replace")


FILES = st.one_of(tables(), wrong_tables(), wrong_tables()).map(as_toml)
