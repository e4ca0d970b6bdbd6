"""Planes found in a shape: as many as asked for, connected, named; joined and named by hand; in the sitting's file."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from scipy import sparse
from test_meshes_alignment import smaller_bust

from sitterlight.meshes.library import load_head
from sitterlight.meshes.plane_edits import PlaneEdit, numbers_as_found, taken_apart, with_joined, with_name
from sitterlight.meshes.segmentation import hierarchy
from sitterlight.shading.sitting import HeadSetting, Sitting
from sitterlight.shading.sitting_file import from_dict, read_sitting, to_dict, to_toml, write_sitting
from sitterlight.shading.sitting_rules import SittingError


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    made = tmp_path_factory.mktemp("shapes")
    trimesh.creation.torus(100, 40).export(made / "ring.ply")
    trimesh.creation.capsule(120, 60).export(made / "capsule.ply")
    vertices, faces = smaller_bust(6000)
    trimesh.Trimesh(vertices, faces, process=False).export(made / "bust.ply")
    return made


@pytest.mark.parametrize("name", ["ring.ply", "capsule.ply", "bust.ply"])
@pytest.mark.parametrize("count", [4, 6, 24, 60, 100])
def test_the_count_is_honoured(folder, name, count):
    head = load_head(name, folder, planes=count)
    assert len(head.planes) == count and set(head.plane_of_face) - {-1} == set(range(count))
    assert len({(plane.name, plane.side) for plane in head.planes}) == count


def test_planes_are_connected_and_cover_the_shape(folder):
    head = load_head("ring.ply", folder, planes=24)
    assert head.plane_of_face.min() == 0
    _, place = np.unique(np.round(head.vertices, 4), axis=0, return_inverse=True)
    for plane in range(24):
        corners = place.ravel()[head.faces[head.plane_of_face == plane]]
        ends = corners[:, [0, 1, 1, 2]].reshape(-1, 2)
        used, ends = np.unique(ends, return_inverse=True)
        ends = ends.reshape(-1, 2)
        graph = sparse.coo_matrix((np.ones(len(ends)), tuple(ends.T)), (len(used),) * 2)
        assert sparse.csgraph.connected_components(graph, directed=False)[0] == 1


def test_more_planes_lie_within_fewer(folder):
    """Each parting is a finer one of the next: Ward's joinings are nested."""
    ring = trimesh.creation.torus(100, 40)
    ways = hierarchy(np.asarray(ring.vertices), np.asarray(ring.faces))
    few, many = ways.parted(8), ways.parted(30)
    assert all(len(set(few[many == plane])) == 1 for plane in range(30))


def test_fewer_planes_of_a_head_stay_within_its_regions(folder):
    head = load_head("bust.ply", folder, planes=30)
    names = " / ".join(plane.name for plane in head.planes)
    assert "forehead" in names and "ear" in names and "nose" in names
    mixed = [plane.name for plane in head.planes if "ear" in plane.name.split() and "neck" in plane.name]
    assert not mixed


def test_planes_are_joined_and_named_by_hand(folder):
    found = load_head("ring.ply", folder, planes=12)
    edits = (PlaneEdit(3, "left temple", (5, 9)), PlaneEdit(1, "top"))
    head = load_head("ring.ply", folder, planes=12, edits=edits)
    assert len(head.planes) == 10 and head.planes[0].name == "top" and head.planes[2].name == "left temple"
    assert numbers_as_found(12, edits) == [1, 2, 3, 4, 6, 7, 8, 10, 11, 12]
    areas = np.asarray(found.plane_weights.sum(axis=1)).ravel()
    joined = float(head.plane_weights[2].sum())
    assert joined == pytest.approx(areas[[2, 4, 8]].sum())
    assert head.key != found.key and head.shape_key == found.shape_key
    named = load_head("ring.ply", folder, planes=12, edits=(PlaneEdit(2, "other"),))
    assert named.key != found.key and named.plane_of_face.tolist() == found.plane_of_face.tolist()


@pytest.mark.parametrize(
    ("edits", "says"),
    [
        ((PlaneEdit(40, "far"),), "plane 40 .* 12 planes"),
        ((PlaneEdit(1, None, (2,)), PlaneEdit(3, None, (2,))), "plane 2 is joined twice"),
        ((PlaneEdit(1, None, (1,)),), "to itself"),
        ((PlaneEdit(1, None, (2,)), PlaneEdit(2, None, (3,))), "itself joined to another"),
    ],
)
def test_edits_that_cannot_be_are_one_sentence(folder, edits, says):
    with pytest.raises(ValueError, match=says) as problem:
        load_head("ring.ply", folder, planes=12, edits=edits)
    assert "ring.ply" in str(problem.value)


def test_edits_add_up():
    edits = with_joined((), [7, 9])
    edits = with_name(edits, 12, "jaw")
    edits = with_joined(edits, [4, 7, 12])
    assert edits == (PlaneEdit(4, None, (7, 9, 12)),)
    assert with_name(edits, 4, "cheek") == (PlaneEdit(4, "cheek", (7, 9, 12)),)
    assert taken_apart(edits, 4) == ()
    assert with_name(with_name((), 2, "a"), 2, None) == ()


def test_a_sitting_keeps_them(tmp_path):
    edits = (PlaneEdit(3, "left temple", (5, 9)), PlaneEdit(7, "crown"), PlaneEdit(8, None, (10,)))
    setting = HeadSetting(mesh="my head.obj", unit="guess", up="guess", front="-z", planes=24, plane=edits)
    sitting = Sitting(head=setting, folder=tmp_path)
    write_sitting(sitting, tmp_path / "mine.toml")
    assert read_sitting(tmp_path / "mine.toml") == sitting
    assert from_dict(to_dict(sitting)) == sitting
    assert "[[head.plane]]" in to_toml(sitting)
    plain = Sitting(head=HeadSetting(mesh="my head.obj"))
    assert "plane" not in to_toml(plain).split("[skin]")[0] and from_dict(to_dict(plain)) == plain


@pytest.mark.parametrize(
    ("head", "says"),
    [
        ({"planes": 1}, "head.planes is 1; allowed is a whole number from 2 to 120"),
        ({"planes": True}, "head.planes is true"),
        ({"plane": [{"number": 3}]}, r"head.plane\[1\] lacks a name or joined"),
        ({"plane": [{"name": "a"}]}, r"head.plane\[1\] lacks a number"),
        (
            {"plane": [{"number": 3, "name": "a"}, {"number": 3, "name": "b"}]},
            r"head.plane\[2\].number is 3 a second time",
        ),
        (
            {"plane": [{"number": 3, "joined": [4]}, {"number": 4, "name": "b"}]},
            "joins plane 4 to another and edits it",
        ),
        ({"plane": [{"number": 3, "joined": [4, 4]}]}, "has 4, which is joined already"),
        ({"plane": {"number": 3}}, r"tables headed \[\[head.plane\]\]"),
        ({"unit": "ft"}, '"guess"'),
        ({"up": "+y", "front": "-y"}, "an axis across head.up"),
    ],
)
def test_what_a_sitting_may_not_say_of_planes(head, says):
    with pytest.raises(SittingError, match=says):
        from_dict({"format": "sitterlight/1", "head": {"mesh": "a.obj", **head}})


def test_built_in_heads_need_none():
    with pytest.raises(SittingError, match='the built-in head "bust" needs none'):
        from_dict({"format": "sitterlight/1", "head": {"planes": 24}})
