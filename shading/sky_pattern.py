"""A sky of the illuminants room as the pattern of a dome: softened over the width of a cell at the horizon."""

from __future__ import annotations

import numpy as np

from sitterlight.illuminants.sky import Sky
from sitterlight.shading.frame import UP
from sitterlight.shading.sources import Pattern, above_horizon


def sky_pattern(sky: Sky) -> Pattern:
    """Radiance weights of a sky for any direction, softened over the width of a cell at the horizon."""

    def weights(directions: np.ndarray) -> np.ndarray:
        up = above_horizon(directions[:, 1])
        raised = directions * [1, 0, 1] + np.maximum(directions[:, 1:2], 1e-6) * UP
        return sky.weights(raised) * up[:, None]

    return Pattern(weights)
