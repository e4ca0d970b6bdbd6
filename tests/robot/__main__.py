"""A seeded robot over every control of the real window: python -m tests.robot [--seed N] [--minutes M], with a screen.

It clicks, drags, types, chooses from menus, answers dialogs, drops files whole and damaged, and resizes, as chance
will have it, and after each step asks: has anything been raised, does the window live, has the event loop been silent,
does memory stay within bounds. At the end it lists controls that never changed anything. Each step is a line in the
log. Exit code 1 where something was found.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from pathlib import Path


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.robot", description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=2.0)
    parser.add_argument("--steps", type=int, default=None, help="end after so many steps, if not before")
    parser.add_argument("--head", choices=("sphere", "cube", "bust"), default="sphere", help="stands in for the bust")
    parser.add_argument("--log", type=Path, default=None, help="file for a line of each step")
    given = parser.parse_args(arguments)
    os.environ.setdefault("QT_API", "pyqt6")
    with tempfile.TemporaryDirectory(prefix="sitterlight-robot-") as scratch:
        os.environ["SITTERLIGHT_SETTINGS"] = str(Path(scratch, "settings"))
        os.environ["SITTERLIGHT_LOG"] = str(Path(scratch, "log"))
        from .robot import Robot

        robot = Robot(given.seed, given.head, Path(scratch), given.log)
        robot.run(60 * given.minutes, given.steps)
        print(robot.report(), flush=True)
    return 1 if robot.watch.faults else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
