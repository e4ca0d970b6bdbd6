"""Who looks at each vertex, and what skin mirrors dealt to them: as sums over what each looks at, written out."""

from __future__ import annotations

import numpy as np
import pytest

from sitterlight.meshes.library import load_head
from sitterlight.shading import compiled
from sitterlight.shading.bounce import entering_from_cells, received
from sitterlight.shading.geometry import Stage
from sitterlight.shading.glints import LAST_RETURNED, Glints
from sitterlight.shading.lookers import PARTS
from sitterlight.shading.reflected_skin import Looked
from sitterlight.shading.resolve_lights import resolve_lights
from sitterlight.shading.sitting import LampLight, Sitting, SurroundSetting, WindowLight


@pytest.fixture(scope="module")
def stage() -> Stage:
    return Stage(load_head(), np.full(15, 0.35), np.full(15, 0.5), np.eye(3), bounces=1)


@pytest.fixture(scope="module")
def receive(stage) -> np.ndarray:
    return received(stage.head, stage.transfer, stage.gloss)


def test_all_that_look_at_a_vertex_are_known_there(stage, receive):
    transfer, ways, of = stage.transfer, stage.exchange.paths, stage.exchange.lookers
    met = np.repeat(np.arange(len(of.start) - 1), np.diff(of.start))
    looker = np.repeat(np.arange(len(transfer.start) - 1), np.diff(transfer.start))
    order = np.lexsort((looker, ways.back))
    assert np.array_equal(of.looker, looker[order])
    assert np.array_equal(ways.start[met] + of.way, ways.back[order])
    assert np.array_equal(met, transfer.hit[order])
    assert np.array_equal(of.share, receive[order])


def test_a_dome_enters_by_way_of_what_is_looked_at(stage, receive):
    """Of two columns of light each by itself, from every blocked direction whose sheen mirrors an open one."""
    between, transfer = stage.exchange, stage.transfer
    cells = np.random.default_rng(4).random((len(transfer.directions), 2), np.float32)
    cell, looker = (
        between.paths.cell[between.paths.back],
        np.repeat(np.arange(len(transfer.unoccluded)), np.diff(transfer.start)),
    )
    mirrored = np.where(cell >= 0, receive * between.mirror[between.paths.back], 0)[:, None] * cells[cell]
    wanted = [np.pi * np.bincount(looker, mirrored[:, k], len(transfer.unoccluded)) for k in range(2)]
    assert entering_from_cells(between, cells) == pytest.approx(np.array(wanted).T, rel=1e-4, abs=1e-7)


def _glints(stage, light) -> Glints:
    sources = resolve_lights(Sitting(lights=(light,), surround=SurroundSetting(ground=0.0)))
    return Glints.of(stage.head, stage.gloss, stage.place_of(sources[0]), stage.light_field(sources[0]).plain)


@pytest.mark.parametrize("light", [LampLight(azimuth=-50, elevation=30, size=12), WindowLight(azimuth=80)])
def test_what_is_dealt_is_what_would_be_gathered(stage, receive, light):
    """Dealt from the lit vertices, and gathered over all blocked directions; the second finds what the first has worked
    out of each way back, and without it works out the same."""
    glints, about = _glints(stage, light), (stage.transfer, stage.exchange)
    dealt = glints.entering(*about)
    every = Looked(stage.transfer.start, stage.exchange.paths.back, receive)
    assert LAST_RETURNED.of(glints, lambda: None) is not None
    gathered = np.pi * glints.seen(*about, every)
    assert dealt.max() > 0 and dealt == pytest.approx(gathered, rel=1e-4, abs=1e-6 * float(dealt.max()))
    LAST_RETURNED.forget()
    assert np.array_equal(np.pi * glints.seen(*about, every), gathered)


def test_who_deals_changes_no_digit(stage, monkeypatch):
    glints, about, found = _glints(stage, LampLight(size=8)), (stage.transfer, stage.exchange), []
    for cores in (1, 2, 3 * PARTS):
        monkeypatch.setattr(compiled, "cores", lambda cores=cores: cores)
        found.append(glints.entering(*about))
    assert np.array_equal(found[0], found[1]) and np.array_equal(found[0], found[2])
