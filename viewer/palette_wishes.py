"""What the painter would rather have of recipes, and the light at the easel, as controls."""

from __future__ import annotations

from collections.abc import Sequence

from PyQt6.QtCore import QSignalBlocker, pyqtSignal
from PyQt6.QtWidgets import QCheckBox, QFormLayout, QVBoxLayout, QWidget

from sitterlight.shading.paints import Paint
from sitterlight.shading.sitting import EaselSetting, PaletteSetting
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import add_row, titled
from sitterlight.viewer.mix_options import FLAGS

EASEL_LIGHTS = (
    ("D50", "daylight 5000 K (D50)"),
    ("D55", "daylight 5500 K (D55)"),
    ("D65", "daylight 6500 K (D65)"),
    ("LED-B5", "cool white LED"),
    ("LED-B3", "neutral white LED"),
    ("LED-B1", "warm white LED"),
    ("FL11", "three-band fluorescent tube"),
    ("A", "incandescent lamp (A)"),
    ("candle", "candle"),
)
MOST = (("2", "two paints in a mix"), ("3", "three paints in a mix"), ("4", "four paints in a mix"))
BASES = (("none", "no base asked for"), ("auto", "one brown through all, chosen for the head"))
WISHES = {
    "few_paints": ("few paints", FLAGS["few_paints"]),
    "transparent_darks": ("transparent darks", FLAGS["transparent_darks"]),
    "no_black": ("no black", FLAGS["no_black"]),
}


class PaletteWishes(QWidget):
    """Emits `wished(what, changes)` where the user changes the palette's wishes, `lit(what, changes)` the easel."""

    wished = pyqtSignal(str, dict)
    lit = pyqtSignal(str, dict)

    def __init__(self):
        super().__init__()
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(5)
        layout.addWidget(titled("Mixes"))
        layout.addLayout(self._wishes())
        layout.addWidget(titled("Easel"))
        layout.addLayout(self._easel())

    def _wishes(self) -> QFormLayout:
        form = _form()
        self.most = Choice("most paints in a mix", MOST, worded=True)
        self.most.chosen.connect(lambda count: self.wished.emit("paints in a mix", {"most": int(count)}))
        self.base = Choice("base of the mixes", BASES, worded=True)
        self.base.chosen.connect(lambda base: self.wished.emit("base", {"base": base}))
        add_row(form, "at most", self.most, "how many tubes one mix may take")
        add_row(form, "base", self.base, "one brown in the mixes of all planes, which ties them together")
        self.boxes: dict[str, QCheckBox] = {}
        for key, (words, hint) in WISHES.items():
            box = QCheckBox(words)
            box.setToolTip(hint)
            box.setAccessibleDescription(hint)
            box.toggled.connect(lambda on, key=key, words=words: self.wished.emit(words, {key: on}))
            self.boxes[key] = box
            form.addRow(box)
        return form

    def _easel(self) -> QFormLayout:
        form = _form()
        self.light = Choice("light at the easel", EASEL_LIGHTS, worded=True)
        self.second = Choice("second light", EASEL_LIGHTS, worded=True)
        self.light.chosen.connect(lambda name: self.lit.emit("light at the easel", {"light": name}))
        self.second.chosen.connect(lambda name: self.lit.emit("second light", {"second_light": name}))
        add_row(form, "light", self.light, "paint is mixed and judged under this")
        add_row(form, "second light", self.second, "and should hold under this")
        return form

    def show_wishes(self, palette: PaletteSetting, easel: EaselSetting, tubes: Sequence[tuple[str, Paint]]) -> None:
        """Show what a sitting wishes; `tubes` are its own, by name, of which one may be the base."""
        if palette.most < 2 and self.most.findData("1") < 0:
            self.most.addItem("one paint in a mix", "1")
        self.most.set_value(palette.most)
        with QSignalBlocker(self.base):
            while self.base.count() > len(BASES):
                self.base.removeItem(len(BASES))
            for name, one in tubes:
                if not one.is_white:
                    self.base.addItem(f"{one.label} in every mix", name)
        self.base.set_value(palette.base)
        for key, box in self.boxes.items():
            with QSignalBlocker(box):
                box.setChecked(getattr(palette, key))
        self.light.set_value(easel.light)
        self.second.set_value(easel.second_light)


def _form() -> QFormLayout:
    form = QFormLayout()
    form.setContentsMargins(0, 0, 0, 0)
    form.setVerticalSpacing(4)
    return form
