"""Makes data/munsell.npz, the Munsell renotation, from colour-science, which carries the published figures.

Run from the project's top folder:  python shading/make_munsell_table.py

It keeps the chromaticities at values 1 to 10, the 40 hues of 2.5 steps and the chromas 2 to 50, whole data
set (real and extrapolated colours); and for each ovoid between two neighbouring hues whether it is drawn
straight or as an arc about white.
"""

from __future__ import annotations

from pathlib import Path

import colour
import numpy as np
from colour.notation.munsell import interpolation_method_from_renotation_ovoid

DATA = Path(__file__).parent / "data" / "munsell.npz"
FAMILIES = ("R", "YR", "Y", "GY", "G", "BG", "B", "PB", "P", "RP")
LETTER_CODES = {"R": 7, "YR": 6, "Y": 5, "GY": 4, "G": 3, "BG": 2, "B": 1, "PB": 10, "P": 9, "RP": 8}
MISSING = -100_000_000


def chromaticities() -> np.ndarray:
    """x, y in millionths (10 values, 40 hues, 25 chromas, 2); MISSING where there is no figure.

    Imaginary colours may lie a little below zero.
    """
    table = np.full((10, 40, 25, 2), MISSING, np.int32)
    for (hue, value, chroma), (x, y, _) in colour.notation.MUNSELL_COLOURS_ALL:
        if value >= 1.0:
            letters = hue.lstrip("0123456789.")
            step = float(hue[: -len(letters)]) / 2.5 + 4 * FAMILIES.index(letters)
            place = round(value) - 1, round(step) % 40, round(chroma / 2) - 1
            table[place] = np.rint([x * 1e6, y * 1e6])
    return table


def arcs() -> np.ndarray:
    """Whether the ovoid from one hue to the next is an arc (9 values, 40 hues, 25 chromas)."""
    table = np.zeros((9, 40, 25), bool)
    for value, step, chroma in np.ndindex(table.shape):
        letters = FAMILIES[step // 4]
        between = 2.5 * (step % 4) + 1.25
        specification = (between, value + 1, 2 * chroma + 2, LETTER_CODES[letters])
        table[value, step, chroma] = interpolation_method_from_renotation_ovoid(specification) == "Radial"
    return table


def main() -> None:
    """Write the table."""
    np.savez_compressed(DATA, xy_millionths=chromaticities(), arc=arcs())
    print(f"{DATA.name}: {DATA.stat().st_size} bytes, colour-science {colour.__version__}")


if __name__ == "__main__":
    main()
