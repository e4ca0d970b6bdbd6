"""The long form: python -m tests.hostile [READER …] [--cases N] [--seed S] [--faults FOLDER]

Gives every reader that many files and says how many were accepted, how many refused in one sentence, and what broke
the promise; the first file of each sort of fault is kept in FOLDER. An interruption ends the reader at hand, and counts
its whole runs of 20 000. Exit code 1 where there was a fault.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
import time
import warnings
from contextlib import suppress
from pathlib import Path

RUN = 20_000
"""Files with one seed, so that what was tried need not all be kept in mind."""

BATCH = 32
"""Files from each that is made up whole."""

IN_MEMORY = Path("/dev/shm")
"""Where a system has it, a folder that no disk is asked for."""


def main() -> int:
    """Run the readers named, or all."""
    parser = argparse.ArgumentParser(prog="python -m tests.hostile", description=__doc__)
    parser.add_argument("readers", nargs="*", metavar="READER")
    parser.add_argument("--cases", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--faults", type=Path, default=None, help="folder for files that broke the promise")
    given = parser.parse_args()
    warnings.filterwarnings("error", module="sitterlight")
    with tempfile.TemporaryDirectory(
        prefix="sitterlight-hostile-", dir=IN_MEMORY if IN_MEMORY.is_dir() else None
    ) as scratch:
        os.environ["SITTERLIGHT_CACHE"] = str(Path(scratch, "cache"))
        from .promise import peak_memory
        from .readers import READERS
        from .run import Tally, run

        broken = False
        for name in given.readers or READERS:
            begun, tally = time.monotonic(), Tally()
            with suppress(KeyboardInterrupt):  # what was found until then is told
                for done in range(0, given.cases, RUN):
                    cases = min(RUN, given.cases - done)
                    tally.add(run(READERS[name], Path(scratch), cases, BATCH, given.seed + done))
            seconds = time.monotonic() - begun
            print(
                f"{name}: {tally.cases} files, {tally.accepted} accepted, {tally.refused} refused, "
                f"{sum(tally.faults.values())} faults of {len(tally.faults)} sorts, {seconds:.0f} s, "
                f"{peak_memory() / 1e6:.0f} MB at most",
                flush=True,
            )
            for number, (sort, content) in enumerate(tally.examples.items()):
                print(f"    {tally.faults[sort]} × {sort}", flush=True)
                if given.faults:
                    given.faults.mkdir(parents=True, exist_ok=True)
                    (given.faults / f"{name}-{given.seed}-{number}{READERS[name].ending}").write_bytes(content)
            broken |= bool(tally.faults)
    return int(broken)


if __name__ == "__main__":
    sys.exit(main())
