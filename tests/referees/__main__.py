"""Run every referee and write a short report with pictures: python -m tests.referees [FOLDER] [--quick]"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path

import numpy as np

from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.sittings import built_in

from . import convergence, furnace, grey_bust, lit_sittings, rooms
from .portrait import portrait

GREYS = [(ground, bounces, "display") for ground in (0.2, 0.0) for bounces in (0, 1, 8)] + [(0.2, 8, "calculation")]
"""Ground, bounces and the tracer's mesh, each compared."""


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.referees", description=__doc__)
    parser.add_argument("folder", nargs="?", help="where the report goes; without it, a new temporary folder")
    parser.add_argument("--quick", action="store_true", help="a few of the paths: noisy, for a first look")
    options = parser.parse_args()
    folder = Path(options.folder or tempfile.mkdtemp(prefix="sitterlight-referees-"))
    folder.mkdir(parents=True, exist_ok=True)
    start, lines = time.monotonic(), ["# What the referees say", ""]
    for section in (_furnace, _skin, _grey, _rooms, _sittings, _convergence):
        for line in section(folder, options.quick):
            print(line, flush=True)
            lines.append(line)
            (folder / "report.md").write_text("\n".join(lines) + "\n", encoding="utf-8")
    print(f"{folder / 'report.md'} ({time.monotonic() - start:.0f} s)")


def _furnace(folder: Path, quick: bool):
    yield "## White furnace with sheen, in the path tracer\n"
    for roughness in (0.2, 0.35, 0.8):
        values = [
            f"oil {oil:g}: {furnace.white_furnace(roughness, oil, 256 if quick else 1024):.4f}"
            for oil in (0.0, 1.0, 2.0)
        ]
        yield f"- roughness {roughness}: " + ", ".join(values)
    yield ""


def _skin(folder: Path, quick: bool):
    from ..test_against_adding_doubling import difference_at_equal_light

    yield "## Layered skin against adding and doubling, at equal light\n"
    yield "| skin | ΔE00 | chroma, ours | theirs |"
    yield "|---|---|---|---|"
    for number in range(1, 10, 4 if quick else 1):
        _, ours, theirs = difference_at_equal_light(number)
        chroma = [f"{np.hypot(*Lab[1:]):.1f}" for Lab in (ours, theirs)]
        yield f"| {number} | {delta_E00(ours, theirs):.2f} | {' | '.join(chroma)} |"
    yield ""


def _grey(folder: Path, quick: bool):
    yield "## The bust in one grey under the overcast sky, mean of every plane\n"
    yield "| ground | bounces | mesh of the tracer | median | worst | beyond tolerance | noise |"
    yield "|---|---|---|---|---|---|---|"
    for ground, bounces, mesh in GREYS:
        result = grey_bust.compare(ground, bounces, 4096 if quick else 16384, mesh, 1 if quick else 4)
        off = np.abs(result.difference)
        beyond = [
            f"{result.names[i]} {result.difference[i]:+.1%}"
            for i in np.argsort(-off)
            if off[i] > result.tolerance + 2 * result.noise[i]
        ]
        yield (
            f"| {ground} | {bounces} | {mesh} | {np.median(off):.2%} | {off.max():.2%} | "
            f"{', '.join(beyond) or 'none'} | {np.median(result.noise):.2%} |"
        )
    yield ""


def _rooms(folder: Path, quick: bool):
    yield "## Near lamps and a window, straight on the bust, mean of every plane\n"
    yield "| light | planes with a tenth of the best | median | worst | planes with less: worst, of the best | beyond |"
    yield "|---|---|---|---|---|---|"
    for name in rooms.ROOMS:
        result = rooms.compare(name, 4096 if quick else 16384, rounds=1 if quick else 4)
        off, dim = np.abs(result.difference[result.lit]), np.abs(result.of_the_best[~result.lit])
        yield (
            f"| {name} | {result.lit.sum()} | {np.median(off):.2%} | {off.max():.2%} | {dim.max(initial=0):.2%} | "
            f"{', '.join(result.beyond) or 'none'} |"
        )
    yield ""


def _sittings(folder: Path, quick: bool):
    yield "## Sittings in full: regional skin, sheen, all bands; ΔE00 after the eye\n"
    yield "| sitting | median | nine in ten | worst | noise of Y | seen area | beyond 1.0 |"
    yield "|---|---|---|---|---|---|---|"
    for name in lit_sittings.SITTINGS:
        result = lit_sittings.compare(built_in(name), name, 256 if quick else 1024, 1 if quick else 4)
        worst = [f"{result.names[i]} {result.delta[i]:.1f}" for i in np.argsort(-result.delta) if result.delta[i] > 1]
        yield (
            f"| {name} | {np.median(result.delta):.2f} | {np.quantile(result.delta, 0.9):.2f} | "
            f"{result.delta.max():.2f} | {np.median(result.noise):.2%} | "
            f"± {np.abs(np.subtract(*result.visible)).max():.1%} | "
            f"{', '.join(worst) or 'none'} |"
        )
        portrait(built_in(name), folder / f"{name}.png", paths=1 if quick else 3)
    yield "\nPictures: ours, the path tracer's, and ten times their difference about middle grey."
    for name in lit_sittings.SITTINGS:
        yield f"\n![{name}]({name}.png)"
    yield ""


def _convergence(folder: Path, quick: bool):
    yield "## Twice as fine: change of every plane, ΔE00\n"
    yield "| sitting | doubled | median | nine in ten | worst | beyond 0.2 |"
    yield "|---|---|---|---|---|---|"
    for name in lit_sittings.SITTINGS[: 2 if quick else len(lit_sittings.SITTINGS)]:
        for change in convergence.changes(built_in(name)):
            order = [i for i in np.argsort(-change.delta) if change.delta[i] > convergence.LARGEST_CHANGE]
            worst = [f"{change.names[i]} {change.delta[i]:.2f}" for i in order]
            yield (
                f"| {name} | {change.what} | {np.median(change.delta):.3f} | {np.quantile(change.delta, 0.9):.2f} | "
                f"{change.delta.max():.2f} | {', '.join(worst) or 'none'} |"
            )
    yield ""


if __name__ == "__main__":
    main()
