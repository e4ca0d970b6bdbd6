"""Makes the tables in data/ from colour-science, which carries the published CIE and ISO figures.

Run from the project's top folder:  python illuminants/make_tables.py

colour-science takes more than a second to import, so the program reads these small files instead.
"""

from __future__ import annotations

from pathlib import Path

import colour
import numpy as np
from colour.colorimetry import SDS_BASIS_FUNCTIONS_CIE_ILLUMINANT_D_SERIES as COMPONENTS

DATA = Path(__file__).parent / "data"
WAVELENGTHS = np.arange(380, 781, 5)

# Illuminants that a painter may meet or a check may ask for, in the order in which they are listed.
NAMES = [
    *("A", "B", "C", "D50", "D55", "D60", "D65", "D75", "E", "ID50", "ID65"),
    *(f"FL{n}" for n in range(1, 13)),
    *(f"FL3.{n}" for n in range(1, 16)),
    *(f"HP{n}" for n in range(1, 6)),
    *(f"LED-B{n}" for n in range(1, 6)),
    *("LED-BH1", "LED-RGB1", "LED-V1", "LED-V2"),
]


def at_grid(distribution: colour.SpectralDistribution) -> np.ndarray:
    """The tabulated values themselves; every source used here is tabulated at 1 or 5 nm."""
    where = {float(w): float(v) for w, v in zip(distribution.wavelengths, distribution.values, strict=True)}
    return np.array([where[float(w)] for w in WAVELENGTHS])


def write(name: str, columns: dict[str, np.ndarray]) -> None:
    """Write one CSV: wavelength in nm, then the columns."""
    lines = [",".join(["wavelength", *columns])]
    for row, wavelength in enumerate(WAVELENGTHS):
        lines.append(",".join([str(wavelength), *(f"{column[row]:.10g}" for column in columns.values())]))
    (DATA / name).write_text("\n".join(lines) + "\n", encoding="utf-8")


def main() -> None:
    """Write the three tables."""
    matching = {}
    for title, degrees in (("CIE 1931 2 Degree", 2), ("CIE 1964 10 Degree", 10)):
        functions = colour.MSDS_CMFS[f"{title} Standard Observer"].to_sds()
        for letter, function in zip("xyz", functions, strict=True):
            matching[f"{letter}{degrees}"] = at_grid(function)
    write("colour_matching.csv", matching)
    write("daylight_components.csv", {name: at_grid(COMPONENTS[name]) for name in ("S0", "S1", "S2")})
    write("illuminants.csv", {name: at_grid(colour.SDS_ILLUMINANTS[name]) for name in NAMES})


if __name__ == "__main__":
    main()
