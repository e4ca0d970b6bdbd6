"""The lights of the sitting: a list, the map of directions, and what can be changed about the chosen one."""

from __future__ import annotations

from dataclasses import replace

from PyQt6.QtCore import QSize, Qt
from PyQt6.QtGui import QAction
from PyQt6.QtWidgets import QCheckBox, QGridLayout, QHBoxLayout, QMenu, QToolButton, QVBoxLayout, QWidget

from sitterlight.shading.light_mix import LightMix
from sitterlight.shading.sitting import Light, result_names, with_light, with_lights
from sitterlight.viewer.chip import Chip
from sitterlight.viewer.controls import soft, tab_before
from sitterlight.viewer.engine import Lit
from sitterlight.viewer.home_city import at_home
from sitterlight.viewer.light_editor import LightEditor
from sitterlight.viewer.light_facts import (
    cct_words,
    codes_of,
    info_line,
    lux_words,
    mix_words,
    named_anew,
    new_light,
    stops_words,
)
from sitterlight.viewer.light_map import LightMap, MapMark
from sitterlight.viewer.light_offers import NEAR_LAMPS, NEW_LIGHTS
from sitterlight.viewer.model import Model


class LightPanel(QWidget):
    """Mirrors and changes the lights of the sitting."""

    def __init__(self, model: Model):
        super().__init__()
        self.model = model
        self.chosen: str | None = None
        self._infos: dict[str, dict] = {}
        self._card_words = ""
        self._before_solo: dict[str, bool] = {}
        self.rows: dict[str, _LightRow] = {}
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(5)
        self._list = QVBoxLayout()
        self._list.setSpacing(1)
        layout.addLayout(self._list)
        layout.addLayout(self._buttons())
        self.map = LightMap()
        self.map.moved.connect(self._moved)
        self.map.chosen.connect(self.choose)
        self.map.settled.connect(model.settle)
        layout.addWidget(self.map)
        self.sum = soft()
        layout.addWidget(self.sum)
        self.editor = LightEditor(model)
        layout.addWidget(self.editor)
        self._shown: tuple = ()
        model.on("state", self._mirror_if_changed)
        self.mirror()

    def _buttons(self) -> QHBoxLayout:
        row = QHBoxLayout()
        self.add = QToolButton()
        self.add.setText("Add a light")
        self.add.setToolTip("sun and sky, a window, lamps far and near")
        self.add.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        menu = QMenu(self.add)
        near = QMenu("A lamp nearby", menu)
        for offers, into in ((NEW_LIGHTS, menu), (NEAR_LAMPS, near)):
            for words, light in offers:
                action = QAction(words, into)
                action.triggered.connect(lambda _=False, light=light: self.take_light(light))
                into.addAction(action)
        menu.addMenu(near)
        self.add.setMenu(menu)
        self.remove = QToolButton()
        self.remove.setText("Remove")
        self.remove.setToolTip("take the chosen light out of the sitting")
        self.remove.clicked.connect(self.remove_light)
        row.addWidget(self.add)
        row.addWidget(self.remove)
        row.addStretch(1)
        return row

    def _mirror_if_changed(self) -> None:
        state = self.model.state
        shown = (state.sitting.lights, state.sitting.folder, state.looks_from)
        if shown != self._shown:
            self._shown = shown
            self.mirror()

    def mirror(self) -> None:
        """Show the lights that the model has."""
        sitting = self.model.sitting
        names = [light.name for light in sitting.lights]
        if self.chosen not in names:
            placed = [light.name for light in sitting.lights if hasattr(light, "azimuth")]
            self.chosen = (placed or names or [None])[0]
        if list(self.rows) != names:
            self._rebuild(names)
        codes = codes_of(sitting)
        for light in sitting.lights:
            self.rows[light.name].show_light(light, codes[light.name][0], info_line(light, self._infos))
            self.rows[light.name].set_chosen(light.name == self.chosen)
        marks = [
            MapMark(light.name, *self._place(light), codes[light.name][0], light.on, light.name == self.chosen)
            for light in sitting.lights
            if self._place(light) is not None
        ]
        domes = [codes[light.name][0] for light in sitting.lights if light.kind in ("sky", "daylight") and light.on]
        gaze = self.model.state.looks_from
        self.map.show_lights(marks, (gaze.azimuth, gaze.elevation), domes)
        chosen = next((light for light in sitting.lights if light.name == self.chosen), None)
        self.editor.show_light(chosen, codes[chosen.name][1] if chosen else None)
        self.remove.setEnabled(chosen is not None)

    def _place(self, light: Light) -> tuple[float, float] | None:
        return (light.azimuth, light.elevation) if hasattr(light, "azimuth") else None

    def show_lit(self, lit: Lit) -> None:
        """Take the numbers that were calculated."""
        self._infos = {info["name"]: info for info in lit.scene.light_info}
        for light in self.model.sitting.lights:
            if light.name in self.rows:
                self.rows[light.name].words.setText(info_line(light, self._infos))
        from sitterlight.illuminants.temperature import cct_and_duv

        cct, _ = cct_and_duv(lit.scene.card_XYZ)
        self._card_words = f"On the white card: {lux_words(lit.scene.card_lux)}, {cct_words(cct)}"
        self.sum.setText(f"{self._card_words}\n ")

    def show_mix(self, mix: LightMix) -> None:
        """Take what each light gives: shares beside the lights, stops from key to fill below."""
        shares = {share.name: share for share in mix.shares}
        for light in self.model.sitting.lights:
            parts = [shares[name] for name in result_names(light) if name in shares]
            if light.name in self.rows and parts:
                self.rows[light.name].setToolTip(mix_words(parts))
        self.sum.setText("\n".join([self._card_words, *stops_words(mix)]))

    def _rebuild(self, names: list[str]) -> None:
        for row in self.rows.values():
            self._list.removeWidget(row)
            row.hide()
            row.deleteLater()
        self.rows = {}
        for name in names:
            row = _LightRow(name)
            row.switch.toggled.connect(lambda on, name=name: self._switch(name, on))
            row.solo.clicked.connect(lambda _=False, name=name: self.solo(name))
            row.pressed = lambda name=name: self.choose(name)
            self._list.addWidget(row)
            self.rows[name] = row
        tab_before(self.add, self.rows.values())

    def choose(self, name: str) -> None:
        """Choose the light to be changed below the map."""
        self.chosen = name
        self.mirror()

    def _switch(self, name: str, on: bool) -> None:
        self.model.change(with_light(self.model.sitting, name, on=on), f"{name} {'on' if on else 'off'}")

    def solo(self, name: str) -> None:
        """This light alone; a second time, as it was before."""
        sitting = self.model.sitting
        alone = all(light.on == (light.name == name) for light in sitting.lights)
        if alone and self._before_solo:
            lights = [replace(light, on=self._before_solo.get(light.name, True)) for light in sitting.lights]
        elif alone:
            lights = [replace(light, on=True) for light in sitting.lights]
        else:
            self._before_solo = {light.name: light.on for light in sitting.lights}
            lights = [replace(light, on=light.name == name) for light in sitting.lights]
        self.model.change(with_lights(sitting, *lights), f"{name} alone")

    def add_light(self, kind: str) -> None:
        """Add a light of a kind and choose it."""
        self.take_light(new_light(self.model.sitting, kind))

    def take_light(self, light: Light) -> None:
        """Add a light, under a name of its own, and choose it; a new daylight begins at the home city."""
        light = named_anew(self.model.sitting, at_home(light))
        self.chosen = light.name
        self.model.change(with_lights(self.model.sitting, *self.model.sitting.lights, light), f"add {light.name}")

    def remove_light(self) -> None:
        """Remove the chosen light."""
        kept = [light for light in self.model.sitting.lights if light.name != self.chosen]
        self.model.change(with_lights(self.model.sitting, *kept), f"remove {self.chosen}")

    def _moved(self, name: str, azimuth: float, elevation: float) -> None:
        changes = {"azimuth": round(azimuth, 1), "elevation": round(elevation, 1)}
        self.model.change(with_light(self.model.sitting, name, **changes), f"place of {name}", key=f"place.{name}")


class _LightRow(QWidget):
    """One light: on or off, its colour, its name and numbers, alone."""

    def __init__(self, name: str):
        super().__init__()
        self.pressed = lambda: None
        layout = QGridLayout(self)
        layout.setContentsMargins(4, 2, 2, 2)
        layout.setHorizontalSpacing(6)
        layout.setVerticalSpacing(0)
        self.switch = QCheckBox()
        self.switch.setAccessibleName(f"{name} on")
        self.switch.setToolTip("on or off")
        self.chip = Chip("", QSize(14, 26), rim=True)
        self.name = soft(name, wrap=False)
        self.name.setObjectName("value")
        self.words = soft("", wrap=False)
        self.solo = QToolButton()
        self.solo.setObjectName("quiet")
        self.solo.setText("alone")
        self.solo.setToolTip("this light alone; again: all as before")
        self.solo.setAccessibleName(f"{name} alone")
        layout.addWidget(self.switch, 0, 0, 2, 1)
        layout.addWidget(self.chip, 0, 1, 2, 1)
        layout.addWidget(self.name, 0, 2)
        layout.addWidget(self.words, 1, 2)
        layout.addWidget(self.solo, 0, 3, 2, 1)
        layout.setColumnStretch(2, 1)
        self.setAttribute(Qt.WidgetAttribute.WA_StyledBackground)

    def show_light(self, light: Light, code: str, words: str) -> None:
        self.switch.blockSignals(True)
        self.switch.setChecked(light.on)
        self.switch.blockSignals(False)
        self.chip.set_colour(code if light.on else None)
        self.words.setText(words)

    def set_chosen(self, chosen: bool) -> None:
        self.setStyleSheet("_LightRow { background: palette(button); border-radius: 4px; }" if chosen else "")

    def mousePressEvent(self, _event) -> None:
        self.pressed()
