"""Every reader of files that people bring, with files for it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from hypothesis import strategies as st

from sitterlight.illuminants.files import read_spectrum_csv
from sitterlight.illuminants.surfaces import reflectance
from sitterlight.meshes.library import load_head
from sitterlight.meshes.mesh_file import read_mesh
from sitterlight.shading.paint_file import FORMAT as PAINT_FORMAT
from sitterlight.shading.paint_file import paint_of_table, read_paint_file
from sitterlight.shading.palette_file import read_palette
from sitterlight.shading.sitting_file import read_sitting
from sitterlight.viewer.checking import check_file

from . import kept, meshes, paints, sittings, spectra


@dataclass(frozen=True)
class Reader:
    """`read` is given the path of a file with one of `files` in it; `beside` are the files it may name.

    `dear` readers build a whole head from a file that is accepted, so a short run harms each file more often.
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


def _tube(path: Path) -> object:
    """A tube of one's own from one swatch, whose spectrum the file is."""
    sample = {"paint": 1, "white": 0, "reflectance": path.name}
    return paint_of_table({"format": PAINT_FORMAT, "name": "mine", "sample": [sample]}, path.parent)


READERS = {
    "sitting": Reader(".toml", read_sitting, sittings.FILES),
    "power": Reader(".csv", lambda path: read_spectrum_csv(path, "power"), spectra.FILES),
    "reflectance": Reader(".csv", lambda path: read_spectrum_csv(path, "reflectance"), spectra.FILES),
    "surface": Reader(".csv", lambda path: reflectance(str(path)), spectra.FILES),
    "paint": Reader(".toml", read_paint_file, paints.FILES, paints.COMPANIONS),
    "palette": Reader(".toml", read_palette, paints.PALETTES, paints.TUBES),
    "tube": Reader(".csv", _tube, spectra.FILES),
    "cache": Reader(".npz", kept.cached, st.deferred(lambda: st.just(kept.cache_file()))),
    "settings": Reader(".json", kept.settings_file, kept.SETTINGS),
    "unsaved": Reader(".json", kept.unsaved_file, kept.UNSAVED),
    "obj": Reader(".obj", read_mesh, meshes.FILES["obj"]),
    "ply": Reader(".ply", read_mesh, meshes.FILES["ply"]),
    "stl": Reader(".stl", read_mesh, meshes.FILES["stl"]),
    "glb": Reader(".glb", read_mesh, meshes.FILES["glb"]),
    "head": Reader(".obj", _head, meshes.FILES["obj"], dear=True),
    "check toml": Reader(".toml", _check, st.one_of(sittings.FILES, paints.FILES), paints.COMPANIONS, dear=True),
    "check csv": Reader(".csv", _check, spectra.FILES),
}
