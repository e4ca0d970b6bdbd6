"""PLY files of triangles, quads and polygons side by side, against VTK's writer and VTK's reader."""

from __future__ import annotations

import struct

import numpy as np
import pytest
import trimesh

from sitterlight.meshes import ply_text
from sitterlight.meshes.library import load_head
from sitterlight.meshes.mesh_file import read_mesh
from sitterlight.meshes.ply_file import read_plain_ply

pyvista = pytest.importorskip("pyvista")

PLACES = np.array(
    [[x, y, z] for z in (0, 90) for x, y in ((0, 0), (60, -30), (120, 0), (120, 80), (0, 80))], dtype=np.float32
)
POLYGONS = [
    [4, 3, 2, 1, 0],
    [5, 6, 7, 8, 9],
    [0, 1, 6, 5],
    [1, 2, 7, 6],
    [2, 3, 8],
    [2, 8, 7],
    [3, 4, 9, 8],
    [4, 0, 5, 9],
]
"""A house: two walls of five corners, quads, one quad cut into triangles."""


def write(path, header: list[str], order: str, count: str, index: str, before: str = "", behind: str = "") -> None:
    """The house, each face with values `before` and `behind` its corners, as struct writes them, all 7."""
    name = {"<": "binary_little_endian", ">": "binary_big_endian"}[order]
    head = ["ply", f"format {name} 1.0", "comment a house", f"element vertex {len(PLACES)}"]
    head += [f"property float {axis}" for axis in "xyz"]
    head += [f"element face {len(POLYGONS)}", *header, "end_header"]
    body = PLACES.astype(f"{order}f4").tobytes()
    for polygon in POLYGONS:
        body += struct.pack(order + before, *[7] * len(before))
        body += struct.pack(f"{order}{count}{len(polygon)}{index}", len(polygon), *polygon)
        body += struct.pack(order + behind, *[7] * len(behind))
    path.write_bytes("\n".join(head).encode() + b"\n" + body)


KINDS = {
    "usual": (["property list uchar int vertex_indices"], "<", "B", "i"),
    "big end first": (["property list uchar int vertex_indices"], ">", "B", "i"),
    "wide counts, big end first": (["property list uint int vertex_index"], ">", "I", "i"),
    "wide counts": (["property list int uint vertex_index"], "<", "i", "I"),
    "narrow": (["property list uint8 uint16 vertex_indices"], "<", "B", "H"),
    "values beside": (
        ["property uchar flags", "property list uchar int vertex_indices", "property float quality"],
        "<", "B", "i", "B", "f",
    ),
    "a list behind": (
        ["property list uchar int vertex_indices", "property list uchar float texcoord"], "<", "B", "i", "",
        "Bfffffff",
    ),
    "a list before": (
        ["property list ushort short others", "property list uchar int vertex_indices"],
        "<", "B", "i", "Hhhhhhhh",
    ),
}  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_polygons_of_every_layout(tmp_path, kind):
    write(tmp_path / "house.ply", *KINDS[kind])
    _is_the_house(read_mesh(tmp_path / "house.ply"))


def test_places_of_double_length(tmp_path):
    write(tmp_path / "house.ply", *KINDS["usual"])
    content = (tmp_path / "house.ply").read_bytes().replace(PLACES.tobytes(), PLACES.astype("<f8").tobytes())
    for long in (b"double", b"float64"):
        (tmp_path / "long.ply").write_bytes(content.replace(b"property float", b"property " + long))
        _is_the_house(read_mesh(tmp_path / "long.ply"))


@pytest.mark.parametrize("kind", ["usual", "big end first"])
def test_vtk_reads_the_same_polygons(tmp_path, kind):
    """That the files of these tests are what others take them for."""
    write(tmp_path / "house.ply", *KINDS[kind])
    theirs = pyvista.read(tmp_path / "house.ply")
    assert [list(theirs.get_cell(k).point_ids) for k in range(theirs.n_cells)] == POLYGONS


@pytest.mark.parametrize("line_end", [b"\n", b"\r\n"])
def test_a_file_of_vtks_writer(tmp_path, line_end):
    faces = np.concatenate([[len(polygon), *polygon] for polygon in POLYGONS])
    pyvista.PolyData(PLACES, faces).save(tmp_path / "house.ply")
    head, end, body = (tmp_path / "house.ply").read_bytes().partition(b"end_header\n")
    head = (head + end).replace(b"\n", line_end)
    (tmp_path / "house.ply").write_bytes(head + body)
    _is_the_house(read_mesh(tmp_path / "house.ply"))


def test_a_file_of_trimeshs_writer(tmp_path):
    ball = trimesh.creation.icosphere(subdivisions=3, radius=80)
    ball.export(tmp_path / "ball.ply")
    mesh = read_mesh(tmp_path / "ball.ply")
    assert np.array_equal(mesh.faces, ball.faces)
    assert np.allclose(mesh.vertices, ball.vertices, atol=1e-5)


def test_ten_thousand_faces_mixed_by_chance(tmp_path):
    """Against VTK's writer and its own cutting of polygons into triangles: the same area and volume."""
    theirs = pyvista.Sphere(radius=90, theta_resolution=90, phi_resolution=120)
    quads = pyvista.Plane(i_size=50, j_size=50, i_resolution=60, j_resolution=60)
    both = theirs.append_polydata(quads)
    both.save(tmp_path / "both.ply")
    mesh = read_mesh(tmp_path / "both.ply")
    own = trimesh.Trimesh(mesh.vertices, mesh.faces, process=False)
    assert len(mesh.faces) == both.triangulate().n_cells
    assert own.area == pytest.approx(both.area, rel=1e-6)
    assert own.volume == pytest.approx(theirs.volume, rel=1e-5)


def test_a_head_of_quads_and_triangles_is_placed(tmp_path):
    write(tmp_path / "house.ply", *KINDS["usual"])
    head = load_head(str(tmp_path / "house.ply"))
    assert not any("hole" in note for note in head.notes), head.notes


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda body: body[:-3], "ends after 7 of 8 faces"),
        (lambda body: body[:-60], "ends after 4 of 8 faces"),
        (lambda body: body.replace(struct.pack("<B4i", 4, 4, 0, 5, 9), struct.pack("<B4i", 4, 4, 0, 5, 10)), "vertex"),
        (lambda body: body.replace(struct.pack("<B4i", 4, 4, 0, 5, 9), struct.pack("<B4i", 4, 4, 0, 5, -1)), "vertex"),
    ],
)
def test_a_damaged_file_is_refused(tmp_path, change, told):
    path = tmp_path / "house.ply"
    write(path, *KINDS["usual"])
    path.write_bytes(change(path.read_bytes()))
    with pytest.raises(ValueError, match=told) as refused:
        read_mesh(path)
    assert str(path) in str(refused.value)


def test_a_negative_count_is_refused(tmp_path):
    path = tmp_path / "house.ply"
    write(path, ["property list char int vertex_indices"], "<", "b", "i")
    _is_the_house(read_mesh(path))
    path.write_bytes(path.read_bytes().replace(struct.pack("<b3i", 3, 2, 3, 8), struct.pack("<b3i", -3, 2, 3, 8)))
    with pytest.raises(ValueError, match="face 5 has a list of -3"):
        read_mesh(path)


TEXT = {
    "usual": (["property list uchar int vertex_indices"], "", "", ""),
    "values beside": (
        ["property uchar flags", "property list uchar int vertex_index", "property float quality"], "7 ", " 0.5", ""
    ),
    "lists beside": (
        [
            "property list uchar int others", "property list uchar uint vertex_indices",
            "property list uchar float texcoord",
        ],
        "2 5 6 ", " 6 .1 .2 .3 .4 .5 1e-3", "",
    ),
    "more behind": (["property list uchar int vertex_indices"], "", "", "element edge 1\nproperty int vertex1\n"),
}  # fmt: skip


def write_text(
    path, kind: str = "usual", line_end: str = "\n", between: str = " ", polygons=POLYGONS, body=str
) -> None:
    """The house in text, with colours; `body` changes what stands behind the header."""
    header, before, behind, more = TEXT[kind]
    head = ["ply", "format ascii 1.0", "comment a house", "element note 2", "property float value"]
    head += [f"element vertex {len(PLACES)}", "property float nx", *(f"property float {axis}" for axis in "xyz")]
    head += ["property uchar red", f"element face {len(polygons)}", *header, *more.splitlines(), "end_header"]
    rows = ["0.25", "nan"] + [f"0.5 {x:.3f} {y:.3f} {z:.3f} 255" for x, y, z in PLACES]
    rows += [f"{before}{len(polygon)} {' '.join(map(str, polygon))}{behind}" for polygon in polygons]
    text = body("\n".join(rows) + "\n" + ("17\n" if more else "")).replace(" ", between)
    path.write_bytes(("\n".join(head) + "\n" + text).replace("\n", line_end).encode())


@pytest.mark.parametrize("piece", [20, 64, 4_000_000])
@pytest.mark.parametrize("kind", TEXT)
def test_polygons_in_text(tmp_path, monkeypatch, kind, piece):
    monkeypatch.setattr(ply_text, "PIECE", piece)
    for line_end, between in (("\n", " "), ("\r\n", " "), ("\n", "\t"), ("\n", "\n")):
        write_text(tmp_path / "house.ply", kind, line_end, between)
        assert read_plain_ply(tmp_path / "house.ply") is not None
        mesh = read_mesh(tmp_path / "house.ply")
        _is_the_house(mesh)
        assert mesh.vertices.dtype == np.float32 and "colours" in mesh.passed_over[0]


@pytest.mark.parametrize("piece", [50, 4_000_000])
def test_triangles_in_text(tmp_path, monkeypatch, piece):
    """All rows alike, and rows before and behind with fewer corners than a face has."""
    monkeypatch.setattr(ply_text, "PIECE", piece)
    ball = trimesh.creation.icosphere(subdivisions=2, radius=80)
    (tmp_path / "ball.ply").write_bytes(trimesh.exchange.ply.export_ply(ball, encoding="ascii"))
    mesh = read_mesh(tmp_path / "ball.ply")
    assert np.array_equal(mesh.faces, ball.faces) and np.allclose(mesh.vertices, ball.vertices, atol=1e-5)
    write_text(tmp_path / "house.ply", polygons=[[], [1], *POLYGONS, [2, 3], [0, 0]])
    _is_the_house(read_mesh(tmp_path / "house.ply"))


def test_vtk_reads_the_same_polygons_in_text(tmp_path):
    faces = np.concatenate([[len(polygon), *polygon] for polygon in POLYGONS])
    pyvista.PolyData(PLACES, faces).save(tmp_path / "house.ply", binary=False)
    assert read_plain_ply(tmp_path / "house.ply") is not None
    _is_the_house(read_mesh(tmp_path / "house.ply"))
    write_text(tmp_path / "own.ply")
    own = (tmp_path / "own.ply").read_text()
    own = own.replace("element note 2\nproperty float value\n", "").replace("0.25\nnan\n", "")  # which VTK can't
    (tmp_path / "own.ply").write_text(own)
    theirs = pyvista.read(tmp_path / "own.ply")
    assert [list(theirs.get_cell(k).point_ids) for k in range(theirs.n_cells)] == POLYGONS


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("4 4 0 5 9\n", "4 4 0 5", "ends after 7 of 8 faces"),
        ("4 4 0 5 9\n", "", "ends after 7 of 8 faces"),
        ("4 4 0 5 9\n", "4 4 0 5 10\n", "a face names a vertex that the file does not have"),
        ("4 4 0 5 9\n", "4 4 0 5 -1\n", "a face names a vertex that the file does not have"),
        ("4 4 0 5 9\n", "4 4 0 5 9e30\n", "a face names a vertex that the file does not have"),
        ("4 4 0 5 9\n", "4 4 0 5 nan\n", "a face names a vertex that the file does not have"),
        ("4 4 0 5 9\n", "4 4 0 5 8.5\n", "a face names something that is not the number of a vertex"),
        ("4 4 0 5 9\n", "-4 4 0 5 9\n", "a face has a list of -4 entries"),
        ("4 4 0 5 9\n", "2.5 4 0 5 9\n", "a face has a list of 2.5 entries"),
        ("4 4 0 5 9\n", "nan 4 0 5 9\n", "a face has a list of nan entries"),
        ("4 4 0 5 9\n", "1e9 4 0 5 9\n", r"a face has a list of 1e\+09 entries"),
        ("4 4 0 5 9\n", "9999 4 0 5 9\n", "ends after 7 of 8 faces"),
        ("4 4 0 5 9\n", "4 4 nothing 5 9\n", "line 35 holds something that is not a number"),
        ("4 4 0 5 9\n", "4 4 0-5 9\n", "line 35 holds something that is not a number"),
        ("4 4 0 5 9\n", "4 4 " + "0" * 2000 + " 5 9\n", "a word of more than 1000 letters"),
        ("0.5 0.000 0.000 0.000 255\n", "0.5 0,000 0,000 0,000 255\n", "line 18 holds something that is not a number"),
        ("0.5 120.000 80.000 90.000 255\n", "0.5 120.000 inf 90.000 255\n", "not a finite number"),
        ("0.5 120.000 80.000 90.000 255\n", "0.5 120.000 1e300 90.000 255\n", "not a finite number"),
    ],
)
def test_damaged_text_is_refused_in_a_sentence(tmp_path, monkeypatch, old, new, told):
    path = tmp_path / "house.ply"
    monkeypatch.setattr(ply_text, "PIECE", 60)

    def damaged(text: str) -> str:
        assert old in text
        return text.replace(old, new)

    write_text(path, body=damaged)
    content = path.read_bytes()
    path.write_bytes(content.replace(b"end_header", b"comment " + b"x" * 200 + b"\nend_header"))
    with pytest.raises(ValueError, match=told) as refused:
        read_mesh(path)
    assert str(refused.value).startswith(f"{path}: ") and str(refused.value).endswith(".")


def _is_the_house(mesh) -> None:
    assert len(mesh.faces) == sum(len(polygon) - 2 for polygon in POLYGONS)
    own = trimesh.Trimesh(mesh.vertices, mesh.faces)
    assert own.is_watertight and own.is_winding_consistent
    assert own.volume == pytest.approx(90 * (120 * 80 + 120 * 30 / 2))
