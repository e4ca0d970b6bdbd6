"""Every reader of files that people bring, with files for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from hypothesis import strategies as st

from sitterlight.illuminants.files import read_spectrum_csv
from sitterlight.illuminants.surfaces import reflectance
from sitterlight.meshes.library import load_head
from sitterlight.meshes.mesh_file import read_mesh
from sitterlight.shading import cache
from sitterlight.shading.paint_file import read_paint_file
from sitterlight.shading.sitting_file import read_sitting
from sitterlight.viewer.checking import check_file

from . import meshes, paints, sittings, spectra
from .damage import anything


@dataclass(frozen=True)
class Reader:
    """`read` is given the path of a file with one of `files` in it; `beside` are the files it may name.

    `dear` readers build a whole head from a file that is accepted, so a short run gives them fewer cases.
    """

    ending: str
    read: Callable[[Path], object]
    files: st.SearchStrategy[bytes]
    beside: dict[str, str] = field(default_factory=dict)
    dear: bool = False


def _head(path: Path) -> object:
    return load_head(str(path))


def _check(path: Path) -> str:
    """`check` adds the file's name itself."""
    try:
        return check_file(path)
    except ValueError as error:
        sentence = str(error).removeprefix(f"{path}: ")
        raise ValueError(f"{path}: {sentence}") from None


KEPT = {"a": np.arange(40.0), "b": np.zeros((3, 5), np.uint8)}


def kept_file() -> bytes:
    """The content of a file of the cache."""
    cache.remember("hostile", KEPT)
    return Path(cache.cache_folder(), "hostile.npz").read_bytes()


def _cached(path: Path) -> None:
    """The cache may forget, but never tells anything but what it was told."""
    folder = cache.cache_folder()
    content = path.read_bytes()
    Path(folder, "hostile.npz").write_bytes(content)
    found = cache.recall("hostile")
    if found is not None:
        for name, values in KEPT.items():
            if not np.array_equal(found[name], values):
                raise AssertionError("the cache told what it was never told")


READERS = {
    "sitting": Reader(".toml", read_sitting, anything(sittings.FILES)),
    "power": Reader(".csv", lambda path: read_spectrum_csv(path, "power"), anything(spectra.FILES)),
    "reflectance": Reader(".csv", lambda path: read_spectrum_csv(path, "reflectance"), anything(spectra.FILES)),
    "surface": Reader(".csv", lambda path: reflectance(str(path)), anything(spectra.FILES)),
    "paint": Reader(".toml", read_paint_file, anything(paints.FILES), paints.COMPANIONS),
    "cache": Reader(".npz", _cached, anything(st.deferred(lambda: st.just(kept_file())))),
    "obj": Reader(".obj", read_mesh, anything(meshes.FILES["obj"])),
    "ply": Reader(".ply", read_mesh, anything(meshes.FILES["ply"])),
    "stl": Reader(".stl", read_mesh, anything(meshes.FILES["stl"])),
    "glb": Reader(".glb", read_mesh, anything(meshes.FILES["glb"])),
    "head": Reader(".obj", _head, meshes.FILES["obj"], dear=True),
    "check toml": Reader(
        ".toml", _check, anything(st.one_of(sittings.FILES, paints.FILES)), paints.COMPANIONS, dear=True
    ),
    "check csv": Reader(".csv", _check, anything(spectra.FILES)),
}
