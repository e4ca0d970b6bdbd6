"""A change of sky at the calculation mesh, direct light: against the bare product of transfer and dome."""

from __future__ import annotations

from itertools import count

import numpy as np

from sitterlight.shading import lighting
from sitterlight.shading.compiled import over_vertices
from sitterlight.shading.irradiance import entering
from sitterlight.shading.packed import matched_spectra
from sitterlight.shading.sources import Dome
from sitterlight.shading.staging import Setup

from .lit import BOUNCES, GOLDEN, four_lights
from .race import Ratio, race


def sky_race(rounds: int = 30) -> Ratio:
    """Ours: from the cells of a sky never seen before to the XYZ of the bodies that it lights."""
    sitting = four_lights()
    setup = Setup.of(sitting, bounces=BOUNCES)
    stage, sky = setup.stage, next(source for source in setup.sources if isinstance(source, Dome))
    cells = sky.cells(8, stage.rotation)
    transfer = entering(stage.head, stage.transfer, stage.gloss)
    numbers = count(1)

    def fresh() -> np.ndarray:
        return cells * np.float32(0.5 + next(numbers) * GOLDEN % 1)

    body, basis, of = setup.body.albedo[:, None], sky.basis, stage.membership

    def ours() -> np.ndarray:
        columns = lighting.Columns.beside([stage._entered(fresh())], [len(basis)])
        radiance = np.zeros((1, len(stage.head.vertices), 3), np.float32)
        table = lighting._table(columns, body, matched_spectra(sky.basis, 2))
        ends = of.start, of.region, of.weight, columns.values, columns.edges
        over_vertices(lighting._shine, radiance.shape[1], *ends, table, radiance)
        return radiance[0]

    best = race({"ours": ours, "floor": lambda: transfer @ fresh()}, rounds)
    return Ratio(
        "sky_vs_floor",
        f"change of sky, direct light, {len(transfer)} vertices, to XYZ",
        best["ours"],
        best["floor"],
        2,
        False,
        f"{transfer.shape[1]} directions, {cells.shape[1]} basis spectra; without light under the skin and bounces",
    )
