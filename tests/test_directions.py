"""The equal-area directions: cells, children, and finding the cell of a direction."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import cKDTree

from sitterlight.shading.directions import cell_means, cell_of, equal_area_directions


@pytest.mark.parametrize("resolution", [1, 2, 8, 16])
def test_unit_vectors_that_balance(resolution):
    directions = equal_area_directions(resolution)
    assert len(directions) == 12 * resolution**2
    assert np.linalg.norm(directions, axis=1) == pytest.approx(1)
    assert np.abs(directions.mean(axis=0)).max() < 1e-12


def test_second_moments_approach_one_third():
    """∫ n nᵀ over the sphere is 4π/3 times the unit matrix."""
    directions = equal_area_directions(8)
    assert np.abs(directions.T @ directions / len(directions) - np.eye(3) / 3).max() < 6e-4


def test_children_lie_around_their_parent():
    means = cell_means(equal_area_directions(64), 768)
    means /= np.linalg.norm(means, axis=1, keepdims=True)
    assert (means * equal_area_directions(8)).sum(axis=1).min() > 0.9999


@pytest.mark.parametrize("resolution", [1, 4, 8, 16])
def test_every_centre_lies_in_its_own_cell(resolution):
    found = [cell_of(x, y, z, resolution) for x, y, z in equal_area_directions(resolution)]
    assert found == list(range(12 * resolution**2))


def test_any_direction_lies_in_a_cell_near_it():
    random = np.random.default_rng(5).normal(size=(3000, 3))
    random /= np.linalg.norm(random, axis=1, keepdims=True)
    directions = equal_area_directions(8)
    found = np.array([cell_of(x, y, z, 8) for x, y, z in random])
    distance = np.linalg.norm(directions[found] - random, axis=1)
    assert distance.max() < 0.15
    assert (found == cKDTree(directions).query(random)[1]).mean() > 0.8


def test_only_powers_of_two():
    with pytest.raises(ValueError, match="power of two, not 6"):
        equal_area_directions(6)
