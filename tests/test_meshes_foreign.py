"""Heads from files, and the simple built-in ones."""

import numpy as np
import pytest
import trimesh

from sitterlight.meshes.library import head_description, head_names, load_head


def cube_file(tmp_path, name="cube.obj", edge=100.0, **change):
    box = trimesh.creation.box(extents=[edge] * 3)
    if "move" in change:
        box.apply_translation(change["move"])
    if change.get("invert"):
        box.invert()
    box.export(tmp_path / name)
    return tmp_path / name


def test_built_in_names():
    assert head_names() == ("bust", "sphere", "cube")
    assert all(head_description(name) for name in head_names())
    with pytest.raises(ValueError, match="bust, sphere, cube"):
        head_description("bowl")


def test_sphere():
    ball = load_head("sphere")
    assert np.linalg.norm(ball.vertices, axis=1) == pytest.approx(100)
    assert ball.normals == pytest.approx(ball.vertices / 100)
    assert trimesh.Trimesh(ball.vertices, ball.faces, process=False).is_watertight
    assert trimesh.Trimesh(ball.vertices, ball.faces, process=False).volume == pytest.approx(4.19e6, rel=5e-3)
    assert len(ball.planes) == 8
    for plane, row in zip(ball.planes, ball.plane_weights.toarray(), strict=True):
        x, y, z = row @ ball.vertices / row.sum()
        assert plane.name == f"{'upper' if y > 0 else 'lower'} {'front' if z > 0 else 'back'}"
        assert plane.side == ("left" if x > 0 else "right")


@pytest.mark.parametrize("name", ["cube.obj", "cube.ply", "cube.stl", "cube.glb"])
def test_cube_keeps_its_corners(tmp_path, name):
    head = load_head(str(cube_file(tmp_path, name)))
    assert len(head.planes) == 6
    assert {plane.name.split("facing ")[1] for plane in head.planes} == {
        "up", "down", "left", "right", "forward", "back",
    }  # fmt: skip
    assert np.asarray(head.plane_weights.sum(axis=1)).ravel() == pytest.approx(1e4)
    assert np.sort(np.abs(head.normals), axis=1) == pytest.approx(np.tile([0, 0, 1], (len(head.normals), 1)))
    assert np.ptp(head.vertices, axis=0) == pytest.approx([100] * 3)
    assert (head.to_display != np.eye(len(head.vertices))).sum() == 0
    assert head.region_weights[:, 0] == pytest.approx(1)


def test_few_faces_are_cut_finer(tmp_path):
    head = load_head(str(cube_file(tmp_path)))
    ends = head.vertices[head.faces] - head.vertices[np.roll(head.faces, 1, axis=1)]
    assert np.linalg.norm(ends, axis=2).max() < 10
    assert np.linalg.norm(np.cross(ends[:, 0], ends[:, 1]), axis=1).sum() / 2 == pytest.approx(6e4)


def test_smooth_edges_stay_smooth(tmp_path):
    trimesh.creation.icosphere(subdivisions=3, radius=80).export(tmp_path / "ball.ply")
    head = load_head("ball.ply", folder=tmp_path)
    cosine = np.sum(head.normals * head.vertices, axis=1) / np.linalg.norm(head.vertices, axis=1)
    assert cosine.min() > 0.99
    assert len(head.vertices) - len(head.faces) / 2 == 2  # welded: one closed surface
    assert 6 <= len(head.planes) <= 40


def test_unit_and_axes(tmp_path):
    slab = trimesh.creation.box(extents=[0.1, 0.2, 0.4])  # m, z up
    slab.apply_translation([0.0, 0.05, 0.0])
    slab.export(tmp_path / "slab.stl")
    head = load_head("slab.stl", tmp_path, unit="m", up="+z", front="-y")
    assert np.ptp(head.vertices, axis=0) == pytest.approx([100, 400, 200], rel=1e-5)
    assert head.vertices[:, 2].mean() < -30  # what lay along +y lies behind
    assert trimesh.Trimesh(head.vertices, head.faces).volume > 0


def test_own_origin_is_kept_unless_far(tmp_path):
    near = load_head(str(cube_file(tmp_path, "near.obj", move=[0, 30, 0])))
    far = load_head(str(cube_file(tmp_path, "far.obj", move=[0, 3000, 0])))
    assert near.vertices[:, 1].max() == pytest.approx(80)
    assert near.notes == ()
    assert far.vertices[:, 1].max() == pytest.approx(50)
    assert any("origin" in note for note in far.notes)


def test_inside_out_is_turned(tmp_path):
    head = load_head(str(cube_file(tmp_path, invert=True)))
    assert np.all(np.sum(head.normals * head.vertices, axis=1) > 0)
    assert any("inside out" in note for note in head.notes)


def test_bowl_stays_open_and_faces_as_wound(tmp_path):
    ball = trimesh.creation.icosphere(subdivisions=4, radius=100)
    lower = ball.triangles_center[:, 1] < 0
    bowl = trimesh.Trimesh(ball.vertices, ball.faces[lower][:, ::-1])
    bowl.export(tmp_path / "bowl.obj")
    head = load_head("bowl.obj", tmp_path)
    assert np.all(np.sum(head.normals * head.vertices, axis=1) < 0)
    assert len(head.faces) == lower.sum() or len(head.faces) % lower.sum() == 0


def test_parts_are_joined(tmp_path):
    scene = trimesh.Scene()
    for x in (-80.0, 80.0):
        box = trimesh.creation.box(extents=[60] * 3)
        scene.add_geometry(box, transform=trimesh.transformations.translation_matrix([x, 0, 0]))
    scene.export(tmp_path / "two.glb")
    head = load_head("two.glb", tmp_path)
    assert len(head.planes) == 12
    assert np.ptp(head.vertices[:, 0]) == pytest.approx(220, rel=1e-5)
    assert {plane.side for plane in head.planes} == {"left", "right"}


def test_polygons_doubled_and_flat_faces(tmp_path):
    (tmp_path / "odd.obj").write_text(
        "v 0 0 0\nv 100 0 0\nv 100 100 0\nv 50 150 0\nv 0 100 0\nf 1 2 3 4 5\nf 1 2 3\nf 1 2 3\nf 1 1 2\n"
    )
    head = load_head("odd.obj", tmp_path)
    area = float(head.vertex_area.sum())
    assert area == pytest.approx(12_500, rel=0.5)
    assert any("doubled" in note for note in head.notes)


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("empty.obj", b"", "empty"),
        ("words.stl", b"this is no mesh at all", "not a whole STL|no faces"),
        ("cut.glb", b"glTF\x02\x00\x00\x00\xff\xff\xff\x7f", r"not a whole GLB mesh \(.*\); write it out again"),
        ("points.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\n", "no faces|not a whole OBJ"),
        ("nan.obj", b"v nan 0 0\nv 100 0 0\nv 0 100 0\nf 1 2 3\n", "finite|not a whole"),
        ("far.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n", "vertex|not a whole"),
        ("line.obj", b"v 0 0 0\nv 100 0 0\nv 50 0 0\nf 1 2 3\n", "area"),
        ("half.ply", b"ply\nformat ascii 1.0\nelement vertex 9\n", "not a whole PLY|no faces"),
    ],
)
def test_broken_files_get_one_sentence(tmp_path, name, content, says):
    (tmp_path / name).write_bytes(content)
    with pytest.raises(ValueError, match=says) as problem:
        load_head(name, tmp_path)
    assert name in str(problem.value)
    assert "\n" not in str(problem.value)


def test_bad_requests(tmp_path):
    with pytest.raises(ValueError, match="neither a built-in head"):
        load_head("bost")
    with pytest.raises(ValueError, match="no such mesh file"):
        load_head("missing.obj", tmp_path)
    path = str(cube_file(tmp_path))
    with pytest.raises(ValueError, match="mm, cm, m, in"):
        load_head(path, unit="ft")
    with pytest.raises(ValueError, match="same axis"):
        load_head(path, up="+y", front="-y")
    with pytest.raises(ValueError, match="not an axis"):
        load_head(path, up="y")
    with pytest.raises(ValueError, match="another unit"):
        load_head(path, unit="m")


def test_changed_file_is_read_again(tmp_path):
    path = cube_file(tmp_path)
    before = load_head(str(path))
    cube_file(tmp_path, edge=140.0)
    assert load_head(str(path)).key != before.key


def test_large_mesh_is_brought_down(tmp_path):
    trimesh.creation.icosphere(subdivisions=7, radius=90).export(tmp_path / "big.ply")
    head = load_head("big.ply", tmp_path)
    assert len(head.faces) <= 150_000
    assert any("brought down" in note for note in head.notes)
