"""The lit head for other programs: PLY and GLB with a colour at each vertex, standing as it does in the room.

PLY has sRGB bytes and millimetres. glTF asks for linear colours and metres (glTF 2.0, sections 3.4 and 3.7.2); the
material is unlit (KHR_materials_unlit), since the light is already in the colours.
"""

from __future__ import annotations

import json
import struct

import numpy as np

from sitterlight.shading.picture import encode
from sitterlight.shading.study import Study

_GLB, _JSON, _BIN = 0x46546C67, 0x4E4F534A, 0x004E4942
_VERTICES, _INDICES = 34962, 34963  # targets of a buffer view
_FLOAT, _UNSIGNED_SHORT, _UNSIGNED_INT = 5126, 5123, 5125


def mesh_ply(study: Study) -> bytes:
    """The display mesh as the content of a binary PLY file."""
    places, normals, faces = _in_room(study)
    corner = np.dtype([("place", "<f4", 3), ("normal", "<f4", 3), ("colour", "u1", 3)])
    corners = np.zeros(len(places), corner)
    corners["place"], corners["normal"], corners["colour"] = places, normals, encode(study.seen)
    triangle = np.zeros(len(faces), np.dtype([("count", "u1"), ("corners", "<i4", 3)]))
    triangle["count"], triangle["corners"] = 3, faces
    names = [f"property float {name}" for name in ("x", "y", "z", "nx", "ny", "nz")]
    names += [f"property uchar {name}" for name in ("red", "green", "blue")]
    lines = [
        "ply",
        "format binary_little_endian 1.0",
        "comment Sitterlight, millimetres, sRGB",
        f"element vertex {len(places)}",
    ]
    lines += [*names, f"element face {len(faces)}", "property list uchar int vertex_indices", "end_header", ""]
    return "\n".join(lines).encode("ascii") + corners.tobytes() + triangle.tobytes()


def mesh_glb(study: Study) -> bytes:
    """The display mesh as the content of a binary glTF 2.0 file."""
    places, normals, faces = _in_room(study)
    colours = np.ones((len(places), 4))
    colours[:, :3] = np.clip(study.seen, 0, 1)
    pieces = [
        (places / 1000).astype("<f4"),
        normals.astype("<f4"),
        np.rint(colours * 65535).astype("<u2"),
        faces.astype("<u4").ravel(),
    ]
    binary, views = b"", []
    for k, piece in enumerate(pieces):
        views.append({"buffer": 0, "byteOffset": len(binary), "byteLength": piece.nbytes})
        views[k]["target"] = _INDICES if k == 3 else _VERTICES
        binary += piece.tobytes()
    document = _document(study.scene.sitting.title, pieces, views, len(binary))
    return _glb(json.dumps(document, ensure_ascii=False).encode(), binary)


def _in_room(study: Study) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    display, rotation = study.scene.head.display, np.asarray(study.scene.rotation)
    return display.vertices @ rotation.T, display.normals @ rotation.T, np.asarray(display.faces, np.int32)


def _document(title: str, pieces: list[np.ndarray], views: list[dict], size: int) -> dict:
    kinds = (("VEC3", _FLOAT), ("VEC3", _FLOAT), ("VEC4", _UNSIGNED_SHORT), ("SCALAR", _UNSIGNED_INT))
    accessors = [
        {"bufferView": k, "componentType": component, "count": len(piece), "type": kind}
        for k, (piece, (kind, component)) in enumerate(zip(pieces, kinds, strict=True))
    ]
    accessors[0] |= {"min": pieces[0].min(axis=0).tolist(), "max": pieces[0].max(axis=0).tolist()}
    accessors[2]["normalized"] = True
    attributes = {"POSITION": 0, "NORMAL": 1, "COLOR_0": 2}
    grey = {"baseColorFactor": [1, 1, 1, 1], "metallicFactor": 0, "roughnessFactor": 1}
    return {
        "asset": {"version": "2.0", "generator": "Sitterlight"},
        "extensionsUsed": ["KHR_materials_unlit"],
        "scene": 0,
        "scenes": [{"name": title, "nodes": [0]}],
        "nodes": [{"name": "head", "mesh": 0}],
        "meshes": [{"name": "head", "primitives": [{"attributes": attributes, "indices": 3, "material": 0}]}],
        "materials": [{"name": "lit", "pbrMetallicRoughness": grey, "extensions": {"KHR_materials_unlit": {}}}],
        "buffers": [{"byteLength": size}],
        "bufferViews": views,
        "accessors": accessors,
    }


def _glb(text: bytes, binary: bytes) -> bytes:
    text += b" " * (-len(text) % 4)
    binary += b"\0" * (-len(binary) % 4)
    chunks = struct.pack("<II", len(text), _JSON) + text + struct.pack("<II", len(binary), _BIN) + binary
    return struct.pack("<III", _GLB, 2, 12 + len(chunks)) + chunks
