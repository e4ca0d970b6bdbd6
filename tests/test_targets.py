"""Plane rows on a small made-up scene: three flat planes, two lights, every number known beforehand."""

from dataclasses import asdict
from types import SimpleNamespace

import numpy as np
import pytest
from scipy import sparse

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.illuminants.observer import tristimulus
from sitterlight.illuminants.temperature import daylight, planckian
from sitterlight.meshes.head import Plane, make_head
from sitterlight.shading.colour_spaces import XYZ_from_hex, delta_E00
from sitterlight.shading.families import family_name, irradiance_ratio, strongest_light
from sitterlight.shading.keying import easel_eye, resolve_eye, two_degree_eye
from sitterlight.shading.munsell import parse_munsell
from sitterlight.shading.sitting import EaselSetting, EyeSetting, Sitting
from sitterlight.shading.strokes import LARGEST_SPREAD
from sitterlight.shading.targets import plane_rows

SKIN = 0.10 + 0.30 / (1.0 + np.exp(-(WAVELENGTHS - 590.0) / 40.0))
SKY, LAMP = daylight(12000.0), planckian(2856.0)
CARD = (600.0 * SKY + 400.0 * LAMP) / 1000.0
SIDE = 9
PARTS = [(light, path) for light in ("sky", "lamp", "ground") for path in ("body", "bounce", "sheen")]
PARTS.append(("bounce", "sheen"))


def three_planes():
    """Flat squares of 9 by 9 vertices facing +z, +x and +y, 10 mm a step."""
    u, v = (c.ravel() * 10.0 for c in np.meshgrid(np.arange(SIDE), np.arange(SIDE), indexing="ij"))
    zero = np.zeros_like(u)
    flat = [np.stack(c, 1) for c in ((u, v, zero + 500), (zero + 500, u, v), (v, zero + 500, u))]
    corner = np.arange(SIDE * SIDE).reshape(SIDE, SIDE)
    a, b, c, d = (corner[i, j].ravel() for i, j in ((np.s_[:-1], np.s_[:-1]), (np.s_[1:], np.s_[:-1]),
                                                    (np.s_[1:], np.s_[1:]), (np.s_[:-1], np.s_[1:])))  # fmt: skip
    square = np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)])
    faces = np.concatenate([square + k * SIDE**2 for k in range(3)]).astype(np.int32)
    regions = np.zeros((3 * SIDE**2, 15), np.float32)
    regions[:, 0] = 1.0
    planes = tuple(
        Plane(name, side, "skin") for name, side in (("front", "centre"), ("side", "left"), ("top", "right"))
    )
    plane_of_face = np.repeat(np.arange(3), len(square)).astype(np.int16)
    return make_head("squares", np.concatenate(flat), faces, regions, planes, plane_of_face)


@pytest.fixture(autouse=True)
def seen_by_vertex(monkeypatch):
    """What is seen of the squares is told by their vertices; how sight finds it has a test of its own."""
    seen = lambda scene: sparse.csr_matrix(HEAD.plane_weights.multiply(scene.eye_sees))  # noqa: E731
    monkeypatch.setattr("sitterlight.shading.strokes.seen_of_planes", seen)


HEAD = three_planes()
COUNT = len(HEAD.vertices)
PLANE = np.repeat([0, 1, 2], SIDE**2)


def scene_of(lux, sees=None, eye=None, easel="D50", albedo=SKIN):
    """A stand-in scene. lux: {(light, path): (V,) or number}, lux that return by the skin (sheen: by a mirror)."""
    eye = eye or EyeSetting(adaptation=1.0)
    card = 1000.0 * CARD
    spectra = {"sky": SKY, "lamp": LAMP, "ground": CARD, "bounce": albedo * CARD}

    def values(neutral, observer):
        stack = []
        for light, path in PARTS:
            spectrum = CARD * (albedo if light == "bounce" else 1.0) if neutral else spectra[light]
            surface = {"body": albedo, "bounce": albedo**2, "sheen": np.ones(81)}[path]
            strength = np.broadcast_to(np.asarray(lux.get((light, path), 0.0), float), COUNT) / np.pi
            stack.append(strength[:, None] * tristimulus(spectrum * surface, observer))
        return np.stack(stack).astype(np.float32)

    def own(observer):
        return np.tile(tristimulus(albedo * card, observer) / np.pi, (COUNT, 1))

    by_light = np.stack([np.broadcast_to(lux.get((name, "body"), 0.0), COUNT) for name in ("sky", "lamp")])
    part_XYZ, neutral, two = values(False, eye.observer), values(True, eye.observer), values(False, 2)
    return SimpleNamespace(
        sitting=Sitting(eye=eye, easel=EaselSetting(light=easel)),
        head=HEAD,
        parts=tuple(SimpleNamespace(light=light, path=path) for light, path in PARTS),
        part_XYZ=part_XYZ,
        part_XYZ_neutral=neutral,
        part_XYZ_2deg=two,
        XYZ=part_XYZ.sum(0),
        XYZ_neutral=neutral.sum(0),
        own_XYZ=own(eye.observer),
        card_XYZ=tristimulus(card, eye.observer) / np.pi,
        card_XYZ_2deg=tristimulus(card, 2) / np.pi,
        eye_sees=np.ones(COUNT, bool) if sees is None else sees,
        illuminance={"direct": by_light.sum(0), "ground": np.full(COUNT, 7.0), "bounced": np.zeros(COUNT)},
        irradiance_by_light=by_light,
        light_info=({"name": "sky", "kind": "sky"}, {"name": "lamp", "kind": "lamp"}),
        rotation=np.eye(3),
        toward_eye=np.ones((COUNT, 1)),
    )


def mixed_light():
    """Sky and lamp on everything, with a little sheen and bounce; the three planes differ."""
    strength = np.array([1.0, 0.6, 0.3])[PLANE]
    return {
        ("sky", "body"): 500.0 * strength,
        ("sky", "sheen"): 20.0,
        ("lamp", "body"): 700.0 * strength**2,
        ("lamp", "bounce"): 60.0,
        ("ground", "body"): 40.0,
        ("bounce", "sheen"): 3.0,
    }


def test_every_plane_has_a_row_with_its_place():
    scene = scene_of(mixed_light())
    scene.rotation = np.array([[0.0, 0.0, 1.0], [0.0, 1.0, 0.0], [-1.0, 0.0, 0.0]])  # turned by 90° to the left
    rows = plane_rows(scene)
    assert [(row.name, row.side) for row in rows] == [("front", "centre"), ("side", "left"), ("top", "right")]
    assert [row.normal for row in rows] == [pytest.approx(n, abs=1e-12) for n in ((1, 0, 0), (0, 0, -1), (0, 1, 0))]
    assert [row.area_mm2 for row in rows] == pytest.approx([6400.0] * 3)
    assert [row.visible for row in rows] == pytest.approx([1.0] * 3)
    assert rows[1].illuminance == pytest.approx({"direct": 500 * 0.6 + 700 * 0.36, "ground": 7.0, "bounced": 0.0})


def test_the_notations_of_a_row_are_one_colour():
    scene = scene_of(mixed_light())
    eye = resolve_eye(scene)
    for row in plane_rows(scene):
        assert row.Lab == pytest.approx(eye.Lab(np.array(row.XYZ)))
        shown = eye.with_key(eye.key).see(np.array(row.XYZ))
        assert np.abs(XYZ_from_hex(row.srgb) - shown).max() < 0.01 and row.in_srgb
        hue, value, chroma = parse_munsell(row.munsell)
        assert value == pytest.approx(row.Lab[0] / 10.0, abs=0.25)  # Munsell value is close to L* / 10
        assert 5.0 < hue < 30.0 and chroma > 0.5


def test_a_plane_is_the_mean_of_its_light_over_what_is_seen():
    first_row = (np.arange(COUNT) % SIDE**2) < SIDE
    sees = (PLANE != 0) | ((np.arange(COUNT) % SIDE**2) < 3 * SIDE)
    scene = scene_of({("sky", "body"): np.where(first_row, 900.0, 300.0)}, sees)
    row = plane_rows(scene)[0]
    area = HEAD.plane_weights.toarray()[0] * sees
    assert row.visible == pytest.approx(area.sum() / 6400.0) and 0.2 < row.visible < 0.4 and not row.hidden
    mean = area / area.sum() @ scene.XYZ
    assert pytest.approx(mean, rel=1e-6) == row.XYZ
    assert row.illuminance["direct"] < 400.0  # over the whole plane, where most gets 300


def test_a_hidden_plane_has_no_sheen_and_says_so():
    one_corner = np.zeros(COUNT, bool)
    one_corner[SIDE**2] = True
    lux = mixed_light() | {("sky", "sheen"): np.where(one_corner, 500.0, 0.0)}
    scene = scene_of(lux, (PLANE != 1) | one_corner)
    row = plane_rows(scene)[1]
    assert row.hidden and 0.0 < row.visible < 0.02
    assert row.shares["sheen"] == 0.0 and all(share == 0.0 for share in row.sheen_by_light.values())
    body = scene.part_XYZ[[part.path != "sheen" for part in scene.parts]].sum(0)
    mean = HEAD.plane_weights.toarray()[1] @ body / 6400.0
    assert pytest.approx(mean, rel=1e-6) == row.XYZ
    assert not plane_rows(scene)[0].hidden


def test_a_hidden_plane_is_freed_of_the_eye_s_angle():
    scene = scene_of({("sky", "body"): 300.0, ("lamp", "bounce"): 50.0}, PLANE != 1)
    before = plane_rows(scene)
    scene.toward_eye = np.full((COUNT, 1), 0.8)
    after = plane_rows(scene)
    assert np.array(before[1].XYZ) / 0.8 == pytest.approx(np.array(after[1].XYZ))
    assert after[0].XYZ == before[0].XYZ  # what is seen has the angle in it


def test_shares_are_of_luminance_and_add_up():
    for row in plane_rows(scene_of(mixed_light())):
        assert set(row.shares) == {"sky", "lamp", "ground", "bounce", "sheen"}
        assert sum(row.shares.values()) == pytest.approx(1.0)
        assert set(row.sheen_by_light) == {"sky", "lamp", "ground", "bounce"}
        assert sum(row.sheen_by_light.values()) == pytest.approx(row.shares["sheen"])
        assert set(row.bounce_by_light) == {"sky", "lamp", "ground"}
        assert sum(row.bounce_by_light.values()) == pytest.approx(row.shares["bounce"])
        assert row.sheen_by_light["sky"] > row.sheen_by_light["bounce"] > 0.0


def test_shares_of_note_and_greying_add_up_to_them():
    for row in plane_rows(scene_of(mixed_light())):
        for whole, shares in ((row.skylight_note, row.note_shares), (row.greying, row.greying_shares)):
            assert sum(share for paths in shares.values() for share in paths.values()) == pytest.approx(whole)
        assert row.note_shares["sky"]["body"] > 0.0 > row.note_shares["lamp"]["body"]
        assert row.note_shares["sky"]["sheen"] > 0.0
        assert set(row.note_shares) == {"sky", "lamp", "ground", "bounce"}


def test_the_own_colour_is_the_skin_under_the_card_s_light():
    scene = scene_of(mixed_light())
    rows = plane_rows(scene)
    assert rows[0].own_Lab == pytest.approx(resolve_eye(scene).Lab(scene.own_XYZ[0]))
    plain = plane_rows(scene_of({("ground", "body"): 1000.0, ("sky", "body"): 1e-9}))  # the card's light, no sheen
    assert delta_E00(plain[0].Lab, plain[0].own_Lab) == pytest.approx(0.0, abs=1e-3)
    assert plain[0].greying == pytest.approx(0.0, abs=1e-5)
    assert plain[0].skylight_note == pytest.approx(0.0, abs=1e-4)


def test_families_go_by_the_strongest_light_alone():
    assert [family_name(ratio) for ratio in (1.0, 0.5, 0.499, 0.15, 0.149, 0.0)] == [
        *("light", "light", "halftone", "halftone", "shadow", "shadow")
    ]
    scene = scene_of({("lamp", "body"): np.array([800.0, 200.0, 40.0])[PLANE], ("sky", "body"): 300.0})
    assert strongest_light(scene) == "lamp"
    assert irradiance_ratio(scene).max() == 1.0
    assert [row.family for row in plane_rows(scene)] == ["light", "halftone", "shadow"]


def halves(bright, dark):
    """Lux on the front plane: one half bright, one dark; 300 lux on the others."""
    far = (np.arange(COUNT) % SIDE**2) >= 5 * SIDE
    return np.where(PLANE != 0, 300.0, np.where(far, bright, dark))


def test_an_even_plane_is_one_stroke():
    row = plane_rows(scene_of(mixed_light()))[0]
    (target,) = row.targets
    assert target.part == "whole" and target.share_of_area == pytest.approx(1.0) and target.recipe is None
    assert target.Lab == row.Lab and target.munsell == row.munsell and row.spread < 0.01


def test_a_plane_that_light_and_shadow_share_is_two_strokes():
    row = plane_rows(scene_of({("lamp", "body"): halves(900.0, 90.0), ("sky", "body"): 30.0}))[0]
    assert row.spread > LARGEST_SPREAD
    lit, shadow = row.targets
    assert (lit.part, shadow.part) == ("lit", "shadow")
    assert lit.share_of_area + shadow.share_of_area == pytest.approx(1.0)
    assert lit.Lab[0] > row.Lab[0] > shadow.Lab[0]
    assert (lit.family, shadow.family) == ("light", "shadow")
    assert max(lit.spread, shadow.spread) < 0.3 * row.spread
    mean = lit.share_of_area * np.array(lit.XYZ) + shadow.share_of_area * np.array(shadow.XYZ)
    assert mean == pytest.approx(row.XYZ)
    assert shadow.shares["sky"] > lit.shares["sky"]


def test_a_small_step_is_not_worth_two_strokes():
    row = plane_rows(scene_of({("lamp", "body"): halves(500.0, 450.0)}))[0]
    assert 0.5 < row.spread < LARGEST_SPREAD and len(row.targets) == 1


def test_a_highlight_is_a_stroke_of_its_own():
    spot = (np.arange(COUNT) < 2 * SIDE) & (PLANE == 0)
    lux = {("lamp", "body"): 400.0, ("lamp", "sheen"): np.where(spot, 400.0, 4.0)}
    lit, highlight = plane_rows(scene_of(lux))[0].targets
    assert (lit.part, highlight.part) == ("lit", "highlight")
    assert 0.1 < highlight.share_of_area < 0.3
    assert highlight.shares["sheen"] > 0.6 > 0.1 > lit.shares["sheen"]


def test_light_shadow_and_highlight_are_three_strokes():
    spot = (np.arange(COUNT) >= 7 * SIDE) & (PLANE == 0)
    lux = {("lamp", "body"): halves(900.0, 90.0), ("lamp", "sheen"): np.where(spot, 700.0, 4.0)}
    row = plane_rows(scene_of(lux))[0]
    assert [target.part for target in row.targets] == ["lit", "shadow", "highlight"]
    assert sum(target.share_of_area for target in row.targets) == pytest.approx(1.0)


def test_sheen_all_over_a_plane_is_no_highlight():
    row = plane_rows(scene_of({("lamp", "body"): halves(500.0, 60.0), ("sky", "sheen"): 150.0}))[0]
    assert "highlight" not in [target.part for target in row.targets]


@pytest.mark.parametrize("observer", [2, 10])
@pytest.mark.parametrize("value", [3.0, 6.5, 9.0])
def test_a_key_gives_the_lightest_target_its_value(value, observer):
    lux = mixed_light() | {("lamp", "body"): halves(900.0, 20.0)}
    scene = scene_of(lux, eye=EyeSetting(adaptation=1.0, key=value, observer=observer))
    values = [parse_munsell(target.munsell)[1] for row in plane_rows(scene) for target in row.targets]
    assert max(values) == pytest.approx(value, abs=0.051)
    assert not any(row.above_white for row in plane_rows(scene))


def test_the_lightest_target_is_found_even_where_only_the_key_parts_it_from_the_rest():
    lux = {("lamp", "body"): np.where(PLANE == 0, halves(9.0, 2.0), 2.0)}
    assert [len(row.targets) for row in plane_rows(scene_of(lux))] == [1, 1, 1]
    rows = plane_rows(scene_of(lux, eye=EyeSetting(adaptation=1.0, key=8.0)))
    assert [target.part for target in rows[0].targets] == ["lit", "shadow"]
    assert parse_munsell(rows[0].targets[0].munsell)[1] == pytest.approx(8.0, abs=0.051)


def test_a_highlight_that_comes_and_goes_with_the_key_still_gets_the_value():
    spot, parted = np.arange(COUNT) < 2 * SIDE, set()
    for glint in np.linspace(20.0, 200.0, 19):
        lux = {("lamp", "body"): 300.0, ("lamp", "sheen"): np.where(spot, glint, 4.0)}
        scene = scene_of(lux, eye=EyeSetting(adaptation=1.0, key=4.0))
        values = [parse_munsell(target.munsell)[1] for row in plane_rows(scene) for target in row.targets]
        assert max(values) == pytest.approx(4.0, abs=0.051)
        parted.add(resolve_eye(scene).key.parting is not None)
    assert parted == {False, True}


def test_the_key_does_not_touch_the_notes():
    as_lit = plane_rows(scene_of(mixed_light()))
    keyed = plane_rows(scene_of(mixed_light(), eye=EyeSetting(adaptation=1.0, key=9.0)))
    for one, other in zip(as_lit, keyed, strict=True):
        assert other.Lab[0] > one.Lab[0] + 5.0
        assert (other.skylight_note, other.greying) == pytest.approx((one.skylight_note, one.greying))


def test_the_compressed_key_brings_a_wide_range_into_paint_and_leaves_the_order():
    lux = {("lamp", "body"): np.array([3000.0, 100.0, 2.0])[PLANE]}
    as_lit = plane_rows(scene_of(lux))
    pressed = plane_rows(scene_of(lux, eye=EyeSetting(adaptation=1.0, key="compressed")))
    assert as_lit[2].Lab[0] < 3.0 and pressed[2].Lab[0] > 10.0
    L = [row.Lab[0] for row in pressed]
    assert 100.0 > L[0] > L[1] > L[2]


def test_what_is_above_white_is_marked():
    rows = plane_rows(scene_of({("lamp", "body"): np.array([9000.0, 500.0, 500.0])[PLANE]}))
    assert rows[0].above_white and rows[0].munsell is None and not rows[0].in_srgb
    assert rows[0].targets[0].above_white and rows[0].srgb == "#ffffff"
    assert not rows[1].above_white and rows[1].munsell is not None


def test_munsell_is_for_two_degrees_whatever_the_observer():
    two, ten = (scene_of(mixed_light(), eye=EyeSetting(adaptation=1.0, observer=n)) for n in (2, 10))
    rows, tens = plane_rows(two), plane_rows(ten)
    assert [row.munsell for row in tens] == [row.munsell for row in rows]
    assert delta_E00(rows[0].Lab, tens[0].Lab) > 0.05
    assert two_degree_eye(ten, resolve_eye(ten)).card_XYZ == pytest.approx(two.card_XYZ)


def test_paint_has_to_give_the_colour_under_the_easel_s_light():
    for easel in ("D65", "D50", "A"):
        scene = scene_of(mixed_light(), easel=easel)
        row = plane_rows(scene)[0]
        eye = easel_eye(scene, resolve_eye(scene))
        assert row.paint_XYZ == pytest.approx(eye.see(np.array(row.XYZ)))
        assert eye.see(scene.card_XYZ) == pytest.approx(eye.white)


def test_where_no_light_comes_there_is_no_answer_and_never_a_nan():
    rows = plane_rows(scene_of({("lamp", "body"): np.array([500.0, 0.0, 500.0])[PLANE]}))
    black = rows[1]
    assert black.skylight_note is None and black.greying is None
    assert set(black.shares.values()) == {None}
    assert black.Lab == pytest.approx((0.0, 0.0, 0.0), abs=1e-6) and black.munsell == "N 0.0/"

    def numbers(value):
        if isinstance(value, dict):
            value = list(value.values())
        if isinstance(value, list | tuple):
            return [n for inner in value for n in numbers(inner)]
        return [value] if isinstance(value, float) else []

    for row in rows:
        assert np.isfinite(numbers(asdict(row))).all()
