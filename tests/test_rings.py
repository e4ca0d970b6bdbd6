"""Vertices around others, and around faces whose corners differ, on a strip of triangles."""

from __future__ import annotations

import numpy as np

from sitterlight.shading.rings import around_unlike, at_steps, with_ring

STRIP = np.array([[n, n + 1, n + 2] for n in range(8)], np.int32)
"""Ten vertices, eight faces."""


def _at(*places: int) -> list[bool]:
    return [n in places for n in range(10)]


def test_a_ring_is_all_that_share_a_face():
    assert with_ring(STRIP, np.array(_at(4))).tolist() == _at(2, 3, 4, 5, 6)


def test_steps_are_where_corners_are_far_apart():
    values = np.array([0, 0, 0, 0, 0, 5, 5, 6, 6, 6], np.uint8)
    assert at_steps(STRIP, values, 1).tolist() == _at(3, 4, 5, 6)
    assert at_steps(STRIP, values.astype(np.float32), 0.5).tolist() == _at(3, 4, 5, 6, 7, 8)


def test_around_unlike_are_the_corners_of_faces_that_differ_or_are_doubtful():
    values = np.array([1, 1, 1, 1, 1, 2, 2, 2, 2, 2], np.uint8)
    assert around_unlike(STRIP, values, 0).tolist() == _at(3, 4, 5, 6)
    assert around_unlike(STRIP, np.full(10, 3), 0).tolist() == _at()
    assert around_unlike(STRIP, np.full(10, 3), 3).tolist() == _at(*range(10))
