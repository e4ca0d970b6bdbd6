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
