"""Light of a lamp that skin mirrors to skin: a right-angled groove, against paths traced at random, written here.

A groove sends light back to where it came from by way of both its walls. What reaches the eye after two mirrors, and
what enters the bodies after one, is in the calculation; what is mirrored once more is not, and small.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from solids import sitting_of, write_groove

from sitterlight.shading.glints import Glints
from sitterlight.shading.reflected_skin import Looked
from sitterlight.shading.sitting import EyeSetting, LampLight, SkinSetting, SurroundSetting
from sitterlight.shading.staging import Setup

WIDTH, LONG, LUX = 60.0, 600.0, 1000.0
LAMP = LampLight(azimuth=0, elevation=75, size=12, illuminance=LUX, spectrum="E")
EYE = EyeSetting(azimuth=0, elevation=70, distance=1500)
INDEX = 1.4
TOP = WIDTH / np.sqrt(2)
PATHS = 100_000
HEIGHTS = WIDTH / np.sqrt(2) * np.array([0.3, 0.55, 0.8])


def _toward(elevation: float) -> np.ndarray:
    return np.array([0.0, np.sin(np.radians(elevation)), np.cos(np.radians(elevation))])


def _brdf(to_light: np.ndarray, to_eye: np.ndarray, normal: np.ndarray, roughness: float) -> np.ndarray:
    """GGX facets of a dielectric with Smith's height-correlated masking, by angles (Walter et al. 2007, equations 20 to
    33; Heitz 2014, equation 99)."""
    half = to_light + to_eye
    half /= np.maximum(np.linalg.norm(half, axis=-1, keepdims=True), 1e-9)
    light, eye, facet = ((each * normal).sum(-1) for each in (to_light, to_eye, half))
    above = (light > 1e-6) & (eye > 1e-6)
    light, eye = np.maximum(light, 1e-6), np.maximum(eye, 1e-6)
    within = np.arccos(np.clip((half * to_light).sum(-1), 0, 1))
    bent = np.arcsin(np.sin(within) / INDEX)
    across = (np.sin(within - bent) / np.maximum(np.sin(within + bent), 1e-9)) ** 2
    along = (np.tan(within - bent) / np.where(within < 1e-3, 1.0, np.tan(within + bent))) ** 2
    mirrored = np.where(within < 1e-3, ((INDEX - 1) / (INDEX + 1)) ** 2, (across + along) / 2)
    tangent = 1 / np.maximum(facet, 1e-6) ** 2 - 1
    facets = roughness**2 / (np.pi * np.maximum(facet, 1e-6) ** 4 * (roughness**2 + tangent) ** 2)
    hidden = sum((np.sqrt(1 + roughness**2 * (1 / cosine**2 - 1)) - 1) / 2 for cosine in (light, eye))
    return np.where(above, mirrored * facets / (1 + hidden) / (4 * light * eye), 0.0)


class _Paths:
    """Paths backward from a place of that height on the wall that is turned toward the lamp."""

    def __init__(self, roughness: float, height: float, lamp: LampLight):
        self.roughness, self.lamp, self.random = roughness, lamp, np.random.default_rng(7)
        self.place = np.broadcast_to([0.0, height, -height], (PATHS, 3))
        self.normal = np.array([[0.0, 1.0, 1.0], [0.0, 1.0, -1.0]]) / np.sqrt(2)

    def toward_eye(self, mirrors: int) -> np.ndarray:
        """cd/m² toward the eye after 1, 2, … `mirrors`."""
        eye = EYE.distance * _toward(EYE.elevation) - self.place
        return self._followed(mirrors, self.place, eye / np.linalg.norm(eye, axis=1, keepdims=True), np.ones(PATHS), 0)

    def entering(self, mirrors: int, kept: np.ndarray) -> np.ndarray:
        """Lux that enter the body after 1, 2, … `mirrors` before; `kept (N,)`: what its sheen keeps from it, at even
        cosines from 0 to 1."""
        way = self._onward(self.normal[0])
        through = 1 - np.interp(way @ self.normal[0], np.linspace(0, 1, len(kept)), kept)
        place, is_met = self._met(self.place, way, 0)
        return self._followed(mirrors, place, -way, np.pi * through * is_met, 1)

    def _followed(self, mirrors: int, place, to_eye, share, wall: int) -> np.ndarray:
        orders = []
        for _ in range(mirrors):
            normal = self.normal[wall]
            orders.append((share * self._lamp(normal, to_eye)).mean())
            way = self._onward(normal)
            share = share * np.pi * _brdf(way, to_eye, normal, self.roughness)
            place, is_met = self._met(place, way, wall)
            share, to_eye, wall = share * is_met, -way, 1 - wall
        return np.array(orders)

    def _lamp(self, normal: np.ndarray, to_eye: np.ndarray) -> np.ndarray:
        """What a random place of the lamp sends straight to a wall and this on; both walls see all of the lamp."""
        edge = np.cos(np.radians(self.lamp.size / 2))
        axis, across = _toward(self.lamp.elevation), np.array([1.0, 0.0, 0.0])
        cosine, turn = 1 - self.random.random(PATHS) * (1 - edge), 2 * np.pi * self.random.random(PATHS)
        aside = np.cos(turn)[:, None] * across + np.sin(turn)[:, None] * np.cross(axis, across)
        to_lamp = cosine[:, None] * axis + np.sqrt(1 - cosine**2)[:, None] * aside
        light = np.maximum(to_lamp @ normal, 0) * LUX / ((1 + edge) / 2)
        return light * _brdf(to_lamp, to_eye, normal, self.roughness)

    def _onward(self, normal: np.ndarray) -> np.ndarray:
        """A random direction, as often as its cosine to the normal."""
        sphere = self.random.normal(size=(PATHS, 3))
        way = normal + sphere / np.linalg.norm(sphere, axis=1, keepdims=True)
        return way / np.linalg.norm(way, axis=1, keepdims=True)

    def _met(self, place: np.ndarray, way: np.ndarray, wall: int) -> tuple[np.ndarray, np.ndarray]:
        """Where the other wall is met, and whether it is."""
        normal = self.normal[1 - wall]
        slope = np.minimum(way @ normal, -1e-9)
        met = place - (place @ normal / slope)[:, None] * way
        inside = (met[:, 1] > 0) & (met[:, 1] < WIDTH / np.sqrt(2)) & (np.abs(met[:, 0]) < LONG / 2)
        return met, inside & (slope < -1e-9)


def _groove(tmp_path, roughness: float, lamp: LampLight) -> Setup:
    skin = SkinSetting(roughness=roughness, oil=1.0, regions=False, under_skin=False)
    about = {"skin": skin, "lights": (lamp,), "surround": SurroundSetting(ground=0), "eye": EYE}
    return Setup.of(sitting_of(tmp_path, write_groove(tmp_path, WIDTH, LONG), **about))


@pytest.mark.parametrize("roughness, size, within", [(0.25, 12.0, 0.08), (0.5, 12.0, 0.08), (0.15, 30.0, 0.12)])
def test_what_two_walls_of_skin_mirror_of_a_lamp(tmp_path, roughness, size, within):
    """At each of three heights within the coarseness of 768 directions; over all three within 8 %, of which 2 % are the
    noise of the paths; within 12 % where the lamp is broad beside the roughness, for which its width stands in."""
    lamp = replace(LAMP, size=size)
    setup = _groove(tmp_path, roughness, lamp)
    lux, places = setup.sources[0].luminance_of_basis[0], setup.head.vertices
    field, look, kept = setup.stage.light_field(setup.sources[0]), setup.look, setup.stage.gloss.albedo[0]
    known = [look.sheen[:, 0], look.glints[:, 0], field.mirrored[:, 0]]
    ours, traced = [], []
    for height in HEIGHTS:
        off = np.abs(places[:, 1] - height) + 1000 * ((np.abs(places[:, 0]) > 40) | (places[:, 2] > 0))
        there = off < off.min() + 0.1
        paths = _Paths(roughness, places[there, 1].mean(), lamp)
        once, twice, thrice = paths.toward_eye(3)
        entered, again = paths.entering(2, kept)
        assert thrice < 0.01 * twice and again < 0.01 * entered, "what the calculation leaves out is small"
        ours.append([lux * values[there].mean() for values in known])
        traced.append([once, twice, entered])
    ours, traced = np.array(ours), np.array(traced)
    assert ours[:, 0] == pytest.approx(traced[:, 0], rel=0.01)
    assert ours[:, 1:] == pytest.approx(traced[:, 1:], rel=0.25)
    assert ours.sum(axis=0) == pytest.approx(traced.sum(axis=0), rel=within)


def test_a_place_mirrors_by_its_own_oil_and_roughness(tmp_path):
    """Twice as oily, twice the light; roughness of each place by itself: as where all are as rough as it. What is as
    rough as can be is not made rougher by the width of the lamp."""
    setup = _groove(tmp_path, 0.3, LAMP)
    stage, patch = setup.stage, setup.stage.place_of(setup.sources[0])
    plain, start = stage.light_field(setup.sources[0]).plain, stage.transfer.start
    random = np.random.default_rng(3)
    oil, is_rough = random.random((2, len(stage.head.vertices)), dtype=np.float32)
    # Each vertex looks along one of its blocked directions at a time, where it has any.
    looks = start[:-1] < start[1:]
    begins = np.concatenate([[0], np.cumsum(looks)])
    chosen = (start[:-1] + np.diff(start) * random.random((12, len(looks)))).astype(np.int32)[:, looks]
    hit, back = stage.transfer.hit[chosen], stage.exchange.paths.back

    def mirrored(roughness, patch=patch, **gloss):
        surface = replace(stage.gloss, roughness=np.broadcast_to(np.float32(roughness), oil.shape).copy(), **gloss)
        glints = Glints.of(stage.head, surface, patch, plain)
        each = (Looked(begins, back[entry], np.ones(len(entry), np.float32)) for entry in chosen)
        return np.array([glints.seen(stage.transfer, stage.exchange, looked)[looks, 0] for looked in each])

    smooth, rough = mirrored(0.3), mirrored(0.6)
    assert (smooth > 0).sum() > 1000
    assert np.allclose(mirrored(0.3, oil=oil * stage.gloss.oil), smooth * oil[hit], rtol=1e-5, atol=0)
    mixed = np.where(is_rough > 0.5, 0.6, 0.3)
    assert np.array_equal(mirrored(mixed), np.where(is_rough[hit] > 0.5, rough, smooth))
    assert np.array_equal(mirrored(1.0), mirrored(1.0, replace(patch, spread=0.0)))
    assert (mirrored(0.6, replace(patch, spread=1.0)) != rough).any()
    # Behind the edge of sight shares run on below nothing, and mirror nothing twice.
    below = Looked(begins, back[chosen[0]], np.full(len(chosen[0]), -1, np.float32))
    glints = Glints.of(stage.head, stage.gloss, patch, plain)
    assert (glints.seen(stage.transfer, stage.exchange, below) == 0).all()


def test_each_spectrum_of_a_light_is_mirrored_by_itself(tmp_path):
    """A patch of three basis spectra, as a window has, gives what three of one each would."""
    setup = _groove(tmp_path, 0.3, LAMP)
    stage, patch = setup.stage, setup.stage.place_of(setup.sources[0])
    plain = stage.light_field(setup.sources[0]).plain * np.float32([1.0, 0.25, 3.0])
    plain[::3, 0] = 0  # a spectrum may reach a place that another doesn't
    both = stage.transfer, stage.exchange
    together = Glints.of(stage.head, stage.gloss, patch, plain).entering(*both)
    for k in range(3):
        alone = Glints.of(stage.head, stage.gloss, patch, np.ascontiguousarray(plain[:, k : k + 1])).entering(*both)
        assert alone.max() > 0 and together[:, k] == pytest.approx(alone[:, 0], rel=1e-5, abs=1e-6 * float(alone.max()))
