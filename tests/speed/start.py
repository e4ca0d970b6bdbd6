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

from .race import Best, Ratio

_HERE = Path(__file__).parent
_PATIENCE = 600.0


def start_race(rounds: int = 5) -> Iterator[Ratio]:
    """The ratio, where there is a screen. The sitting that opens has been looked at once before, so that its picture is
    kept; what a start without one takes is told besides. Compiled code and the transfer of the head are kept for both.
    """
    with screen() as environment, tempfile.TemporaryDirectory(prefix="sitterlight-start-") as folder:
        if sys.platform.startswith("linux") and not environment.get("DISPLAY"):
            print("start_vs_bare: no screen and no Xvfb", file=sys.stderr)
            return
        environment |= {f"XDG_{kind}_HOME": folder for kind in ("CONFIG", "DATA", "STATE")}
        environment |= {"QT_API": "pyqt6", "SITTERLIGHT_CACHE": str(Path(folder, "cache"))}
        path = Path(folder, "head.npz")
        _write_mesh(path)
        ours, bare = [sys.executable, str(_HERE / "lit_window.py")], [sys.executable, str(_HERE / "bare_window.py")]
        best = {"new": Best(), "ours": Best(), "bare": Best()}
        commands = {"new": [*ours, "--forget"], "ours": ours, "bare": [*bare, str(path)]}
        shown = {}
        for number in range(rounds + 1):
            for name, command in commands.items():
                if name == "ours":
                    _first_picture([*ours, "--look"], environment)
                took, shown[name] = _first_picture(command, environment)
                if number:
                    best[name] = best[name].better(*took)
    yield Ratio(
        "start_vs_bare",
        "from process start to the first lit picture in the window, against a bare Qt and VTK window",
        best["ours"],
        best["bare"],
        2,
        False,
        f"files warm for both; the same sitting was looked at once before, and its first picture is "
        f"{_words(shown['ours'])}; a sitting not looked at before, its head's rays cast and all loops compiled, "
        f"takes {best['new'].seconds:.2f} s, and its first picture is {_words(shown['new'])}",
    )


def _words(shown: str) -> str:
    exact, how = shown.split()
    return f"{'exact' if exact == '1' else 'without shadows'} and {how}"


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
