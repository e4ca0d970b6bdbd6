"""Reading a PLY file as it lies, binary or in text, so that millions of faces stay small in memory.

Faces may be triangles, quads and polygons side by side, with further values and lists beside their corners; elements
other than vertices and faces are passed over. What is rare is left to trimesh.
"""

from __future__ import annotations

from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from sitterlight.meshes.ply_faces import polygons_of
from sitterlight.meshes.ply_layout import LONGEST_HEADER, Element, layout
from sitterlight.meshes.ply_text import Body
from sitterlight.meshes.polygons import cut_polygons

CORNERS = ("vertex_indices", "vertex_index")
COLOURS = {"red", "r", "diffuse_red"}


def read_plain_ply(path: Path) -> tuple[NDArray[np.floating], NDArray[np.int32], bool] | None:
    """Vertices (V, 3), triangles (F, 3) and whether vertices or faces have colours; None where the file is of another
    kind. Polygons are cut into triangles.

    ValueError, a few words, where a face is broken or the file ends too early.
    """
    with path.open("rb") as file:
        head = file.read(LONGEST_HEADER)
        found = layout(head)
        if found is None or not _is_usual(found[0]):
            return None
        elements, start, is_text = found
        file.seek(start)
        if is_text:
            places, (corners, counts) = _read_text(Body(file, head.count(b"\n", 0, start)), elements)
        else:
            places, (corners, counts) = _read(file, elements)
    coloured = any(COLOURS & set(one.names) for one in elements if one.name in ("vertex", "face"))
    if len(counts) == 0:
        return places, np.zeros((0, 3), np.int32), coloured
    if corners.max() >= len(places) or corners.min() < 0:
        raise ValueError("a face names a vertex that the file does not have")
    return places, cut_polygons(places, corners, counts), coloured


def is_read_here(head: bytes) -> bool:
    """Whether a file that begins so is read by read_plain_ply."""
    found = layout(head[:LONGEST_HEADER])
    return found is not None and _is_usual(found[0])


def _is_usual(elements: list[Element]) -> bool:
    """Whether there are vertices with places, then faces with corners, and only values without lists before them."""
    names = [element.name for element in elements]
    if "vertex" not in names or "face" not in names or names.index("vertex") > names.index("face"):
        return False
    vertex, face = (elements[names.index(name)] for name in ("vertex", "face"))
    corners = [one for one in face.properties if one.name in CORNERS]
    return (
        {"x", "y", "z"} <= set(vertex.names)
        and not any(element.has_lists for element in elements[: names.index("face")])
        and len(corners) == 1
        and corners[0].lists_numbers
        and all(one.count is None or one.count[-2] in "iu" for one in face.properties)
    )


def _read(file: BinaryIO, elements: list[Element]) -> tuple[NDArray[np.floating], tuple[NDArray, NDArray[np.int64]]]:
    """Places of the vertices, and corners and their counts of the faces."""
    places: NDArray[np.floating] = np.zeros((0, 3))
    for element in elements:
        if element.name == "face":
            return places, polygons_of(file.read(), element, CORNERS)
        record = np.dtype([(one.name, one.kind) for one in element.properties])
        if element.name != "vertex":
            file.seek(element.count * record.itemsize, 1)
            continue
        # Read, not mapped: a mapped file that somebody cuts off in the meantime would end the program.
        vertices = np.fromfile(file, dtype=record, count=element.count)
        if len(vertices) < element.count:
            raise ValueError(f"it ends after {len(vertices)} of {element.count} vertices")
        places = np.stack([vertices[axis] for axis in "xyz"], axis=1).astype(_kind_of(element), copy=False)
    raise AssertionError("no faces, though they were looked for before")


def _read_text(body: Body, elements: list[Element]) -> tuple[NDArray[np.floating], tuple[NDArray, NDArray[np.int64]]]:
    """As _read."""
    places: NDArray[np.floating] = np.zeros((0, 3))
    for element in elements:
        if element.name == "face":
            corners = next(one for one in element.properties if one.name in CORNERS)
            return places, body.polygons(element, corners)
        if element.name == "vertex":
            places = body.values(element, ("x", "y", "z"), _kind_of(element))
        else:
            body.pass_over(element)
    raise AssertionError("no faces, though they were looked for before")


def _kind_of(vertex: Element) -> np.dtype:
    kinds = (np.dtype(one.kind) for one in vertex.properties if one.name in ("x", "y", "z"))
    return np.result_type(*kinds, np.float32).newbyteorder("=")
