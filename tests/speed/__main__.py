"""Measure how fast, as ratios in one run: python -m tests.speed [--json | --markdown] [--growth] [--only KEY …]"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from pathlib import Path


def main() -> None:
    """Run the races and print what they say; the exit code is 1 where one of them broke down."""
    options = _parser().parse_args()
    if options.json and options.markdown:
        sys.exit("tests.speed: error: --json or --markdown, not both")
    with tempfile.TemporaryDirectory(prefix="sitterlight-speed-") as folder:
        # Before anything of Sitterlight is imported: nothing that an earlier run left may help.
        os.environ["SITTERLIGHT_CACHE"] = str(Path(folder, "cache"))
        sys.exit(0 if _run(options) else 1)


def _run(options: argparse.Namespace) -> bool:
    from speed.machine import described, load
    from speed.report import as_json, as_lines, as_markdown

    before, begun = load(), time.time()
    ratios, whole = [], True
    for key, run in _races().items():
        if options.only and not set(options.only) & set(key.split()):
            continue
        print(f"{key} …", file=sys.stderr, flush=True)
        try:
            for ratio in run():
                print(f"  {ratio.key} {ratio.value:.3g}", file=sys.stderr, flush=True)
                ratios.append(ratio)
        except Exception as problem:  # the others' figures are worth having
            print(f"  {type(problem).__name__}: {problem}", file=sys.stderr, flush=True)
            whole = False
    where = f"{time.strftime('%Y-%m-%d', time.localtime(begun))}, {described(before, load())}"
    growth = _growth() if options.growth else None
    if options.json:
        print(json.dumps(as_json(ratios)))
    else:
        print(*(as_markdown if options.markdown else as_lines)(ratios, where, growth), sep="\n")
    return whole


def _races() -> dict[str, Callable[[], Iterable]]:
    """The races by the keys of their ratios."""
    from speed import camera, rays, skin, sky, start, tracer

    return {
        "skin_vs_naive skin_vs_floor": skin.skin_races,
        "sky_vs_floor": lambda: [sky.sky_race()],
        "lamp_vs_rays": lambda: [rays.lamp_race()],
        "camera_vs_skin": lambda: [camera.camera_race()],
        "transfer_vs_rays": lambda: [rays.transfer_race()],
        "study_vs_path_tracer relight_vs_path_tracer": tracer.tracer_races,
        "start_vs_bare": start.start_race,
    }


def _growth() -> list:
    from speed.growth import grown

    return grown(lambda words: print(words, file=sys.stderr, flush=True))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m tests.speed", description=__doc__)
    parser.add_argument("--json", action="store_true", help="print one object: the ratios by their keys")
    parser.add_argument("--markdown", action="store_true", help="print the table as it stands in DEVELOPERS.md")
    parser.add_argument("--growth", action="store_true", help="also how time and memory grow with the mesh; slow")
    parser.add_argument("--only", nargs="+", metavar="KEY", help="only the races that give these ratios")
    return parser


if __name__ == "__main__":
    main()
