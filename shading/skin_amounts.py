"""Which amounts make a given spectrum or colour: least squares with what is known of skin as its prior.

A spectrum or a colour alone does not settle all amounts (more scattering looks like less of everything that
absorbs). So the amounts also have to be likely ones: the others follow melanin as they did in the people
measured, each within its own spread. That makes the answer unique and keeps it near the main trend.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np

from sitterlight.shading.skin import AMOUNTS, SkinConstants, fitted

FREE = AMOUNTS[:6]
"""The amounts that are sought; deep melanin belongs to the beard alone and is never guessed."""

_LOGIT = FREE.index("oxygenation")


def to_unknowns(amounts: np.ndarray) -> np.ndarray:
    """Unbounded numbers (..., 6): logarithms, and for oxygenation the logit, of amounts (..., 6 or 7)."""
    amounts = np.clip(np.asarray(amounts, dtype=float)[..., : len(FREE)], 1e-6, None)
    unknowns = np.log(amounts)
    share = np.clip(amounts[..., _LOGIT], 1e-6, 1 - 1e-6)
    unknowns[..., _LOGIT] = np.log(share / (1 - share))
    return unknowns


def to_amounts(unknowns: np.ndarray) -> np.ndarray:
    """Amounts (..., 7) of unknowns (..., 6), without deep melanin."""
    amounts = np.exp(np.clip(unknowns, -30, 30))
    amounts[..., _LOGIT] = 1 / (1 + np.exp(-np.clip(unknowns[..., _LOGIT], -30, 30)))
    return np.concatenate([amounts, np.zeros((*amounts.shape[:-1], 1))], axis=-1)


class Trend:
    """What amounts go together: a mean that follows melanin, and spreads about it."""

    def __init__(self, knots: list[float], means: list[list[float]], spread: list[float]) -> None:
        """`knots` of log melanin, rising; `means` of the unknowns at each; `spread`, standard deviations
        (5,)."""
        self.knots, self.means, self.spread = np.array(knots), np.array(means), np.array(spread)

    def mean(self, log_melanin: np.ndarray) -> np.ndarray:
        """Unknowns (..., 6) that go with a melanin; held beyond the knots."""
        columns = [np.interp(log_melanin, self.knots, column) for column in self.means.T[1:]]
        return np.stack([np.asarray(log_melanin, dtype=float), *columns], axis=-1)

    def residual(self, unknowns: np.ndarray) -> np.ndarray:
        """How many spreads the unknowns are from the trend, (..., 6); melanin from the middle of its
        knots."""
        away = unknowns - self.mean(unknowns[..., 0])
        away[..., 0] = unknowns[..., 0] - self.knots.mean()
        return away / self.spread


@cache
def trend() -> Trend:
    """The trend of the people measured."""
    return Trend(**fitted()["trend"])


Residual = Callable[[np.ndarray], np.ndarray]


def solve(residual: Residual, start: np.ndarray, rounds: int = 60) -> np.ndarray:
    """Unknowns (n, k) at which the sum of squares of `residual` (n, k) → (n, m) is least, each row by itself.

    Levenberg's and Marquardt's method, with derivatives by differences.
    """
    here = start.copy()
    value = residual(here)
    cost, damping = (value**2).sum(-1), np.full(len(here), 1e-2)
    for _ in range(rounds):
        slope = jacobian(residual, here, value)
        square = np.einsum("nmk,nml->nkl", slope, slope)
        damped = square + np.eye(here.shape[1]) * (damping[:, None] * np.einsum("nkk->nk", square) + 1e-12)[:, None]
        step = -np.linalg.solve(damped, np.einsum("nmk,nm->nk", slope, value)[..., None])[..., 0]
        step *= np.minimum(1.0, 1.5 / np.maximum(np.abs(step).max(axis=1, keepdims=True), 1e-12))
        tried = residual(here + step)
        tried_cost = (tried**2).sum(-1)
        better = tried_cost < cost
        settled = np.all(~better | (cost - tried_cost < 1e-9 * (1 + cost)))
        here[better] += step[better]
        value[better], cost[better] = tried[better], tried_cost[better]
        damping = np.where(better, damping / 4, np.minimum(damping * 6, 1e8))
        if settled and np.all(better | (damping > 1e6)):
            break
    return here


def jacobian(residual: Residual, here: np.ndarray, value: np.ndarray) -> np.ndarray:
    """Derivatives (n, m, k) of `residual` by each unknown."""
    step = 1e-5
    columns = []
    for k in range(here.shape[1]):
        moved = here.copy()
        moved[:, k] += step
        columns.append((residual(moved) - value) / step)
    return np.stack(columns, axis=-1)


def constants_as_array(of: SkinConstants) -> np.ndarray:
    """The constants in the order of their declaration."""
    return np.array([getattr(of, name) for name in SkinConstants.__dataclass_fields__])
