"""Reads the tables in data/, which make_tables.py wrote."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

DATA = Path(__file__).parent / "data"


@cache
def table(name: str) -> dict[str, np.ndarray]:
    """The columns of `data/<name>.csv` by their headings, each (81,) on the grid and read-only."""
    path = DATA / f"{name}.csv"
    with path.open(encoding="utf-8") as file:
        headings = file.readline().strip().split(",")[1:]
        rows = np.loadtxt(file, delimiter=",")
    rows.setflags(write=False)
    return {heading: rows[:, column + 1] for column, heading in enumerate(headings)}
