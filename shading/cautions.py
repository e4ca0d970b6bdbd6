"""What to mind when handling a paint."""

from __future__ import annotations

from collections.abc import Iterable

from sitterlight.shading.paints import Paint

GENERAL = (
    "Read the maker's safety sheet and follow local rules for use and waste. Don't eat, drink or smoke at the easel; "
    "don't sand, spray or heat paint; wash hands after work."
)
"""Said once wherever a toxic pigment is in play."""

_WORDS = {
    "lead": "contains lead: poisonous by mouth and as dust; not for children or pregnant painters, and restricted in "
    "many countries",
    "cadmium": "contains cadmium: harmful as dust or spray; keep it out of drains",
    "cobalt": "contains cobalt: harmful as dust, may irritate skin",
    "manganese": "contains manganese: harmful as dust",
    "nickel": "contains nickel: may irritate sensitive skin",
    "chromium": "contains chromium(III): keep it out of drains",
    "vanadium": "contains vanadium: harmful as dust",
    "fades": "fades in light, soonest in thin tints: not lightfast",
}


def caution(paint: Paint) -> str:
    """One phrase about this paint, or "" where there is nothing particular to mind."""
    words = _WORDS.get(paint.caution, paint.caution)
    return f"{paint.label} {words}." if words else ""


def cautions(paints: Iterable[Paint]) -> tuple[str, ...]:
    """The cautions of several paints, each once."""
    return tuple(dict.fromkeys(filter(None, map(caution, paints))))


def cautions_and_general(paints: Iterable[Paint]) -> tuple[str, ...]:
    """The cautions of several paints, and the general words where any of them is toxic."""
    paints = tuple(paints)
    toxic = any(p.caution and p.caution != "fades" for p in paints)
    return cautions(paints) + ((GENERAL,) if toxic else ())
