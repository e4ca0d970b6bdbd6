"""The colour under the pointer in words."""

from __future__ import annotations

import numpy as np

from sitterlight.shading.colour_spaces import hex_from_XYZ
from sitterlight.shading.keying import two_degree_eye
from sitterlight.shading.munsell import munsell_notations
from sitterlight.viewer.engine import Lit


def pointer_words(lit: Lit, face: int, weights: np.ndarray) -> str:
    """Plane, Munsell, L*, sRGB code and note at a place of the display mesh."""
    head = lit.head
    corners = head.display.faces[face]
    XYZ = (weights @ lit.display_XYZ[corners].astype(float))[None]
    plane = int(head.display.plane_of_face[face])
    if plane >= 0:
        named = head.planes[plane]
        name = named.name if named.side == "centre" else f"{named.name}, {named.side}"
    else:
        name = "no plane"
    eye = two_degree_eye(lit.scene, lit.eye)
    munsell = munsell_notations(eye.see(XYZ), eye.white)[0] or "above white"
    L = float(lit.eye.Lab(XYZ)[0, 0])
    words = [name.capitalize(), munsell, f"L* {L:.0f}", hex_from_XYZ(lit.eye.screen_XYZ(XYZ)[0])]
    if plane >= 0 and lit.has("notes"):
        note = float(weights @ (head.to_display[corners] @ np.nan_to_num(lit.notes[0])))
        words.append("no skylight note" if abs(note) < 1 else f"{'blue' if note > 0 else 'warm'} note {abs(note):.0f}")
    return "   ·   ".join(words)
