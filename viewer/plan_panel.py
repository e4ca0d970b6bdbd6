"""The mixing plan of the whole head: tubes to squeeze out, piles in the order of mixing, cautions."""

from __future__ import annotations

from PyQt6.QtCore import QSize, Qt, pyqtSignal
from PyQt6.QtGui import QColor, QPainter
from PyQt6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from sitterlight.shading.mixing import viewing_light
from sitterlight.shading.mixing_plan import MixingPlan, Pile
from sitterlight.shading.paint_chips import chip_codes, code_of
from sitterlight.shading.paints import paints
from sitterlight.shading.sitting import Sitting
from sitterlight.viewer.chip import Chip
from sitterlight.viewer.controls import rule, soft, titled
from sitterlight.viewer.screen_colour import on_screen


class PlanPanel(QWidget):
    """Shows a plan. `asked(name)` for the stroke that a click on a pile's chip chooses."""

    asked = pyqtSignal(str)

    def __init__(self):
        super().__init__()
        self.plan: MixingPlan | None = None
        self._body: QWidget | None = None
        self._layout = QVBoxLayout(self)
        self._layout.setContentsMargins(8, 6, 8, 6)
        self._words = soft("The plan follows once every plane has its mix.")
        self._layout.addWidget(self._words)
        self._layout.addStretch(1)

    def show_nothing(self, words: str) -> None:
        """There is no plan, as the words say."""
        self.plan = None
        if self._body is not None:
            self._body.hide()
        self._words.setText(words)

    def show_plan(self, plan: MixingPlan, sitting: Sitting) -> None:
        """Show the plan of a sitting."""
        self.plan = plan
        if self._body is not None:
            self._layout.removeWidget(self._body)
            self._body.deleteLater()
        self._words.setText(plan.words[0] if plan.words else "The eye sees no plane: there is nothing to mix.")
        self._body = QWidget()
        layout = QVBoxLayout(self._body)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(6)
        if plan.piles:
            layout.addWidget(titled("Squeeze out, by volume"))
            layout.addWidget(_Tubes(plan, sitting))
            layout.addWidget(titled("Piles, in the order of mixing"))
        for number, pile in enumerate(plan.piles, 1):
            layout.addLayout(self._pile(number, pile))
            layout.addWidget(rule())
        if plan.cautions:
            layout.addWidget(titled("Cautions"))
            layout.addWidget(soft(" ".join(plan.cautions)))
        self._layout.insertWidget(1, self._body)

    def _pile(self, number: int, pile: Pile) -> QGridLayout:
        grid = QGridLayout()
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(2)
        share = f"{100 * pile.share_of_area:.0f} %" if pile.share_of_area >= 0.01 else "less than 1 %"
        chip = Chip(f"pile {number}, {pile.family}: choose its largest plane", QSize(34, 54))
        chip.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        chip.set_colour(code_of(pile.recipe.Lab))
        chip.clicked.connect(lambda: self.asked.emit(pile.strokes[0]))
        head = titled(f"{number}. {pile.family.capitalize()}, {share} of the area")
        mix, order, where = soft(pile.recipe.text), soft(pile.recipe.order), soft(", ".join(pile.strokes))
        mix.setObjectName("value")
        where.setToolTip("painted with this pile, or with it turned a little")
        grid.addWidget(chip, 0, 0, 4, 1, Qt.AlignmentFlag.AlignTop)
        for place, label in enumerate((head, mix, order, where)):
            grid.addWidget(label, place, 1)
        grid.setColumnStretch(1, 1)
        return grid


class _Tubes(QWidget):
    """A line for each tube that is needed: its chips, its name, and a bar as long as its share."""

    _ROW = 24

    def __init__(self, plan: MixingPlan, sitting: Sitting):
        super().__init__()
        light = viewing_light(sitting.easel.light, sitting.folder)
        tubes = {p.id: p for p in paints(sitting.palette.paints, sitting.folder)}
        self._lines = [(chip_codes(tubes[id], light), tubes[id].label, share) for id, share in plan.paints]
        self.setAccessibleName("tubes to squeeze out")
        self.setAccessibleDescription(", ".join(f"{label} {100 * share:.0f} %" for _, label, share in self._lines))
        self.setFixedHeight(self._ROW * len(self._lines))

    def paintEvent(self, _event) -> None:
        painter = QPainter(self)
        largest = max((share for *_, share in self._lines), default=1.0)
        for place, (codes, label, share) in enumerate(self._lines):
            top = place * self._ROW
            for k, code in enumerate(codes):
                painter.fillRect(18 * k, top, 18, self._ROW, on_screen(QColor(code)))
            room = self.width() - 44
            painter.fillRect(
                44, top + self._ROW - 5, round(room * share / largest), 3, self.palette().placeholderText()
            )
            painter.setPen(self.palette().text().color())
            flags = Qt.AlignmentFlag.AlignTop
            painter.drawText(44, top + 1, room, 18, flags | Qt.AlignmentFlag.AlignLeft, label)
            painter.drawText(
                44, top + 1, room, 18, flags | Qt.AlignmentFlag.AlignRight, f"{100 * max(share, 0.01):.0f} %"
            )
        painter.end()
