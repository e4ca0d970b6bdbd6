"""How far light travels under a skin: shares, lengths, and the warm edge of a shadow."""

import numpy as np
import pytest
from plates import bank_of_skin, plate

from sitterlight.illuminants.catalogue import spectrum
from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.illuminants.observer import tristimulus
from sitterlight.meshes.regions import REGIONS
from sitterlight.shading import geometry, skin_bands
from sitterlight.shading.colour_spaces import D65_WHITE, Lab_from_XYZ
from sitterlight.shading.diffusion_bank import widths
from sitterlight.shading.ladder import LADDER, ladder_amounts
from sitterlight.shading.scene import light_scene
from sitterlight.shading.sitting import HeadSetting, LampLight, Sitting, SkinSetting, SurroundSetting
from sitterlight.shading.skin import (
    AMOUNTS,
    LIMITS,
    SkinAmounts,
    albedo,
    albedos,
    constants,
    dermis_absorption,
    dermis_reflectance,
    scattering_shape,
    under_epidermis,
)
from sitterlight.shading.skin_regions import CHANGES, amounts_by_region, region_amounts
from sitterlight.shading.under_skin import local_share, mean_square_radius, region_spread_weights, spread_weights


def at(nm: float) -> int:
    return int(np.flatnonzero(nm == WAVELENGTHS)[0])


def radius(amounts: SkinAmounts) -> np.ndarray:
    return np.sqrt(mean_square_radius(amounts))


@pytest.mark.parametrize("step", LADDER)
def test_weights_share_out_all_the_light_and_keep_its_mean_square_radius(step):
    amounts = ladder_amounts(step)
    weights = spread_weights(amounts)
    assert weights.shape == (len(widths()), 81)
    assert weights.min() >= 0
    assert weights.sum(axis=0) == pytest.approx(1.0, abs=1e-12)
    assert 4 * widths() ** 2 @ weights == pytest.approx(mean_square_radius(amounts), rel=1e-9)


def test_amounts_at_their_limits_share_out_all_the_light_too():
    random = np.random.default_rng(2)
    for _ in range(60):
        ends = {name: limits[random.integers(2)] for name, limits in LIMITS.items()}
        weights = spread_weights(SkinAmounts(**ends))
        assert np.isfinite(weights).all() and weights.min() >= 0
        assert weights.sum(axis=0) == pytest.approx(1.0, abs=1e-9)


def test_red_goes_farther_than_green_and_green_than_blue():
    for step in LADDER:
        r = radius(ladder_amounts(step))
        assert r[at(650)] > 2 * r[at(550)] > 2.4 * r[at(450)]
        assert (np.diff(r[at(600) : at(700)]) > 0).all()


def test_the_bands_of_blood_show_in_how_far_light_goes():
    """Blood rich in oxygen absorbs most at 542 and 577 nm and less between (Prahl's tables; widened in skin)."""
    r = radius(ladder_amounts(9))
    assert r[at(560)] > 1.03 * (r[at(545)] + r[at(575)]) / 2
    assert r[at(600)] > 1.6 * r[at(575)]


def test_the_deeper_a_skin_the_less_far_its_light_goes_at_every_wavelength():
    radii = np.stack([radius(ladder_amounts(step)) for step in LADDER])
    assert (np.diff(radii, axis=0) > 0).all()


def test_melanin_alone_shortens_the_way_and_keeps_more_light_local():
    base = ladder_amounts(6).as_dict()
    skins = [SkinAmounts(**(base | {"melanin": melanin})) for melanin in (0.0, 0.1, 0.3, 0.8)]
    assert (np.diff([radius(skin) for skin in skins], axis=0) < 0).all()
    assert (np.diff([local_share(skin) for skin in skins], axis=0) > 0).all()


def test_lengths_of_an_ordinary_fair_and_a_deep_skin():
    """Of the order of what is known: light under fair skin spreads by one to a few millimetres in the red, by some
    tenths in the blue."""
    fair, deep = radius(ladder_amounts(8)), radius(ladder_amounts(2))
    assert 2.0 < fair[at(650)] < 3.2 and 0.25 < fair[at(450)] < 0.5
    assert 1.3 < deep[at(650)] < 2.2 and deep[at(450)] < 0.1


def test_the_local_share_is_what_a_black_dermis_would_leave():
    amounts = ladder_amounts(5)
    black = amounts.as_array() * [1, 0, 1, 0, 1, 1, 0] + [0, 20, 0, 0, 0, 0, 10]  # much blood, darkest roots
    dark = albedos(black)[: at(430)]
    shallow = under_epidermis(amounts.as_array(), 0.0, constants())
    assert dark[at(410)] == pytest.approx(shallow[at(410)], rel=0.15)
    assert (shallow < albedo(amounts)).all() and (shallow[: at(430)] <= dark).all()
    assert local_share(amounts) == pytest.approx(shallow / albedo(amounts), rel=1e-6)


def test_roots_of_a_beard_stop_what_would_have_gone_far():
    plain = ladder_amounts(8)
    beard = SkinAmounts(**(plain.as_dict() | {"deep_melanin": 0.05}))
    assert (radius(beard) < radius(plain)).all()
    assert radius(beard)[at(700)] < 0.8 * radius(plain)[at(700)]
    assert radius(beard)[at(450)] > 0.97 * radius(plain)[at(450)]


def test_regions_have_their_own_and_what_is_no_skin_keeps_its_light():
    amounts = ladder_amounts(7)
    weights = region_spread_weights(amounts)
    assert weights.shape == (len(REGIONS), len(widths()), 81)
    for row, name in enumerate(REGIONS):
        if name in CHANGES:
            assert weights[row] == pytest.approx(spread_weights(region_amounts(amounts, name)), abs=1e-12)
        else:
            assert (weights[row, 0] == 1).all() and (weights[row, 1:] == 0).all()
    lips, cheek = REGIONS.index("lips"), REGIONS.index("cheek")
    assert widths() ** 2 @ weights[lips][:, at(550)] < widths() ** 2 @ weights[cheek][:, at(550)]


def test_without_regions_all_skin_is_plain():
    amounts = ladder_amounts(7)
    weights = region_spread_weights(amounts, regions=False)
    for row, name in enumerate(REGIONS):
        if name in CHANGES:
            assert weights[row] == pytest.approx(spread_weights(amounts), abs=1e-12)


# --- the shadow edge --------------------------------------------------------------------------------------------

IN_SHADOW = 0.1


def shadow_edge(step: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """x (V,) mm, areas (V,), and XYZ (V, 3) under D65 without and with light under the skin, of a plate of skin whose
    half x > 0 lies in shadow. XYZ of 1 is the white of the light."""
    vertices, faces = plate(60, 2, 0.25)
    bank = bank_of_skin(vertices, faces)
    light = np.where(vertices[:, :1] < 0, 1.0, IN_SHADOW)
    body = spectrum("D65").power * albedo(ladder_amounts(step))
    white = tristimulus(spectrum("D65").power)
    weights = bank.fold @ spread_weights(ladder_amounts(step))
    XYZ = np.einsum("wv,wc->vc", bank.spread(light)[..., 0], tristimulus(weights * body) / white[1])
    return vertices[:, 0], bank.area, light * tristimulus(body) / white[1], XYZ


def mean_Lab(XYZ: np.ndarray, x: np.ndarray, area: np.ndarray, start: float, end: float) -> np.ndarray:
    within = (x > start) & (x < end)
    return Lab_from_XYZ(np.average(XYZ[within], axis=0, weights=area[within]), D65_WHITE)


def own_at(XYZ: np.ndarray, L: float) -> np.ndarray:
    """Lab of the colour of XYZ (3,), brightened or darkened by light alone to lightness L."""
    low, high = 0.0, 100.0
    for _ in range(60):
        factor = (low + high) / 2
        low, high = (factor, high) if Lab_from_XYZ(factor * XYZ, D65_WHITE)[0] < L else (low, factor)
    return Lab_from_XYZ(factor * XYZ, D65_WHITE)


def test_on_the_plate_no_light_is_lost_or_won():
    _, area, sharp, soft = shadow_edge(8)
    assert area @ soft == pytest.approx(area @ sharp, rel=1e-5)


def test_just_inside_the_shadow_fair_skin_is_warmer_and_the_lit_side_gives_its_red():
    x, area, sharp, soft = shadow_edge(8)
    skin = sharp[0]
    shadow, before = mean_Lab(soft, x, area, 0.5, 2), mean_Lab(sharp, x, area, 0.5, 2)
    assert shadow[1] > before[1] + 4  # redder than the same place without light under the skin
    assert shadow[0] > before[0] + 1
    own = own_at(skin, shadow[0])
    assert shadow[1] > own[1] + 2  # and than the skin's own colour would be if as light
    assert np.hypot(*shadow[1:]) > np.hypot(*own[1:])
    lit = mean_Lab(soft, x, area, -2, -0.5)
    assert lit[1] < own_at(skin, lit[0])[1] - 0.5


def test_far_from_the_edge_nothing_changes():
    x, _, sharp, soft = shadow_edge(8)
    far = (np.abs(x) > 22) & (np.abs(x) < 28)
    assert soft[far] == pytest.approx(sharp[far], rel=0.004)


def test_the_edge_of_deep_skin_is_narrower():
    def width(step: int) -> float:
        """mm over which the luminance falls: the area between the soft edge and the hard one, of its height."""
        x, area, sharp, soft = shadow_edge(step)
        height = sharp[x < 0, 1].mean() - sharp[x > 0, 1].mean()
        return area @ np.abs(soft - sharp)[:, 1] / height / 2

    assert width(2) < width(5) < width(8)
    assert width(2) < 0.75 * width(8)


def test_compiled_layers_are_those_of_numpy():
    """The same formulas twice compiled: over all amounts that the model allows, with and without hair roots."""
    low, high = np.array(list(LIMITS.values())).T
    amounts = low + (high - low) * np.random.default_rng(3).random((400, len(low))) ** 3
    amounts[::2, -1] = 0
    np.testing.assert_allclose(skin_bands.albedos(amounts), albedos(amounts), rtol=1e-9)
    share, mean_square = skin_bands.in_the_dermis(amounts)
    np.testing.assert_allclose(share, 1 - under_epidermis(amounts, 0.0, constants()) / albedos(amounts), atol=1e-7)
    absorption, scattering = dermis_absorption(amounts, constants()), amounts[:, [AMOUNTS.index("scattering")]]
    less, more = (
        under_epidermis(amounts, dermis_reflectance(amounts, absorption + step, constants()), constants())
        for step in (-1e-5, 1e-5)
    )
    # What more absorption takes tells how long light was on its way; along it spreads as diffusion says, 4 D a length.
    wanted = (less - more) / 2e-5 / (share * albedos(amounts)) * 4 / 3
    wanted /= absorption + scattering * scattering_shape(constants())
    some = share > 1e-3
    np.testing.assert_allclose(mean_square[some], wanted[some], rtol=1e-4)


def test_what_is_remembered_of_a_skin_is_not_to_be_written_into():
    amounts = amounts_by_region(ladder_amounts(3))
    for remembered in (amounts, skin_bands.albedos(amounts), *skin_bands.in_the_dermis(amounts)):
        with pytest.raises(ValueError):
            remembered[0, 0] = 0.0


def _lamp_on_ball(under_skin: bool, ladder: int):
    geometry.forget()
    lamp = LampLight(azimuth=-70, elevation=10, size=0.5, illuminance=1000, spectrum="D65")
    skin = SkinSetting(ladder=ladder, oil=0.0, regions=False, under_skin=under_skin)
    bare = SurroundSetting(ground=0)
    return light_scene(Sitting(head=HeadSetting(mesh="sphere"), skin=skin, lights=(lamp,), surround=bare))


@pytest.mark.parametrize("ladder", [2, 8])
def test_light_under_the_skin_reddens_the_edge_of_shadow_and_loses_none(ladder):
    """Red goes farthest under the skin (Jensen et al. 2001 measured so), so just behind the edge of light red outlasts
    blue; what is returned in all stays the same."""
    on, off = (_lamp_on_ball(under_skin, ladder) for under_skin in (True, False))
    area = on.head.vertex_area
    assert (on.XYZ.T @ area) == pytest.approx(off.XYZ.T @ area, rel=2e-3)
    lit = off.XYZ[:, 1] > 0.3 * off.XYZ[:, 1].max()
    behind = (on.XYZ[:, 1] > 1e-3 * on.XYZ[:, 1].max()) & (off.XYZ[:, 1] < 0.02 * off.XYZ[:, 1].max())
    assert behind.sum() > 10
    ratio = [np.sum(on.XYZ[where, 0]) / np.sum(on.XYZ[where, 2]) for where in (behind, lit)]
    assert ratio[0] > 1.05 * ratio[1]
