"""How time and memory grow with the mesh: the bust made coarser and finer, each in a process of its own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

SIZES = (5_000, 10_000, 20_000, 50_000, 100_000, 200_000, 500_000)
_TESTS = Path(__file__).resolve().parent.parent


@dataclass(frozen=True)
class Grown:
    """One mesh: seconds of its `transfer` and of all `light` after it, and of the processor's cores for both, which
    other work on the machine changes less; the most megabytes above what the program and the mesh hold before, while
    rays are cast and in all, and of the whole process."""

    vertices: int
    transfer: float
    light: float
    processor: float
    megabytes_cast: float
    megabytes: float
    process: float


def grown(tell: Callable[[str], None], sizes: tuple[int, ...] = SIZES) -> list[Grown]:
    """The curve."""
    found = []
    with tempfile.TemporaryDirectory(prefix="sitterlight-growth-") as folder:
        for size in sizes:
            path = Path(folder, f"{size}.npz")
            np.savez(path, **_mesh_of(size))
            command = [sys.executable, "-m", "speed.growth", str(path)]
            environment = dict(os.environ, SITTERLIGHT_CACHE="")
            told = subprocess.run(command, cwd=_TESTS, env=environment, capture_output=True, text=True, check=True)
            found.append(Grown(**json.loads(told.stdout)))
            tell(f"  {found[-1]}")
    return found


def exponent(curve: list[Grown]) -> float:
    """The power of the number of vertices with which the processor's time grows."""
    vertices, seconds = np.array([(one.vertices, one.processor) for one in curve], float).T
    return float(np.polyfit(np.log(vertices), np.log(seconds), 1)[0])


def _mesh_of(size: int) -> dict[str, np.ndarray]:
    """The bust with about `size` vertices."""
    import pyvista as pv

    from sitterlight.meshes.library import load_head

    fine = load_head().display
    mesh = pv.PolyData.from_regular_faces(fine.vertices, fine.faces)
    while mesh.n_points < size:
        mesh = mesh.subdivide(1, "linear")
    if mesh.n_points > 1.02 * size:
        mesh = mesh.decimate(1 - size / mesh.n_points, volume_preservation=True)
    return {"vertices": np.asarray(mesh.points, float), "faces": mesh.regular_faces.astype(np.int32)}


def _measure(path: str) -> Grown:
    """One mesh, in this process."""
    from sitterlight.meshes.head import Plane, make_head
    from sitterlight.meshes.library import load_head
    from sitterlight.meshes.regions import REGIONS
    from sitterlight.shading import geometry
    from sitterlight.shading.glance import seen_XYZ
    from sitterlight.shading.staging import Setup, stage_light, surface_of

    from .lit import BOUNCES, four_lights

    kept = np.load(path)
    weights = np.zeros((len(kept["vertices"]), len(REGIONS)), np.float32)
    weights[:, 0] = 1
    planes = (Plane("all", "centre", "skin"),)
    head = make_head("grown", kept["vertices"], kept["faces"], weights, planes, np.zeros(len(kept["faces"]), np.int16))
    sitting = four_lights(under_skin=False)
    small = replace(sitting, head=replace(sitting.head, mesh="cube"))
    setup = Setup.of(small, bounces=BOUNCES)  # what is compiled is loaded before
    seen_XYZ(setup, 2)
    load_head("cube")
    before = _resident()
    begun, worked = time.perf_counter(), time.process_time()
    geometry._transfer_of(head, True, None)
    cast, most_cast = time.perf_counter(), _most_resident()
    stage = geometry.Stage(head, *surface_of(sitting), setup.stage.rotation, True, None, BOUNCES, False)
    lighting, look = stage_light(stage, setup.sources), stage.look(setup.sources, setup.eye)
    seen_XYZ(replace(setup, head=head, stage=stage, lighting=lighting, look=look), 2)
    done, worked = time.perf_counter(), time.process_time() - worked
    megabytes = ((most - before) / 1e6 for most in (most_cast, _most_resident()))
    return Grown(len(head.vertices), cast - begun, done - cast, worked, *megabytes, _most_resident() / 1e6)


def _resident() -> float:
    """Bytes of this process in memory now."""
    with open("/proc/self/statm", encoding="ascii") as facts:
        return float(facts.read().split()[1]) * os.sysconf("SC_PAGE_SIZE")


def _most_resident() -> float:
    """The most bytes of this process that were in memory at once; what `getrusage` tells begins with those of who
    started it."""
    facts = dict(line.split(":", 1) for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines())
    return float(facts["VmHWM"].split()[0]) * 1024


if __name__ == "__main__":
    print(json.dumps(vars(_measure(sys.argv[1]))))
