"""Recipes for rows of planes, and the plan for mixing them."""

import dataclasses
from types import SimpleNamespace

import numpy as np
import pytest

from sitterlight.shading.families import FAMILIES
from sitterlight.shading.mixing_plan import SMALL_PILE, mixing_plan
from sitterlight.shading.paints import paint
from sitterlight.shading.plane_recipes import add_recipes, preferences_of, recipes_of, with_base_brown
from sitterlight.shading.recipes import Preferences
from sitterlight.shading.sitting import PaletteSetting, Sitting

SITTING = Sitting(palette=PaletteSetting(("PW6", "PY43", "PR101 transparent", "PBr7 burnt umber", "PB29", "PR108")))


@dataclasses.dataclass(frozen=True)
class Stroke:
    Lab: tuple
    share_of_area: float = 1.0
    part: str = "whole"
    family: str = "light"
    recipe: object = None


@dataclasses.dataclass(frozen=True)
class Row:
    name: str
    area_mm2: float
    targets: tuple
    side: str = "centre"
    visible: float = 1.0


ROWS = [
    Row("forehead front", 4000.0, (Stroke((62, 12, 18)),)),
    Row("cheekbone top", 1500.0, (Stroke((61, 12, 18)),), "left"),
    Row(
        "cheek front",
        2000.0,
        (Stroke((48, 14, 18), 0.7, "lit"), Stroke((30, 11, 12), 0.3, "shadow", "shadow")),
        "right",
    ),
    Row("under-chin", 900.0, (Stroke((28, 11, 12), family="shadow"),)),
    Row("nose tip", 20.0, (Stroke((66, 11, 16), part="highlight"),)),
    Row("nape", 5000.0, (Stroke((40, 10, 20)),), visible=0.0),
]


def test_every_target_gets_its_recipe():
    rows = add_recipes(ROWS, SITTING)
    assert [r.name for r in rows] == [r.name for r in ROWS]
    for row in rows:
        for target in row.targets:
            assert {"parts", "delta_e", "Lab"} <= set(target.recipe)
    assert ROWS[0].targets[0].recipe is None


def test_add_recipes_and_recipes_of_agree():
    flat = [t.recipe for row in add_recipes(ROWS, SITTING) for t in row.targets]
    assert flat == [r.as_dict() | {"alternatives": r.others_as_dicts()} for r in recipes_of(ROWS, SITTING)]
    for recipe in flat:
        assert recipe["parts"] not in [other["parts"] for other in recipe["alternatives"]]
        assert all({"parts", "delta_e", "Lab"} == set(other) for other in recipe["alternatives"])


def test_one_base_through_all_planes():
    wish = with_base_brown(ROWS, SITTING)
    assert paint(wish.base).group == "earth"
    held = [any(p.paint == wish.base for p in r.parts) for r in recipes_of(ROWS, SITTING, preferences=wish)]
    assert np.mean(held) > 0.8
    assert with_base_brown([], SITTING) == Preferences()


def test_the_sittings_own_wishes_are_kept():
    wishes = {
        "most": PaletteSetting(SITTING.palette.paints, most=2),
        "auto": PaletteSetting(SITTING.palette.paints, base="auto"),
        "named": PaletteSetting(SITTING.palette.paints, base="PR101 transparent", few_paints=True),
    }
    found = {name: recipes_of(ROWS, dataclasses.replace(SITTING, palette=wish)) for name, wish in wishes.items()}
    assert all(len(r.parts) <= 2 for r in found["most"])
    assert found["auto"] == recipes_of(ROWS, SITTING, preferences=with_base_brown(ROWS, SITTING))
    wish = Preferences(few_paints=True, base="PR101 transparent")
    assert preferences_of(ROWS, dataclasses.replace(SITTING, palette=wishes["named"])) == wish
    assert found["named"] == recipes_of(ROWS, SITTING, preferences=wish)


def test_without_black_none_is_mixed_in():
    tubes = ("PW6", "PY43", "PR101 transparent", "PBk9")
    grey = [Row("temple", 900.0, (Stroke((35, 2, 3)),))]
    free, without = (
        recipes_of(grey, dataclasses.replace(SITTING, palette=PaletteSetting(tubes, no_black=no)))
        for no in (False, True)
    )
    assert any(p.paint == "PBk9" for p in free[0].parts)
    assert not any(p.paint == "PBk9" for p in without[0].parts)


def test_the_plan_counts_what_is_seen():
    plan = mixing_plan(ROWS, recipes_of(ROWS, SITTING), SITTING)
    assert sum(p.share_of_area for p in plan.piles) == pytest.approx(1.0)
    strokes = [name for pile in plan.piles for name in pile.strokes]
    assert "nape" not in strokes and len(strokes) == len(set(strokes)) == 6
    assert {"forehead front", "cheekbone top left"} <= set(plan.piles[0].strokes)
    assert sum(share for _, share in plan.paints) == pytest.approx(1.0)
    families = list(dict.fromkeys(p.family for p in plan.piles))
    extent = {f: sum(p.share_of_area for p in plan.piles if p.family == f) for f in FAMILIES}
    assert [extent[f] for f in families] == sorted((extent[f] for f in families), reverse=True)
    for family in families:
        shares = [p.share_of_area for p in plan.piles if p.family == family]
        assert shares == sorted(shares, reverse=True)
    assert plan.as_dict()["piles"][0]["recipe"] == plan.piles[0].recipe.as_dict()


def test_a_base_that_was_asked_for_begins_the_plan():
    wish = with_base_brown(ROWS, SITTING)
    assert wish.base == "PBr7 burnt umber", "of umber and red oxide the brown is the base"
    plan = mixing_plan(ROWS, recipes_of(ROWS, SITTING, preferences=wish), SITTING, wish.base)
    assert plan.base == wish.base and plan.words[0].startswith("Burnt umber goes into the mixes of ")


def test_small_piles_join_a_near_one():
    plan = mixing_plan(ROWS, recipes_of(ROWS, SITTING), SITTING)
    assert all(p.share_of_area >= SMALL_PILE for p in plan.piles)
    assert any("nose tip (highlight)" in p.strokes for p in plan.piles)


def test_paint_needed_follows_area():
    """One plane only: the plan's paints are its recipe's parts."""
    rows = ROWS[:1]
    recipe = recipes_of(rows, SITTING)[0]
    plan = mixing_plan(rows, [recipe], SITTING)
    total = sum(p.parts for p in recipe.parts)
    assert dict(plan.paints) == pytest.approx({p.paint: p.parts / total for p in recipe.parts})
    assert plan.base in {p.paint for p in recipe.parts if not paint(p.paint).is_white}
    assert "goes into the mixes of" in plan.words[0]


def test_cautions_come_with_the_plan():
    rows = [Row("lip", 100.0, (Stroke((50, 62, 55)),))]
    plan = mixing_plan(rows, recipes_of(rows, SITTING), SITTING)
    assert any("cadmium" in words for words in plan.cautions)


def test_nothing_seen_nothing_mixed():
    plan = mixing_plan(ROWS[-1:], recipes_of(ROWS[-1:], SITTING), SITTING)
    assert plan.piles == () and plan.base is None
    assert mixing_plan([], [], SITTING).words == ()


def test_an_unknown_tube_is_told():
    bad = SimpleNamespace(palette=PaletteSetting(("PX1",)), easel=SITTING.easel, folder=None)
    with pytest.raises(ValueError, match="PX1"):
        add_recipes(ROWS, bad)
