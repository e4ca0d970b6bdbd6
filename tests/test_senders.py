"""Which vertices a vertex receives bounced light from: all of it, in strips of its own for each bounce."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import sparse

from sitterlight.meshes.library import load_head
from sitterlight.shading.bounce import bounce_matrix, received
from sitterlight.shading.geometry import Stage
from sitterlight.shading.matrix import Rows, narrowest
from sitterlight.shading.strips import AT_ONCE, STRIP


@pytest.fixture(scope="module")
def stage() -> Stage:
    return Stage(load_head(), np.full(15, 0.35), np.full(15, 0.5), np.eye(3), bounces=3)


def _matrix(stage) -> Rows:
    between = stage.exchange
    return bounce_matrix(stage.transfer, between.paths, _received(stage), between.send, between.mirror)


def _received(stage) -> np.ndarray:
    return received(stage.head, stage.transfer, stage.gloss)


def test_what_comes_by_way_of_skin_is_all_there(stage):
    """The sum over a vertex's senders is that over all its blocked directions."""
    between, transfer = stage.exchange, stage.transfer
    aside = np.where(between.paths.mirrored >= 0, between.mirror, 0)
    sent = (between.send + aside)[between.paths.back]
    given = np.concatenate([[0], np.cumsum(_received(stage) * sent, dtype=float)])
    wanted = np.diff(given[transfer.start])
    matrix = _matrix(stage)
    found = np.diff(np.concatenate([[0], np.cumsum(matrix.weight, dtype=float)])[matrix.start])
    assert found == pytest.approx(wanted, rel=1e-4, abs=5e-6), "but for shares below a millionth"


def test_who_looks_along_a_direction_and_meets_a_vertex_is_shown_the_same(stage):
    """Every blocked direction leads to what it hit, by a way back that its sender has once; the cosine that this leaves
    by is written out."""
    transfer, ways, (_, normals) = stage.transfer, stage.exchange.paths, stage.head.in_single
    assert np.array_equal(ways.sender[ways.back], transfer.hit)
    assert np.array_equal(ways.direction[ways.back], transfer.direction)
    pairs = ways.sender.astype(np.int64) * len(transfer.directions) + ways.direction
    assert (np.diff(pairs) > 0).all() and len(np.unique(ways.back)) == len(pairs) < 0.7 * len(ways.back)
    assert np.array_equal(np.repeat(np.arange(len(normals)), np.diff(ways.start)), ways.sender)
    cosine = -(normals[ways.sender] * transfer.directions[ways.direction]).sum(axis=1)
    assert ways.leaving == pytest.approx(np.clip(cosine, 0, 1), abs=1e-6)


def test_each_bounce_goes_from_all_strips_of_a_sender_with_its_weight(stage):
    """Written out: a vertex receives every strip of each sender, once, and what else is there weighs nothing."""
    matrix, vertices = _matrix(stage), len(stage.head.vertices)
    dense = sparse.csr_matrix((matrix.weight, matrix.column, matrix.start), (vertices, vertices))
    for leaving in stage.exchange.bounces.leaving:
        kinds = leaving.place.shape[1] // STRIP
        along = leaving.along
        assert len(along) == vertices * kinds and not (np.diff(along.start) % AT_ONCE).any()
        row = np.repeat(np.arange(len(along)), np.diff(along.start))
        real = along.weight > 0
        size = len(along), len(leaving.strips)
        pairs = sparse.csr_matrix((along.weight[real], (row[real], along.column[real])), size)
        assert pairs.nnz == real.sum()
        # Each strip has the numbers of one vertex: which, its receivers tell.
        for kind in range(kinds):
            of_kind = pairs[kind::kinds].tocsc()
            reached = np.flatnonzero(np.diff(of_kind.indptr))
            rest = dense.tocsc()[:, _owners_of(of_kind, dense, reached)]
            assert abs(rest - of_kind[:, reached]).max() == 0


def _owners_of(of_kind, dense, reached) -> np.ndarray:
    """The vertex that sends each of the strips `reached`: strips are numbered vertex by vertex, and none is passed."""
    columns = dense.tocsc()
    owners, v = [], 0
    for strip in reached:
        wanted = of_kind.indices[of_kind.indptr[strip] : of_kind.indptr[strip + 1]]
        while not np.array_equal(wanted, columns.indices[columns.indptr[v] : columns.indptr[v + 1]]):
            v += 1
        owners.append(v)
        v += 1
    return np.array(owners, int)


def test_vertices_are_told_apart_in_as_few_bits_as_that_takes():
    for count, kind in ((1, np.uint16), (2**16, np.uint16), (2**16 + 1, np.int32)):
        assert narrowest(count) is kind and np.iinfo(kind).max >= count - 1
