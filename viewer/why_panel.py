"""Why a plane looks as it does: a sentence, own colour beside seen colour, the pieces of its light, its spectrum."""

from __future__ import annotations

from PyQt6.QtCore import QRectF, QSize, Qt, pyqtSignal
from PyQt6.QtGui import QBrush, QColor, QPainter, QPen
from PyQt6.QtWidgets import QApplication, QGridLayout, QHBoxLayout, QMenu, QToolButton, QVBoxLayout, QWidget

from sitterlight.shading.colour_spaces import D65_WHITE, XYZ_from_Lab, hex_from_XYZ
from sitterlight.shading.families import strongest_light
from sitterlight.shading.munsell import munsell_under_D65
from sitterlight.shading.targets import PlaneRow, Seen, Target
from sitterlight.shading.why import why
from sitterlight.viewer.alone import Alone
from sitterlight.viewer.chip import Chip
from sitterlight.viewer.controls import soft, titled
from sitterlight.viewer.engine import Lit
from sitterlight.viewer.mixes import Mixes
from sitterlight.viewer.plane_light import Piece, pieces, plane_spectrum
from sitterlight.viewer.plane_words import NOTATIONS, notation, percent, plane_name
from sitterlight.viewer.screen_colour import on_screen
from sitterlight.viewer.spectrum_plot import SpectrumPlot


class WhyPanel(QWidget):
    """Shows one plane, or one stroke of it. `copied(text)` when a notation went to the clipboard."""

    copied = pyqtSignal(str)

    def __init__(self):
        super().__init__()
        self.seen: Seen | None = None
        self._told: tuple | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(8, 6, 8, 6)
        layout.setSpacing(6)
        top = QHBoxLayout()
        self.name = titled("")
        self.name.setWordWrap(True)
        self.copy = QToolButton()
        self.copy.setObjectName("quiet")
        self.copy.setText("Copy colour")
        self.copy.setToolTip("as Munsell, L*a*b*, hex or recipe; the chips below can be dragged into other programs")
        self.copy.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self._menu = QMenu(self.copy)
        self._menu.aboutToShow.connect(self._fill_menu)
        self.copy.setMenu(self._menu)
        top.addWidget(self.name, 1)
        top.addWidget(self.copy)
        layout.addLayout(top)
        self.sentence = soft()
        self.sentence.setObjectName("value")
        self.sentence.setTextInteractionFlags(
            Qt.TextInteractionFlag.TextSelectableByMouse | Qt.TextInteractionFlag.TextSelectableByKeyboard
        )
        layout.addWidget(self.sentence)
        layout.addLayout(self._chips())
        self.bars = ShareBars()
        layout.addWidget(self.bars)
        self.alone = Alone()
        layout.addWidget(self.alone)
        self.mixes = Mixes()
        layout.addWidget(self.mixes)
        self.plot = SpectrumPlot("spectrum that reaches the eye", 74)
        self._plot_words = soft("Light that reaches the eye, by wavelength; dashed: the white card's light")
        layout.addWidget(self._plot_words)
        layout.addWidget(self.plot)
        layout.addStretch(1)
        self.show_nothing()

    def _chips(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setSpacing(0)
        self.own, self.as_seen = Chip("own colour", QSize(60, 40)), Chip("seen colour", QSize(60, 40))
        self.own_words, self.seen_words = soft(), soft()
        grid.addWidget(self.own, 0, 0)
        grid.addWidget(self.as_seen, 0, 1)
        grid.addWidget(self.own_words, 1, 0)
        grid.addWidget(self.seen_words, 1, 1)
        return grid

    def show_nothing(self) -> None:
        """Nothing is chosen: say how to choose."""
        self.seen = self._told = None
        self.name.setText("Why?")
        self.sentence.setText("Click a plane on the head or in the list to learn why it has its colour.")
        self._show_all(False)
        self.alone.hide()

    def show_plane(self, lit: Lit, row: PlaneRow, seen: Seen | None = None) -> None:
        """Show a plane of a lit head, or one stroke of it."""
        self.seen = seen if seen is not None else row
        part = getattr(self.seen, "part", "whole")
        self._show_all(True)
        self.mixes.show_targets((self.seen,) if isinstance(self.seen, Target) else row.targets)
        told = lit, row.name, row.side, part, lit.has("light_mix")
        if told == self._told:  # the same light, of which the mix alone was not known yet
            return
        self._told = told
        self.alone.show_added(_added(lit, row), lit.eye)
        self.name.setText(plane_name(row).capitalize() + ("" if part == "whole" else f": {part}"))
        self.sentence.setText(why(self.seen, lit.scene.light_info, strongest_light(lit.scene)))
        self.own.set_colour(hex_from_XYZ(XYZ_from_Lab(self.seen.own_Lab, D65_WHITE)))
        self.as_seen.set_colour(self.seen.srgb)
        own = _own_munsell(lit, self.seen)
        self.own_words.setText(f"own colour\n{own or f'L* {self.seen.own_Lab[0]:.0f}'}")
        self.seen_words.setText(f"seen\n{self.seen.munsell or 'above white'}")
        self.bars.show_pieces(pieces(lit, self.seen))
        card = lit.scene.card_spectrum
        spectrum, away = plane_spectrum(lit, row, self.seen)
        estimate = "" if away < 0.05 else " (an estimate)"
        self._plot_words.setText(f"Light that reaches the eye, by wavelength{estimate}; dashed: the white card's light")
        hint = f"made from mean lights of the plane, which come within ΔE00 {away:.1f} of its colour, and bent to it"
        self._plot_words.setToolTip(hint if estimate else "")
        scale = spectrum.max() / card.max() if card.max() > 0 else 1.0
        self.plot.show_curves([("plane", spectrum), ("white card", card * scale)])

    def _show_all(self, shown: bool) -> None:
        for widget in (self.copy, self.own, self.as_seen, self.own_words, self.seen_words, self.bars):
            widget.setVisible(shown)
        for widget in (self.plot, self._plot_words, self.mixes):
            widget.setVisible(shown)

    def _fill_menu(self) -> None:
        self._menu.clear()
        for kind in NOTATIONS:
            text = "" if self.seen is None else notation(self.seen, kind)
            if text:
                self._menu.addAction(f"{kind}: {text}", lambda text=text: self._to_clipboard(text))

    def _to_clipboard(self, text: str) -> None:
        QApplication.clipboard().setText(text)
        self.copied.emit(text)


def _own_munsell(lit: Lit, seen: Seen) -> str | None:
    """The notation of the own colour of what is seen; one that is not known yet is sought."""
    known = lit.own_munsell if lit.has("own_munsell") else {}
    return known[seen.own_Lab] if seen.own_Lab in known else munsell_under_D65(seen.own_Lab)


def _added(lit: Lit, row: PlaneRow) -> dict:
    """What each light alone adds to a plane; nothing before it is known."""
    places = [k for k, plane in enumerate(lit.head.planes) if (plane.name, plane.side) == (row.name, row.side)]
    if not places or not lit.has("light_mix"):
        return {}
    return {name: XYZ[places[0]] for name, XYZ in lit.light_mix.added.items()}


class ShareBars(QWidget):
    """The pieces of a plane's light as bars in the colours of their lights; what was mirrored is striped."""

    def __init__(self):
        super().__init__()
        self.pieces: list[Piece] = []
        self.setAccessibleName("where the light of this plane comes from")

    def show_pieces(self, found: list[Piece]) -> None:
        self.pieces = found[:7]
        self.setAccessibleDescription("; ".join(f"{p.words} {percent(p.share)}" for p in self.pieces))
        self.setFixedHeight(self._row * max(len(self.pieces), 1) + 2)
        self.update()

    @property
    def _row(self) -> int:
        return self.fontMetrics().height() + 11

    def paintEvent(self, _event) -> None:
        painter = QPainter(self)
        for place, piece in enumerate(self.pieces):
            top, words = place * self._row, self.fontMetrics().height()
            painter.setPen(self.palette().text().color())
            line = QRectF(0, top, self.width(), words)
            painter.drawText(line, Qt.AlignmentFlag.AlignLeft, piece.words)
            painter.drawText(line, Qt.AlignmentFlag.AlignRight, percent(piece.share))
            whole = QRectF(0, top + words + 1, self.width(), 6)
            painter.fillRect(whole, self.palette().base())
            bar = QRectF(0, whole.top(), self.width() * piece.share, 6)
            painter.fillRect(bar, on_screen(QColor(piece.code)))
            painter.setPen(self.palette().placeholderText().color())
            painter.drawRect(bar.adjusted(0, 0, -0.5, 0))
            if piece.mirrored:
                painter.setPen(QPen(Qt.PenStyle.NoPen))
                painter.fillRect(bar, QBrush(QColor(40, 40, 40), Qt.BrushStyle.BDiagPattern))
        painter.end()
