"""CAT16, the chromatic adaptation of CIECAM16, in one step between two whites (CIE 248:2022)."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.floating]

# Li, Li, Wang, Zu, Luo, Cui, Melgosa, Brill, Pointer 2017, Color Research and Application 42, 703
CONES_FROM_XYZ = np.array(
    [
        [0.401288, 0.650173, -0.051461],
        [-0.250268, 1.204414, 0.045854],
        [-0.002079, 0.048952, 0.953127],
    ]
)
XYZ_FROM_CONES = np.linalg.inv(CONES_FROM_XYZ)


def adaptation_matrix(from_white: ArrayLike, to_white: ArrayLike, degree: float = 1.0) -> Array:
    """Matrix (3, 3) that takes XYZ seen under `from_white` to XYZ seen under `to_white`, used as XYZ @ M.T.

    Gain per cone: D · (Y_w / Y_r) · (R_r / R_w) + 1 − D, with w the white it comes from, r the white it goes
    to and D the degree of adaptation, 0 to 1. `from_white` keeps its Y, whatever its unit.
    """
    from_white, to_white = np.asarray(from_white, float), np.asarray(to_white, float)
    cones_from, cones_to = CONES_FROM_XYZ @ from_white, CONES_FROM_XYZ @ to_white
    gain = degree * (from_white[1] / to_white[1]) * (cones_to / cones_from) + 1.0 - degree
    return XYZ_FROM_CONES @ (gain[:, None] * CONES_FROM_XYZ)


def adapt(XYZ: ArrayLike, from_white: ArrayLike, to_white: ArrayLike, degree: float = 1.0) -> Array:
    """XYZ (..., 3) taken from one white to another; see `adaptation_matrix`."""
    XYZ = np.asarray(XYZ)
    XYZ = XYZ if XYZ.dtype == np.float32 else XYZ.astype(float)
    return XYZ @ adaptation_matrix(from_white, to_white, degree).T.astype(XYZ.dtype)


def degree_of_adaptation(adapting_luminance: float, surround: float = 1.0) -> float:
    """D of CIECAM16 for an adapting luminance in cd/m² and the factor F (1 for an average surround).

    0.82 in the dark, 0.98 at 200 cd/m², 1 in daylight.
    """
    degree = surround * (1.0 - np.exp((-adapting_luminance - 42.0) / 92.0) / 3.6)
    return float(np.clip(degree, 0.0, 1.0))
