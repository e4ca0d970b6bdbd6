"""The head as a picture for other programs: PNG with its colour space embedded, sRGB or Display P3."""

from __future__ import annotations

import numpy as np

from sitterlight.shading.colour_profiles import SPACES, XYZ_from_linear, profile
from sitterlight.shading.picture import develop
from sitterlight.shading.png import png_bytes
from sitterlight.shading.study import Study


def picture_png(study: Study, space: str = "sRGB") -> bytes:
    """The head as seen, as the content of a PNG file in one of SPACES with its ICC profile. ValueError otherwise.

    In Display P3 colours are kept that sRGB has to bring inside.
    """
    if space not in SPACES:
        raise ValueError(f'"{space}" is no colour space of a picture; there are {" and ".join(SPACES)}.')
    return png_bytes(develop(study.film, seen_in(study, space)), study.scene.sitting.title, profile=profile(space))


def seen_in(study: Study, space: str) -> np.ndarray:
    """Linear values (D,3), 0 to 1, of the head as seen at the vertices of the display mesh."""
    if space == "sRGB":
        return study.seen
    XYZ = study.eye.screen_XYZ(study.scene.display_XYZ)
    return np.clip(XYZ @ np.linalg.inv(XYZ_from_linear(space)).T, 0, 1)
