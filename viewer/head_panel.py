"""The planes of a head of one's own: how many there are, joined and named by hand; and what was mended in its mesh."""

from __future__ import annotations

from PyQt6.QtCore import QSignalBlocker, Qt, QTimer
from PyQt6.QtWidgets import (
    QAbstractItemView,
    QCheckBox,
    QHBoxLayout,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from sitterlight.meshes.head import Head
from sitterlight.meshes.plane_edits import PlaneEdit, numbers_as_found, taken_apart, with_joined, with_name
from sitterlight.shading.file_names import looks_like_path
from sitterlight.shading.sitting import with_head
from sitterlight.viewer.controls import NamedSlider, Section, soft
from sitterlight.viewer.model import Model

FEWEST, MOST = 4, 120
LONGEST_NAME = 60
LONGEST_NOTICE = 130
NUMBER, SIDE = Qt.ItemDataRole.UserRole, Qt.ItemDataRole.UserRole + 1


class HeadPanel(QWidget):
    """Mirrors and changes the planes of the sitting's head; hidden while the head is a built-in one."""

    def __init__(self, model: Model):
        super().__init__()
        self.model = model
        self.head: Head | None = None
        self._told: set[str] = set()
        body = QWidget()
        layout = QVBoxLayout(body)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(5)
        self.words = soft()
        layout.addWidget(self.words)
        self.by_shape = QCheckBox("as many as the head asks for")
        self.by_shape.setToolTip("by name where it is a head; otherwise as its shape asks for")
        self.by_shape.toggled.connect(self._set_by_shape)
        layout.addWidget(self.by_shape)
        self.count = NamedSlider("planes", FEWEST, MOST, lambda value: f"{value:.0f}", hint="how many planes it has")
        self.count.moved.connect(lambda value: self._set_count(round(value)))
        self.count.settled.connect(model.settle)
        layout.addWidget(self.count)
        layout.addWidget(self._list())
        layout.addLayout(self._buttons())
        self.section = Section("Planes of this head", body)
        outer = QVBoxLayout(self)
        outer.setContentsMargins(0, 0, 0, 0)
        outer.addWidget(self.section)
        model.on("state", self.mirror)
        model.on("chosen", self._mirror_chosen)
        self.mirror()

    def _list(self) -> QListWidget:
        self.list = QListWidget()
        self.list.setAccessibleName("planes of this head")
        self.list.setToolTip("Ctrl or Shift for several; F2 or a double click to name one")
        self.list.setSelectionMode(QAbstractItemView.SelectionMode.ExtendedSelection)
        triggers = QAbstractItemView.EditTrigger
        self.list.setEditTriggers(triggers.DoubleClicked | triggers.EditKeyPressed)
        self.list.setMinimumHeight(150)
        self.list.itemSelectionChanged.connect(self._selected)
        self.list.itemChanged.connect(self._named)
        self.list.itemDelegate().closeEditor.connect(lambda: QTimer.singleShot(0, self._fill))
        return self.list

    def _buttons(self) -> QHBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(4)
        self.name, self.join, self.part, self.found = (
            QPushButton(words) for words in ("Name…", "Join", "Part", "As found")
        )
        hints = (
            "give the chosen plane a name of your own",
            "make the chosen planes one",
            "take a joined plane apart again",
            "without any joining or naming by hand",
        )
        slots = (self._begin_naming, self.join_selected, self.part_selected, lambda: self._edit((), "planes as found"))
        for button, hint, slot in zip((self.name, self.join, self.part, self.found), hints, slots, strict=True):
            button.setToolTip(hint)
            button.clicked.connect(slot)
            row.addWidget(button)
        return row

    @property
    def is_wanted(self) -> bool:
        """Whether the head is one of the user's own."""
        return looks_like_path(self.model.sitting.head.mesh)

    def show_head(self, head: Head, exact: bool) -> str:
        """Show the planes of a lit head; returns what there is to say of its mesh until it was once lit exactly."""
        if not self.is_wanted:
            return ""
        if head is not self.head:
            self.head = head
            self.words.setText(" ".join(head.report))
            self.mirror()
        new = head.shape_key not in self._told
        if exact:
            self._told.add(head.shape_key)
        return _in_short(head.report) if new else ""

    def mirror(self) -> None:
        """Show the sitting that the model has."""
        self.setVisible(self.is_wanted)
        if not self.is_wanted:
            self.head = None
            return
        setting = self.model.sitting.head
        with QSignalBlocker(self.by_shape):
            self.by_shape.setChecked(setting.planes is None)
        self.count.set_value(min(MOST, max(FEWEST, setting.planes or self._found_count())))
        self._fill()
        self._mirror_buttons()

    def _is_naming(self) -> bool:
        return any(editor.isVisible() for editor in self.list.viewport().findChildren(QLineEdit))

    def _edits(self) -> tuple[PlaneEdit, ...]:
        return self.model.sitting.head.plane

    def _found_count(self) -> int:
        """How many planes were found before any was joined."""
        return 0 if self.head is None else len(self.head.planes) + sum(len(edit.joined) for edit in self._edits())

    def _fill(self) -> None:
        planes = [] if self.head is None else self.head.planes
        numbers = numbers_as_found(self._found_count(), self._edits())
        if len(numbers) != len(planes):  # the head to these edits is still on its way
            return
        if self.list.count() == len(planes) and self._is_naming():  # it is filled when the name has been given
            return
        rows = [(number, _shown(plane)) for number, plane in zip(numbers, planes, strict=True)]
        sides = [plane.side for plane in planes]
        if rows == [(self.list.item(k).data(NUMBER), self.list.item(k).text()) for k in range(self.list.count())]:
            return
        with QSignalBlocker(self.list):
            self.list.clear()
            for (number, words), side in zip(rows, sides, strict=True):
                item = QListWidgetItem(words)
                item.setData(NUMBER, number)
                item.setData(SIDE, side)
                item.setFlags(item.flags() | Qt.ItemFlag.ItemIsEditable)
                self.list.addItem(item)
        self._mirror_chosen()

    def _mirror_chosen(self) -> None:
        chosen = self.model.chosen
        if len(self.list.selectedIndexes()) > 1 and chosen in {index.row() for index in self.list.selectedIndexes()}:
            return
        with QSignalBlocker(self.list):
            self.list.clearSelection()
            if chosen is not None and chosen < self.list.count():
                self.list.setCurrentRow(chosen)
        self._mirror_buttons()

    def _mirror_buttons(self) -> None:
        numbers = self._numbers()
        joined = {edit.number for edit in self._edits() if edit.joined}
        self.name.setEnabled(len(numbers) == 1)
        self.join.setEnabled(len(numbers) > 1)
        self.part.setEnabled(bool(joined & set(numbers)))
        self.found.setEnabled(bool(self._edits()))

    def _numbers(self) -> list[int]:
        """Numbers, as found, of the planes that are chosen in the list."""
        rows = sorted(index.row() for index in self.list.selectedIndexes())
        return [self.list.item(row).data(NUMBER) for row in rows]

    def _selected(self) -> None:
        rows = sorted(index.row() for index in self.list.selectedIndexes())
        self._mirror_buttons()
        if rows:
            self.model.choose(rows[-1] if self.model.chosen not in rows else self.model.chosen)

    def _begin_naming(self) -> None:
        if self.list.currentItem() is not None and not self._is_naming():
            self.list.editItem(self.list.currentItem())

    def _named(self, item: QListWidgetItem) -> None:
        words = " ".join(item.text().split()).removesuffix(f", {item.data(SIDE)}")[:LONGEST_NAME].strip()
        self._edit(with_name(self._edits(), item.data(NUMBER), words or None), "name of a plane")

    def join_selected(self) -> None:
        """Make the chosen planes one."""
        numbers = self._numbers()
        if len(numbers) > 1:
            self._edit(with_joined(self._edits(), numbers), "joined planes")

    def part_selected(self) -> None:
        """Take joined planes apart again."""
        edits = self._edits()
        for number in self._numbers():
            edits = taken_apart(edits, number)
        self._edit(edits, "parted plane")

    def _edit(self, edits: tuple[PlaneEdit, ...], what: str) -> None:
        self.model.change(with_head(self.model.sitting, plane=edits), what)
        self.model.settle()

    def _set_count(self, count: int) -> None:
        # What was joined or named counts by planes as they were found, and is gone with them.
        self.model.change(with_head(self.model.sitting, planes=count, plane=()), "number of planes", key="head.planes")

    def _set_by_shape(self, on: bool) -> None:
        count = None if on else min(MOST, max(FEWEST, self._found_count() or 24))
        self.model.change(with_head(self.model.sitting, planes=count, plane=()), "number of planes")
        self.model.settle()


def _in_short(sentences: tuple[str, ...]) -> str:
    """As many sentences as a notice holds, and where the rest is."""
    words = ""
    for sentence in sentences:
        if words and len(words) + len(sentence) > LONGEST_NOTICE:
            return f"{words} More under “Planes of this head”."
        words = f"{words} {sentence}".strip()
    return words


def _shown(plane) -> str:
    return plane.name if plane.side == "centre" or plane.side in plane.name.split() else f"{plane.name}, {plane.side}"
