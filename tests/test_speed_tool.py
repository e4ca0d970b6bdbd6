"""The benchmark still runs, and what it races against each other gives the same colours. No time is asserted here."""

from __future__ import annotations

import json
import math
from itertools import islice

import numpy as np
import pytest
from speed.floor import Floor
from speed.lit import BOUNCES, eye_of, four_lights, fresh_gazes, fresh_lamps, fresh_skins
from speed.plain import Plain, bounced_by_kind
from speed.race import Best, Ratio, mean, race
from speed.report import KEYS, as_json, as_lines, as_markdown

from sitterlight.shading.colour_spaces import delta_E00
from sitterlight.shading.glance import screen_codes, seen_XYZ
from sitterlight.shading.staging import Setup

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def fresh():
    """A skin never seen before under four lights, and the setup that all races share."""
    return Setup.of(next(fresh_skins(four_lights())), bounces=BOUNCES)


def test_all_bands_of_every_vertex_give_the_same_colours(fresh):
    """ΔE00 0.01 before rounding: everywhere where paths of several bounces are counted as we do, and where each vertex
    has its own albedo at every bounce for all but one vertex in a thousand, three times as much for that."""
    plain, eye = Plain(fresh, display=False), eye_of(fresh.sitting)
    ours = eye.Lab(seen_XYZ(fresh, 2).astype(float))
    alike = eye.Lab(plain.XYZ(fresh.body, 2, bounced_by_kind(fresh, fresh.body)).astype(float))
    assert delta_E00(ours, alike).max() < 0.01
    exact = delta_E00(ours, eye.Lab(plain.XYZ(fresh.body, 2).astype(float)))
    assert np.median(exact) < 0.001
    assert np.quantile(exact, 0.999) < 0.01
    assert exact.max() < 0.03


def test_the_plain_rival_lights_a_skin_anew():
    """Other amounts, other bounces: nothing is remembered of a skin that was there before."""
    first, second = (Setup.of(sitting, bounces=BOUNCES) for sitting in islice(fresh_skins(four_lights()), 2))
    plain = Plain(first, display=False)
    assert np.abs(plain.bounced(first.body) - plain.bounced(second.body)).max() > 0


def test_the_floor_gives_the_same_bytes(fresh):
    """Within one code where the screen can show the colour: the floor does not look after what it can't."""
    eye = eye_of(fresh.sitting)
    codes = screen_codes(fresh.head, seen_XYZ(fresh, 2), eye).astype(int)
    shown = codes[:, 3] == 255
    assert shown.mean() > 0.5
    for name, way in Floor(fresh, eye).ways.items():
        assert np.abs(way()[shown].astype(int) - codes[shown, :3]).max() <= 1, name


def test_fresh_means_fresh():
    """No two skins, lamps or places to look from are the same."""
    sitting = four_lights()
    assert len({each.skin for each in islice(fresh_skins(sitting), 50)}) == 50
    assert len({each.lights for each in islice(fresh_lamps(sitting, "far lamp", 3), 50)}) == 50
    assert len(set(islice(fresh_gazes(), 50))) == 50


def test_cheap_races_end_in_numbers():
    """Finite, positive, and in the tables."""
    from speed.camera import camera_race
    from speed.rays import lamp_race
    from speed.sky import sky_race

    ratios = [sky_race(2), lamp_race(1), camera_race(1)]
    assert all(math.isfinite(ratio.value) and ratio.value > 0 for ratio in ratios)
    told = as_json(ratios)
    assert tuple(json.loads(json.dumps(told))) == KEYS
    assert [told[ratio.key] for ratio in ratios] == [pytest.approx(ratio.value, abs=1e-4) for ratio in ratios]
    assert told["start_vs_bare"] is None
    for table in (as_lines(ratios, "here"), as_markdown(ratios, "here")):
        assert all(any(ratio.key in line for line in table) for ratio in ratios)


def test_a_ratio_knows_its_limit():
    """At least so many times faster, or at most so many times slower."""

    def ratio(ours: float, limit: float, at_least: bool) -> Ratio:
        return Ratio("a", "", Best(ours, 2 * ours), Best(6.0, 6.0), limit, at_least)

    assert (ratio(0.05, 100, True).value, ratio(0.05, 100, True).by_processor) == (
        pytest.approx(120),
        pytest.approx(60),
    )
    assert ratio(0.05, 100, True).holds and not ratio(0.1, 100, True).holds
    assert ratio(15.0, 3, False).value == 2.5
    assert ratio(15.0, 3, False).holds and not ratio(24.0, 3, False).holds


def test_a_race_takes_turns_and_keeps_the_best():
    """Warm-up rounds run but don't count; each runs as often in a row as it is told to."""
    order = []
    rivals = {"one": lambda: order.append("one"), "two": lambda: order.append("two")}
    best = race(rivals, rounds=3, warm=1)
    assert order == ["one", "two"] * 4
    order.clear()
    race(rivals, rounds=1, warm=0, in_a_row=2)
    assert order == ["one", "one", "two", "two"]
    assert all(0 < each.seconds < math.inf and 0 <= each.processor < math.inf for each in best.values())
    assert Best(2.0, 5.0, 2.0).better(3.0, 4.0, 1.0) == Best(2.0, 4.0, 1.0)
    assert Best(2.0, 5.0, 3.0).times(3) == Best(6.0, 15.0, 9.0)
    assert mean([Best(2.0, 5.0, 3.0), Best(4.0, 6.0, 8.0)]) == Best(3.0, 5.5, 5.5)
