"""What can be changed about one light: strength, spectrum, place, size; sky or hour where it has them."""

from __future__ import annotations

import math
from dataclasses import fields, replace

import numpy as np
from PyQt6.QtCore import QSignalBlocker, pyqtSignal
from PyQt6.QtWidgets import (
    QFileDialog,
    QFormLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from sitterlight.shading.resolve_lights import lamp_illuminance, lamp_lumens
from sitterlight.shading.sitting import DaylightLight, LampLight, Light, with_light, with_lights
from sitterlight.shading.sitting_check import RESERVED_NAMES, WIDEST
from sitterlight.shading.sitting_keys import NAME
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import NamedSlider, add_row, tab_before
from sitterlight.viewer.light_facts import lux_words
from sitterlight.viewer.light_hour import HourRows
from sitterlight.viewer.light_offers import (
    AIRS,
    HINTS,
    LAMP_SPECTRA,
    LEAST_LUMENS,
    LEAST_LUX,
    MOST_LUMENS,
    MOST_LUX,
    SHADES,
    SHAPES,
    SKIES,
    SKY_SPECTRA,
    STRENGTHS,
    WEATHERS,
)
from sitterlight.viewer.model import Model
from sitterlight.viewer.numbers import NumberBox
from sitterlight.viewer.spectrum_plot import SpectrumPlot

_BOXES = {
    "azimuth": ("azimuth", -180, 180, "°", 1),
    "elevation": ("elevation", -90, 90, "°", 1),
    "size": ("size across", 0.05, 170, "°", 1),
    "distance": ("distance", 200, 1e5, " mm", 50),
    "diameter": ("diameter", 1, 1e5, " mm", 10),
    "width": ("width", 10, 1e5, " mm", 50),
    "height": ("height", 10, 1e5, " mm", 50),
    "latitude": ("latitude", -90, 90, "° north", 1),
    "longitude": ("longitude", -180, 180, "° east", 1),
    "facing": ("sitter faces", 0, 360, "° of the compass", 5),
}


class LightEditor(QWidget):
    """The chosen light's own controls; made anew for another kind of light, else only filled in. `planned()` when a
    plan of the day is asked for."""

    planned = pyqtSignal()

    def __init__(self, model: Model):
        super().__init__()
        self.model = model
        self.light: Light | None = None
        self._made_for: tuple | None = None
        self._fillers: list = []
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(0, 0, 0, 0)
        self._body: QWidget | None = None

    def show_light(self, light: Light | None, spectrum: np.ndarray | None) -> None:
        """Show a light, or none."""
        self.light = light
        made_for = None if light is None else _form_of(light)
        if made_for != self._made_for:
            self._make(light)
            self._made_for = made_for
        if light is not None:
            for fill in self._fillers:
                fill(light)
            self.plot.show_curves([("spectrum", spectrum)])

    def _make(self, light: Light | None) -> None:
        if self._body is not None:
            self._layout.removeWidget(self._body)
            for control in self._body.findChildren(QWidget):  # what is being typed was meant for the light before
                control.blockSignals(True)
            self._body.hide()
            self._body.deleteLater()
        self._body, self._fillers = QWidget(), []
        self._layout.addWidget(self._body)
        if light is None:
            return
        form = QFormLayout(self._body)
        form.setContentsMargins(0, 0, 0, 0)
        form.setVerticalSpacing(5)
        form.setFieldGrowthPolicy(QFormLayout.FieldGrowthPolicy.AllNonFixedFieldsGrow)
        names = {field.name for field in fields(light)}
        self._name(form)
        if "illuminance" in names:
            if getattr(light, "distance", None) is not None and light.kind == "lamp":
                self._measure(form)
            self._strength(form, light)
        if "sky" in names:
            self._choice(form, "sky", SKIES, lambda text: int(text) if text.isdigit() else text)
        if "spectrum" in names:
            self._spectrum(form, LAMP_SPECTRA if light.kind == "lamp" else SKY_SPECTRA)
        if light.kind == "daylight":
            self._hour(form, light)
            self._choice(form, "weather", tuple((word, word) for word in WEATHERS), str)
            self._choice(form, "air", AIRS, str, worded=True)
            self._choice(form, "shade", SHADES, str, worded=True)
        for name, (words, low, high, unit, step) in _BOXES.items():
            if name in names and getattr(light, name) is not None:
                self._box(form, name, words, low, high, unit, step)
        if light.kind == "lamp":
            if light.distance is not None:
                self._choice(form, "shape", SHAPES, str, worded=True)
            self._near_or_far(form, light)
        if light.kind == "daylight":
            self._day_plan(form)
        self.plot = SpectrumPlot("spectrum of the light")
        form.addRow(self.plot)
        tab_before(self, [self._body])

    def _change(self, what: str, key: str | None = None, **changes) -> None:
        if self.light is not None:
            name = self.light.name
            self.model.change(with_light(self.model.sitting, name, **changes), f"{what} of {name}", key)

    def _name(self, form: QFormLayout) -> None:
        self.name = QLineEdit()
        self.name.setAccessibleName("name of the light")
        self.name.setMaxLength(NAME.longest)
        self.name.editingFinished.connect(self._rename)
        add_row(form, "name", self.name, HINTS["name"])
        self._fillers.append(lambda light: self.name.setText(light.name))

    def _rename(self) -> None:
        wanted, light = self.name.text().strip(), self.light
        if light is None or wanted == light.name:
            return
        taken = {other.name.lower() for other in self.model.sitting.lights if other is not light}
        if not wanted or wanted.lower() in taken.union(RESERVED_NAMES):
            self.name.setText(light.name)
            return
        lights = [replace(one, name=wanted) if one.name == light.name else one for one in self.model.sitting.lights]
        self.light = replace(light, name=wanted)
        self.parent().chosen = wanted
        self.model.change(with_lights(self.model.sitting, *lights), f"name of {wanted}")

    def _strength(self, form: QFormLayout, light: Light) -> None:
        if getattr(light, "lumens", None) is not None:
            field, low, high, words, told = "lumens", LEAST_LUMENS, MOST_LUMENS, "lumens of the lamp", _lumen_words
        else:
            where = "on open level ground" if light.kind == "sky" else "facing it"
            field, low, high, words, told = "illuminance", LEAST_LUX, MOST_LUX, f"strength, {where}", lux_words
        decades = math.log10(high / low)
        self.strength = NamedSlider(
            words,
            low,
            high,
            told,
            lambda value: min(1.0, max(0.0, math.log10(max(value, low) / low) / decades)),
            lambda place: float(f"{low * 10 ** (place * decades):.3g}"),
            "each fifth of the way is about ten times as much light",
        )
        self.strength.moved.connect(lambda value: self._change("strength", "strength", **{field: value}))
        self.strength.settled.connect(self.model.settle)
        form.addRow(self.strength)
        self._fillers.append(lambda light: self.strength.set_value(getattr(light, field)))

    def _measure(self, form: QFormLayout) -> None:
        """Whether a near lamp's strength is told where the head is or at the source; it stays as strong."""
        self.measure_box = Choice("how its strength is told", STRENGTHS, worded=True)

        def take(text: str) -> None:
            in_lumens = self.light.lumens is not None
            if text == "lumens" and not in_lumens:
                self._change("strength", illuminance=None, lumens=float(f"{lamp_lumens(self.light):.4g}"))
            elif text == "lux" and in_lumens:
                self._change("strength", lumens=None, illuminance=float(f"{lamp_illuminance(self.light):.4g}"))

        self.measure_box.chosen.connect(take)
        add_row(form, "strength in", self.measure_box, HINTS["measure"])
        self._fillers.append(lambda light: self.measure_box.set_value("lux" if light.lumens is None else "lumens"))

    def _choice(self, form: QFormLayout, field: str, offers, convert, worded: bool = False) -> None:
        box = Choice(field, offers, worded)
        box.chosen.connect(lambda text: self._change(field, **{field: convert(text)}))
        add_row(form, field, box, HINTS[field])
        setattr(self, f"{field}_box", box)
        self._fillers.append(lambda light: box.set_value(getattr(light, field)))

    def _spectrum(self, form: QFormLayout, offers) -> None:
        self.spectrum_box = Choice("spectrum", offers, worded=True)
        self.spectrum_box.addItem("a spectrum of your own…", "file")
        self.spectrum_box.chosen.connect(self._take_spectrum)
        add_row(form, "colour", self.spectrum_box, HINTS["colour"])
        self._fillers.append(lambda light: self.spectrum_box.set_value(light.spectrum))

    def _take_spectrum(self, text: str) -> None:
        if text == "file":
            text, _ = QFileDialog.getOpenFileName(self, "Spectrum of a light", "", "Spectra (*.csv *.tsv *.txt)")
            if not text or not self._take_file(text):
                self.spectrum_box.set_value(self.light.spectrum)
            return
        self._change("colour", spectrum=text)

    def _take_file(self, file: str) -> bool:
        """Take the spectrum of a file; whether it could be read."""
        names = [light.name for light in self.model.sitting.lights]
        key = f"light[{names.index(self.light.name) + 1}]"
        lit = with_light(self.model.sitting, self.light.name, spectrum=file)
        return self.model.change_if_read(lit, key, f"colour of {self.light.name}")

    def _box(self, form: QFormLayout, field: str, words: str, low: float, high: float, unit: str, step: float) -> None:
        box = NumberBox(words, low, high, unit, step)
        freed = {"place": None} if field in ("latitude", "longitude") else {}
        box.changed.connect(lambda value: self._change(words, f"box.{field}", **{field: value}, **freed))
        box.editingFinished.connect(self.model.settle)
        add_row(form, words, box, HINTS[field])
        setattr(self, f"{field}_box", box)

        def fill(light: Light) -> None:
            with QSignalBlocker(box):
                box.setRange(*_limits(light, field, low, high))
            box.set_value(getattr(light, field))

        self._fillers.append(fill)

    def _hour(self, form: QFormLayout, light: DaylightLight) -> None:
        self.hour_rows = rows = HourRows(form, light, self._change, self.model.settle)
        self.place_box, self.hour_box = rows.place_box, rows.hour_box
        if rows.offset_box is not None:
            self.offset_box = rows.offset_box
        self._fillers.append(rows.fill)

    def _day_plan(self, form: QFormLayout) -> None:
        button = QPushButton("Plan the day…")
        button.setToolTip("the head through a day of this light, as curves, sentences and pictures")
        button.clicked.connect(self.planned)
        form.addRow(QLabel(""), button)
        self.plan_button = button

    def _near_or_far(self, form: QFormLayout, light: LampLight) -> None:
        near = light.distance is not None
        button = QPushButton("Make it a distant lamp" if near else "Make it a near lamp")
        far_words = "its light then comes from one side and is as strong on every plane that faces it"
        button.setToolTip(far_words if near else "its light then falls off with the distance from the lamp")

        def take() -> None:
            strength = {"illuminance": lamp_illuminance(self.light), "lumens": None}
            place = (12.0, None, None) if near else (None, 1200.0, 200.0)
            self._change("distance", **strength, **dict(zip(("size", "distance", "diameter"), place, strict=True)))

        button.clicked.connect(take)
        form.addRow(QLabel(""), button)


def _limits(light: Light, field: str, low: float, high: float) -> tuple[float, float]:
    """Between what a number of a light may lie: no near lamp reaches round the head."""
    if field == "diameter":
        high = min(high, math.ceil(WIDEST * light.distance) - 1)
    elif field == "distance" and getattr(light, "diameter", None) is not None:
        low = max(low, math.floor(light.diameter / WIDEST) + 1)
    return low, high


def _form_of(light: Light) -> tuple:
    """What decides which controls a light has."""
    near, in_lumens = getattr(light, "size", 0) is None, getattr(light, "lumens", None) is not None
    return light.kind, near, in_lumens, getattr(light, "place", "") is None


def _lumen_words(lumens: float) -> str:
    return lux_words(lumens).replace(" lx", " lm")
