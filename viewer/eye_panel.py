"""The eye: how far it is used to the light, how light becomes value, where it stands, and the surround."""

from __future__ import annotations

from PyQt6.QtWidgets import QCheckBox, QFileDialog, QFormLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from sitterlight.illuminants.surfaces import surfaces
from sitterlight.shading.sitting import with_eye, with_surround
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import NamedSlider, add_row, soft, titled
from sitterlight.viewer.engine import Lit
from sitterlight.viewer.model import Model
from sitterlight.viewer.numbers import NumberBox

KEYS = (
    ("as lit", "as lit: card is white paint"),
    ("value", "lightest at a value of paint"),
    ("compressed", "compressed to range of paint"),
)


_HINTS = {
    "key": "how light becomes paint: a white card as white paint, the lightest colour at a value that you choose, "
    "or the whole range of the light pressed into that of paint",
    "value": "the lightest colour on the head is painted at this value",
    "observer": "the standard eye that colours are told for: 2° is the usual one, 10° looks at a larger field",
    "azimuth": "where you stand round the sitter: 0° straight before an unturned head, + to the sitter's left, "
    "90° at the side, 180° behind",
    "elevation": "how high your eye is: 0° level with the head, + above it, − below",
    "distance": "from the head to your eye",
    "ground": "what lies at the sitter's feet and sends light up",
    "walls": "walls and ceiling of a room, which send the light back from all sides; under an open sky there are none",
    "clothes": "what the sitter wears; it sends light up under the chin",
}
"""What each control is for."""

_GREYS = ((0.15, "dark grey"), (0.3, "grey"), (0.6, "light grey"), (1.0, "white"))
"""Up to which share of light given back a grey is called so."""


def grey_words(value: str) -> str:
    """A share of light that is given back, in a word and its number; nothing for what is no number."""
    try:
        share = float(value)
    except ValueError:
        return ""
    if share == 0:
        return "none"
    word = next((word for most, word in _GREYS if share <= most), "white")
    return f"{word}, {share:g}"


class EyePanel(QWidget):
    """Mirrors and changes the eye of the sitting, and the ground, walls and clothes round it."""

    def __init__(self, model: Model):
        super().__init__()
        self.model = model
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(6)
        self.adaptation = NamedSlider(
            "adaptation", 0, 1, "{:.2f}".format, hint="0: the eye sees the light's colour; 1: it is wholly used to it"
        )
        self.adaptation.moved.connect(lambda value: self._eye("adaptation", adaptation=round(value, 3)))
        self.adaptation.settled.connect(model.settle)
        layout.addWidget(self.adaptation)
        ends = QHBoxLayout()
        ends.addWidget(soft("sees the light's colour", wrap=False))
        ends.addStretch(1)
        ends.addWidget(soft("used to it", wrap=False))
        layout.addLayout(ends)
        self.auto = QCheckBox("as an eye does in this much light")
        self.auto.setToolTip("the brighter the scene, the farther the eye is used to it (CIECAM16)")
        self.auto.toggled.connect(self._take_auto)
        layout.addWidget(self.auto)
        layout.addLayout(self._key())
        layout.addWidget(titled("Where the eye stands"))
        layout.addLayout(self._stand())
        layout.addWidget(titled("What returns light"))
        layout.addLayout(self._surround())
        self.above = soft()
        layout.addWidget(self.above)
        self._degree = 1.0
        self._shown: tuple = ()
        model.on("state", self._mirror_if_changed)
        self.mirror()

    def _key(self) -> QFormLayout:
        form = _form()
        self.key = Choice("key", KEYS, worded=True)
        self.key.chosen.connect(self._take_key)
        self.value = NumberBox("Munsell value of the lightest target", 1, 10, "", 0.5)
        self.value.changed.connect(lambda value: self._eye("key", key=value))
        self.observer = Choice("observer", (("2", "CIE 1931, 2°"), ("10", "CIE 1964, 10°")), worded=True)
        self.observer.chosen.connect(lambda text: self._eye("observer", observer=int(text)))
        add_row(form, "key", self.key, _HINTS["key"])
        add_row(form, "Munsell value", self.value, _HINTS["value"])
        self._value_words = form.labelForField(self.value)
        add_row(form, "observer", self.observer, _HINTS["observer"])
        return form

    def _stand(self) -> QFormLayout:
        form = _form()
        self.azimuth = NumberBox("azimuth of the eye", -180, 180, "°", 5)
        self.elevation = NumberBox("elevation of the eye", -90, 90, "°", 5)
        self.distance = NumberBox("distance of the eye", 300, 1e5, " mm", 100)
        boxes = {"azimuth": self.azimuth, "elevation": self.elevation, "distance": self.distance}
        for name, box in boxes.items():
            box.changed.connect(lambda value, name=name: self._eye(f"{name}", **{name: value}))
            box.editingFinished.connect(self.model.settle)
            add_row(form, name, box, _HINTS[name])
        row = QHBoxLayout()
        self.here = QPushButton("Stand here")
        self.here.setToolTip("put the eye, and the white card that faces it, where you look from now")
        self.here.clicked.connect(self.model.stand_here)
        self.back = QPushButton("Go back")
        self.back.setToolTip("look again from where the eye stands")
        self.back.clicked.connect(lambda: self.model.look_from(None, None))
        row.addWidget(self.here)
        row.addWidget(self.back)
        form.addRow(row)
        return form

    def _surround(self) -> QFormLayout:
        form = _form()
        offers = [(value, grey_words(value)) for value in ("0", "0.1", "0.2", "0.4", "0.8")]
        self.returns = {}
        for name in ("ground", "walls", "clothes"):
            listed = [(one.name, one.description) for one in surfaces().values()]
            box = Choice(name, [*offers, *listed], told=grey_words)
            box.addItem("a file of your own…", "file")
            box.chosen.connect(lambda text, name=name: self._returns(name, text))
            add_row(form, name, box, f"{_HINTS[name]}: a grey from 0, black, to 1, white, a surface, or a file")
            self.returns[name] = box
        return form

    def _mirror_if_changed(self) -> None:
        shown = (self.model.sitting.eye, self.model.sitting.surround, self.model.state.gaze is None)
        if shown != self._shown:
            self._shown = shown
            self.mirror()

    def mirror(self) -> None:
        """Show the eye that the model has."""
        sitting, state = self.model.sitting, self.model.state
        eye = sitting.eye
        self.auto.blockSignals(True)
        self.auto.setChecked(eye.adaptation == "auto")
        self.auto.blockSignals(False)
        self.adaptation.set_value(self._degree if eye.adaptation == "auto" else eye.adaptation)
        is_value = not isinstance(eye.key, str)
        self.key.set_value("value" if is_value else eye.key)
        self.value.setVisible(is_value)
        self._value_words.setVisible(is_value)
        if is_value:
            self.value.set_value(eye.key)
        self.observer.set_value(eye.observer)
        self.azimuth.set_value(eye.azimuth)
        self.elevation.set_value(eye.elevation)
        self.distance.set_value(eye.distance)
        self.here.setEnabled(state.gaze is not None)
        self.back.setEnabled(state.gaze is not None)
        for name, box in self.returns.items():
            value = getattr(sitting.surround, name)
            box.set_value(value if isinstance(value, str) else f"{value:g}")

    def show_lit(self, lit: Lit) -> None:
        """Take the numbers that were calculated."""
        self._degree = lit.eye.adaptation
        if self.model.sitting.eye.adaptation == "auto":
            self.adaptation.set_value(self._degree)
        share = lit.share_above_white
        self.above.setText(f"{100 * share:.0f} % of what is seen lies above white paint." if share >= 0.005 else "")

    def _eye(self, what: str, **changes) -> None:
        self.model.change(with_eye(self.model.sitting, **changes), f"{what} of the eye", key=f"eye.{what}")

    def _take_auto(self, on: bool) -> None:
        self._eye("adaptation", adaptation="auto" if on else round(self._degree, 3))
        self.model.settle()

    def _take_key(self, text: str) -> None:
        self._eye("key", key=8.0 if text == "value" else text)
        self.model.settle()

    def _returns(self, name: str, text: str) -> None:
        if text == "file":
            text, _ = QFileDialog.getOpenFileName(self, f"Reflectance of the {name}", "", "Spectra (*.csv *.tsv *.txt)")
            surround = with_surround(self.model.sitting, **{name: text})
            if not text or not self.model.change_if_read(surround, f"surround.{name}", name):
                self.mirror()
            return
        try:
            value: float | str = float(text)
        except ValueError:
            value = text
        self.model.change(with_surround(self.model.sitting, **{name: value}), name)


def _form() -> QFormLayout:
    form = QFormLayout()
    form.setContentsMargins(0, 0, 0, 0)
    form.setVerticalSpacing(5)
    return form
