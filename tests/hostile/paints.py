"""Files of a painter's own tubes, whole and with wrong values in them."""

from __future__ import annotations

from copy import deepcopy

import tomli_w
from hypothesis import strategies as st

COMPANIONS = {"masstone.csv": "nm,R\n" + "".join(f"{nm},{0.05 + 0.3 * (nm > 580)}\n" for nm in range(380, 781, 20))}
"""What must lie beside the files of paints."""

TUBES = {
    "mine.toml": """format = "sitterlight-paint/1"
name = "my red earth"
[[sample]]
paint = 1
colour = {munsell = "10R 4/6"}
"""
}
"""What must lie beside palettes."""

_ODD = st.one_of(
    st.integers(), st.floats(), st.booleans(), st.text(max_size=15), st.just("x" * 2000), st.lists(st.floats(),
    max_size=4),
    st.sampled_from(("", " ", "../masstone.csv", "/etc/passwd", "/dev/zero", "PW99", "10R 4/99", "#12", "\0", "a\nb",
    "~")),
    st.dictionaries(st.text(max_size=4), st.integers(), max_size=2),
)  # fmt: skip
_COLOURS = st.one_of(
    st.builds(lambda L, a, b: {"Lab": [L, a, b]}, st.floats(0, 100), st.floats(-60, 60), st.floats(-60, 60)),
    st.sampled_from(
        ({"munsell": "10R 4/6"}, {"srgb": "#8a5a3c"}, {"munsell": "N 0/"}, {"srgb": "#ffffff"}, {"srgb": "#000"})
    ),
    st.just({"Lab": [36, 26, 24], "light": "A"}),
)


@st.composite
def tables(draw: st.DrawFn) -> dict:
    """A paint with one to four swatches."""
    samples = []
    for white in draw(st.lists(st.sampled_from((0, 1, 4, 10, 100.5)), min_size=1, max_size=4)):
        sample = {"paint": draw(st.sampled_from((1, 1, 1, 0.5, 1e-3, 1e4))), "white": white}
        if draw(st.booleans()):
            sample |= {"reflectance": "masstone.csv", "sheen_included": draw(st.booleans())}
        else:
            sample["colour"] = draw(_COLOURS)
        samples.append(sample)
    found = {"format": "sitterlight-paint/1", "name": "my red earth", "sample": samples}
    return found | draw(
        st.fixed_dictionaries({}, optional={"pigment": st.just("PR102"), "white": st.sampled_from(("PW6", "PW4"))})
    )


@st.composite
def wrong_tables(draw: st.DrawFn) -> dict:
    """A paint with something in it that does not belong there."""
    found = deepcopy(draw(tables()))
    place = draw(st.sampled_from((found, found["sample"][0], found["sample"][0].get("colour", found))))
    key = draw(st.sampled_from(list(place)) | st.text(max_size=8))
    place[key] = draw(_ODD)
    return found


def as_toml(found: dict) -> bytes:
    """The text of a file, damaged or not."""
    return tomli_w.dumps(found).encode("utf-8", "replace")


FILES = st.one_of(tables(), wrong_tables(), wrong_tables()).map(as_toml)


@st.composite
def palettes(draw: st.DrawFn) -> dict:
    """A palette of the library's paints and a file beside it, mostly with something wrong in it."""
    tubes = st.sampled_from(("PW6", "PY43", "PR101 transparent", "PB29", "pw6", "mine.toml", "./mine.toml"))
    found = {
        "format": "sitterlight-palette/1",
        "title": draw(st.text(min_size=1, max_size=12)),
        "paints": draw(st.lists(tubes, min_size=1, max_size=5, unique=True)),
    }
    if draw(st.booleans()):
        key = draw(st.sampled_from([*found, "paints"]) | st.text(max_size=8))
        found[key] = draw(_ODD | st.lists(_ODD | tubes, max_size=3))
    return found


PALETTES = palettes().map(as_toml)
