"""Maps of the head: what a number is, drawn where it is. Each map knows its colours, so that picture and
legend agree.

Colours grow darker in one direction only, so that a map is still read by eyes that miss a hue, or in a grey
print.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.colour_spaces import decode_sRGB
from sitterlight.shading.legend_words import VALUE_STEPS
from sitterlight.shading.picture import MUNSELL_N5, Film, decode, develop, encode, field

FORM = 0.30
"""How much a map darkens where the surface turns away from the eye, only to show form."""

STRIPED, NOT_SKIN = 0.50, 0.12
"""Linear light of skin without a value, and of what is not skin."""

NOTE_SCALES = (4.0, 8.0, 16.0, 32.0)


@dataclass(frozen=True)
class Scale:
    """Colours for a number: `ends` (lowest, highest) and `codes`, sRGB from the lowest to the highest,
    evenly spaced.

    `marks`: (number, words) along the scale. Numbers beyond the ends take the colours of the ends.
    """

    ends: tuple[float, float]
    codes: tuple[str, ...]
    marks: tuple[tuple[float, str], ...]

    def linear(self, values: np.ndarray) -> np.ndarray:
        """Linear sRGB (…,3) of `values (…)`; NaN stays NaN."""
        places = (np.asarray(values, dtype=float) - self.ends[0]) / (self.ends[1] - self.ends[0])
        stops = np.linspace(0, 1, len(self.codes))
        codes = np.array([list(bytes.fromhex(code[1:])) for code in self.codes])
        channels = [np.interp(np.clip(places, 0, 1), stops, codes[:, k]) for k in range(3)]
        coded = np.stack(channels, axis=-1) / 255.0
        return decode_sRGB(coded)


def note_scale(notes: np.ndarray | float = 0.0) -> Scale:
    """The signed scale of skylight notes, ±4, 8, 16 or 32 CAM16-UCS units, the least that holds 99 of 100
    `notes`."""
    strength = np.abs(np.asarray(notes, dtype=float))
    strength = strength[np.isfinite(strength)]
    largest = np.percentile(strength, 99) if strength.size else 0.0
    end = next((scale for scale in NOTE_SCALES if scale >= largest), NOTE_SCALES[-1])
    marks = ((-end, "warm"), (-end / 2, ""), (0.0, "none"), (end / 2, ""), (end, "blue"))
    return Scale((-end, end), ("#ffc14d", "#d2a878", "#9c9c9c", "#5f7fae", "#103c8a"), marks)


def greying_scale() -> Scale:
    """The scale of greying from −0.5 (more colour than the skin's own) over 1 (neutral) to 1.5 (past neutral)."""
    marks = ((-0.5, "more"), (0.0, "own colour"), (0.5, "half"), (1.0, "neutral"), (1.5, "past"))
    codes = ("#ffd67f", "#e2b06a", "#a88f72", "#666568", "#1f3d84")
    return Scale((-0.5, 1.5), codes, marks)


@dataclass(frozen=True)
class SkinField:
    """A number over the skin, at the vertices of the display mesh: `values (D,)`, NaN where there is none to tell;
    `skin (D,)` the share of skin, 0 on eyes and clothes; `facing (D,)` the cosine between normal and eye."""

    values: np.ndarray
    skin: np.ndarray
    facing: np.ndarray

    @property
    def told(self) -> np.ndarray:
        """The values of the skin alone, (n,)."""
        return self.values[(self.skin > 0.5) & np.isfinite(self.values)]


def skin_field(head, values: np.ndarray, eye: np.ndarray) -> SkinField:
    """The field of `values (V,)` at the vertices of the calculation mesh, seen from `eye (3,)` in the head's frame.

    A vertex without a value, or outside the skin, takes no part in the values around it.
    """
    others = [REGIONS.index(name) for name in ("eye white", "iris", "pupil", "clothes")]
    skin = 1 - np.asarray(head.region_weights)[:, others].sum(axis=1)
    whole, told = skin > 0.9, np.isfinite(values)
    weight = np.where(told, np.where(whole, 1.0, 1e-4 + 1e-3 * skin), 0)
    share = head.to_display @ weight
    with np.errstate(invalid="ignore", divide="ignore"):
        mean = (head.to_display @ (np.nan_to_num(values) * weight)) / share
    untold = head.to_display @ (whole & ~told).astype(float)
    mean[untold > 0.5 * (head.to_display @ whole.astype(float))] = np.nan
    return SkinField(mean, head.to_display @ skin, facing_of(head.display, eye))


def map_picture(film: Film, shown: SkinField, scale: Scale) -> np.ndarray:
    """(H,W,3) uint8: a field in the colours of `scale`, darkened a little toward the outline to show form.

    Skin without a value is striped; eyes and clothes are grey.
    """
    missing = ~np.isfinite(shown.values) & (shown.skin > 0.75)
    colours = scale.linear(np.nan_to_num(shown.values))
    colours[~np.isfinite(shown.values)] = STRIPED
    skin = np.clip(2 * shown.skin - 0.5, 0, 1)[:, None]
    colours = skin * colours + (1 - skin) * NOT_SKIN
    picture = develop(film, colours * form(shown.facing)[:, None])
    if missing.any():
        _stripe(picture, field(film, missing.astype(np.float32)))
    return picture


def value_picture(film: Film, lightness: np.ndarray, edges: np.ndarray, greys: np.ndarray) -> np.ndarray:
    """(H,W,3) uint8: `lightness (D,)` in flat steps. `edges (n−1,)` part the steps, `greys (n,)` are their
    L*."""
    seen = np.nan_to_num(field(film, lightness), nan=50.0)
    slope = _slope(seen, film.coverage > 0.5)
    linear = np.full(seen.shape, luminance_from_L(greys[0]))
    for edge, below, above in zip(edges, greys[:-1], greys[1:], strict=True):
        share = np.clip((seen - edge) / slope + 0.5, 0, 1)
        linear += share * (luminance_from_L(above) - luminance_from_L(below))
    linear = linear * film.coverage + (1 - film.coverage) * MUNSELL_N5
    return np.repeat(encode(linear)[..., None], 3, axis=2)


def value_steps(lightness: np.ndarray, steps: int, weights: np.ndarray | None = None):
    """Edges (steps−1,) and greys (steps,) in L* that divide the head's own range evenly.

    The range runs from the 1st to the 99th hundredth of `lightness`. Raises ValueError for other than 2, 3,
    5, 9.
    """
    if steps not in VALUE_STEPS:
        raise ValueError(f"A head is drawn in 2, 3, 5 or 9 values, not in {steps}.")
    chosen = lightness if weights is None else lightness[weights > 0]
    low, high = np.percentile(chosen, [1, 99])
    edges = np.linspace(low, high, steps + 1)
    return edges[1:-1], (edges[:-1] + edges[1:]) / 2


def luminance_from_L(lightness: float) -> float:
    """Luminance factor of CIE 1976 L*."""
    f = (lightness + 16) / 116
    return f**3 if f > 6 / 29 else 3 * (6 / 29) ** 2 * (f - 4 / 29)


def form(facing: np.ndarray) -> np.ndarray:
    """The factor on a map's light that shows form, 1 where the surface faces the eye."""
    return 1 - FORM * (1 - np.clip(np.asarray(facing, dtype=float), 0, 1)) ** 1.5


def facing_of(display, eye: np.ndarray) -> np.ndarray:
    """Cosine (D,) between each normal of the display mesh and the direction to the `eye (3,)`."""
    toward = np.asarray(eye) - display.vertices
    toward /= np.linalg.norm(toward, axis=1)[:, None]
    return np.einsum("ij,ij->i", toward, display.normals)


def _stripe(picture: np.ndarray, share: np.ndarray) -> None:
    """Diagonal lines where the share of vertices without a number is above a half."""
    height, width = share.shape
    row, column = np.ogrid[:height, :width]
    period = max(8, height // 75)
    line = np.abs((row + column) % period - period / 2) / (period / 2)
    line = np.clip((line - 0.7) * period / 2, 0, 1)[..., None]
    inside = np.clip(np.nan_to_num(share), 0, 1)[..., None] > 0.5
    dark = encode(decode(picture) * 0.35)
    picture[:] = np.where(inside, (picture * (1 - line) + dark * line).astype(np.uint8), picture)


def _slope(seen: np.ndarray, inside: np.ndarray) -> np.ndarray:
    """Change of a picture from one pixel to the next, the least of both sides, so that outlines do not
    count."""
    slope = np.full(seen.shape, 0.05)
    for axis in (0, 1):
        step = np.abs(np.diff(seen, axis=axis))
        both = np.minimum(np.roll(inside, -1, axis), inside)
        both = np.delete(both, -1, axis)
        step = np.where(both, step, np.inf)
        pad = [(0, 0), (0, 0)]
        pad[axis] = (1, 0)
        before = np.pad(step, pad, constant_values=np.inf)
        pad[axis] = (0, 1)
        after = np.pad(step, pad, constant_values=np.inf)
        least = np.minimum(before, after)
        slope = np.maximum(slope, np.where(np.isfinite(least), least, 0))
    return slope
