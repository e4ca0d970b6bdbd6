"""Makes data/skin_pigments.csv: the absorption of haemoglobin and of carotene, 350 to 820 nm in 2 nm steps.

Run from the project's top folder with the path of the tabulation of haemoglobin, a MATLAB file of three
columns (wavelength in nm, oxygenated, deoxygenated, both cm⁻¹ per mol/l) that the package mne carries
(`mne/data/extinction_coef.mat`, BSD-3-Clause):

    python shading/make_skin_pigments.py …/mne/data/extinction_coef.mat

Haemoglobin: S. Prahl, Tabulated Molar Extinction Coefficient for Hemoglobin in Water (1998), after W. B.
Gratzer and N. Kollias. Carotene: β-carotene in hexane as measured by R.-C. A. Fuh in 1995 for PhotochemCAD
(Du et al. 1998, Photochemistry and Photobiology 68, 141), read off at 10 nm and set to one at its peak near
450 nm.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.io import loadmat

TARGET = Path(__file__).parent / "data" / "skin_pigments.csv"
WAVELENGTHS = np.arange(350, 821, 2)

CAROTENE = {
    **{350: 0.11, 360: 0.11, 370: 0.15, 380: 0.22, 390: 0.30, 400: 0.435, 410: 0.525, 420: 0.70, 430: 0.775},
    **{440: 0.87, 450: 1.00, 460: 0.86, 470: 0.78, 480: 0.79, 490: 0.535, 500: 0.235, 510: 0.075, 520: 0.025},
    **{530: 0.012, 540: 0.006, 550: 0.003, 560: 0.0, 820: 0.0},
}


def main(path: str) -> None:
    """Write the table from the tabulation at `path`."""
    (rows,) = (values for name, values in loadmat(path).items() if not name.startswith("__"))
    oxygenated, deoxygenated = (np.interp(WAVELENGTHS, rows[:, 0], rows[:, column]) for column in (1, 2))
    carotene = PchipInterpolator(list(CAROTENE), list(CAROTENE.values()))(WAVELENGTHS)
    lines = ["wavelength,oxygenated,deoxygenated,carotene"]
    for row in zip(WAVELENGTHS, oxygenated, deoxygenated, carotene, strict=True):
        lines.append("{:d},{:.7g},{:.7g},{:.4f}".format(*row))
    TARGET.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1])
