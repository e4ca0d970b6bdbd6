"""The strings of one plane: from a darker mix of the head to the plane, by one lightener or another, and how to calm.

A plane that is lighter than another is usually mixed out of the other. Which lightener to reach for, the light says:
it takes chroma away between the two planes, or leaves it, and the lightener that does the same is named.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sitterlight.shading.mixing import ViewingLight, mix_Lab, viewing_light
from sitterlight.shading.paints import Paint, paints
from sitterlight.shading.plane_recipes import MixedHead
from sitterlight.shading.recipe import Recipe, volumes
from sitterlight.shading.recipes import recipes_for
from sitterlight.shading.strings import (
    CalmingChoice,
    LightenerChoice,
    compare_calming,
    compare_lighteners,
    shares_of,
)
from sitterlight.shading.targets import PlaneRow, Target

Array = NDArray[np.floating]

LEAST_LIFT = 4.0
"""L* by which a base must be darker than the plane, so that there is something to lighten."""

_NOT_FACE = ("neck", "scalp", "ear", "lips")
_FAR = 4.0
_NOT_OWN_WORTH = 1.0
_LEAST_CHROMA = 3.0
_SAME, _LITTLE = 0.03, 0.1
_LIVELY = 1.5


@dataclass(frozen=True, eq=False)
class Base:
    """A mix to start from: what it is in the head, its parts (paints,) of the palette, its recipe in words, its Lab."""

    name: str
    parts: Array = field(repr=False)
    recipe: str
    Lab: tuple[float, float, float]


@dataclass(frozen=True, eq=False)
class PlaneStrings:
    """Rows to one stroke. `bases`: what may be started from; `base`: what these rows start from, None if nothing.

    lighteners: the rows to light, the one that does what the light does first; pick: the lightener that the program
    would take, and words why, in one sentence. calmers, calm_words: the same for paints that calm `calmed`.
    """

    target_Lab: tuple[float, float, float]
    bases: tuple[Base, ...]
    base: Base | None
    lighteners: tuple[LightenerChoice, ...]
    pick: LightenerChoice | None
    words: str
    calmed: Base | None
    calmers: tuple[CalmingChoice, ...]
    calm_words: str


def plane_strings(row: PlaneRow, target: Target, mixed: MixedHead, base: str | None = None) -> PlaneStrings:
    """The strings of a stroke of a row of a mixed head.

    `base` names one of the bases to start from; without it, or where there is none of that name, the first.
    """
    sitting = mixed.sitting
    palette = paints(sitting.palette.paints, sitting.folder)
    light = viewing_light(sitting.easel.light, sitting.folder)
    bases = _bases(row, target, mixed, palette, light)
    chosen = next((b for b in bases if b.name == base), bases[0] if bases else None)
    wanted = tuple(float(v) for v in target.Lab)
    if chosen is None:
        words = "Nothing on this palette is so much darker that this plane would be lightened from it."
        return PlaneStrings(wanted, (), None, (), None, words, None, (), "")
    lighteners = compare_lighteners(chosen.parts, wanted, palette, light)
    pick = _pick(lighteners, palette)
    calmed = _lightened(chosen, pick, palette, light)
    lively = np.hypot(*calmed.Lab[1:]) > np.hypot(*wanted[1:]) + _LIVELY
    calmers = compare_calming(calmed.parts, wanted, palette, light) if lively else []
    return PlaneStrings(
        wanted,
        bases,
        chosen,
        tuple(lighteners),
        pick,
        _pick_words(chosen, lighteners, pick, palette, light),
        calmed if calmers else None,
        tuple(calmers),
        _calm_words(calmed, calmers, wanted, pick),
    )


def telling_stroke(mixed: MixedHead) -> tuple[PlaneRow, Target] | None:
    """The stroke whose strings say most of a head: of those with a lightener, the largest in the light of the face
    that the eye sees; of the whole head, where there is none of the face."""
    seen = [
        (row.region not in _NOT_FACE, row.area_mm2 * row.visible * target.share_of_area, k)
        for k, (row, target, _) in enumerate(mixed.strokes)
        if not row.hidden and not target.above_white and target.family == "light" and target.part != "highlight"
    ]
    for *_, k in sorted(seen, reverse=True):
        row, target, _ = mixed.strokes[k]
        if plane_strings(row, target, mixed).pick is not None:
            return row, target
    return None


def _bases(row, target, mixed: MixedHead, palette: tuple[Paint, ...], light: ViewingLight) -> tuple[Base, ...]:
    """The skin's own colour, the mixes of halftone and shadow, the stroke's own mix without white, single tubes."""
    easel, most = mixed.sitting.easel, mixed.sitting.palette.most
    lights = (easel.light, easel.second_light)
    own = recipes_for([target.own_Lab], palette, *lights, most, mixed.wish, mixed.sitting.folder)[0]
    found = [_base("the skin's own colour", volumes(own, palette), own.text, palette, light)]
    for family in ("halftone", "shadow"):
        mix = _largest(family, row.region, mixed)
        if mix is not None:
            found.append(_base(f"the {family} mix", volumes(mix, palette), mix.text, palette, light))
    mix = volumes(next(r for _, t, r in mixed.strokes if t.Lab == target.Lab), palette)
    coloured = mix * [not p.is_white for p in palette]
    if 0.0 < coloured.sum() < mix.sum():
        found.append(_base("its own mix without white", coloured, "", palette, light))
    for place, tube in enumerate(palette):
        if not tube.is_white:
            found.append(_base(tube.name, np.eye(len(palette))[place], "from the tube", palette, light))
    return tuple(b for b in found if b.Lab[0] <= target.Lab[0] - LEAST_LIFT)


def _base(name: str, parts: Array, recipe: str, palette: tuple[Paint, ...], light: ViewingLight) -> Base:
    return Base(name, parts, recipe, tuple(float(v) for v in mix_Lab(parts, palette, light)))


def _largest(family: str, region: str, mixed: MixedHead) -> Recipe | None:
    """The recipe of the largest stroke of a family that the eye sees, of the same region if there is one."""
    weights = [
        (row.region == region, row.area_mm2 * row.visible * target.share_of_area, k)
        for k, (row, target, _) in enumerate(mixed.strokes)
        if target.family == family and not row.hidden
    ]
    return mixed.recipes[max(weights)[2]] if weights else None


def _pick(lighteners: Sequence[LightenerChoice], palette: tuple[Paint, ...]) -> LightenerChoice | None:
    """The lightener nearest to the plane; one of the palette's own where it comes about as near."""
    if not lighteners:
        return None
    own = [c for c in lighteners if shares_of(c.string.added, palette) is not None]
    return own[0] if own and own[0].delta_e <= lighteners[0].delta_e + _NOT_OWN_WORTH else lighteners[0]


def _pick_words(
    base: Base, lighteners, pick: LightenerChoice | None, palette: tuple[Paint, ...], light: ViewingLight
) -> str:
    if pick is None:
        return "No lightener compared here is as light as the plane."
    name = pick.string.added.name
    away = " (not on this palette)" if shares_of(pick.string.added, palette) is None else ""
    if np.hypot(*base.Lab[1:]) < _LEAST_CHROMA:
        return f"From {base.name}, lighten with {name}{away}: it comes nearest to the plane (ΔE {pick.delta_e:.1f})."
    told = (
        f"From {base.name}, lighten with {name}{away}: the mix {_gains(pick.greying)}, the plane {_needs(pick.needed)}"
    )
    if pick.delta_e > _FAR and all(c.greying - c.needed > _LITTLE for c in lighteners):
        return f"{told}; none compared keeps enough colour, so bring it back with {_liveliest(base, palette, light)}."
    other = next((c for c in lighteners if c is not pick and abs(c.greying - pick.greying) > _LITTLE), None)
    if other is None:
        return told + "."
    does = "grey it more" if other.greying > pick.greying else "keep it livelier"
    between = (pick.greying - pick.needed) * (other.greying - other.needed) < 0
    both = ", so a little of both comes nearest" if pick.delta_e > _FAR and between else ""
    return f"{told}; {other.string.added.name} would {does}{both}."


def _liveliest(base: Base, palette: tuple[Paint, ...], light: ViewingLight) -> str:
    """The paint of the base that has most chroma by itself."""
    chroma = np.hypot(*mix_Lab(np.eye(len(palette)), palette, light)[:, 1:].T)
    return palette[int(np.argmax(np.where(base.parts > 0.0, chroma, -1.0)))].name


def _gains(greying: float) -> str:
    """What becomes of the base's chroma on the way, in words."""
    if abs(greying) < _SAME:
        return "keeps its chroma"
    return f"loses {100 * greying:.0f} % of its chroma" if greying > 0 else f"gains {100 * -greying:.0f} % of chroma"


def _needs(greying: float) -> str:
    if abs(greying) < _SAME:
        return "needs it kept"
    return f"needs {100 * greying:.0f} % less" if greying > 0 else f"needs {100 * -greying:.0f} % more"


def _lightened(base: Base, pick: LightenerChoice | None, palette: tuple[Paint, ...], light: ViewingLight) -> Base:
    """The base brought to the plane's lightness by the pick, if the pick is on the palette; else the base."""
    shares = None if pick is None else shares_of(pick.string.added, palette)
    if shares is None or not np.isfinite(pick.parts):
        return base
    parts = base.parts / base.parts.sum() + pick.parts * shares
    return _base(f"{base.name} with {pick.string.added.name}", parts, "", palette, light)


def _calm_words(calmed: Base, calmers: Sequence[CalmingChoice], wanted, pick: LightenerChoice | None) -> str:
    if not calmers:
        if np.hypot(*calmed.Lab[1:]) > np.hypot(*wanted[1:]) + _LIVELY:
            return "No paint of this palette calms the mix to the plane's chroma without overwhelming it."
        return "Nothing to calm: so lightened, the mix is no livelier than the plane."
    best = calmers[0]
    lift = f", then lift with {pick.string.added.name}" if pick is not None and best.darker >= 2.0 else ""
    near = "it keeps to the hue" if best.delta_e < 2.0 else f"ΔE {best.delta_e:.1f} is left"
    sentence = f"{calmed.name}: calm with {best.string.added.name}, {proportion(best.parts)}{lift}; {near}."
    return sentence[0].upper() + sentence[1:]


def proportion(parts: float) -> str:
    """Parts added to one part of a mix, in whole numbers: "1 part to 12" or "3 parts to 1"."""
    if parts < 1 / 60:
        return "a trace"
    if parts <= 0.67:
        return f"1 part to {round(1 / parts)} of the mix"
    many = round(parts) if parts >= 2.5 else round(2 * parts) / 2
    return f"{many:g} part{'s' if many != 1 else ''} to 1 of the mix"
