"""How much of a plane is seen, against geometry that is known and against plain ray casting."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from sitterlight.meshes.head import face_vectors
from sitterlight.meshes.library import load_head
from sitterlight.shading import geometry, sight
from sitterlight.shading.rays import RayCaster
from sitterlight.shading.sight import seen_of_planes


def _looked_at(head, eye):
    eye = np.asarray(eye, float)
    return SimpleNamespace(head=head, eye_position=eye, eye_sees=geometry.sight(head, eye, True))


def _shares(head, eye):
    seen, whole = seen_of_planes(_looked_at(head, eye)), head.plane_weights
    return np.asarray(seen.sum(axis=1)).ravel() / np.asarray(whole.sum(axis=1)).ravel()


def test_a_sphere_shows_its_cap():
    head = load_head("sphere")
    radius = np.linalg.norm(head.vertices, axis=1).max()
    seen = seen_of_planes(_looked_at(head, [300.0, 400.0, 1200.0])).sum() / head.plane_weights.sum()
    assert seen == pytest.approx((1 - radius / 1300.0) / 2, abs=0.003)


def test_what_the_bust_shows_is_what_plain_rays_find():
    head, eye = load_head(), np.array([750.0, 130.0, 1290.0])
    mesh, random = head.display, np.random.default_rng(1)
    shares = _shares(head, eye)
    caster = RayCaster(mesh.vertices, mesh.faces)
    for plane in range(0, len(head.planes), 7):
        faces = np.flatnonzero(mesh.plane_of_face == plane)
        vectors = face_vectors(mesh.vertices, mesh.faces[faces])
        area = np.linalg.norm(vectors, axis=1)
        chosen = random.choice(len(faces), 20000, p=area / area.sum())
        corners = random.dirichlet([1.0, 1.0, 1.0], len(chosen))
        places = np.einsum("nk,nkc->nc", corners, mesh.vertices[mesh.faces[faces[chosen]]])
        normals = np.einsum("nk,nkc->nc", corners, mesh.normals[mesh.faces[faces[chosen]]])
        flat = vectors[chosen] / area[chosen, None]
        facing = ((normals * (eye - places)).sum(axis=1) > 0) & ((flat * (eye - places)).sum(axis=1) > 0)
        free = caster.reaches(places + 0.02 * flat, np.broadcast_to(eye, places.shape))
        assert shares[plane] == pytest.approx((facing & free).mean(), abs=0.015), head.planes[plane].name


def test_shares_change_little_by_little_as_the_eye_moves():
    head = load_head()
    turned = [_shares(head, 1500 * np.array([np.sin(a), 0.08, np.cos(a)])) for a in np.radians([30, 30.25, 30.5])]
    assert np.abs(np.diff(turned, axis=0)).max() < 0.02


def test_without_anything_in_the_way_no_ray_is_cast(monkeypatch):
    head, eye = load_head(), np.array([0.0, 0.0, 1500.0])
    monkeypatch.setattr("sitterlight.shading.sight._reaches", lambda *_: pytest.fail("a ray was cast"))
    scene = SimpleNamespace(head=head, eye_position=eye, eye_sees=geometry.sight(head, eye, False))
    assert 0 < seen_of_planes(scene).sum() < head.plane_weights.sum()


def test_what_is_seen_of_a_plane_faces_where_it_does_on_the_finer_mesh():
    """By the vertices' own areas mean normals are off by up to 0.016."""
    head, eye = load_head(), 1500 * np.array([0.09, 0.03, 1.0])
    sees = geometry.sight(head, eye, True)
    fine = sight._by_display_vertex(head, *sight._seen_corners(head, eye, sees, True))
    seen = seen_of_planes(_looked_at(head, eye))
    coarse_area, fine_area = (np.asarray(each.sum(axis=1)) for each in (seen, fine))
    some = (coarse_area > 0.02 * np.asarray(head.plane_weights.sum(axis=1))).ravel()
    means = [
        (each @ normals)[some] / area[some]
        for each, normals, area in ((seen, head.normals, coarse_area), (fine, head.display.normals, fine_area))
    ]
    assert np.abs(means[0] - means[1]).max() < 0.005
    assert seen.data.min() >= 0


EYE = np.array([750.0, 130.0, 1290.0])


@pytest.mark.parametrize("blocked", [True, False])
def test_faces_across_an_edge_of_sight_are_tried_at_four_places_or_sixteen(blocked):
    """And what is turned away as a face is not seen, whatever the smooth normals of its corners say."""
    head = load_head()
    mesh = head.display
    faces, corners = sight._seen_corners(head, EYE, geometry.sight(head, EYE, blocked), blocked)
    sixteenths = 16 * corners.sum(axis=1)
    assert sixteenths == pytest.approx(np.rint(sixteenths), abs=1e-6)
    assert (np.rint(sixteenths) % 4 > 0).any()
    toward = EYE - mesh.vertices[mesh.faces[faces]]
    away = ((face_vectors(mesh.vertices, mesh.faces[faces])[:, None] * toward).sum(axis=-1) < 0).all(axis=1)
    tried = sixteenths < 16 - 1e-6
    assert (away & tried).any() and not sixteenths[away & tried].any()


def test_what_stands_between_is_not_forgotten_where_it_was_not_asked_about_before():
    head = load_head()
    open_, blocked = (
        SimpleNamespace(head=head, eye_position=EYE, eye_sees=geometry.sight(head, EYE, occlusion))
        for occlusion in (False, True)
    )
    assert seen_of_planes(blocked).sum() < 0.98 * seen_of_planes(open_).sum()


def test_a_plane_that_is_seen_whole_has_the_area_of_its_vertices():
    head = load_head()
    face, corners = sight._seen_corners(head, EYE, geometry.sight(head, EYE), True)
    fine, whole = sight._by_display_vertex(head, face, corners), sight._whole_planes(head)
    wholly = np.asarray(fine.sum(axis=1)).ravel() > (1 - 1e-9) * np.asarray(whole.sum(axis=1)).ravel()
    assert wholly.sum() > 5
    assert _shares(head, EYE)[wholly] == pytest.approx(1, abs=1e-9)


def test_how_nearly_the_eye_looks_along_a_place():
    """Nothing from before it, all at the edge of sight, a sixteenth at 60° (the fourth power of 1 − cosine); beyond the
    edge it goes on as steeply as it came."""
    angles = np.radians([0, 60, 89.9, 90, 90.1])
    normals = np.stack([np.sin(angles), np.zeros(5), np.cos(angles)], axis=1)
    turns = sight._turns(np.zeros((5, 3)), normals, np.array([0.0, 0, 700]))
    assert np.array_equal(turns[:, :3], normals)
    assert turns[[0, 1, 3], 3] == pytest.approx([0, 1 / 16, 1], abs=1e-9)
    assert np.diff(turns[2:, 3]) == pytest.approx(4 * np.radians([0.1, 0.1]), rel=0.01)
