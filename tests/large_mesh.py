"""A scan of very many faces, made from the bust, and what reading it costs: `python tests/large_mesh.py 5e6 stl`.

Prints faces, seconds, the most memory held in GB, and what is said of the mesh.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path

import numpy as np

from sitterlight.meshes.library import load_head
from sitterlight.meshes.triangles import welded

ROUGH = 0.03  # mm, as of a good scanner


def scan(faces: float) -> tuple[np.ndarray, np.ndarray]:
    """The bust with about so many faces, each of its own cut into n² and made a little rough."""
    display = load_head("bust").display
    steps = max(1, round((faces / len(display.faces)) ** 0.5))
    grid = [(i, j) for i in range(steps + 1) for j in range(steps + 1 - i)]
    number = {place: k for k, place in enumerate(grid)}
    cut = [[number[i, j], number[i + 1, j], number[i, j + 1]] for i in range(steps) for j in range(steps - i)]
    cut += [
        [number[i + 1, j], number[i + 1, j + 1], number[i, j + 1]] for i in range(steps) for j in range(steps - i - 1)
    ]
    weights = np.array([(steps - i - j, i, j) for i, j in grid]) / steps
    places = np.einsum("pk,fkd->fpd", weights, display.vertices[display.faces]).reshape(-1, 3)
    triangles = np.array(cut)[None] + len(grid) * np.arange(len(display.faces))[:, None, None]
    vertices, triangles = welded(places, triangles.reshape(-1, 3).astype(np.int32), [])
    return vertices + np.random.default_rng(0).normal(0, ROUGH, vertices.shape), triangles


def write_stl(path: Path, vertices: np.ndarray, faces: np.ndarray) -> None:
    records = np.zeros(len(faces), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attribute", "<u2")])
    records["corners"] = vertices[faces]
    path.write_bytes(b" " * 80 + np.uint32(len(faces)).tobytes() + records.tobytes())


def write_ply(path: Path, vertices: np.ndarray, faces: np.ndarray) -> None:
    records = np.zeros(len(faces), dtype=[("count", "u1"), ("corners", "<i4", 3)])
    records["count"], records["corners"] = 3, faces
    places = "".join(f"property float {axis}\n" for axis in "xyz")
    head = f"ply\nformat binary_little_endian 1.0\nelement vertex {len(vertices)}\n{places}"
    head += f"element face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n"
    path.write_bytes(head.encode() + vertices.astype("<f4").tobytes() + records.tobytes())


def write_obj(path: Path, vertices: np.ndarray, faces: np.ndarray) -> None:
    with path.open("w", encoding="ascii") as file:
        for part in np.array_split(vertices, 50):
            file.writelines(f"v {x:.5f} {y:.5f} {z:.5f}\n" for x, y, z in part.tolist())
        for part in np.array_split(faces + 1, 50):
            file.writelines(f"f {a}/{a}/{a} {b}/{b}/{b} {c}/{c}/{c}\n" for a, b, c in part.tolist())


def write_ply_text(path: Path, vertices: np.ndarray, faces: np.ndarray) -> None:
    places = "".join(f"property float {axis}\n" for axis in "xyz")
    head = f"ply\nformat ascii 1.0\nelement vertex {len(vertices)}\n{places}"
    head += f"element face {len(faces)}\nproperty list uchar int vertex_indices\nend_header\n"
    with path.open("w", encoding="ascii") as file:
        file.write(head)
        for part in np.array_split(vertices, 50):
            file.writelines(f"{x:.5f} {y:.5f} {z:.5f}\n" for x, y, z in part.tolist())
        for part in np.array_split(faces, 50):
            file.writelines(f"3 {a} {b} {c}\n" for a, b, c in part.tolist())


WRITERS = {"stl": write_stl, "ply": write_ply, "text.ply": write_ply_text, "obj": write_obj}
"""By what the name of such a file ends in."""


def measured(path: Path) -> tuple[float, float, tuple[str, ...]]:
    """Seconds to make a head of the file, GB held at most by this process, and what was said."""
    begun = time.perf_counter()
    head = load_head(str(path))
    return time.perf_counter() - begun, _most_held() / 1e6, head.report


def _most_held() -> float:
    """kB that this process has held at most. What the system counts as its use begins with that of its parent, so
    where Linux tells the program's own, that is taken."""
    status = Path("/proc/self/status")
    if status.exists():
        return float(next(line for line in status.read_text().splitlines() if line.startswith("VmHWM")).split()[1])
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss


def main(arguments: list[str]) -> None:
    if arguments and Path(arguments[0]).is_file():
        seconds, gigabytes, report = measured(Path(arguments[0]))
        print(f"{seconds:.1f} s, {gigabytes:.2f} GB; {' '.join(report)}")
        return
    import subprocess

    faces, kind = float(arguments[0]) if arguments else 5e6, arguments[1] if len(arguments) > 1 else "stl"
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, f"scan.{kind}")
        WRITERS[kind](path, *scan(faces))
        # In a process of its own, so that making the scan does not count.
        subprocess.run([sys.executable, __file__, str(path)], check=True)


if __name__ == "__main__":
    main(sys.argv[1:])
