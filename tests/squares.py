"""A small made-up scene: three flat planes, two lights, every number known beforehand."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy import sparse

from sitterlight.illuminants.grid import WAVELENGTHS
from sitterlight.illuminants.observer import tristimulus
from sitterlight.illuminants.temperature import daylight, planckian
from sitterlight.meshes.head import Plane, make_head
from sitterlight.shading.sitting import EaselSetting, EyeSetting, Sitting

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


def halves(bright, dark):
    """Lux on the front plane: one half bright, one dark; 300 lux on the others."""
    far = (np.arange(COUNT) % SIDE**2) >= 5 * SIDE
    return np.where(PLANE != 0, 300.0, np.where(far, bright, dark))


@pytest.fixture(autouse=True)
def seen_by_vertex(monkeypatch):
    """What is seen of the squares is told by their vertices; how sight finds it has a test of its own."""
    seen = lambda scene: sparse.csr_matrix(HEAD.plane_weights.multiply(scene.eye_sees))  # noqa: E731
    monkeypatch.setattr("sitterlight.shading.strokes.seen_of_planes", seen)
