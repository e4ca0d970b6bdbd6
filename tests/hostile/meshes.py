"""Small meshes in the four kinds of file, with counts, references and numbers that are not to be trusted."""

from __future__ import annotations

import json
import struct
from functools import cache

import numpy as np
import trimesh
from hypothesis import strategies as st

ABSURD = (0, -1, 1, 2, 7, 255, 65_535, 10**6, 10**9, 2**31 - 1, 2**31, 2**32 - 1, 2**53, 2**63, 10**30)
REFERENCES = (
    "http://localhost:9/x.bin", "file:///etc/passwd", "../../etc/passwd", "/dev/zero", "x.bin", "data:,",
    "data:;base64,AAAA",
    "data:application/octet-stream;base64,!!!", "\\\\host\\share\\x.bin", "",
)  # fmt: skip


@cache
def cube(kind: str) -> bytes:
    """A cube of 100 mm as OBJ, PLY, STL or GLB."""
    box = trimesh.creation.box(extents=[100.0] * 3)
    content = box.export(file_type=kind)
    return content.encode() if isinstance(content, str) else bytes(content)


@st.composite
def obj_files(draw: st.DrawFn) -> bytes:
    """Vertices, and faces that name them by number, from the end, with textures, or wrongly."""
    places = draw(st.lists(st.tuples(*[st.floats(-120, 120, width=16)] * 3), min_size=1, max_size=8))
    lines = [f"v {x} {y} {z}" for x, y, z in places]
    whole = st.integers(1, len(places)).map(str)
    corner = st.one_of(
        *[whole] * 12,
        st.integers(-len(places), -1).map(str),
        st.sampled_from(("1/1/1", "1//1", "1/", "0", "99", "2147483648", "1/2/3/4", "a", "-99999999999")),
    )
    lines += [
        "f " + " ".join(face)
        for face in draw(
            st.lists(st.lists(corner, min_size=draw(st.sampled_from((1, 3, 3, 3))), max_size=5), max_size=4)
        )
    ]
    extra = (
        "mtllib /etc/passwd",
        "usemtl x",
        "vt 0 0",
        "vn 0 0 1",
        "o a",
        "g " + "x" * 500,
        "s off",
        "l 1 2",
        "#",
        "call x.obj",
    )
    lines += draw(st.lists(st.sampled_from(extra), max_size=3))
    return "\n".join(draw(st.permutations(lines))).encode()


@st.composite
def ply_files(draw: st.DrawFn) -> bytes:
    """A header that may promise anything, before the body of a cube."""
    form = draw(st.sampled_from(("ascii", "binary_little_endian", "binary_big_endian", "binary_middle_endian")))
    vertices = draw(st.sampled_from((8, 8, 8, *ABSURD)))
    faces = draw(st.sampled_from((12, 12, 12, *ABSURD)))
    number = draw(st.sampled_from(("float", "float", "double", "uchar", "float128", "list uchar int")))
    count, index = draw(
        st.sampled_from((("uchar", "int"), ("int", "int"), ("uint", "uint"), ("float", "float"), ("char", "short")))
    )
    names = draw(st.sampled_from((("x", "y", "z"), ("x", "y"), ("x", "x", "z"), ("a", "b", "c"))))
    header = ["ply", f"format {form} 1.0", f"element vertex {vertices}"]
    header += [f"property {number} {name}" for name in names]
    header += [f"element face {faces}", f"property list {count} {index} vertex_indices", "end_header"]
    if draw(st.booleans()):
        header.insert(
            2,
            draw(st.sampled_from(("comment x", "obj_info y", "element edge 5", "element face -1", "property float q"))),
        )
    box = trimesh.creation.box(extents=[100.0] * 3)
    if form == "ascii":
        body = "\n".join(" ".join(map(str, row)) for row in box.vertices) + "\n"
        body += "\n".join("3 " + " ".join(map(str, row)) for row in box.faces)
        return ("\n".join(header) + "\n" + body).encode()
    order = "<" if "little" in form else ">"
    body = box.vertices.astype(f"{order}f4").tobytes()
    body += b"".join(b"\x03" + row.astype(f"{order}i4").tobytes() for row in box.faces)
    return ("\n".join(header) + "\n").encode() + body


_PACKED = {"uchar": "B", "char": "b", "ushort": "H", "short": "h", "int": "i", "uint": "I", "float": "f"}
_FACES = st.lists(st.lists(st.sampled_from((*range(8), *range(8), *range(8), -1, 8, 99)), max_size=6), max_size=14)


@st.composite
def mixed_ply_files(draw: st.DrawFn) -> bytes:
    """Polygons of any number of corners, other values and lists beside them, packed as the header says."""
    order, name = draw(st.sampled_from((("<", "binary_little_endian"), (">", "binary_big_endian"))))
    counts, index = (draw(st.sampled_from(kinds)) for kinds in (("uchar", "uchar", "int", "char", "ushort"), _INDICES))
    beside = draw(st.lists(st.sampled_from(("uchar", "float", "list uchar float", "list int short")), max_size=2))
    place, faces = draw(st.integers(0, len(beside))), draw(_FACES)
    properties = [f"{kind} beside{number}" for number, kind in enumerate(beside)]
    properties.insert(place, f"list {counts} {index} vertex_indices")
    box = trimesh.creation.box(extents=[100.0] * 3)
    header = ["ply", f"format {name} 1.0", "element vertex 8", *(f"property float {axis}" for axis in "xyz")]
    header += [f"element face {len(faces)}", *(f"property {one}" for one in properties), "end_header", ""]
    body = box.vertices.astype(f"{order}f4").tobytes()
    for face in faces:
        kept = [corner for corner in face if corner >= 0 or index in ("char", "short", "int")]
        row = [_packed(order, kind, [1] * draw(st.integers(0, 3))) for kind in beside]
        row.insert(place, _packed(order, f"list {counts} {index}", kept))
        body += b"".join(row)
    return "\n".join(header).encode() + body


_INDICES = ("int", "int", "int", "uint", "ushort", "uchar", "char")


def _packed(order: str, kind: str, values: list[int]) -> bytes:
    """One value, or a list with its length."""
    words = kind.split()
    if words[0] != "list":
        return struct.pack(order + _PACKED[kind], 1)
    return struct.pack(f"{order}{_PACKED[words[1]]}{len(values)}{_PACKED[words[2]]}", len(values), *values)


@st.composite
def stl_files(draw: st.DrawFn) -> bytes:
    """Binary with a count of its own, or text."""
    if draw(st.booleans()):
        faces = np.frombuffer(cube("stl")[84:], dtype=np.uint8).tobytes()
        start = draw(st.sampled_from((b"\0" * 80, b"solid x".ljust(80), b"COLOR=".ljust(80, b"\xff"))))
        return start + struct.pack("<I", draw(st.sampled_from((12, 12, 0, 1, 13, 2**31, 2**32 - 1)))) + faces
    corner = st.tuples(*[st.sampled_from(("0", "100", "-50.5", "1e2", "nan", "1e39", "1e308", "x"))] * 3)
    lines = ["solid x"]
    for corners in draw(st.lists(st.lists(corner, min_size=2, max_size=4), max_size=5)):
        lines += [
            "facet normal 0 0 0",
            "outer loop",
            *("vertex " + " ".join(c) for c in corners),
            "endloop",
            "endfacet",
        ]
    return "\n".join([*lines, draw(st.sampled_from(("endsolid x", "", "solid y")))]).encode()


@st.composite
def glb_files(draw: st.DrawFn) -> bytes:
    """The description of a cube with one to three entries changed, and lengths that may lie."""
    content = cube("glb")
    (length,) = struct.unpack("<I", content[12:16])
    described, body = json.loads(content[20 : 20 + length]), content[20 + length :]
    if draw(st.booleans()):
        _lie(draw, described)
    for _ in range(draw(st.integers(0, 2))):
        _change_entry(draw, described)
    text = json.dumps(described).encode()
    text += b" " * (-len(text) % 4)
    told = draw(st.sampled_from((len(text), len(text), len(text), len(text), *(n for n in ABSURD if 0 <= n < 2**32))))
    whole = 20 + len(text) + len(body)
    version = draw(st.sampled_from((2, 2, 2, 1, 3)))
    return b"glTF" + struct.pack("<II", version, whole) + struct.pack("<I", told) + b"JSON" + text + body


def _lie(draw: st.DrawFn, described: dict) -> None:
    """Something that a reader must not believe."""
    what = draw(st.sampled_from(("uri", "loop", "crowd", "deep", "extension", "sparse", "empty")))
    if what == "uri":
        described["buffers"] = [{"byteLength": draw(st.sampled_from(ABSURD)), "uri": draw(st.sampled_from(REFERENCES))}]
    elif what == "loop":
        described["nodes"] += [{"mesh": 0, "children": [draw(st.integers(0, 2))]} for _ in range(2)]
    elif what == "crowd":
        described["nodes"] = [{"mesh": 0}] * 300
        described["scenes"][0]["nodes"] = list(range(300))
    elif what == "deep":
        described["nodes"] = [{"mesh": 0, "children": [k + 1]} for k in range(60)] + [{"mesh": 0}]
    elif what == "extension":
        described["extensionsRequired"] = [draw(st.sampled_from(("KHR_draco_mesh_compression", "X", 3)))]
    elif what == "sparse":
        described["accessors"][0]["sparse"] = {"count": draw(st.sampled_from(ABSURD)), "indices": {}, "values": {}}
    else:
        described["accessors"][1] = {"componentType": 5126, "type": "VEC3", "count": draw(st.sampled_from(ABSURD))}


_ODD = st.one_of(
    st.sampled_from(ABSURD), st.sampled_from(REFERENCES), st.floats(), st.none(), st.booleans(), st.just([]),
    st.just({}), st.just("x" * 2000), st.lists(st.sampled_from(ABSURD), max_size=3),
)  # fmt: skip


def _change_entry(draw: st.DrawFn, described: dict) -> None:
    """Another value somewhere in the description."""
    place = described
    while True:
        keys = list(place) if isinstance(place, dict) else list(range(len(place)))
        if not keys:
            return
        key = draw(st.sampled_from(keys))
        if isinstance(place[key], dict | list) and place[key] and draw(st.integers(0, 3)):
            place = place[key]
            continue
        place[key] = draw(_ODD)
        return


def _with_cube(kind: str, files: st.SearchStrategy[bytes]) -> st.SearchStrategy[bytes]:
    return st.one_of(st.deferred(lambda: st.just(cube(kind))), files)


FILES = {
    "obj": _with_cube("obj", obj_files()),
    "ply": _with_cube("ply", ply_files() | mixed_ply_files()),
    "stl": _with_cube("stl", stl_files()),
    "glb": _with_cube("glb", glb_files()),
}
