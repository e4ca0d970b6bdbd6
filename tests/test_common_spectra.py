"""Spectra that are sums of others are found, and all are given back as sums of those that remain."""

from __future__ import annotations

import numpy as np
import pytest

from sitterlight.shading.common_spectra import common_spectra


def test_sums_of_others_are_found_whatever_their_strength():
    random = np.random.default_rng(5)
    daylight = random.random((3, 81)) * [[1e6], [3e5], [1e5]]
    lamp = random.random((1, 81)) * 1e-2
    ground = 0.02 * daylight.sum(axis=0, keepdims=True) + 0.7 * lamp
    spectra = np.concatenate([daylight, lamp, 0.2 * daylight, ground, 0 * lamp])
    some, shares = common_spectra(spectra)
    assert len(some) == np.linalg.matrix_rank(spectra / np.maximum(np.linalg.norm(spectra, axis=1), 1e-9)[:, None]) == 4
    size = np.linalg.norm(spectra, axis=1)
    off = np.linalg.norm(shares @ some - spectra, axis=1)
    assert (off <= 1e-12 * size).all()


def test_what_differs_by_little_is_kept_apart():
    random = np.random.default_rng(6)
    spectra = random.random((2, 81))
    nearly = spectra[0] + 1e-5 * random.random(81)
    some, shares = common_spectra(np.stack([*spectra, nearly]))
    assert len(some) == 3
    np.testing.assert_allclose(shares @ some, [*spectra, nearly], rtol=1e-9)


@pytest.mark.parametrize("count", [1, 3])
def test_no_light_at_all(count):
    some, shares = common_spectra(np.zeros((count, 81)))
    assert some.shape == (0, 81)
    assert shares.shape == (count, 0)
