"""A tube of one's own from its swatches: the paint as it is and with white, each by its colour or its spectrum."""

from __future__ import annotations

from pathlib import Path

from PyQt6.QtCore import QSize, Qt, pyqtSignal
from PyQt6.QtWidgets import (
    QCheckBox,
    QDialog,
    QFileDialog,
    QFormLayout,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from sitterlight.shading.mixing import Lab_under, mix_Lab, viewing_light
from sitterlight.shading.own_paint import OwnPaint
from sitterlight.shading.paint_chips import code_of
from sitterlight.shading.paint_file import FORMAT, colour_table, paint_of_table, write_paint_file
from sitterlight.shading.paints import library, paint
from sitterlight.viewer.chip import Chip
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import soft
from sitterlight.viewer.numbers import NumberBox
from sitterlight.viewer.sentences import sentence

SWATCHES = ((1.0, 0.0), (1.0, 3.0), (1.0, 12.0), (1.0, 50.0))
"""Parts of paint and of white in the swatches that are asked for; those left empty do not count."""

CAUTIONS = (
    ("", "nothing to mind"),
    *((word, f"contains {word}") for word in ("lead", "cadmium", "cobalt", "manganese", "nickel", "chromium")),
    ("fades", "fades in light"),
)
SPECTRA = "Spectra (*.csv *.tsv *.txt)"


class TubeMaker(QDialog):
    """Says as one types how sure the program is of the tube; `made(path)` once it is saved."""

    made = pyqtSignal(str)

    def __init__(self, parent: QWidget | None = None):
        super().__init__(parent)
        self.setWindowTitle("A tube of your own")
        self.found: OwnPaint | None = None
        layout = QVBoxLayout(self)
        layout.addWidget(
            soft(
                "Paint out the tube as it is and mixed with known parts of white, thick enough to hide. Give each "
                "swatch its colour under daylight, as Munsell (10R 4/6), Lab 36 26 24 or #8a5a3c from a photograph "
                "beside a white card, or its spectrum as a CSV file."
            )
        )
        layout.addLayout(self._names())
        layout.addLayout(self._swatches())
        self.sheen = QCheckBox("the spectra hold the gloss (specular included)")
        self.sheen.setChecked(True)
        self.sheen.toggled.connect(self._judge)
        self.words = soft()
        self.words.setObjectName("value")
        self.words.setMinimumHeight(3 * self.fontMetrics().height())
        self.save, close = QPushButton("Save and put on the palette…"), QPushButton("Close")
        self.save.clicked.connect(self.ask_save)
        close.clicked.connect(self.close)
        row = QHBoxLayout()
        row.addStretch(1)
        row.addWidget(self.save)
        row.addWidget(close)
        for widget in (self.sheen, self.words):
            layout.addWidget(widget)
        layout.addLayout(row)
        self.resize(560, 0)
        self._judge()

    def resizeEvent(self, event) -> None:
        super().resizeEvent(event)
        self._make_room()

    def _make_room(self) -> None:
        """Never lower than the rows and the words need, which in a narrower window run on."""
        self.setMinimumHeight(self.layout().minimumHeightForWidth(self.width()))

    def _names(self) -> QFormLayout:
        form = QFormLayout()
        self.name, self.pigment = QLineEdit(), QLineEdit()
        self.name.setAccessibleName("name of the tube")
        self.pigment.setAccessibleName("Colour Index name of its pigment")
        self.pigment.setPlaceholderText("PR102, if you know it")
        self.white = Choice("white of the tints", [(p.id, p.label) for p in library() if p.is_white], worded=True)
        self.caution = Choice("what to mind", CAUTIONS, worded=True)
        for box in (self.name, self.pigment):
            box.textChanged.connect(self._judge)
        for choice in (self.white, self.caution):
            choice.chosen.connect(self._judge)
        form.addRow("name", self.name)
        form.addRow("pigment", self.pigment)
        form.addRow("tints with", self.white)
        form.addRow("caution", self.caution)
        return form

    def _swatches(self) -> QGridLayout:
        grid = QGridLayout()
        for column, words in enumerate(("paint", "white", "colour or spectrum", "", "given | found")):
            grid.addWidget(QLabel(words), 0, column)
        self.rows = []
        for line, (parts, white) in enumerate(SWATCHES, 1):
            amounts = [NumberBox(f"parts of {what} in swatch {line}", 0, 1000, "", 1) for what in ("paint", "white")]
            for box, value in zip(amounts, (parts, white), strict=True):
                box.setValue(value)
                box.changed.connect(self._judge)
            colour, file, chips = QLineEdit(), QPushButton("File…"), [Chip("", QSize(30, 24)) for _ in range(2)]
            colour.setAccessibleName(f"colour or spectrum of swatch {line}")
            colour.setPlaceholderText("the paint as it is" if not white else "leave empty if you have none")
            colour.textChanged.connect(self._judge)
            file.setAccessibleName(f"spectrum of swatch {line} from a file")
            file.clicked.connect(lambda _=False, box=colour: self._ask_spectrum(box))
            both = QHBoxLayout()
            both.setSpacing(0)
            for chip in chips:
                both.addWidget(chip)
            for column, widget in enumerate((*amounts, colour, file)):
                grid.addWidget(widget, line, column)
                widget.ensurePolished()
                widget.setMinimumHeight(widget.sizeHint().height())
            grid.addLayout(both, line, 4)
            self.rows.append((*amounts, colour, chips))
        grid.setColumnStretch(2, 1)
        return grid

    @property
    def table(self) -> dict:
        """What the file will hold. Raises ValueError for a colour that is none."""
        samples = []
        for parts, white, colour, _ in self.rows:
            text = colour.text().strip()
            if not text:
                continue
            sample: dict = {"paint": parts.value(), "white": white.value()}
            if text.lower().endswith((".csv", ".tsv", ".txt")):
                sample |= {"reflectance": text, "sheen_included": self.sheen.isChecked()}
            else:
                sample["colour"] = colour_table(text)
            samples.append(sample)
        given = {"format": FORMAT, "name": self.name.text().strip() or "my tube", "white": self.white.currentData()}
        given |= {"pigment": self.pigment.text().strip()} if self.pigment.text().strip() else {}
        given |= {"caution": self.caution.currentData()} if self.caution.currentData() else {}
        return given | {"sample": samples}

    def _judge(self, *_changed) -> None:
        """Invert what is given and say how sure that is."""
        self.found = None
        try:
            if not any(colour.text().strip() for _, _, colour, _ in self.rows):
                self.words.setText("Give at least the paint as it is and one tint with white.")
            else:
                self.found = own = paint_of_table(self.table, Path())
                self.words.setText(f"{_SURE[own.confidence]} {own.why}")
        except (ValueError, OSError) as error:
            self.words.setText(str(error))
        self.save.setEnabled(self.found is not None and bool(self.name.text().strip()))
        self._show_chips()
        self._make_room()

    def _show_chips(self) -> None:
        light = viewing_light("D65")
        for parts, white, colour, (given, found) in self.rows:
            asked = colour.text().strip() and self.found is not None
            given.set_colour(_given_code(colour.text()) if asked else None)
            mixed = (parts.value(), white.value())
            tubes = (self.found.paint, paint(self.white.currentData())) if asked else ()
            found.set_colour(code_of(mix_Lab(mixed, tubes, light)) if asked and sum(mixed) > 0 else None)

    def _ask_spectrum(self, box: QLineEdit) -> None:
        name, _ = QFileDialog.getOpenFileName(self, "Spectrum of a swatch", "", SPECTRA)
        if name:
            box.setText(name)

    def ask_save(self) -> None:
        """Ask where to save the tube."""
        proposed = f"{self.name.text().strip()}.toml"
        name, _ = QFileDialog.getSaveFileName(self, "Save the tube", proposed, "Tubes (*.toml)")
        if name:
            self.save_as(Path(name if name.lower().endswith(".toml") else f"{name}.toml"))

    def save_as(self, path: Path) -> None:
        """Save the tube and tell of it."""
        try:
            write_paint_file(self.table, path)
        except (ValueError, OSError) as error:
            self.words.setText(sentence(error))
            return
        self.made.emit(str(path))
        self.close()

    def keyPressEvent(self, event) -> None:
        if event.key() not in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            super().keyPressEvent(event)


_SURE = {
    "sure": "The program is sure of this tube.",
    "fair": "The program is fairly sure of this tube.",
    "a rough guess": "The program can only guess at this tube.",
}


def _given_code(text: str) -> str | None:
    """The sRGB code of a swatch as it was given."""
    text = text.strip()
    if text.lower().endswith((".csv", ".tsv", ".txt")):
        from sitterlight.illuminants.files import read_spectrum_csv
        from sitterlight.illuminants.grid import on_grid

        return code_of(Lab_under(on_grid(*read_spectrum_csv(text, "reflectance"), "the swatch"), viewing_light("D65")))
    from sitterlight.shading.mix import Lab_of

    return code_of(Lab_of(text))
