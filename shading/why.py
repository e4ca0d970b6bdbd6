"""Why a plane looks as it does: one plain sentence made from its numbers, nothing in it typed beforehand.

The sentence names the strongest thing there is to say, in this order: no light at all; a skylight note; colour
lost or gained against the skin's own; shadow; else that the skin keeps its colour. The cause it names is the part
of the light with the largest share in that note or greying. What the eye cannot see or paint cannot reach is
added at the end, and so is a note that is faint beside another thing to say.
"""

from __future__ import annotations

from collections.abc import Sequence

from sitterlight.shading.targets import ByLightAndPath, PlaneRow, Seen

NOTE_WORTH_SAYING = 2.0
"""CAM16-UCS units of skylight note; less is hardly seen beside a neighbour."""

FAINT_NOTE = 1.0
"""CAM16-UCS units from which a note shows in maps and lists, so that its cause is asked for."""

GREYING_WORTH_SAYING = 0.2
RICHNESS_WORTH_SAYING = 0.1
TOO_DARK = 35.0
"""L* of the skin's own colour below which its body returns too little to stand up to sheen."""


def why(row: Seen, lights: Sequence[dict] = (), strongest: str | None = None) -> str:
    """One sentence on a plane or target. lights: the scene's `light_info`; strongest: the light of the families."""
    return _main_clause(row, lights, strongest) + _faintly(row, lights) + _caveat(row) + "."


def _main_clause(row: Seen, lights: Sequence[dict], strongest: str | None) -> str:
    if row.shares["sheen"] is None:
        return "Black: no light reaches this plane"
    note, greying = row.skylight_note or 0.0, row.greying or 0.0
    if abs(note) >= NOTE_WORTH_SAYING:
        return _of_note(row, note, lights)
    if greying >= GREYING_WORTH_SAYING:
        return _of_greying(row, greying, lights)
    if greying <= -RICHNESS_WORTH_SAYING:
        return _of_richness(row, lights)
    if row.family == "shadow" and strongest is not None:
        return _of_shadow(row, lights, strongest)
    lead = "Keeps the skin's own colour" if row.greying is not None else "Has hardly a colour of its own"
    return f"{lead}: {_piece(row, *_largest(row), lights)}"


def _of_note(row: Seen, note: float, lights: Sequence[dict]) -> str:
    blue = note > 0.0
    light, path = _cause(row.note_shares, 1.0 if blue else -1.0)
    lead = f"Leans {'blue' if blue else 'warm'}: {_piece(row, light, path, lights)}"
    if light == "bounce":
        return lead
    if blue and path == "sheen" and row.own_Lab[0] < TOO_DARK:
        return f"{lead}, which itself is too dark to answer it"
    return f"{lead}, {'bluer' if blue else 'warmer'} here than the light on the white card"


def _faintly(row: Seen, lights: Sequence[dict]) -> str:
    """A note too weak to be told first, with its cause."""
    note = row.skylight_note or 0.0
    if row.shares["sheen"] is None or not FAINT_NOTE <= abs(note) < NOTE_WORTH_SAYING:
        return ""
    light, path = _cause(row.note_shares, note)
    lead = f"; faintly {'blue' if note > 0.0 else 'warm'} too, for "
    if light == "bounce" or path == "bounce":
        return f"{lead}it takes light from other skin"
    way = "it mirrors" if path == "sheen" else "that falls on it"
    return f"{lead}{_light_of(light, lights)} {way} is {'bluer' if note > 0.0 else 'warmer'} than on the white card"


def _of_greying(row: Seen, greying: float, lights: Sequence[dict]) -> str:
    light, path = _cause(row.greying_shares, 1.0)
    piece = _piece(row, light, path, lights)
    lead = "Past neutral" if greying >= 1.0 else f"Greyed, {_percent(greying)} of the skin's colour lost"
    if path == "sheen":
        return f"{lead}: {piece}, which keeps the light's colour"
    return f"{lead}: {piece}, whose colour works against the skin's own"


def _of_richness(row: Seen, lights: Sequence[dict]) -> str:
    light, path = _cause(row.greying_shares, -1.0)
    bounced = _number(row.shares["bounce"])
    by_bounce = sum(_number(paths.get("bounce")) for paths in row.greying_shares.values())
    if path == "bounce" or by_bounce < _number(row.greying_shares[light][path]):
        return (
            "Richer than the skin's own colour: "
            f"{_percent(bounced)} of its light comes from other skin and has taken skin's colour more than once"
        )
    piece = _piece(row, light, path, lights)
    return f"Richer than the skin's own colour: {piece}, whose colour adds to the skin's own"


def _of_shadow(row: Seen, lights: Sequence[dict], strongest: str) -> str:
    light, path = _largest(row)
    direct = _number(row.shares.get(strongest))
    if light == strongest:
        return f"In shadow, yet {_piece(row, light, path, lights)}"
    little = "nothing" if direct < 0.005 else f"only {_percent(direct)}"
    return f'In shadow: {little} comes straight from "{strongest}", and {_piece(row, light, path, lights)}'


def _caveat(row: Seen) -> str:
    if row.above_white:
        return "; it is brighter than white paint, so no mix reaches it"
    if isinstance(row, PlaneRow) and row.hidden:
        return "; the eye does not see it from here, so this is without sheen"
    return ""


def _piece(row: Seen, light: str, path: str, lights: Sequence[dict]) -> str:
    """ "61 % of this plane's light is skylight mirrored by the skin": one part of the light with its share."""
    way = {"body": "", "bounce": " by way of other skin", "sheen": " mirrored by the skin"}[path]
    origin = _origin(light, lights)
    comma = "," if way and origin.startswith("comes") else ""
    return f"{_percent(_luminance(row, light, path))} of this plane's light {origin}{comma}{way}"


def _luminance(row: Seen, light: str, path: str) -> float:
    table = {"body": row.shares, "bounce": row.bounce_by_light, "sheen": row.sheen_by_light}[path]
    return _number(table.get(light))


def _cause(shares: ByLightAndPath, sign: float) -> tuple[str, str]:
    """The light and path that go farthest in the direction of `sign`."""
    parts = [(light, path) for light, paths in shares.items() for path in paths]
    return max(parts, key=lambda part: sign * _number(shares[part[0]][part[1]]))


def _largest(row: Seen) -> tuple[str, str]:
    """The light and path that give most of the luminance."""
    parts = [(light, path) for light, paths in row.note_shares.items() for path in paths]
    return max(parts, key=lambda part: _luminance(row, *part))


def _origin(light: str, lights: Sequence[dict]) -> str:
    """ "is skylight", "comes from the ground", "comes from "lamp"", "is other skin"."""
    skies = [info["name"] for info in lights if info["kind"] == "sky"]
    if light == "bounce":
        return "is that of other skin"
    if skies == [light]:
        return "is skylight"
    return f"comes from the {light}" if light in ("ground", "walls") else f'comes from "{light}"'


def _light_of(light: str, lights: Sequence[dict]) -> str:
    """ "the skylight", "the light from the ground", "the light from "lamp""."""
    if _origin(light, lights) == "is skylight":
        return "the skylight"
    return f"the light from the {light}" if light in ("ground", "walls") else f'the light from "{light}"'


def _number(value: float | None) -> float:
    return 0.0 if value is None else value


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"
