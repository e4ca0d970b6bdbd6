"""From the start of the process to the first lit picture in the window, against a bare window with the same mesh."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from run import screen

from sitterlight.meshes.library import load_head
from sitterlight.shading.transfer import transfer

from .race import Best, Ratio

_HERE = Path(__file__).parent
_PATIENCE = 600.0


def start_race(rounds: int = 5) -> Iterator[Ratio]:
    """The ratio, where there is a screen. The transfer of the head is on disk, as after a first start, and compiled
    code is kept."""
    with screen() as environment, tempfile.TemporaryDirectory(prefix="sitterlight-start-") as folder:
        if sys.platform.startswith("linux") and not environment.get("DISPLAY"):
            print("start_vs_bare: no screen and no Xvfb", file=sys.stderr)
            return
        environment |= {f"XDG_{kind}_HOME": folder for kind in ("CONFIG", "DATA", "STATE")}
        environment |= {"QT_API": "pyqt6"}
        transfer(load_head())
        path = Path(folder, "head.npz")
        _write_mesh(path)
        ours, bare = [sys.executable, str(_HERE / "lit_window.py")], [sys.executable, str(_HERE / "bare_window.py")]
        best = [Best(), Best()]
        exact = True
        for number in range(rounds + 1):
            for place, command in enumerate((ours, [*bare, str(path)])):
                took, told = _first_picture(command, environment)
                exact = exact and told != "0"
                if number:
                    best[place] = best[place].better(*took)
    yield Ratio(
        "start_vs_bare",
        "from process start to the first lit picture in the window, against a bare Qt and VTK window",
        *best,
        2,
        False,
        f"warm caches for both; the first picture is {'the exact one' if exact else 'lit without shadows'}",
    )


def _write_mesh(path: Path) -> None:
    mesh = load_head().display
    codes = np.clip(127.5 * (1 + mesh.normals), 0, 255).astype(np.uint8)
    np.savez(path, vertices=mesh.vertices.astype(np.float32), faces=mesh.faces, codes=codes)


def _first_picture(command: list[str], environment: dict[str, str]) -> tuple[tuple[float, float], str]:
    """Seconds from the start of a process to the picture that it tells of, by the clock and of the processor, and what
    else it says."""
    used, begun = sum(os.times()[2:4]), time.time()
    told = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=_PATIENCE, check=False)
    words = told.stdout.split()
    if not words:
        raise RuntimeError(f"{Path(command[1]).name} showed no picture: {told.stderr.strip()[-500:]}")
    return (float(words[0]) - begun, sum(os.times()[2:4]) - used), " ".join(words[1:])
