"""The first sitting lit once while the program is set up: python -m sitterlight.viewer.first_light

Loops are compiled, the rays of the bust cast, and the picture kept that the window then shows as soon as it opens. So
a newcomer waits where waiting is announced, not before an empty stage.
"""

from __future__ import annotations

from sitterlight.shading.sitting import Sitting
from sitterlight.shading.sittings import built_in
from sitterlight.viewer.appearance import appearance
from sitterlight.viewer.engine import light
from sitterlight.viewer.kept_picture import keep_picture
from sitterlight.viewer.window import FIRST_SITTING


def first_light(sitting: Sitting) -> None:
    """Light a sitting as the window would, and keep its picture."""
    lit = light(sitting, exact=True)
    keep_picture(lit, appearance(lit, "as seen"))
    _ = lit.rows, lit.mixed_rows  # asked for by the list of planes: their loops are compiled too


if __name__ == "__main__":
    first_light(built_in(FIRST_SITTING))
