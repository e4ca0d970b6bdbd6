"""Recipes against what is known of them, a solver from scipy, and brute force."""

from itertools import combinations, product

import numpy as np
import pytest
from recipes_speed import measure
from scipy.optimize import minimize, nnls

from sitterlight.shading.cat16 import adapt
from sitterlight.shading.colour_spaces import D65_WHITE, Lab_from_XYZ, XYZ_from_Lab, delta_E00
from sitterlight.shading.mixing import Lab_under, many_mix_Lab, mix_Lab, mix_reflectance, spectra_of, viewing_light
from sitterlight.shading.paint_optics import K_over_S, beneath_surface
from sitterlight.shading.paints import DEFAULT_PALETTE, PaintError, paint, paints
from sitterlight.shading.recipe import OUT_OF_REACH, volumes
from sitterlight.shading.recipe_table import DROPS_IN_PART, WHITE_PARTS
from sitterlight.shading.recipes import Preferences, recipes_for

PALETTE = paints(DEFAULT_PALETTE)
TWELVE = paints((*DEFAULT_PALETTE, "PY42 deep", "PR108", "PBk9"))
D50 = viewing_light("D50")


def flesh(count, seed=1):
    """Colours as heads have them: L* 15 to 85, hue angle 30° to 80°, C*ab 5 to 32."""
    rng = np.random.default_rng(seed)
    L, C, h = rng.uniform(15, 85, count), rng.uniform(5, 32, count), np.radians(rng.uniform(30, 80, count))
    return np.stack([L, C * np.cos(h), C * np.sin(h)], axis=1)


def counts_are_small(recipe):
    for part in recipe.parts:
        if part.drops is None:
            assert part.parts == int(part.parts) and 1 <= part.parts <= WHITE_PARTS[-1]
        else:
            assert 1 <= part.drops <= 16 and part.parts == pytest.approx(part.drops / DROPS_IN_PART)


@pytest.mark.parametrize("parts", [[3, 1, 0, 0], [6, 2, 1, 0], [1, 1, 2, 1], [12, 1, 0, 3]])
def test_a_mix_is_found_again(parts):
    palette = paints(("PW6", "PY43", "PR101 transparent", "PB29"))
    recipe = recipes_for(mix_Lab(parts, palette, D50)[None], palette)[0]
    best = min(recipe.alternatives, key=lambda r: r.delta_e)
    assert best.delta_e < 0.05
    assert recipe.delta_e < 1.2


def test_its_own_Lab_and_distance_can_be_checked():
    """The mix's spectrum under D50, taken to D65 by full CAT16 from scratch, gives the recipe's Lab and ΔE00."""
    from sitterlight.illuminants.catalogue import spectrum
    from sitterlight.illuminants.observer import tristimulus

    power = spectrum("D50").power
    white = tristimulus(power) / tristimulus(power)[1]
    for recipe in recipes_for(flesh(12), PALETTE):
        R = mix_reflectance(volumes(recipe, PALETTE), PALETTE)
        XYZ = tristimulus(R * power) / tristimulus(power)[1]
        Lab = Lab_from_XYZ(adapt(XYZ, white, D65_WHITE))
        np.testing.assert_allclose(recipe.Lab, Lab, atol=1e-6)
        assert recipe.delta_e == pytest.approx(float(delta_E00(recipe.target_Lab, Lab)), abs=1e-6)


@pytest.mark.parametrize("seed", [1, 2])
def test_parts_are_small_whole_numbers_and_few(seed):
    for most in (1, 2, 3, 4):
        for recipe in recipes_for(flesh(25, seed), TWELVE, max_paints=most):
            assert 1 <= len(recipe.parts) <= most
            counts_are_small(recipe)
            assert all(len(other.parts) <= most for other in recipe.alternatives)


def test_more_paints_come_nearer():
    for recipe in recipes_for(flesh(25), TWELVE):
        distances = [other.delta_e for other in recipe.alternatives]
        assert distances == sorted(distances, reverse=True)
        assert [len(o.parts) for o in recipe.alternatives] == sorted({len(o.parts) for o in recipe.alternatives})


def test_a_flesh_palette_reaches_flesh():
    found = recipes_for(flesh(60), PALETTE)
    assert np.median([r.delta_e for r in found]) < 1.0
    assert np.mean([r.out_of_reach for r in found]) < 0.15


def continuous_best(target, palette, light):
    """The least ΔE00 of any amounts of these paints, by scipy's SLSQP from many starts."""

    def distance(amounts):
        share = np.maximum(amounts, 0.0) + 1e-9
        return float(delta_E00(target, mix_Lab(share, palette, light)))

    starts = np.vstack([np.full(len(palette), 1.0 / len(palette)), np.eye(len(palette)) * 0.7 + 0.3 / len(palette)])
    limits = [(0.0, 1.0)] * len(palette)
    total = {"type": "eq", "fun": lambda x: x.sum() - 1.0}
    return min(minimize(distance, s, method="SLSQP", bounds=limits, constraints=total).fun for s in starts)


def test_against_a_continuous_solver():
    """No recipe beats the best continuous amounts; whole numbers cost little where there is such a mix."""
    palette = paints(("PW6", "PY43", "PR101 transparent", "PB29"))
    costs = []
    for target in flesh(10, 5):
        recipe = min(recipes_for(target[None], palette)[0].alternatives, key=lambda r: r.delta_e)
        least = continuous_best(target, palette, D50)
        assert recipe.delta_e >= least - 1e-3
        costs.append(recipe.delta_e - least)
    assert max(costs) < 2.5 and np.median(costs) < 0.5


def test_non_negative_least_squares_finds_the_same_paints():
    """A spectrum mixed from the palette: Σ c (K − qS) = 0 with Σ c = 1, by scipy's nnls, gives the parts back."""
    parts = np.array([5.0, 2.0, 0.0, 0.0, 1.0, 0.0, 0.0, 1.0, 0.0])
    q = K_over_S(beneath_surface(mix_reflectance(parts, PALETTE)))
    K, S = spectra_of(PALETTE)
    rows = np.vstack([(K - q * S).T, 1e3 * np.ones(len(PALETTE))])
    found = nnls(rows, np.append(np.zeros(81), 1e3))[0]
    np.testing.assert_allclose(found, parts / parts.sum(), atol=1e-6)
    recipe = recipes_for(mix_Lab(parts, PALETTE, D50)[None], PALETTE)[0]
    assert min(o.delta_e for o in recipe.alternatives) < 0.3


def brute_force(targets, palette, light):
    """Least ΔE00 (targets,) over every mix of up to four paints in the same amounts, exactly."""
    sizes = np.array([1 / DROPS_IN_PART if p.is_strong else 1.0 for p in palette])
    best = np.full(len(targets), np.inf)
    for count in range(1, 5):
        most = 12 if count < 4 else 8
        for chosen in combinations(range(len(palette)), count):
            whites = [i for i in chosen if palette[i].is_white]
            if len(whites) > 1:
                continue
            ranges = [WHITE_PARTS if palette[i].is_white else range(1, most + 1) for i in chosen]
            some = np.array([c for c in product(*ranges) if sum(c) - sum(c[chosen.index(w)] for w in whites) <= most])
            units = np.zeros((len(some), len(palette)))
            units[:, chosen] = some
            Lab = mix_Lab(units * sizes, palette, light)
            best = np.minimum(best, delta_E00(targets[:, None], Lab).min(axis=1))
    return best


@pytest.mark.slow
def test_against_brute_force():
    targets = flesh(8, 9)
    palette = paints(("PW6", "PY43", "PR101 transparent", "PBr7 burnt umber", "PV19", "PB29", "PV23"))
    least = brute_force(targets, palette, D50)
    found = np.array([min(o.delta_e for o in r.alternatives) for r in recipes_for(targets, palette)])
    assert (found <= least + 0.05).all()


@pytest.mark.slow
def test_the_search_is_many_times_faster_than_brute_force_and_as_near():
    got = measure()
    assert got["largest excess"] < 0.05
    assert got["brute force"] > 5 * got["cold"]


def test_candidates_are_computed_closely():
    rng = np.random.default_rng(0)
    parts = rng.integers(0, 6, (3000, len(TWELVE))) + np.eye(len(TWELVE))[0]
    np.testing.assert_allclose(many_mix_Lab(parts, TWELVE, D50), mix_Lab(parts, TWELVE, D50), atol=0.4)


def test_drops_of_a_strong_tinter():
    palette = paints(("PW6", "PV23", "PY43"))
    recipe = recipes_for(mix_Lab([6, 2 / DROPS_IN_PART, 2], palette, D50)[None], palette)[0]
    drops = {p.paint: p.drops for p in recipe.parts}
    assert drops["PV23"] and drops["PW6"] is None
    assert "drop" in recipe.text and "a trace of" in recipe.order
    entry = next(p for p in recipe.as_dict()["parts"] if p["paint"] == "PV23")
    assert entry["parts"] == pytest.approx(entry["drops"] / DROPS_IN_PART)


def test_a_strong_tinter_alone_is_a_part():
    recipe = recipes_for(mix_Lab([1.0], paints(("PV23",)), D50)[None], paints(("PV23",)))[0]
    assert recipe.parts[0].parts == 1 and recipe.parts[0].drops is None


def test_out_of_reach_says_what_is_missing():
    palette = paints(("PW6", "PBr7 burnt umber", "PB29"))
    vivid = recipes_for([[55.0, 30.0, 60.0]], palette)[0]
    assert vivid.out_of_reach and vivid.delta_e > OUT_OF_REACH
    assert "for this palette" in vivid.missing and "would" in vivid.missing
    assert "too" in vivid.missing
    light = recipes_for([[99.5, 0.0, 0.0]], paints(("PBr7 burnt umber", "PB29")))[0]
    assert "too light" in light.missing and "PW" in light.missing
    within = recipes_for(mix_Lab([2, 1, 0], palette, D50)[None], palette)[0]
    assert not within.out_of_reach and within.missing == ""


def test_advice_is_true():
    """The paint that is said to reach the colour does reach it."""
    palette = paints(("PW6", "PBr7 burnt umber"))
    target = [[55.0, 14.0, 40.0]]
    advice = recipes_for(target, palette)[0].missing
    assert "would reach it" in advice
    named = advice.split(": ")[1].split(" would")[0]
    assert not recipes_for(target, (*palette, paint(named)))[0].out_of_reach


def test_preferences():
    targets = flesh(30, 4)
    free = recipes_for(targets, TWELVE)
    few = recipes_for(targets, TWELVE, preferences=Preferences(few_paints=True))
    assert sum(len(r.parts) for r in few) < sum(len(r.parts) for r in free)
    assert not any(
        p.paint == "PBk9" for r in recipes_for(targets, TWELVE, preferences=Preferences(no_black=True)) for p in r.parts
    )
    based = recipes_for(targets, TWELVE, preferences=Preferences(base="PBr7 burnt umber"))
    held = [r for r in based if any(p.paint == "PBr7 burnt umber" for p in r.parts)]
    assert len(held) >= 0.8 * len(based)
    for with_base, without in zip(based, free, strict=True):
        assert with_base.delta_e <= max(without.delta_e + 2.0, OUT_OF_REACH)
    assert all(r.order.lower().startswith("start with burnt umber") or len(r.parts) == 1 for r in held)


def test_without_black_none_is_advised_either():
    palette = paints(("PW6", "PY43", "PR108", "PBk9"))
    grey = recipes_for([[44.0, 9.0, 6.0]], palette, preferences=Preferences(no_black=True))[0]
    assert grey.out_of_reach and "would" in grey.missing
    assert not any(black in grey.missing for black in ("PBk9", "PBk11", "PBk7"))


def test_tubes_near_the_colour_are_taken_before_complements_that_cancel():
    """A brown that both make within half a ΔE00 is mixed out of the brown."""
    target = np.add(mix_Lab([0, 0, 0, 0, 6, 0, 0, 1, 0], PALETTE, D50), [0.5, 0.6, -0.4])
    recipe = recipes_for(target[None], PALETTE)[0]
    amounts = volumes(recipe, PALETTE)
    umbers = sum(a for a, p in zip(amounts, PALETTE, strict=True) if "umber" in p.id)
    assert umbers > 0.5 * amounts.sum()
    assert recipe.delta_e < min(o.delta_e for o in recipe.alternatives) + 1.2


def test_transparent_darks():
    dark = np.array([[22.0, 10.0, 10.0], [18.0, 10.0, 5.0], [60.0, 12.0, 18.0]])
    wished = recipes_for(dark, TWELVE, preferences=Preferences(transparent_darks=True))
    for recipe in wished[:2]:
        assert all(paint(p.paint).is_transparent for p in recipe.parts), recipe.text
    assert any(p.paint == "PW6" for p in wished[2].parts)


def test_second_light_is_named_truly():
    for recipe in recipes_for(flesh(15), PALETTE, "D50", "A"):
        R = mix_reflectance(volumes(recipe, PALETTE), PALETTE)
        change = float(delta_E00(Lab_under(R, D50), Lab_under(R, viewing_light("A"))))
        assert recipe.inconstancy == pytest.approx(change, abs=1e-6)
        assert ("holds" in recipe.holds) == (change < 1.0)
        assert recipe.holds.endswith("under lamplight (A)")
    same = recipes_for(flesh(3), PALETTE, "D50", "D50")
    assert all(r.inconstancy < 1e-6 for r in same)


def test_the_easel_light_matters():
    """Ultramarine greys and earth browns look alike under one lamp and not another: recipes follow the light."""
    target = np.array([[45.0, 6.0, 8.0]])
    by_day, by_lamp = (recipes_for(target, PALETTE, light)[0] for light in ("D65", "A"))
    assert by_day.delta_e < 1.5 and by_lamp.delta_e < 1.5
    swapped = mix_Lab(volumes(by_day, PALETTE), PALETTE, viewing_light("A"))
    assert delta_E00(target[0], swapped) > by_lamp.delta_e


def test_order_goes_from_the_base_outward():
    recipe = recipes_for(
        mix_Lab([6, 2, 4, 1], paints(("PW6", "PY43", "PBr7 burnt sienna", "PB29")), D50)[None], PALETTE
    )[0]
    assert recipe.order.startswith("Start with")
    if any(p.paint == "PW6" for p in recipe.parts):
        assert recipe.order.endswith("lift with titanium white.")


def test_as_dict_keeps_the_contract():
    entry = recipes_for(flesh(1), PALETTE)[0].as_dict()
    assert {"parts", "delta_e", "Lab"} <= set(entry)
    assert all({"paint", "parts"} <= set(p) and p["parts"] > 0 for p in entry["parts"])
    assert len(entry["Lab"]) == 3


@pytest.mark.parametrize("wish", [Preferences(), Preferences(base="PBr7 burnt umber", transparent_darks=True)])
def test_how_far_recipes_are_is_told_and_ends_with_them(wish):
    shares = []
    told = recipes_for(flesh(90), TWELVE, preferences=wish, progress=shares.append)
    assert told == recipes_for(flesh(90), TWELVE, preferences=wish)
    assert min(shares) >= 0 and shares[-1] == pytest.approx(1) and len(shares) > 10


def test_what_the_listener_raises_ends_the_recipes():
    shares = []

    def listen(share):
        shares.append(share)
        if len(shares) == 5:
            raise InterruptedError

    with pytest.raises(InterruptedError):
        recipes_for(flesh(90), TWELVE, progress=listen)
    assert len(shares) == 5


def test_nothing_wanted_nothing_mixed():
    assert recipes_for(np.zeros((0, 3)), PALETTE) == []


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"max_paints": 5}, "max_paints"),
        ({"preferences": Preferences(base="PR83")}, "PR83"),
        ({"easel_light": "moon"}, "moon"),
    ],
)
def test_bad_wishes_are_told(wrong, told):
    with pytest.raises(ValueError, match=told):
        recipes_for([[50, 10, 10]], PALETTE, **wrong)


def test_a_palette_of_black_without_black():
    with pytest.raises(PaintError, match="black"):
        recipes_for([[50, 10, 10]], paints(("PBk9",)), preferences=Preferences(no_black=True))


def test_screen_white_is_beyond_paint():
    """White paint is darker than the screen's white: the nearest is the white, and it says so."""
    recipe = recipes_for([[100.0, 0.0, 0.0]], PALETTE)[0]
    assert [p.paint for p in recipe.parts] == ["PW6"]
    assert XYZ_from_Lab(np.array(recipe.Lab))[1] < 0.95


def test_paints_that_do_the_same_are_told_together():
    from sitterlight.shading.mixing import viewing_light
    from sitterlight.shading.paints import paints
    from sitterlight.shading.recipe_words import mixing_order

    palette = paints(("PBr7 burnt umber", "PY43", "PW6"))
    told = mixing_order(np.array([2.0, 1.0, 20.0]), palette, viewing_light("D50"))
    assert told == "Start with burnt umber, lift with yellow ochre and titanium white."
