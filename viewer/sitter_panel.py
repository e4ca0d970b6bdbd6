"""The sitter: the ladder of skins, what is in the skin, its sheen, and how the head is held."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache

from PyQt6.QtCore import QSize, pyqtSignal
from PyQt6.QtWidgets import (
    QCheckBox,
    QColorDialog,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from sitterlight.meshes.library import head_description, head_names
from sitterlight.shading.colour_spaces import D65_WHITE, XYZ_from_Lab, hex_from_XYZ
from sitterlight.shading.ladder import LADDER, ladder_amounts
from sitterlight.shading.resolve_skin import resolve_skin
from sitterlight.shading.sitting import HeadSetting, SkinColour, with_head, with_skin
from sitterlight.shading.skin import AMOUNTS, LIMITS, albedo
from sitterlight.shading.skin_colour import describe
from sitterlight.viewer.chip import Chip
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import NamedSlider, Section, hinted, soft
from sitterlight.viewer.model import Model
from sitterlight.viewer.plane_words import percent

_AMOUNTS = {
    "melanin": ("melanin", 1.6, "the brown of the outer skin; absorption crossed once at 550 nm", "{:.2f}"),
    "blood": ("blood", 4.0, "percent of the inner skin", "{:.2f} %"),
    "oxygenation": ("oxygen in the blood", 1.0, "share of the blood that carries oxygen: bluish to red", None),
    "carotene": ("carotene", 1.0, "yellow from food; absorption at 450 nm per mm", "{:.2f} /mm"),
    "scattering": ("scattering", 8.0, "how milky the inner skin is; at 550 nm per mm", "{:.2f} /mm"),
    "veil": ("veil", 1.0, "how milky the outer skin is", "{:.2f}"),
}
"""Plain name, end of the slider, what it is, and how its number is written, where it is no share."""

MESHES = "Heads (*.obj *.ply *.stl *.glb)"


@lru_cache(maxsize=16)
def ladder_code(step: int) -> str:
    """The sRGB code of a skin of the ladder under D65."""
    return hex_from_XYZ(XYZ_from_Lab(describe(albedo(ladder_amounts(step))).Lab, D65_WHITE))


class SitterPanel(QWidget):
    """Mirrors and changes head and skin of the sitting; `mesh_asked(path)` where a mesh of one's own is wanted."""

    mesh_asked = pyqtSignal(str)

    def __init__(self, model: Model):
        super().__init__()
        self.model = model
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(7)
        layout.addLayout(self._ladder())
        self.skin_words = soft()
        layout.addWidget(self.skin_words)
        self.oil = NamedSlider("oil", 0, 3, _oil, hint="scales the sheen: 0 is powdered, 1 usual, 3 wet with sweat")
        self.oil.moved.connect(lambda value: self._skin("oil", oil=round(value, 3)))
        self.roughness = NamedSlider("roughness", 0.1, 0.8, "{:.2f}".format, hint="small: narrow, bright highlights")
        self.roughness.moved.connect(lambda value: self._skin("roughness", roughness=round(value, 3)))
        self.turn = NamedSlider("turn of the head", -90, 90, _degrees, hint="to the sitter's left is +")
        self.turn.moved.connect(lambda value: self._head("turn", turn=round(value)))
        for slider in (self.oil, self.roughness, self.turn):
            slider.settled.connect(model.settle)
            layout.addWidget(slider)
        layout.addWidget(Section("What is in the skin", self._amounts(), opened=False, line=False))
        layout.addWidget(Section("Head", self._head_body(), opened=False, line=False))
        self._shown: tuple = ()
        model.on("state", self._mirror_if_changed)
        self.mirror()

    def _ladder(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(1)
        self.chips = []
        for step in LADDER:
            Lab = describe(albedo(ladder_amounts(step))).Lab
            chip = Chip(f"skin {step} of 9, from deepest to fairest: L* {Lab[0]:.0f}", QSize(20, 34))
            chip.set_colour(ladder_code(step))
            chip.setFocusPolicy(chip.focusPolicy().StrongFocus)
            chip.clicked.connect(lambda step=step: self._skin("skin", ladder=step))
            row.addWidget(chip, 1)
            self.chips.append(chip)
        return row

    def _amounts(self) -> QWidget:
        body = QWidget()
        layout = QVBoxLayout(body)
        layout.setContentsMargins(8, 0, 0, 0)
        self.amounts = {}
        for name in AMOUNTS:
            if name not in _AMOUNTS:
                continue
            title, end, hint, form = _AMOUNTS[name]
            slider = NamedSlider(title, *_bent(LIMITS[name][0], end, form.format if form else percent), hint)
            slider.moved.connect(lambda value, name=name: self._amount(name, value))
            slider.settled.connect(self.model.settle)
            layout.addWidget(slider)
            self.amounts[name] = slider
        self.regions = QCheckBox("regions of the face differ")
        self.regions.setToolTip("more blood in cheek, nose, ear and lips; a cooler beard area; off: one skin all over")
        self.regions.toggled.connect(lambda on: self._skin("regions", regions=on))
        layout.addWidget(self.regions)
        self.under_skin = QCheckBox("light under the skin")
        self.under_skin.setToolTip(
            "light that enters the skin comes out again a little way off, red farthest: "
            "edges of shadow grow soft and warm; off: it comes out where it went in"
        )
        self.under_skin.toggled.connect(lambda on: self._skin("light under the skin", under_skin=on))
        layout.addWidget(self.under_skin)
        self.sheen_included = QCheckBox("sheen is in the spectrum")
        self.sheen_included.setToolTip(
            "whether the instrument caught what the surface mirrors as well (specular included); "
            "it is then taken out, for sheen is added under each light anew"
        )
        self.sheen_included.toggled.connect(lambda on: self._skin("sheen in the spectrum", sheen_included=on))
        layout.addWidget(self.sheen_included)
        row = QHBoxLayout()
        for words, hint, slot in (
            (
                "Own colour…",
                "a colour of skin as it looks in daylight: amounts are found that have it",
                self.ask_colour,
            ),
            ("Own spectrum…", "a measured reflectance of skin, as a table of wavelengths in nm", self.ask_spectrum),
        ):
            button = QPushButton(words)
            button.setToolTip(hint)
            button.clicked.connect(slot)
            row.addWidget(button)
        layout.addLayout(row)
        return body

    def _head_body(self) -> QWidget:
        body = QWidget()
        layout = QGridLayout(body)
        layout.setContentsMargins(8, 0, 0, 0)
        self.mesh = Choice("head", [(name, head_description(name)) for name in head_names()])
        hinted(self.mesh, "the built-in bust, or a simple solid to learn how light falls")
        self.mesh.setMinimumContentsLength(4)
        self.mesh.chosen.connect(lambda name: self._set_mesh(name))
        file = QPushButton("File…")
        file.setToolTip("a head of your own: OBJ, PLY, STL or GLB; it can also be dragged here")
        file.clicked.connect(self.ask_mesh)
        layout.addWidget(QLabel("head"), 0, 0)
        layout.addWidget(self.mesh, 0, 1)
        layout.addWidget(file, 0, 2)
        self.tilt = NamedSlider("tilt", -45, 45, _degrees, hint="chin down is +")
        self.tilt.moved.connect(lambda value: self._head("tilt", tilt=round(value)))
        self.lean = NamedSlider("lean", -45, 45, _degrees, hint="to the sitter's left is +")
        self.lean.moved.connect(lambda value: self._head("lean", lean=round(value)))
        for place, slider in enumerate((self.tilt, self.lean), 1):
            slider.settled.connect(self.model.settle)
            layout.addWidget(slider, place, 0, 1, 3)
        return body

    def _mirror_if_changed(self) -> None:
        shown = (self.model.sitting.skin, self.model.sitting.head)
        if shown != self._shown:
            self._shown = shown
            self.mirror()

    def mirror(self) -> None:
        """Show the sitting that the model has."""
        sitting = self.model.sitting
        skin, head = sitting.skin, sitting.head
        for step, chip in zip(LADDER, self.chips, strict=True):
            chip.set_chosen(skin.ladder == step)
        self.oil.set_value(skin.oil)
        self.roughness.set_value(skin.roughness)
        self.turn.set_value(head.turn)
        self.tilt.set_value(head.tilt)
        self.lean.set_value(head.lean)
        self.sheen_included.setVisible(skin.reflectance is not None)
        for switch, is_on in (
            (self.regions, skin.regions),
            (self.under_skin, skin.under_skin),
            (self.sheen_included, skin.sheen_included),
        ):
            switch.blockSignals(True)
            switch.setChecked(is_on)
            switch.blockSignals(False)
        self.mesh.set_value(head.mesh)
        try:
            found = resolve_skin(skin, sitting.folder)
        except ValueError as error:
            self.skin_words.setText(str(error))
            return
        numbers = describe(found.albedo)
        source = f"Skin {skin.ladder} of 9" if skin.ladder else "A skin of your own"
        ITA = f"{numbers.ITA:.0f}°".replace("-", "−")
        self.skin_words.setText(f"{source}: L* {numbers.Lab[0]:.0f}, ITA {ITA}. {found.note}".strip())
        for name, slider in self.amounts.items():
            slider.set_value(getattr(found.amounts, name))

    def _skin(self, what: str, **changes) -> None:
        self.model.change(with_skin(self.model.sitting, **changes), what, key=f"skin.{what}")

    def _head(self, what: str, **changes) -> None:
        self.model.change(with_head(self.model.sitting, **changes), f"{what} of the head", key=f"head.{what}")

    def _amount(self, name: str, value: float) -> None:
        try:
            found = resolve_skin(self.model.sitting.skin, self.model.sitting.folder)
        except ValueError as error:  # its file has gone
            self.model.say(str(error))
            return
        amounts = found.amounts.as_dict() | {name: round(value, 4)}
        self._skin(_AMOUNTS[name][0], amounts=tuple(amounts.items()))

    def _set_mesh(self, name: str) -> None:
        if name not in head_names():
            self.mesh.set_value(self.model.sitting.head.mesh)
            self.mesh_asked.emit(name)
            return
        turned = self.model.sitting.head
        head = HeadSetting(mesh=name, turn=turned.turn, tilt=turned.tilt, lean=turned.lean)
        self.model.change(with_head(self.model.sitting, **vars(head)), "head")
        self.model.settle()

    def ask_colour(self) -> None:
        """Ask for a colour and find the skin that has it."""
        colour = QColorDialog.getColor(parent=self, title="The colour of the skin under daylight (D65)")
        if colour.isValid():
            self._skin("colour", colour=SkinColour(srgb=colour.name()))
            self.model.settle()

    def ask_spectrum(self) -> None:
        """Ask for a file of reflectance and take it as the skin."""
        name, _ = QFileDialog.getOpenFileName(self, "Reflectance of a skin", "", "Spectra (*.csv *.tsv *.txt)")
        if name:
            self.model.change_if_read(with_skin(self.model.sitting, reflectance=name), "skin", "spectrum")

    def ask_mesh(self) -> None:
        """Ask for a mesh and take it as the head."""
        name, _ = QFileDialog.getOpenFileName(self, "A head", "", MESHES)
        if name:
            self._set_mesh(name)


def _bent(low: float, high: float, shown: Callable[[float], str]) -> tuple:
    """The words of a slider whose steps are finer near its low end."""
    wide = high - low
    return low, high, shown, lambda v: (max(v - low, 0) / wide) ** 0.5, lambda place: low + wide * place * place


def _oil(value: float) -> str:
    return "powdered" if value < 0.05 else f"{value:.2f} ×"


def _degrees(value: float) -> str:
    return f"{value:+.0f}°".replace("-", "−") if round(value) else "0°"
