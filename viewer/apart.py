"""In what a sitting differs from another, in a few words, without Qt."""

from __future__ import annotations

from sitterlight.shading.sitting import Sitting

MOST = 3


def apart_from(one: Sitting, other: Sitting) -> list[str]:
    """What `one` has that `other` has not, the most telling first; at most three, nothing for different heads."""
    if one.head.mesh != other.head.mesh:
        return []
    found = [*_skin(one, other), *_lights(one, other), *_eye(one, other)]
    return found[:MOST]


def _skin(one: Sitting, other: Sitting) -> list[str]:
    skin, found = one.skin, []
    sources = [(kind.ladder, kind.amounts, kind.reflectance, kind.colour) for kind in (skin, other.skin)]
    if sources[0] != sources[1]:
        found.append(f"skin {skin.ladder}" if skin.ladder else "a skin of its own")
    if skin.oil != other.skin.oil:
        found.append("powdered" if skin.oil < 0.05 else f"oil {skin.oil:.2g}")
    if skin.roughness != other.skin.roughness:
        found.append(f"roughness {skin.roughness:.2f}")
    return found


def _lights(one: Sitting, other: Sitting) -> list[str]:
    if one.lights == other.lights:
        return []
    on, there = ([light.name for light in sitting.lights if light.on] for sitting in (one, other))
    if on != there:
        return [" and ".join(on) if len(on) < 3 else f"{len(on)} lights"] if on else ["no light"]
    changed = [light.name for light, before in zip(one.lights, other.lights, strict=False) if light != before]
    return [f"another {name}" for name in changed]


def _eye(one: Sitting, other: Sitting) -> list[str]:
    eye, found = one.eye, []
    if eye.adaptation != other.eye.adaptation:
        found.append(f"adaptation {eye.adaptation}" if eye.adaptation == "auto" else f"adaptation {eye.adaptation:.2f}")
    if eye.key != other.eye.key:
        found.append(f"key {eye.key}")
    return found
