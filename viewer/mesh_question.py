"""A mesh of the user's own: read in the background, then asked about once, with the guess already chosen."""

from __future__ import annotations

import contextlib
import threading
from pathlib import Path

from PyQt6.QtCore import QObject, pyqtSignal
from PyQt6.QtWidgets import QDialog, QDialogButtonBox, QFormLayout, QLabel, QVBoxLayout

from sitterlight.meshes.library import gathered_mesh
from sitterlight.meshes.mesh_file import GUESS
from sitterlight.viewer.choice import Choice
from sitterlight.viewer.controls import soft
from sitterlight.viewer.mesh_words import UNIT_WORDS, judged, number, scale_of, size_of

_WAYS = {"+x": "+x", "-x": "−x", "+y": "+y", "-y": "−y", "+z": "+z", "-z": "−z"}


class MeshQuestion(QDialog):
    """Asks for the unit of a mesh and for its axes that point up and ahead. `unit`, `up`, `front` as in a sitting."""

    def __init__(self, name: str, mesh, parent=None):
        super().__init__(parent)
        self.mesh, found = mesh, mesh.guess
        self.unit, self.up, self.front = found.unit, found.up, found.front
        self.setWindowTitle("A head of your own")
        units = [(unit, words) for unit, words in UNIT_WORDS.items()]
        if found.unit == GUESS:
            units.append((GUESS, "brought to a head's size"))
        self.unit_box = Choice("unit of the mesh", units, worded=True)
        self.up_box = Choice("axis that points up", list(_WAYS.items()), worded=True)
        self.front_box = Choice("axis that the face looks along", list(_WAYS.items()), worded=True)
        form = QFormLayout()
        form.addRow("one unit of the file is", self.unit_box)
        form.addRow("up in the file is", self.up_box)
        form.addRow("the face looks along", self.front_box)
        self.words = QLabel()
        self.words.setWordWrap(True)
        self.words.setMinimumWidth(380)
        buttons = QDialogButtonBox.StandardButton
        self.buttons = QDialogButtonBox(buttons.Ok | buttons.Cancel)
        self.buttons.button(buttons.Ok).setText("Take this head")
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addWidget(QLabel(f"{name}: {number(mesh.count)} faces in {mesh.parts} part{'s'[: mesh.parts != 1]}"))
        layout.addWidget(soft(_how_sure(found)))
        layout.addLayout(form)
        layout.addWidget(self.words)
        layout.addWidget(self.buttons)
        for box, key in ((self.unit_box, "unit"), (self.up_box, "up"), (self.front_box, "front")):
            box.chosen.connect(lambda value, key=key: self._chosen(key, value))
        self._mirror()

    def _chosen(self, key: str, value: str) -> None:
        setattr(self, key, value)
        if self.up[1] == self.front[1]:  # the other one gives way
            free = next(axis for axis in (self.mesh.guess.front, "+z", "-y", "+x") if axis[1] != self.up[1])
            upright = next(axis for axis in (self.mesh.guess.up, "+y", "+z", "+x") if axis[1] != self.front[1])
            if key == "up":
                self.front = free
            else:
                self.up = upright
        self._mirror()

    def _mirror(self) -> None:
        for box, value in ((self.unit_box, self.unit), (self.up_box, self.up), (self.front_box, self.front)):
            box.set_value(value)
        self.words.setText(judged(size_of(self.mesh, scale_of(self.unit, self.mesh.guess), self.up, self.front)))


def _how_sure(found) -> str:
    if found.is_head and found.unit_is_sure and found.axes_are_sure:
        return "It was recognised as a head; what is chosen below follows from that."
    if found.is_head:
        return "It was recognised as a head, but not all that is chosen below is sure: please look at it."
    return "It was not recognised as a head. What is chosen below is a guess: please look at it."


class MeshAsking(QObject):
    """Reads a mesh in the background and asks about it. `taken(path, unit, up, front)`; `said(sentence)` meanwhile."""

    taken = pyqtSignal(str, str, str, str)
    said = pyqtSignal(str)
    _read = pyqtSignal(int, str, object)

    def __init__(self, window):
        super().__init__(window)
        self.window = window
        self.question: MeshQuestion | None = None
        self._asked = 0
        self._read.connect(self._show)

    def ask(self, path: Path, mesh: str) -> None:
        """Read the file at `path`, then ask about it; `mesh` is what the sitting will call it."""
        self._asked += 1
        self.said.emit(f"Reading {path.name} …")
        arguments = (self._asked, path, mesh)
        threading.Thread(target=self._work, args=arguments, name="reading a mesh", daemon=True).start()

    def _work(self, turn: int, path: Path, mesh: str) -> None:
        try:
            found = gathered_mesh(path.absolute())
            found.guess  # noqa: B018 - guessed here so that the window need not
        except Exception as error:
            found = " ".join(str(error).split()) or type(error).__name__
        with contextlib.suppress(RuntimeError):  # the window has been closed meanwhile
            self._read.emit(turn, mesh, found)

    def _show(self, turn: int, mesh: str, found) -> None:
        if turn != self._asked:
            return
        if isinstance(found, str):
            self.said.emit(found)
            return
        self.said.emit("")
        self.question = MeshQuestion(Path(mesh).name, found, self.window)
        self.question.accepted.connect(lambda asked=self.question: self._take(mesh, asked))
        self.question.finished.connect(lambda _how, asked=self.question: self._end(asked))
        self.question.open()

    def _end(self, asked: MeshQuestion) -> None:
        """Keep neither the question nor the mesh that it is about."""
        if asked is self.question:
            self.question = None
        asked.deleteLater()

    def _take(self, mesh: str, asked: MeshQuestion) -> None:
        self.taken.emit(mesh, asked.unit, asked.up, asked.front)
