"""Observer, illuminants and colour temperature against CIE 15 and colour-science."""

from __future__ import annotations

import colour
import numpy as np
import pytest
from colour.colorimetry import sd_to_XYZ_ASTME308
from colour.temperature import CCT_to_xy_CIE_D, uv_to_CCT_Ohno2013

from sitterlight.illuminants.catalogue import names, spectrum
from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.illuminants.observer import KM, colour_matching, luminous, tristimulus
from sitterlight.illuminants.tables import table
from sitterlight.illuminants.temperature import (
    cct_and_duv,
    ccts_and_duvs,
    daylight,
    daylight_basis,
    daylight_weights,
    planckian,
)

# CIE 15:2004, tables T.3 and T.6, and CIE 15:2018, LED illuminants: x, y for the 2° observer.
WHITE_POINTS = {
    "A": (0.44758, 0.40745),
    "C": (0.31006, 0.31616),
    "D50": (0.34567, 0.35851),
    "D55": (0.33243, 0.34744),
    "D65": (0.31272, 0.32903),
    "D75": (0.29903, 0.31488),
    "FL1": (0.3131, 0.3371),
    "FL2": (0.3721, 0.3751),
    "FL3": (0.4091, 0.3941),
    "FL4": (0.4402, 0.4031),
    "FL5": (0.3138, 0.3452),
    "FL6": (0.3779, 0.3882),
    "FL7": (0.3129, 0.3292),
    "FL8": (0.3458, 0.3586),
    "FL9": (0.3741, 0.3727),
    "FL10": (0.3458, 0.3588),
    "FL11": (0.3805, 0.3769),
    "FL12": (0.4370, 0.4042),
    "LED-B1": (0.4560, 0.4078),
    "LED-B2": (0.4357, 0.4012),
    "LED-B3": (0.3756, 0.3723),
    "LED-B4": (0.3422, 0.3502),
    "LED-B5": (0.3118, 0.3236),
    "LED-BH1": (0.4474, 0.4066),
    "LED-RGB1": (0.4557, 0.4211),
    "LED-V1": (0.4548, 0.4044),
    "LED-V2": (0.3781, 0.3775),
}

# CIE 15:2004, table T.6 (FL) and CIE 15:2018 (LED): CCT in K.
TEMPERATURES = {
    "FL1": 6430,
    "FL2": 4230,
    "FL3": 3450,
    "FL4": 2940,
    "FL5": 6350,
    "FL6": 4150,
    "FL7": 6500,
    "FL8": 5000,
    "FL9": 4150,
    "FL10": 5000,
    "FL11": 4000,
    "FL12": 3000,
    "LED-B1": 2733,
    "LED-B2": 2998,
    "LED-B3": 4103,
    "LED-B4": 5109,
    "LED-B5": 6598,
    "LED-BH1": 2851,
    "LED-RGB1": 2840,
    "LED-V1": 2724,
    "LED-V2": 4070,
}

CHART_LIGHTS = ("A", "D65", "LED-B1", "FL11")


def xy(power: np.ndarray, observer: int = 2) -> np.ndarray:
    XYZ = tristimulus(power, observer)
    return XYZ[:2] / XYZ.sum()


@pytest.mark.parametrize(("name", "expected"), WHITE_POINTS.items())
def test_white_points_of_cie_15(name: str, expected: tuple[float, float]) -> None:
    digits = 5 if name[0] in "ACD" else 4
    assert xy(spectrum(name).power) == pytest.approx(expected, abs=0.51 * 10**-digits + 5e-6)


@pytest.mark.parametrize("observer", [2, 10])
def test_white_points_of_colour_science(observer: int) -> None:
    title = {2: "CIE 1931 2 Degree", 10: "CIE 1964 10 Degree"}[observer]
    published = colour.CCS_ILLUMINANTS[f"{title} Standard Observer"]
    for name in table("illuminants"):
        if observer == 10 and name.startswith("FL"):
            continue  # their 10° values there come from spectra interpolated to 1 nm
        # D50 and others are rounded to four digits there.
        assert xy(spectrum(name).power, observer) == pytest.approx(published[name], abs=2e-4), name


def test_the_observers_are_those_of_colour_science() -> None:
    for observer, title in ((2, "CIE 1931 2 Degree"), (10, "CIE 1964 10 Degree")):
        reference = colour.MSDS_CMFS[f"{title} Standard Observer"]
        assert colour_matching(observer) == pytest.approx(reference[WAVELENGTHS], abs=1e-9)
    with pytest.raises(ValueError, match="2 or 10"):
        colour_matching(5)


def test_one_watt_at_555_nm_is_683_lumens() -> None:
    line = np.where(WAVELENGTHS == 555, 1 / 5.0, 0.0)
    assert luminous(line) == pytest.approx(KM, rel=1e-6)


@pytest.mark.filterwarnings("ignore::colour.utilities.ColourRuntimeWarning")
@pytest.mark.parametrize("light", CHART_LIGHTS)
@pytest.mark.parametrize("observer", [2, 10])
def test_chart_of_iso_17321_1_as_astm_e308_sums_it(light: str, observer: int) -> None:
    title = {2: "CIE 1931 2 Degree", 10: "CIE 1964 10 Degree"}[observer]
    practice = colour.MSDS_CMFS[f"{title} Standard Observer"]
    ours = practice.copy().align(colour.SpectralShape(380, 780, 5))
    illuminant = colour.SDS_ILLUMINANTS[light]
    power = spectrum(light).power
    white = tristimulus(power, observer)[1]
    for name, patch in colour.SDS_COLOURCHECKERS["ISO 17321-1"].items():
        found = tristimulus(power * patch[WAVELENGTHS], observer) / white
        # Its practice starts at 360 nm, ours at 380 nm: 3e-5 of the white at most.
        assert found == pytest.approx(sd_to_XYZ_ASTME308(patch, practice, illuminant) / 100, abs=3e-5), name
        same_range = sd_to_XYZ_ASTME308(patch, ours, illuminant, use_practice_range=False)
        assert 100 * found == pytest.approx(same_range, abs=1e-4), name


@pytest.mark.parametrize(("name", "kelvin"), TEMPERATURES.items())
def test_temperatures_of_cie_15(name: str, kelvin: float) -> None:
    cct, duv = cct_and_duv(tristimulus(spectrum(name).power))
    # FL values are rounded to 10 K there.
    assert cct == pytest.approx(kelvin, abs=1 if name.startswith("LED") else 6)
    assert abs(duv) < 0.02


def test_temperatures_of_ohno_2013_in_colour_science() -> None:
    XYZ = np.stack([tristimulus(spectrum(name).power) for name in names()])
    XYZ = np.vstack([XYZ, [tristimulus(daylight(t)) for t in (4000, 7000, 12000, 20000)]])
    found, found_duv = ccts_and_duvs(XYZ)
    for index, one in enumerate(XYZ):
        total = one @ [1, 15, 3]
        expected, duv = uv_to_CCT_Ohno2013(np.array([4 * one[0], 6 * one[1]]) / total)
        # Its locus is summed over another range of wavelengths: 1.5 K at 6500 K, 48 K at 20 000 K.
        assert 1e6 / found[index] == pytest.approx(1e6 / expected, abs=0.15)
        assert found_duv[index] == pytest.approx(duv, abs=3e-5)


def test_temperature_and_duv_recover_what_made_a_colour() -> None:
    for kelvin in (1100, 2000, 2856, 6500, 15000, 60000):
        XYZ = tristimulus(planckian(min(kelvin, 25000)))
        assert cct_and_duv(XYZ)[0] == pytest.approx(min(kelvin, 25000), rel=1e-7)
    # Moved off the locus at right angles, the CCT stays and the distance is the Duv.
    for duv in (-0.03, -0.004, 0.01, 0.045):
        near, far = (tristimulus(planckian(t)) for t in (3999.5, 4000.5))
        (u1, v1), (u2, v2) = (np.array([4 * c[0], 6 * c[1]]) / (c @ [1, 15, 3]) for c in (near, far))
        along = np.array([u2 - u1, v2 - v1]) / np.hypot(u2 - u1, v2 - v1)
        u, v = np.array([(u1 + u2) / 2, (v1 + v2) / 2]) + duv * np.array([along[1], -along[0]])
        bottom = 2 * u - 8 * v + 4
        cct, found = cct_and_duv(np.array([3 * u, 2 * v]) / bottom)
        assert cct == pytest.approx(4000, abs=0.1)
        assert found == pytest.approx(duv, abs=1e-6)


def test_no_temperature_where_it_means_nothing() -> None:
    assert cct_and_duv(np.array([0.3, 0.6]))[0] is None
    assert cct_and_duv(np.array([0.3, 0.6]))[1] > 0.05
    assert cct_and_duv(np.array([0.2, 0.2]))[0] is None
    assert cct_and_duv(np.zeros(3)) == (None, 0.0)


@pytest.mark.parametrize("kelvin", [4000, 5000, 6504, 7000, 9000, 15000, 20000, 25000])
def test_daylight_has_the_chromaticity_that_defines_it(kelvin: float) -> None:
    # Judd, MacAdam and Wyszecki's components reach the defined x, y within their rounding.
    assert xy(daylight(kelvin)) == pytest.approx(CCT_to_xy_CIE_D(kelvin), abs=3e-4)
    assert cct_and_duv(tristimulus(daylight(kelvin)))[0] == pytest.approx(kelvin, rel=0.003)
    assert luminous(daylight(kelvin)) == pytest.approx(1)


@pytest.mark.parametrize(("name", "nominal"), [("D50", 5000), ("D55", 5500), ("D65", 6500), ("D75", 7500)])
def test_daylight_reproduces_the_tabulated_d_series(name: str, nominal: float) -> None:
    # CIE 15: c2 was changed after the D series was named, so D65 is 6504 K.
    made = daylight(nominal * 1.4388 / 1.4380)
    assert made == pytest.approx(spectrum(name).power, rel=1.5e-3)


def test_daylight_weights_are_vectorised_and_bounded() -> None:
    weights = daylight_weights(np.array([[5000.0, 10000.0], [20000.0, 25000.0]]))
    assert weights.shape == (2, 2, 3)
    assert weights[1, 0] @ daylight_basis() == pytest.approx(daylight(20000))
    for wrong in (3999.0, 25001.0, np.nan):
        with pytest.raises(ValueError, match="4000 K to 25000 K"):
            daylight_weights(np.array([6000.0, wrong]))
    with pytest.raises(ValueError, match="1000 K to 25000 K"):
        planckian(900)


def test_illuminant_a_is_planckian_at_2856_kelvin() -> None:
    # CIE 15: A is defined with c2 = 1.435e-2 at 2848 K, which is 2855.5 K today.
    cct, duv = cct_and_duv(tristimulus(spectrum("A").power))
    assert cct == pytest.approx(2848 * 1.4388 / 1.435, abs=0.2)
    assert abs(duv) < 1e-6
    assert planckian(2855.54) == pytest.approx(spectrum("A").power, rel=1e-4)
