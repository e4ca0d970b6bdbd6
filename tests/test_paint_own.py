"""Paints from one's own swatches, and the files that hold them."""

import numpy as np
import pytest

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.shading.colour_spaces import Lab_from_XYZ, delta_E00, hex_from_XYZ
from sitterlight.shading.mixing import Lab_under, mix_Lab, mix_reflectance, viewing_light
from sitterlight.shading.munsell import munsell_under_D65
from sitterlight.shading.own_paint import Sample, least_of_two, paint_from_samples
from sitterlight.shading.paint_file import describe_paint_file, read_paint_file
from sitterlight.shading.paints import PaintError, paint, paints
from sitterlight.shading.recipes import recipes_for
from sitterlight.shading.smooth_reflectance import smooth_reflectance

WHITE = paint("PW6")
D65 = viewing_light("D65")


def swatches(name, *tints):
    tube = (paint(name), WHITE)
    return [Sample(p, w, mix_reflectance([p, w], tube)) for p, w in tints]


@pytest.mark.parametrize("name", ["PR101 transparent", "PB29", "PY43", "PV23", "PG17", "PBr7 burnt umber", "PY74"])
@pytest.mark.parametrize("tints", [((1, 0), (1, 9)), ((1, 0), (1, 1), (1, 9), (1, 30)), ((1, 2), (1, 20))])
def test_inversion_of_synthetic_paints(name, tints):
    own = paint_from_samples(swatches(name, *tints), WHITE, "x").paint
    one = paint(name)
    seen = (WAVELENGTHS >= 400) & (WAVELENGTHS <= 740)
    np.testing.assert_allclose(own.K[seen], one.K[seen], rtol=1e-3, atol=1e-3 * one.K.max())
    np.testing.assert_allclose(own.S[seen], one.S[seen], rtol=1e-2, atol=1e-3)
    for parts in ([1, 0], [1, 4], [1, 40]):
        assert delta_E00(mix_Lab(parts, (own, WHITE), D65), mix_Lab(parts, (one, WHITE), D65)) < 0.05


def test_confidence_follows_the_swatches():
    assert paint_from_samples(swatches("PY43", (1, 0), (1, 9)), WHITE, "x").confidence == "sure"
    alone = paint_from_samples(swatches("PY43", (1, 0)), WHITE, "x")
    assert alone.confidence == "a rough guess" and "tint" in alone.why
    good, other = swatches("PY43", (1, 0), (1, 9), (1, 3))[:2], swatches("PB29", (1, 3))
    odd = paint_from_samples([*good, *other], WHITE, "x")
    assert odd.confidence == "a rough guess" and odd.misfit > 4


def test_noise_is_felt():
    rng = np.random.default_rng(2)
    clean = swatches("PBr7 burnt sienna", (1, 0), (1, 3), (1, 12))
    noisy = [Sample(s.paint, s.white, np.clip(s.reflectance + rng.normal(0, 0.004, 81), 0, 1)) for s in clean]
    own = paint_from_samples(noisy, WHITE, "x")
    assert own.uncertainty > 0
    one = paint("PBr7 burnt sienna")
    assert delta_E00(mix_Lab([1, 5], (own.paint, WHITE), D65), mix_Lab([1, 5], (one, WHITE), D65)) < 1.5


def test_no_samples_and_lone_tints_are_errors():
    with pytest.raises(PaintError, match="no sample"):
        paint_from_samples([], WHITE, "x")
    with pytest.raises(PaintError, match="one tint only"):
        paint_from_samples(swatches("PB29", (1, 5)), WHITE, "x")


@pytest.mark.parametrize("Lab", [(50, 0, 0), (36, 26, 24), (80, -5, 70), (20, 20, -40), (92, 1, 4), (8, 3, 2)])
def test_smooth_reflectance_has_the_colour(Lab):
    from sitterlight.shading.colour_spaces import XYZ_from_Lab

    R = smooth_reflectance(XYZ_from_Lab(np.array(Lab, float)))
    assert (R > 0).all() and (R < 1).all()
    np.testing.assert_allclose(Lab_from_XYZ(R @ D65.XYZ), Lab, atol=1e-4)


def test_smooth_reflectance_refuses_what_no_surface_has():
    from sitterlight.shading.colour_spaces import XYZ_from_Lab

    with pytest.raises(ValueError, match="vivid"):
        smooth_reflectance(XYZ_from_Lab(np.array([60.0, -180.0, 150.0])))


def write_spectra(folder, name, gloss=0.04):
    for file, parts in (("mass.csv", [1, 0]), ("tint.csv", [1, 9])):
        R = mix_reflectance(parts, (paint(name), WHITE)) + gloss
        (folder / file).write_text("\n".join(f"{w:g},{r:.7f}" for w, r in zip(WAVELENGTHS, R, strict=True)))


SPECTRAL = """format = "sitterlight-paint/1"
name = "my earth"
pigment = "PR102"
[[sample]]
paint = 1
reflectance = "mass.csv"
[[sample]]
paint = 1
white = 9
reflectance = "tint.csv"
"""


def test_a_file_of_spectra(tmp_path):
    write_spectra(tmp_path, "PR102")
    (tmp_path / "earth.toml").write_text(SPECTRAL)
    own = read_paint_file(tmp_path / "earth.toml")
    assert own.paint.id == "PR102 my earth" and own.confidence == "sure"
    light = viewing_light("D50")
    a, b = (mix_Lab([1, 3], (p, WHITE), light) for p in (own.paint, paint("PR102")))
    assert delta_E00(a, b) < 0.05
    assert "my earth" in describe_paint_file(tmp_path / "earth.toml")


def test_a_palette_may_hold_a_file(tmp_path):
    write_spectra(tmp_path, "PR102")
    (tmp_path / "earth.toml").write_text(SPECTRAL)
    palette = paints(("PW6", "earth.toml"), tmp_path)
    target = mix_Lab([3, 2], palette, viewing_light("D50"))
    recipe = recipes_for(target[None], palette)[0]
    assert recipe.delta_e < 0.1
    assert {p.paint for p in recipe.parts} == {"PW6", "PR102 my earth"}


def test_a_file_of_colours(tmp_path):
    one = paint("PR102")
    mass, tint = (mix_Lab(parts, (one, WHITE), D65) for parts in ([1, 0], [1, 9]))
    tint_XYZ = mix_reflectance([1, 9], (one, WHITE)) @ D65.XYZ
    (tmp_path / "earth.toml").write_text(
        f"""format = "sitterlight-paint/1"
name = "swatches"
[[sample]]
paint = 1
colour = {{Lab = [{mass[0]}, {mass[1]}, {mass[2]}], light = "D65"}}
[[sample]]
paint = 1
white = 9
colour = {{srgb = "{hex_from_XYZ(tint_XYZ)}"}}
"""
    )
    own = read_paint_file(tmp_path / "earth.toml")
    assert own.confidence != "sure" and "another light" in own.why
    for parts in ([1, 0], [1, 3], [1, 9]):
        assert delta_E00(mix_Lab(parts, (own.paint, WHITE), D65), mix_Lab(parts, (one, WHITE), D65)) < 4
    munsell = (
        (tmp_path / "earth.toml")
        .read_text()
        .replace(f'srgb = "{hex_from_XYZ(tint_XYZ)}"', f'munsell = "{munsell_under_D65(tint)}"')
    )
    (tmp_path / "other.toml").write_text(munsell)
    also = read_paint_file(tmp_path / "other.toml")
    assert delta_E00(Lab_under(mix_reflectance([1, 9], (also.paint, WHITE)), D65), tint) < 2


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("sitterlight-paint/1", "other/2"), "format"),
        (('name = "my earth"', "name = 3"), "name"),
        (("white = 9", 'white = "much"'), "white"),
        (("white = 9", "white = -1"), "white"),
        (("pigment", "pigmnt"), "pigmnt"),
        (('reflectance = "tint.csv"', ""), "either reflectance"),
        (('reflectance = "tint.csv"', "colour = {Lab = [1, 2]}"), "Lab"),
        (('reflectance = "tint.csv"', 'colour = {Lab = [50, 0, 0], srgb = "#888888"}'), "colour"),
        (('reflectance = "tint.csv"', 'reflectance = "none.csv"'), "none.csv"),
        (('reflectance = "tint.csv"', 'reflectance = "//host/share/tint.csv"'), "on this computer"),
        (('reflectance = "tint.csv"', 'reflectance = "tint.csv"\nsheen_included = 1'), "sheen_included"),
        (("[[sample]]", "[sample]"), "TOML"),
        (('pigment = "PR102"', 'white = "PBr7"'), "PBr7 raw umber"),
        (("paint = 1\nwhite", "paint = 0\nwhite"), "no paint"),
    ],
)
def test_a_bad_file_is_told_in_one_sentence(tmp_path, change, told):
    write_spectra(tmp_path, "PR102")
    path = tmp_path / "earth.toml"
    path.write_text(SPECTRAL.replace(*change))
    with pytest.raises(PaintError) as error:
        read_paint_file(path)
    text = str(error.value)
    assert text.startswith(str(path)) and told in text and "\n" not in text


def test_a_missing_file_is_told():
    with pytest.raises(PaintError, match="nowhere"):
        paint("nowhere.toml")


@pytest.mark.parametrize(
    ("content", "fault"),
    [("", "is empty"), (".".join("a" * 2000) + " = 1", "more than 20 parts"), ("#" * 200_000, "larger than")],
)
def test_hostile_paint_files_get_one_sentence(tmp_path, content, fault):
    from sitterlight.shading.paint_file import describe_paint_file

    path = tmp_path / "tube.toml"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(ValueError, match=fault) as problem:
        describe_paint_file(path)
    assert str(path) in str(problem.value)
    assert "\n" not in str(problem.value)


def test_two_amounts_that_may_not_be_negative_are_those_of_scipy():
    from scipy.optimize import nnls

    chance = np.random.default_rng(5)
    first, second, right = chance.normal(size=(3, 4, 300))
    second[:, :20] = first[:, :20] * chance.uniform(0.5, 2, 20)  # the same direction twice
    x, y = least_of_two(first, second, right)
    for k in range(300):
        matrix = np.stack([first[:, k], second[:, k]], axis=1)
        left = np.linalg.norm(matrix @ (x[k], y[k]) - right[:, k])
        assert left == pytest.approx(nnls(matrix, right[:, k])[1], abs=1e-9)
    assert min(x.min(), y.min()) >= 0
