"""What painters know of light on skin, held against the calculation. Common practice, no source.

No constant of the program is fitted to make any of this true; where physics disagrees, the test says what it shows.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

from sitterlight.shading.frame import direction
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import (
    EyeSetting,
    LampLight,
    Sitting,
    SkinSetting,
    SkyLight,
    SurroundSetting,
)
from sitterlight.shading.targets import plane_rows

OVERCAST = (SkyLight(sky="overcast"),)
OPEN_SHADE = (SkyLight(sky="open shade"),)
LAMP = (LampLight(azimuth=-30, elevation=40, size=12, illuminance=300),)
EYE = EyeSetting(azimuth=20, elevation=10)


@lru_cache(maxsize=16)
def _rows(ladder: int, lights: tuple, oil: float = 1.0, ground: float = 0.2):
    skin = replace(SkinSetting(), ladder=ladder, oil=oil)
    surround = SurroundSetting(ground=ground)
    return plane_rows(light_scene(Sitting(skin=skin, lights=lights, surround=surround, eye=EYE)))


def _mean(rows, quantity: str, facing) -> float:
    """Area-weighted mean of a note over the seen skin planes whose normal `facing` accepts."""
    chosen = [
        (row.area_mm2 * row.visible, getattr(row, quantity))
        for row in rows
        if row.visible > 0.3 and facing(row.normal[1]) and getattr(row, quantity) is not None
    ]
    area, value = np.array(chosen, dtype=float).T
    return float((area * value).sum() / area.sum())


def _up(height: float) -> bool:
    return height > 0.45


def _under(height: float) -> bool:
    return height < -0.25


def test_deep_skin_greys_in_its_light_planes_under_a_cool_sky():
    deepest, fairest = _rows(1, OVERCAST), _rows(9, OVERCAST)
    deep_up, fair_up = _mean(deepest, "greying", _up), _mean(fairest, "greying", _up)
    assert deep_up >= 2 * fair_up
    assert deep_up > _mean(deepest, "greying", _under) + 0.1


def _mirrors_upper_sky(row) -> bool:
    """Whether an up-facing plane mirrors the sky above 45° to the eye."""
    normal, eye = np.array(row.normal), direction(EYE.azimuth, EYE.elevation)
    mirrored = 2 * (normal @ eye) * normal - eye
    return row.visible > 0.5 and normal[1] > 0.35 and mirrored[1] > np.sin(np.radians(45))


def test_deepest_skins_take_blue_notes_in_open_shade_and_none_under_a_lamp():
    """The note is found where an up-facing plane mirrors the blue upper sky. Where one mirrors the paler sky near the
    horizon instead, as the crown's far side does, the sheen pulls the other way: there physics disagrees with the
    plain saying."""
    for ladder in (1, 2):
        notes = {row.name: row.skylight_note for row in _rows(ladder, OPEN_SHADE) if _mirrors_upper_sky(row)}
        assert len(notes) >= 3
        assert min(notes.values()) > 0.3
        assert max(notes.values()) > 1.0
        lamp = [row for row in _rows(ladder, LAMP, ground=0.0) if row.visible > 0.3]
        assert max(row.skylight_note for row in lamp if row.skylight_note is not None) < 0.2


def test_sheen_is_what_causes_both():
    with_sheen = _mean(_rows(1, OVERCAST), "greying", _up)
    assert _mean(_rows(1, OVERCAST, oil=0.0), "greying", _up) < 0.5 * with_sheen
    for oily, powdered in zip(_rows(1, OPEN_SHADE), _rows(1, OPEN_SHADE, oil=0.0), strict=True):
        if _mirrors_upper_sky(oily):
            assert powdered.skylight_note < 0.8 * oily.skylight_note


def test_under_a_warm_lamp_the_light_planes_stay_warm():
    """Lit planes of a deep skin keep to the warm side of neutral under a lamp that the eye is not quite used to."""
    rows = [row for row in _rows(2, LAMP, ground=0.0) if row.family == "light" and row.visible > 0.3]
    assert rows
    assert all(row.Lab[2] > 0 for row in rows)
    assert np.mean([row.greying for row in rows if row.greying is not None]) < 0.9
