"""Fits the constants of the skin model to measured forearms, and says how well people not in the fit are met.

    python shading/fit_skin.py …/skin_forearm_nist.csv > shading/data/fit_skin.txt

The file holds reflectance factors of the inner forearm, mirror part included, at 10 nm: a column of
wavelengths, then one per person (C. C. Cooksey, D. W. Allen, B. K. Tsai, Reference Data Set of Human Skin
Reflectance, Journal of Research of NIST 122:26, 2017). It is not part of the project; the constants found
are, in data/skin_constants.json. The constants are those of every other person in order of lightness, the
deepest first; the others are never seen by the fit.
"""

from __future__ import annotations

import json
import sys
from dataclasses import asdict

import numpy as np

from sitterlight.illuminants.grid import on_grid
from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.skin import AMOUNTS, DATA, SkinConstants, albedos
from sitterlight.shading.skin_amounts import FREE, Trend, constants_as_array, jacobian, solve, to_amounts
from sitterlight.shading.skin_spectra import BAND, Lab_through, between_samples, spectral_residual
from sitterlight.shading.surface import body_albedo, directional_albedo

START = SkinConstants(3.4, 0.7, 0.34, 0.04, 6.0, 8.0)
# How far each constant may be expected from where it starts: literature knows them no better than this
# (melanin's power: 3.33 to 3.48 by Jacques and coworkers, from memory; the rest as in Jacques 2013).
CONSTANT_SPREAD = np.array([0.05, 0.1, 0.05, 0.02, 2.0, 4.0])
CONSTANT_LIMITS = np.array([[1.5, 6], [0.2, 2], [0.01, 0.9], [0.002, 0.3], [1, 15], [-10, 30]]).T

# Before anything is known: melanin, blood, oxygenation, carotene, scattering, veil as logarithms and logit.
USUAL = [-0.9, 0.5, -2.5, 1.335, -1.4]
WIDE = Trend([-4.0, 0.5], [[-4.0, *USUAL], [0.5, *USUAL]], [2.0, 0.6, 0.5, 0.8, 0.2, 0.3])

# L* of the body below which a person counts as deep, and above which as fair, for the main trend.
DEEP, FAIR = 56.0, 68.0
HELD = [FREE.index(name) for name in ("carotene", "scattering", "veil")]


def read(path: str) -> np.ndarray:
    """Body albedos (people, 81)."""
    rows = np.genfromtxt(path, delimiter=",", skip_header=1)
    mirror = float(directional_albedo(0.35, np.cos(np.radians(8))))
    return np.stack([body_albedo(on_grid(rows[:, 0], column), mirror) for column in rows[:, 1:].T])


def halves(target: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Every other person in order of lightness: those whom the fit sees, the deepest among them, and the rest."""
    ordered = target[np.argsort(Lab_through(target, between_samples(2))[:, 0])]
    return ordered[0::2], ordered[1::2]


def fit_amounts(target: np.ndarray, sought: Trend, of: SkinConstants, colour_weight: float = 1.0) -> np.ndarray:
    """Unknowns (people, 6) of body albedos measured at 10 nm."""
    start = np.repeat(sought.mean(np.array([-2.0])), len(target), axis=0)
    return solve(spectral_residual(target, sought, of, 2, colour_weight), start)


def fit_constants(target: np.ndarray, sought: Trend, of: SkinConstants, rounds: int = 30) -> SkinConstants:
    """Constants that, with the amounts of everyone free, leave least; found in joint steps."""
    unknowns, damping = fit_amounts(target, sought, of), 1e-2
    constants = constants_as_array(of)
    cost = total(target, sought, constants, unknowns)
    for _ in range(rounds):
        step, amounts_step = joint_step(target, sought, constants, unknowns, damping)
        tried = np.clip(constants + step, *CONSTANT_LIMITS)
        tried_cost = total(target, sought, tried, unknowns + amounts_step)
        if tried_cost < cost:
            small = cost - tried_cost < 1e-6 * cost
            constants, unknowns, cost, damping = tried, unknowns + amounts_step, tried_cost, damping / 4
            if small:
                break
        else:
            damping *= 8
    return SkinConstants(*(float(value) for value in constants))


def total(target: np.ndarray, sought: Trend, constants: np.ndarray, unknowns: np.ndarray) -> float:
    """The sum of squares that the joint fit lessens."""
    residual = spectral_residual(target, sought, SkinConstants(*constants), 2)(unknowns)
    away = (constants - constants_as_array(START)) / CONSTANT_SPREAD
    return float((residual**2).sum() + (away**2).sum())


def joint_step(
    target: np.ndarray, sought: Trend, constants: np.ndarray, unknowns: np.ndarray, damping: float
) -> tuple[np.ndarray, np.ndarray]:
    """A damped Gauss-Newton step of constants (6,) and of everyone's unknowns (people, 6) together.

    The people don't touch one another, so their part of the normal equations is taken out block by block.
    """

    def residual(constants: np.ndarray):
        return spectral_residual(target, sought, SkinConstants(*constants), 2)

    value = residual(constants)(unknowns)
    by_amount = jacobian(residual(constants), unknowns, value)
    moves = np.eye(len(constants)) * 1e-5 * CONSTANT_SPREAD
    by_constant = np.stack([(residual(constants + m)(unknowns) - value) / m.sum() for m in moves], axis=-1)
    own = np.einsum("nmk,nml->nkl", by_amount, by_amount)
    own += damping * np.eye(own.shape[1]) * np.einsum("nkk->nk", own)[:, None]
    cross = np.einsum("nmk,nmc->nkc", by_amount, by_constant)
    solved = np.linalg.solve(own, cross)
    pull = np.einsum("nmk,nm->nk", by_amount, value)
    square = np.einsum("nmc,nmd->cd", by_constant, by_constant) + np.diag(CONSTANT_SPREAD**-2.0)
    square += damping * np.diag(np.diag(square))
    away = (constants - constants_as_array(START)) / CONSTANT_SPREAD**2
    right = np.einsum("nmc,nm->c", by_constant, value) + away - np.einsum("nkc,nk->c", solved, pull)
    step = -np.linalg.solve(square - np.einsum("nkc,nkd->cd", cross, solved), right)
    own_step = -np.linalg.solve(own, (pull + cross @ step)[..., None])[..., 0]
    return step, np.clip(own_step, -1.5, 1.5)


def find_trend(unknowns: np.ndarray, lightness: np.ndarray, of: SkinConstants) -> Trend:
    """The straight path of the unknowns (people, 6) from the mean of the deep to the mean of the fair, and
    the spreads of everyone about it.

    It is kept from L* 50 to 74, a little beyond the fairest; past its ends all but melanin are held. A
    regression on L* is not used: among the fair the ruddy are the darker, and it would make the path ruddy in
    its middle.
    """
    groups = [lightness < DEEP, lightness > FAIR]
    deep, fair = (unknowns[group].mean(axis=0) for group in groups)
    slope = (fair - deep) / (lightness[groups[1]].mean() - lightness[groups[0]].mean())
    slope[HELD], deep[HELD] = 0.0, unknowns[:, HELD].mean(axis=0)
    along = np.linspace(-10, 40, 501)[:, None]
    path = deep + along * slope
    reached = Lab_through(albedos(to_amounts(path), of), np.eye(81))[:, 0]
    ends = np.stack([np.interp([74.0, 50.0], reached, column) for column in path.T], axis=1)
    found = Trend(ends[:, 0].tolist(), ends.tolist(), [1.0] * 6)
    spread = np.sqrt((found.residual(unknowns) ** 2).mean(axis=0))
    spread = np.clip(spread, WIDE.spread / 2, WIDE.spread)
    return Trend(ends[:, 0].tolist(), ends.tolist(), [2.0, *spread[1:].tolist()])


def fit(target: np.ndarray, turns: int = 3) -> tuple[SkinConstants, Trend]:
    """Constants and trend of body albedos (people, 81)."""
    of, sought = START, WIDE
    for _ in range(turns):
        of = fit_constants(target, sought, of)
        lightness = Lab_through(target, between_samples(2))[:, 0]
        sought = find_trend(fit_amounts(target, sought, of), lightness, of)
    return of, sought


def judge(
    target: np.ndarray, sought: Trend, of: SkinConstants, colour_weight: float = 1.0
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """RMSE from 400 to 720 nm, ΔE00 (D65, 2°), and amounts of each person."""
    seen = between_samples(2)
    amounts = to_amounts(fit_amounts(target, sought, of, colour_weight))
    model = albedos(amounts, of)
    band = BAND[::2]
    error = np.sqrt(((model - target)[:, ::2][:, band] ** 2).mean(axis=1))
    return error, delta_E00(Lab_through(model, seen), Lab_through(target, seen)), amounts


def line(what: str, error: np.ndarray, difference: np.ndarray) -> str:
    """The figures of some people on one line."""
    return (
        f"{what:<32} people {len(error):2d}   RMSE mean {error.mean():.4f} worst {error.max():.4f}   "
        f"ΔE00 median {np.median(difference):.2f} worst {difference.max():.2f}"
    )


def cross_validate(target: np.ndarray, folds: int = 5) -> None:
    """Print what people left out are met with, fold by fold, and how the constants vary."""
    place, errors, differences = np.arange(len(target)), [], []
    for fold in range(folds):
        out = place % folds == fold
        of, sought = fit(target[~out])
        error, difference, _ = judge(target[out], sought, of)
        print(line(f"fold {fold + 1} of {folds}, left out", error, difference))
        print("   constants", " ".join(f"{value:.3f}" for value in constants_as_array(of)))
        errors.append(error)
        differences.append(difference)
    print(line("all, each left out once", np.concatenate(errors), np.concatenate(differences)))


def main(path: str) -> None:
    """Fit, print, and write data/skin_constants.json."""
    target = read(path)
    seen, unseen = halves(target)
    of, sought = fit(seen)
    print("RMSE from 400 to 720 nm, ΔE00 under D65 for 2°, both of the body (mirror part taken off).")
    print(line("in the fit", *judge(seen, sought, of)[:2]))
    print(line("not in the fit", *judge(unseen, sought, of)[:2]))
    print(line("not in the fit, by spectrum only", *judge(unseen, sought, of, colour_weight=0.0)[:2]))
    print("constants", {name: round(value, 4) for name, value in asdict(of).items()})
    print(
        "trend",
        json.dumps({"knots": sought.knots.round(3).tolist(), "means": sought.means.round(3).tolist()}),
    )
    print("spread", sought.spread.round(3).tolist())
    cross_validate(target)
    error, difference, amounts = judge(target, sought, of)
    print(line("all, constants as kept", error, difference))
    print(f"\n{'L*':>5} {'a*':>5} {'b*':>5}  " + " ".join(f"{name:>11}" for name in FREE))
    for Lab, row in sorted(zip(Lab_through(target, between_samples(2)).tolist(), amounts.tolist(), strict=True)):
        print("{:5.1f} {:5.1f} {:5.1f}  ".format(*Lab) + " ".join(f"{value:11.3f}" for value in row[:6]))
    middle = to_amounts(fit_amounts(target, sought, of).mean(axis=0))
    found = {
        "source": "fit_skin.py on 25 forearms of Cooksey, Allen & Tsai 2017, doi 10.6028/jres.122.026",
        "constants": {name: round(value, 5) for name, value in asdict(of).items()},
        "trend": {
            "knots": sought.knots.round(4).tolist(),
            "means": sought.means.round(4).tolist(),
            "spread": sought.spread.round(4).tolist(),
        },
        "middle of all 50": dict(zip(AMOUNTS, middle.round(5).tolist(), strict=True)),
    }
    (DATA / "skin_constants.json").write_text(json.dumps(found, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1])
