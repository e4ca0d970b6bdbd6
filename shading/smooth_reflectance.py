"""The smoothest reflectance that has a given colour: a stand-in for a spectrum that nobody measured."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sitterlight.shading.mixing import viewing_light

Array = NDArray[np.floating]


def smooth_reflectance(XYZ: ArrayLike, light: str = "D65") -> Array:
    """Reflectance (81,) between 0 and 1 whose colour under `light`, taken to D65, is XYZ with white Y = 1.

    Minimises the squared slope of artanh(2R − 1) under the three conditions of colour, by Newton steps (S. A.
    Burns, Color Research and Application 45 (2020) 8). Raises ValueError for a colour no surface has.
    """
    XYZ = np.asarray(XYZ, float)
    weights = viewing_light(light).XYZ
    n = len(weights)
    roughness = 2.0 * (2.0 * np.eye(n) - np.eye(n, k=1) - np.eye(n, k=-1))
    roughness[0, 0] = roughness[-1, -1] = 2.0
    z, multipliers = np.full(n, np.arctanh(2.0 * np.clip(XYZ[1], 0.02, 0.98) - 1.0)), np.zeros(3)
    for _ in range(60):
        tanh = np.tanh(z)
        slope = 0.5 * (1.0 - tanh**2)
        pull = weights @ multipliers
        wrong = np.concatenate([roughness @ z + slope * pull, weights.T @ (0.5 * (1.0 + tanh)) - XYZ])
        if np.abs(wrong).max() < 1e-9:
            return 0.5 * (1.0 + tanh)
        jacobian = np.zeros((n + 3, n + 3))
        jacobian[:n, :n] = roughness - np.diag(2.0 * slope * tanh * pull)
        jacobian[:n, n:] = slope[:, None] * weights
        jacobian[n:, :n] = jacobian[:n, n:].T
        try:
            step = np.linalg.solve(jacobian, wrong)
        except np.linalg.LinAlgError:
            break
        step *= min(1.0, 1.5 / max(np.abs(step[:n]).max(), 1e-12))
        z, multipliers = z - step[:n], multipliers - step[n:]
    raise ValueError("The colour is more vivid than any painted surface can be; check the swatch and its light.")
