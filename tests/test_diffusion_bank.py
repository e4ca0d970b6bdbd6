"""Blurs over a surface: what they must keep, and whom they must leave alone."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
from plates import bank_of_skin, plate
from scipy import sparse
from scipy.sparse.linalg import spsolve

from sitterlight.meshes.head import vertex_areas
from sitterlight.meshes.library import load_head
from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.diffusion_bank import WIDTHS, Bank, bank_of, folding, make_bank, skinness, widths
from sitterlight.shading.intrinsic_triangles import exchange
from sitterlight.shading.symmetric_factor import SymmetricFactors


@pytest.fixture(scope="module")
def bust():
    return load_head("bust")


@pytest.fixture(scope="module")
def fields(bust) -> np.ndarray:
    """A patchy light, a hard edge, and one bright vertex."""
    random = np.random.default_rng(3).random(len(bust.vertices))
    spot = np.zeros(len(bust.vertices))
    spot[np.argmax(bust.vertices[:, 2])] = 1000
    return np.stack([random, bust.vertices[:, 0] > 2.0, spot], axis=1).astype(np.float32)


def test_on_the_bust_every_width_does_something(bust):
    assert bank_of(bust).kept == tuple(range(len(WIDTHS)))


def test_energy_is_kept(bust, fields):
    spread = bank_of(bust).spread(fields).astype(float)
    before = bust.vertex_area @ fields.astype(float)
    after = np.einsum("v,wvk->wk", bust.vertex_area, spread)
    assert after == pytest.approx(np.broadcast_to(before, after.shape), rel=1e-5)


@pytest.mark.parametrize("length", [0.25, 4.0])
def test_a_factor_solves_as_exactly_as_its_numbers_are(bust, fields, length):
    """Against the direct solution of SciPy in double precision, whatever small numbers are left out and whichever is
    asked for; and none is left so small that processors are slow with it."""
    flow = exchange(bust.vertices, bust.faces)
    mass = np.maximum(bust.vertex_area, 1e-9)
    laplacian = sparse.diags(np.asarray(flow.sum(axis=1)).ravel()) - flow
    matrix, other = (sparse.diags(mass) + each**2 * laplacian for each in (length, 1.0))
    right = (fields * mass[:, None]).astype(np.float32)
    for columns in (slice(2, 3), slice(0, 3)):
        both = np.full((len(right), 4, len(range(3)[columns])), 5, np.float32)
        SymmetricFactors.of([matrix, other, matrix]).solve(right[:, columns], [2, 0], 3 * right[:, columns], both)
        assert np.array_equal(both[:, 0], 3 * right[:, columns])
        assert np.array_equal(both[:, 1], both[:, 3]) and (both[:, 2] == 5).all()
        ours = both[:, 1]
        exact = spsolve(matrix.tocsc(), right[:, columns].astype(float)).reshape(ours.shape)
        assert np.abs(ours - exact).max() < 2e-6 * np.abs(exact).max()
        assert not ((ours != 0) & (np.abs(ours) < np.finfo(np.float32).tiny)).any()
    assert (ours[:, 2] == 0).any(), "far from a spot there is nothing"


def test_weights_are_folded_once_while_they_stay(bust):
    bank, random = bank_of(bust), np.random.default_rng(5)
    weights, others = random.random((2, 15, len(widths()), 81))
    assert np.array_equal(bank.folded(weights), bank.fold @ weights)
    assert bank.folded(weights) is bank.folded(weights)
    assert np.array_equal(bank.folded(others), bank.fold @ others)
    assert np.array_equal(bank.folded(weights), bank.fold @ weights)


def test_an_even_light_stays_even(bust):
    even = np.full((len(bust.vertices), 1), 7.0)
    assert bank_of(bust).spread(even) == pytest.approx(7.0, rel=1e-5)


def test_nothing_leaves_the_range_it_had(bust, fields):
    spread = bank_of(bust).spread(fields)
    slack = 1e-5 * fields.max(axis=0)
    assert (spread.min(axis=1) >= fields.min(axis=0) - slack).all()
    assert (spread.max(axis=1) <= fields.max(axis=0) + slack).all()
    assert (spread[:, :, 2] >= -1e-7 * fields[:, 2].max()).all()


def test_wider_blurs_flatten_more(bust, fields):
    skin = skinness(bust) > 0.99
    spread = bank_of(bust).spread(fields[:, :1])[:, skin, 0]
    assert (np.diff(spread.std(axis=1)) < -0.005).all()


def test_light_passes_from_skin_to_skin_alone(bust):
    skin = skinness(bust)
    other = skin < 0.01
    assert other.sum() > 3000
    on_others = bank_of(bust).spread(other[:, None])
    assert on_others[:, other] == pytest.approx(1.0, abs=1e-6)
    assert np.abs(on_others[:, skin > 0.5]).max() < 1e-6
    patchy = np.random.default_rng(4).random((len(skin), 1)).astype(np.float32)
    assert bank_of(bust).spread(patchy)[:, other] == pytest.approx(np.broadcast_to(patchy[other], (6, other.sum(), 1)))


def test_the_regions_that_are_not_skin():
    head = load_head("bust")
    rows = {name: skinness(head)[head.region_weights[:, column] > 0.999] for column, name in enumerate(REGIONS)}
    assert all((rows[name] < 0.001).all() for name in ("eye white", "iris", "pupil", "clothes"))
    assert all((rows[name] > 0.999).all() for name in ("cheek", "lips", "neck", "scalp"))


def test_a_blur_is_the_same_from_here_to_there_as_back(bust):
    bank = bank_of(bust)
    some = np.flatnonzero(skinness(bust) > 0.99)[[10, 2000, 4000]]
    there = some + 1
    one, other = np.zeros((len(bust.vertices), 3)), np.zeros((len(bust.vertices), 3))
    one[some, range(3)], other[there, range(3)] = 1 / bank.area[some], 1 / bank.area[there]
    spread, back = bank.spread(one), bank.spread(other)
    assert spread[:, there, range(3)] == pytest.approx(back[:, some, range(3)], rel=1e-3)


def test_only_what_is_used_is_calculated(bust, fields):
    bank = bank_of(bust)
    used = np.array([True, False, True, False, False, False])
    some, every = bank.spread(fields, used), bank.spread(fields)
    assert (some[used] == every[used]).all()
    assert not some[~used].any()
    assert bank.spread(fields[:, :0]).shape == (6, len(fields), 0)


def test_a_field_of_another_head_is_refused(bust):
    with pytest.raises(ValueError, match=r"fields to spread are \(5, 2\); they must be \(18\d\d\d, columns\)"):
        bank_of(bust).spread(np.zeros((5, 2)))


def test_a_head_has_one_bank_whoever_asks(bust):
    with ThreadPoolExecutor(2) as pool:
        banks = list(pool.map(lambda _: bank_of(bust), range(4)))
    assert bank_of(bust) is banks[-1]
    assert all(isinstance(bank, Bank) and bank.kept == banks[0].kept for bank in banks)


def test_widths_below_the_spacing_are_none_and_their_weight_goes_to_others():
    bank = bank_of_skin(*plate(120, 120, 10.0))
    assert bank.kept == (0, 3, 4, 5)
    assert bank_of_skin(*plate(10, 10, 0.5)).kept == (0, 1, 2, 3, 4, 5)
    weights = np.random.default_rng(5).dirichlet(np.ones(len(WIDTHS)), 81).T
    folded = bank.fold @ weights
    assert folded.min() >= 0
    assert folded.sum(axis=0) == pytest.approx(1.0)
    assert widths()[list(bank.kept)] ** 2 @ folded == pytest.approx(widths() ** 2 @ weights)


def test_a_width_that_counts_as_none_would_have_changed_next_to_nothing():
    vertices, faces = plate(120, 120, 10.0)
    inner = np.abs(vertices[:, :2]).max(axis=1) < 45
    edge = (vertices[:, :1] < 0).astype(float)
    area = vertex_areas(vertices, faces)
    flow = exchange(vertices, faces).toarray()
    laplacian = np.diag(flow.sum(axis=1)) - flow
    change = [
        np.abs(np.linalg.solve(np.diag(area) + L**2 * laplacian, area[:, None] * edge) - edge)[inner].max()
        for L in (0.5, 1.0)
    ]
    assert change[0] < 0.015 < change[1]


def test_folding_without_a_wider_width_gives_to_the_widest():
    assert folding(np.array([0.0, 1.0, 2.0]), (0, 1)).tolist() == [[1.0, 0.0, 0.0], [0.0, 1.0, 1.0]]
    assert folding(np.array([0.0, 1.0, 2.0]), (0,)).tolist() == [[1.0, 1.0, 1.0]]


def test_a_head_without_skin_keeps_its_light():
    vertices, faces = plate(4, 4, 1.0)
    bank = make_bank(vertices, faces, np.zeros(len(vertices)), vertex_areas(vertices, faces))
    field = np.arange(len(vertices), dtype=np.float32)[:, None]
    assert bank.kept == (0,)
    assert (bank.spread(field) == field).all()
    assert (bank.fold == 1).all()
