"""What to mix for a plane: what is wanted beside what the palette gives, the recipe, and all there is to say of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

from PyQt6.QtCore import QSize, Qt
from PyQt6.QtWidgets import QGridLayout, QWidget

from sitterlight.shading.paint_chips import code_of
from sitterlight.shading.paints import paint
from sitterlight.shading.recipe import WORTH_TELLING
from sitterlight.shading.targets import Seen, Target
from sitterlight.viewer.chip import Chip
from sitterlight.viewer.controls import soft, titled
from sitterlight.viewer.plane_words import percent

MOST_STROKES = 3


class Mixes(QWidget):
    """Up to three strokes, one under the other: the colour wanted, the mix, and words."""

    def __init__(self):
        super().__init__()
        grid = QGridLayout(self)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(0)
        grid.setVerticalSpacing(4)
        grid.addWidget(titled("To mix"), 0, 0, 1, 3)
        self._lines = []
        for line in range(1, MOST_STROKES + 1):
            wanted, mixed = (Chip(name, QSize(26, 40)) for name in ("wanted", "mixed"))
            words, more = soft(), soft()
            words.setObjectName("value")
            for label in (words, more):
                label.setContentsMargins(8, 0, 0, 0)
                label.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
            grid.addWidget(wanted, 2 * line - 1, 0, 2, 1, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(mixed, 2 * line - 1, 1, 2, 1, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(words, 2 * line - 1, 2)
            grid.addWidget(more, 2 * line, 2)
            self._lines.append((wanted, mixed, words, more))
        grid.setColumnStretch(2, 1)

    def show_targets(self, targets: Sequence[Target]) -> None:
        """Show these strokes."""
        for place, (wanted, mixed, words, more) in enumerate(self._lines):
            shown = place < len(targets)
            for widget in (wanted, mixed, words, more):
                widget.setVisible(shown)
            if not shown:
                continue
            recipe = targets[place].recipe
            wanted.set_colour(targets[place].srgb)
            mixed.set_colour(code_of(recipe["Lab"]) if recipe else None)
            words.setText(stroke_words(targets[place]))
            more.setText(recipe_remarks(recipe) if recipe else "")
            more.setVisible(bool(recipe))


def stroke_words(target: Target) -> str:
    """Part and share, Munsell, and the recipe where there is one yet."""
    part = "" if target.part == "whole" else f"{target.part}, {percent(target.share_of_area)}: "
    recipe = mix_words(target.recipe["parts"]) if target.recipe else "looking for a mix …"
    return f"{part}{target.munsell or 'above white'}\n{recipe}"


def recipe_of(seen: Seen) -> str:
    """The mix of a stroke, or of a plane that is one stroke, in a line; empty where there is none."""
    stroke = seen if isinstance(seen, Target) else seen.targets[0] if len(seen.targets) == 1 else None
    if stroke is None or not stroke.recipe:
        return ""
    near = "" if not stroke.recipe["out_of_reach"] else " (out of reach, the nearest)"
    return f"{mix_words(stroke.recipe['parts'])}, ΔE {stroke.recipe['delta_e']:.1f}{near}"


def mix_words(parts: Sequence[Mapping]) -> str:
    """A mix in common names: "8 yellow ochre, 1 quinacridone red, 2 drops ultramarine blue"."""
    return ", ".join(f"{_amount(part)} {_name(part['paint'])}" for part in parts)


def recipe_remarks(recipe: Mapping) -> str:
    """How near the mix comes, its own Lab, how to mix it, how it holds, what is missing, what else there is."""
    Lab = ", ".join(f"{v:.0f}" for v in recipe["Lab"]).replace("-", "−")
    lines = [f"ΔE {recipe['delta_e']:.1f}: the mix is L*, a*, b* {Lab} and {recipe['second_light']['words']}."]
    if recipe["out_of_reach"]:
        lines.insert(0, f"Out of reach, this is the nearest. {recipe['missing'][:1].upper()}{recipe['missing'][1:]}")
    lines.append(recipe["order"])
    for other in recipe.get("alternatives", ()):
        if len(other["parts"]) != len(recipe["parts"]) and other["delta_e"] <= max(WORTH_TELLING, recipe["delta_e"]):
            lines.append(f"Or ΔE {other['delta_e']:.1f}: {mix_words(other['parts'])}.")
    return "\n".join(lines)


def _amount(part: Mapping) -> str:
    drops = part.get("drops")
    return f"{drops} drop{'s' if drops != 1 else ''}" if drops else f"{part['parts']:g}"


@lru_cache(maxsize=512)
def _name(id: str) -> str:
    try:
        return paint(id).name
    except ValueError:  # a tube of one's own
        return id
