"""What can be changed about one light: strength, spectrum, place, size; sky or hour where it has them."""

from __future__ import annotations

import math
from dataclasses import fields, replace
from datetime import datetime

import numpy as np
from PyQt6.QtCore import Qt
from PyQt6.QtWidgets import (
    QDateTimeEdit,
    QFileDialog,
    QFormLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from sitterlight.shading.sitting import LampLight, Light, with_light, with_lights
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import NamedSlider
from sitterlight.viewer.light_facts import lux_words
from sitterlight.viewer.model import Model
from sitterlight.viewer.numbers import NumberBox
from sitterlight.viewer.spectrum_plot import SpectrumPlot

LAMP_SPECTRA = (
    ("A", "incandescent lamp, 2856 K"),
    ("halogen", "halogen lamp"),
    ("candle", "candle"),
    ("LED-B1", "warm white LED"),
    ("LED-B3", "neutral white LED"),
    ("LED-B5", "cool white LED"),
    ("FL2", "fluorescent tube"),
    ("FL11", "three-band fluorescent tube"),
    ("D50", "daylight 5000 K"),
    ("D55", "daylight 5500 K"),
    ("D65", "daylight 6500 K"),
    ("sodium", "sodium lamp"),
    ("E", "equal energy"),
)
SKY_SPECTRA = (
    ("auto", "the sky's usual colour"),
    ("5500 K", "daylight 5500 K"),
    ("6500 K", "daylight 6500 K"),
    ("8000 K", "daylight 8000 K"),
    ("12000 K", "daylight 12 000 K"),
    ("20000 K", "daylight 20 000 K"),
)
SKIES = (
    ("overcast", "overcast: three times brighter overhead"),
    ("uniform", "the same brightness all over"),
    ("open shade", "blue sky without the sun"),
    *((str(kind), f"ISO 15469 type {kind}") for kind in range(1, 16)),
)
WEATHERS = ("clear", "hazy", "dusty", "thin cloud", "broken cloud", "overcast")
LEAST_LUX, MOST_LUX = 0.5, 130000.0
_DECADES = math.log10(MOST_LUX / LEAST_LUX)
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
    """The chosen light's own controls; made anew for another kind of light, else only filled in."""

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
        made_for = None if light is None else (light.kind, getattr(light, "size", 0) is None)
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
            self._strength(form, light)
        if "sky" in names:
            self._choice(form, "sky", SKIES, lambda text: int(text) if text.isdigit() else text)
        if "spectrum" in names:
            self._spectrum(form, LAMP_SPECTRA if light.kind == "lamp" else SKY_SPECTRA)
        if light.kind == "daylight":
            self._choice(form, "weather", tuple((word, word) for word in WEATHERS), str)
            self._hour(form)
        for name, (words, low, high, unit, step) in _BOXES.items():
            if name in names and getattr(light, name) is not None:
                self._box(form, name, words, low, high, unit, step)
        if light.kind == "lamp":
            self._near_or_far(form, light)
        self.plot = SpectrumPlot("spectrum of the light")
        form.addRow(self.plot)

    def _change(self, what: str, key: str | None = None, **changes) -> None:
        if self.light is not None:
            name = self.light.name
            self.model.change(with_light(self.model.sitting, name, **changes), f"{what} of {name}", key)

    def _name(self, form: QFormLayout) -> None:
        self.name = QLineEdit()
        self.name.setAccessibleName("name of the light")
        self.name.editingFinished.connect(self._rename)
        form.addRow("name", self.name)
        self._fillers.append(lambda light: self.name.setText(light.name))

    def _rename(self) -> None:
        wanted, light = self.name.text().strip(), self.light
        if light is None or wanted == light.name:
            return
        taken = {other.name.lower() for other in self.model.sitting.lights if other is not light}
        if not wanted or wanted.lower() in taken | {"sheen", "bounce", "ground", "walls"}:
            self.name.setText(light.name)
            return
        lights = [replace(one, name=wanted) if one.name == light.name else one for one in self.model.sitting.lights]
        self.light = replace(light, name=wanted)
        self.parent().chosen = wanted
        self.model.change(with_lights(self.model.sitting, *lights), f"name of {wanted}")

    def _strength(self, form: QFormLayout, light: Light) -> None:
        where = "on open level ground" if light.kind == "sky" else "facing it"
        self.strength = NamedSlider(
            f"strength, {where}",
            LEAST_LUX,
            MOST_LUX,
            lux_words,
            lambda lux: min(1.0, max(0.0, math.log10(max(lux, LEAST_LUX) / LEAST_LUX) / _DECADES)),
            lambda place: float(f"{LEAST_LUX * 10 ** (place * _DECADES):.3g}"),
            "each fifth of the way is about ten times as much light",
        )
        self.strength.moved.connect(lambda lux: self._change("strength", "strength", illuminance=lux))
        self.strength.settled.connect(self.model.settle)
        form.addRow(self.strength)
        self._fillers.append(lambda light: self.strength.set_value(light.illuminance))

    def _choice(self, form: QFormLayout, field: str, offers, convert) -> None:
        box = Choice(field, offers)
        box.chosen.connect(lambda text: self._change(field, **{field: convert(text)}))
        form.addRow(field, box)
        setattr(self, f"{field}_box", box)
        self._fillers.append(lambda light: box.set_value(getattr(light, field)))

    def _spectrum(self, form: QFormLayout, offers) -> None:
        self.spectrum_box = Choice("spectrum", offers, worded=True)
        self.spectrum_box.addItem("a spectrum of your own…", "file")
        self.spectrum_box.chosen.connect(self._take_spectrum)
        form.addRow("colour", self.spectrum_box)
        self._fillers.append(lambda light: self.spectrum_box.set_value(light.spectrum))

    def _take_spectrum(self, text: str) -> None:
        if text == "file":
            text, _ = QFileDialog.getOpenFileName(self, "Spectrum of a light", "", "Spectra (*.csv *.tsv *.txt)")
            if not text:
                self.spectrum_box.set_value(self.light.spectrum)
                return
        self._change("colour", spectrum=text)

    def _box(self, form: QFormLayout, field: str, words: str, low: float, high: float, unit: str, step: float) -> None:
        box = NumberBox(words, low, high, unit, step)
        box.changed.connect(lambda value: self._change(words, f"box.{field}", **{field: value}))
        box.editingFinished.connect(self.model.settle)
        form.addRow(words, box)
        setattr(self, f"{field}_box", box)
        self._fillers.append(lambda light: box.set_value(getattr(light, field)))

    def _hour(self, form: QFormLayout) -> None:
        box = QDateTimeEdit()
        box.setDisplayFormat("yyyy-MM-dd HH:mm")
        box.setAccessibleName("date and hour, as the clock there shows")
        box.setCalendarPopup(True)
        box.setTimeSpec(Qt.TimeSpec.LocalTime)

        def take() -> None:
            when = box.dateTime().toPyDateTime().replace(tzinfo=self.light.when.tzinfo)
            self._change("hour", "hour", when=when)

        def fill(light: Light) -> None:
            shown: datetime = light.when
            box.blockSignals(True)
            box.setDateTime(shown.replace(tzinfo=None))
            box.blockSignals(False)

        box.dateTimeChanged.connect(take)
        form.addRow("date and hour", box)
        self.hour_box = box
        self._fillers.append(fill)

    def _near_or_far(self, form: QFormLayout, light: LampLight) -> None:
        near = light.distance is not None
        button = QPushButton("Make it a distant lamp" if near else "Make it a near lamp")
        changes = (
            {"size": 12.0, "distance": None, "diameter": None}
            if near
            else {"size": None, "distance": 1200.0, "diameter": 200.0}
        )
        button.clicked.connect(lambda: self._change("distance", **changes))
        form.addRow(QLabel(""), button)
