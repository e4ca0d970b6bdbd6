"""The library of oil paints by pigment, and how a paint is found by its name.

A paint's id is its Colour Index generic name, with a qualifier where several paints share one: "PB29",
"PBr7 burnt umber", "PR101 transparent". Spectra are described compactly in data/paints.toml.
"""

from __future__ import annotations

import difflib
import re
import tomllib
from dataclasses import dataclass, field
from functools import cache, cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading.sitting_rules import shown

Array = NDArray[np.floating]

DEFAULT_PALETTE: tuple[str, ...] = (
    "PW6",
    "PY43",
    "PR101 transparent",
    "PR101 red oxide",
    "PBr7 burnt umber",
    "PBr7 raw umber",
    "PV19",
    "PB29",
    "PG18",
)
"""A palette for flesh: a white, an ochre, two red oxides, two umbers, a cool red, a blue and a green."""

_STRONG = 3.5
_TAKES_DROPS = 2.0
_TRANSPARENT_BELOW = 0.065


class PaintError(ValueError):
    """A paint that can't be found or described; the message says why and what would do."""


@dataclass(frozen=True, eq=False)
class Paint:
    """One tube. K and S (81,) for each wavelength of the grid, in units of titanium white's scattering.

    made_of: ids and shares of the tubes of a mix that is handled as one paint; empty for a tube.
    """

    id: str
    name: str
    K: Array = field(repr=False)
    S: Array = field(repr=False)
    group: str = "own"
    also: tuple[str, ...] = ()
    origin: str = ""
    caution: str = ""
    made_of: tuple[tuple[str, float], ...] = ()

    @property
    def colour_index(self) -> str:
        """The generic name alone: "PBr7" of "PBr7 burnt umber"; empty for an unnamed paint of one's own."""
        first = self.id.split()[0]
        return first if re.fullmatch(r"[PN][A-Z][a-z]?\d+(:\d+)?(\+.*)?", first) else ""

    @property
    def label(self) -> str:
        """Common name and generic name: "burnt umber PBr7"."""
        return f"{self.name} {self.colour_index}".strip()

    @property
    def is_white(self) -> bool:
        return self.group == "white"

    @property
    def is_black(self) -> bool:
        return self.group == "black"

    @cached_property
    def tinting_strength(self) -> float:
        """Absorption where it is strongest within 430 to 700 nm, against ultramarine blue's 0.66."""
        seen = (WAVELENGTHS >= 430) & (WAVELENGTHS <= 700)
        return float(np.convolve(self.K[seen], np.ones(3) / 3, "valid").max() / 0.66)

    @property
    def is_strong(self) -> bool:
        """Whether it is measured in drops: it overpowers what it meets."""
        return self.tinting_strength >= _STRONG

    @property
    def takes_drops(self) -> bool:
        """Whether it may be measured in drops where little of it is needed: twice as strong as ultramarine."""
        return self.tinting_strength >= _TAKES_DROPS and not self.is_white

    @cached_property
    def is_transparent(self) -> bool:
        """Whether it hides little: where it absorbs least, less than 6.5 % of titanium white's scattering."""
        seen = (WAVELENGTHS >= 430) & (WAVELENGTHS <= 680)
        clearest = np.argsort(self.K[seen])[: seen.sum() // 5]
        return not self.is_white and float(self.S[seen][clearest].mean()) < _TRANSPARENT_BELOW


def paint_names() -> tuple[str, ...]:
    """Ids of all paints of the library, in its order."""
    return tuple(_library())


def library() -> tuple[Paint, ...]:
    """All paints of the library."""
    return tuple(_library().values())


def paint(name: str, folder: str | Path | None = None) -> Paint:
    """The paint of that id, common name, or both in either order ("burnt umber PBr7"); case does not matter.

    A name that ends in .toml is a file of the painter's own measurements, relative to `folder`.
    Raises PaintError where nothing fits (with near names) or several paints do (with the choices).
    """
    if name.strip().lower().endswith(".toml"):
        from sitterlight.shading.paint_file import read_paint_file

        return read_paint_file(Path(folder or ".") / name).paint
    wanted = _plain(name)
    found = [p for p in library() if wanted in _answers_to(p)]
    if not found:
        found = [p for p in library() if wanted == _plain(p.colour_index)]
    if len(found) == 1:
        return found[0]
    if found:
        choices = ", ".join(f'"{p.id}"' for p in found)
        raise PaintError(f"{shown(name)} may be any of {choices}; name one of them.")
    raise PaintError(f"{shown(name)} is not a paint of the library{_suggestion(wanted)}")


def paints(names: tuple[str, ...] | list[str], folder: str | Path | None = None) -> tuple[Paint, ...]:
    """A palette: the paints of these names, each once. Raises PaintError for an unknown or repeated one."""
    found = tuple(paint(name, folder) for name in names)
    if not found:
        raise PaintError("A palette needs at least one paint.")
    for place, one in enumerate(found):
        if one.id in {p.id for p in found[:place]}:
            raise PaintError(f'"{one.id}" is in the palette twice; name each paint once.')
    return found


def _plain(text: str) -> str:
    return " ".join(re.sub(r"[(),]", " ", text).casefold().split())


@cache
def _names_of(id: str, names: tuple[str, ...], colour_index: str) -> frozenset[str]:
    plain = {_plain(id)}
    for name in names:
        plain |= {_plain(name), _plain(f"{name} {colour_index}"), _plain(f"{colour_index} {name}")}
    return frozenset(plain)


def _answers_to(one: Paint) -> frozenset[str]:
    return _names_of(one.id, (one.name, *one.also), one.colour_index)


def _suggestion(wanted: str) -> str:
    """How the sentence of a failed search goes on."""
    ids = {plain: p.id for p in library() for plain in _answers_to(p)}
    words = [p.id for p in library() if any(w in _plain(p.label).split() for w in wanted.split())]
    near = list(
        dict.fromkeys([ids[key] for key in difflib.get_close_matches(wanted, list(ids), n=4, cutoff=0.7)] + words)
    )
    if not near:
        return "; `sitterlight list paints` shows them all."
    return "; did you mean " + " or ".join(f'"{id}"' for id in near[:4]) + "?"


@cache
def _library() -> dict[str, Paint]:
    path = Path(__file__).parent / "data" / "paints.toml"
    found: dict[str, Paint] = {}
    for entry in tomllib.loads(path.read_text(encoding="utf-8"))["paint"]:
        found[entry["id"]] = _described(entry, found)
    return found


def _described(entry: dict, earlier: dict[str, Paint]) -> Paint:
    """A paint from its entry in paints.toml; a ready mix is made of paints that stand before it."""
    if "made_of" in entry:
        parts = np.array(list(entry["made_of"].values()), float)
        tubes = [earlier[id] for id in entry["made_of"]]
        K, S = (parts @ np.stack([getattr(t, n) for t in tubes]) / parts.sum() for n in "KS")
    else:
        K, S = absorption(entry), scattering(entry["scattering"])
    for values in (K, S):
        values.setflags(write=False)
    return Paint(
        id=entry["id"],
        name=entry["name"],
        K=K,
        S=S,
        group=entry["group"],
        also=tuple(entry.get("also", ())),
        origin=entry["origin"],
        caution=entry.get("caution", ""),
    )


def absorption(description: dict) -> Array:
    """K (81,): the sum of bands, edges, tails and floor that data/paints.toml explains at its head."""
    K = np.full(WAVELENGTHS.shape, float(description.get("floor", 0.0)))
    K += _bands(description.get("bands", ()))
    for place, width, height in description.get("edges", ()):
        K += height / (1.0 + np.exp((WAVELENGTHS - place) / width))
    for decay, height in description.get("tails", ()):
        K += height * np.exp((400.0 - WAVELENGTHS) / decay)
    return K


def scattering(description: dict) -> Array:
    """S (81,): a power law around 550 nm, with bands where the pigment's refraction is unusual."""
    S = description["level"] * (WAVELENGTHS / 550.0) ** -description["power"]
    return S + _bands(description.get("bands", ()))


def _bands(bands: list[list[float]] | tuple[()]) -> Array:
    total = np.zeros(WAVELENGTHS.shape)
    for centre, width, height in bands:
        total += height * np.exp(-0.5 * ((WAVELENGTHS - centre) / width) ** 2)
    return total
