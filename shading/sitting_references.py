"""Whether the names in a sitting lead to something: spectra, surfaces, mesh, skin, paints.

What a name may be is known by the room that owns it; here each is asked, and its answer gets the key's name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sitterlight.shading.file_names import looks_like_path
from sitterlight.shading.sitting import DaylightLight, LampLight, Sitting
from sitterlight.shading.sitting_rules import SittingError, near_miss, shown


def check_references(sitting: Sitting, only: str = "") -> None:
    """SittingError, in one sentence that begins with the key, for the first name that leads nowhere.

    `only` is the beginning of the keys to look at, as "skin" or "light[2]".
    """
    for where, look_up in _references(sitting):
        if not where.startswith(only):
            continue
        try:
            look_up()
        except (ValueError, OSError) as error:
            raise SittingError(f"{where}: {error}") from None


def _references(sitting: Sitting) -> Iterator[tuple[str, Callable[[], object]]]:
    yield "head.mesh", lambda: _head(sitting)
    yield "skin", lambda: _skin(sitting)
    for place, light in enumerate(sitting.lights, start=1):
        if not isinstance(light, DaylightLight):
            role = "lamp" if isinstance(light, LampLight) else "sky"
            yield f"light[{place}] {shown(light.name)}.spectrum", _spectrum(light.spectrum, sitting, role)
    for key in ("ground", "walls", "clothes"):
        yield f"surround.{key}", _surface(getattr(sitting.surround, key), sitting)
    yield "easel.light", _spectrum(sitting.easel.light, sitting, "lamp")
    yield "easel.second_light", _spectrum(sitting.easel.second_light, sitting, "lamp")
    yield "palette.paints", lambda: _paints(sitting)


def _head(sitting: Sitting) -> object:
    from sitterlight.meshes.library import head_names
    from sitterlight.shading.sitter_head import head_of

    head = sitting.head
    if looks_like_path(head.mesh):
        return head_of(head, sitting.folder)
    if head.mesh not in head_names():
        hint = near_miss(head.mesh, head_names())
        allowed = f"{', '.join(head_names())}, or an OBJ, PLY, STL or GLB file"
        raise ValueError(f"there is no built-in head {shown(head.mesh)}{hint}; allowed are {allowed}")
    return None


def _skin(sitting: Sitting) -> object:
    from sitterlight.shading.resolve_skin import resolve_skin

    return resolve_skin(sitting.skin, sitting.folder)


def _spectrum(name: str, sitting: Sitting, role: str) -> Callable[[], object]:
    def look_up() -> object:
        from sitterlight.illuminants.catalogue import spectrum

        if role == "sky" and name == "auto":
            return None
        return spectrum(name, folder=sitting.folder, role=role)

    return look_up


def _surface(name: str | float, sitting: Sitting) -> Callable[[], object]:
    def look_up() -> object:
        from sitterlight.illuminants.surfaces import reflectance

        return reflectance(name, folder=sitting.folder)

    return look_up


def _paints(sitting: Sitting) -> object:
    from sitterlight.shading.paints import paints

    return paints(sitting.palette.paints, sitting.folder)
