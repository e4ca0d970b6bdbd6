"""The ray caster, and its fallback where Embree has no wheel."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh

from sitterlight.shading import embree, rays
from sitterlight.shading.rays import RayCaster


def _bumpy() -> trimesh.Trimesh:
    ball = trimesh.creation.icosphere(subdivisions=2, radius=50)
    ball.vertices *= 1 + 0.2 * np.sin(ball.vertices[:, :1] / 9)
    return ball


def _rays(count: int = 400) -> tuple[np.ndarray, np.ndarray]:
    random = np.random.default_rng(3)
    origins = random.normal(size=(count, 3)) * 90
    aims = random.normal(size=(count, 3)) * 25
    directions = aims - origins
    return origins, directions / np.linalg.norm(directions, axis=1, keepdims=True)


def test_fallback_finds_what_embree_finds(monkeypatch):
    mesh = _bumpy()
    origins, directions = _rays()
    swift = RayCaster(mesh.vertices, mesh.faces).first_hit(origins, directions)
    monkeypatch.setattr(embree, "library", lambda: None)
    monkeypatch.setattr(rays, "_embreex_scene", lambda corners: None)
    slow_caster = RayCaster(mesh.vertices, mesh.faces)
    slow = slow_caster.first_hit(origins, directions)
    assert (swift.face == slow.face).mean() > 0.99
    met = (swift.face == slow.face) & (slow.face >= 0)
    assert met.sum() > 100
    assert swift.distance[met] == pytest.approx(slow.distance[met], rel=1e-3)
    assert np.abs(swift.u[met] - slow.u[met]).max() < 1e-2
    assert np.array_equal(slow_caster.occluded(origins, directions), slow.face >= 0)


def test_hits_lie_on_a_sphere_where_geometry_says():
    """The near root of the quadratic of a line and a sphere."""
    ball = trimesh.creation.icosphere(subdivisions=5, radius=50)
    origins, directions = _rays()
    outside = np.linalg.norm(origins, axis=1) > 60
    origins, directions = origins[outside], directions[outside]
    along = -(origins * directions).sum(axis=1)
    square = along**2 - (origins**2).sum(axis=1) + 50**2
    hits = RayCaster(ball.vertices, ball.faces).first_hit(origins, directions)
    clear = square > 100
    assert hits.distance[clear] == pytest.approx(along[clear] - np.sqrt(square[clear]), abs=0.1)
    assert not np.isfinite(hits.distance[square < -100]).any()


def test_reaches_stops_at_the_point():
    ball = trimesh.creation.icosphere(subdivisions=3, radius=50)
    caster = RayCaster(ball.vertices, ball.faces)
    origin = np.array([[0.0, 0.0, 200.0]] * 3)
    points = np.array([[0.0, 0.0, 60.0], [0.0, 0.0, -60.0], [150.0, 0.0, 0.0]])
    assert caster.reaches(origin, points).tolist() == [True, False, True]
