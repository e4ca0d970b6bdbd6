"""Makes data/skin_ladder.csv: nine skins on the main trend, evenly spaced to the eye.

Run from the project's top folder:  python shading/make_skin_ladder.py

The trend is that of the people measured (fit_skin.py): blood and oxygenation follow melanin as they do there, the
others stay. Deeper than L* 50, where only one of fifty people is, melanin alone goes on and everything else is held.
Ends are at L* 22 and 74 of the body under D65; between them steps are equal in CAM16-UCS, measured along the trend.

So the deep end is an extrapolation, and no constant was set to make it come out. It was held against one published
figure: the deepest of five clusters of faces in "Proposed Shade Guide for Human Facial Skin" (IADR General Session,
Miami 2009, abstract 120461; nose tip and upper lip of 120 people at 45°/0°) has L*a*b* 26.7, 14.6, 14.7, and skin 2 is
28.3, 13.1, 16.0. It was also held against layered adding and doubling (tests/test_against_adding_doubling.py), by
which skins 3 to 1 would be more chromatic by two to six units of ΔE00. So the chroma of skin 1, here 16, may be as much
as 27, though nothing published that was found is so chromatic.
"""

from __future__ import annotations

import numpy as np

from sitterlight.shading.cam16 import ViewingConditions
from sitterlight.shading.skin import AMOUNTS, DATA, albedos
from sitterlight.shading.skin_amounts import to_amounts, trend
from sitterlight.shading.skin_colour import Lab_of, colour_weights

DEEPEST, FAIREST, STEPS = 22.0, 74.0, 9


def main() -> None:
    """Write the table."""
    melanin = np.geomspace(1.5, 0.005, 4000)
    amounts = to_amounts(trend().mean(np.log(melanin)))
    spectra = albedos(amounts)
    Lab = Lab_of(spectra)
    weights, white = colour_weights()
    seen = ViewingConditions(tuple(white), 20.0).ucs(spectra @ weights)
    along = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(seen, axis=0), axis=1))])
    ends = np.interp([DEEPEST, FAIREST], Lab[:, 0], along)
    chosen = np.exp(np.interp(np.linspace(*ends, STEPS), along, np.log(melanin)))
    lines = [",".join(["number", *AMOUNTS])]
    for number, row in enumerate(to_amounts(trend().mean(np.log(chosen))), start=1):
        lines.append(",".join([str(number), *(f"{value:.5g}" for value in row)]))
    (DATA / "skin_ladder.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
