"""The palette: the painter's tubes, added, ordered, taken off, loaded and saved; below them wishes and easel."""

from __future__ import annotations

from pathlib import Path

from PyQt6.QtGui import QAction
from PyQt6.QtWidgets import (
    QFileDialog,
    QHBoxLayout,
    QMenu,
    QPushButton,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from sitterlight.shading.mixing import ViewingLight, viewing_light
from sitterlight.shading.paint_words import tube_words
from sitterlight.shading.paints import Paint, paint
from sitterlight.shading.palette_file import PALETTES, is_palette, moved, read_palette, write_palette
from sitterlight.shading.recipes import MOST_TUBES
from sitterlight.shading.sitting import with_easel, with_palette
from sitterlight.viewer.controls import soft
from sitterlight.viewer.model import Model
from sitterlight.viewer.paint_library import PaintLibrary
from sitterlight.viewer.palette_wishes import PaletteWishes
from sitterlight.viewer.sentences import sentence
from sitterlight.viewer.tube_list import ROW_HEIGHT, TubeList
from sitterlight.viewer.tube_maker import TubeMaker

FILES = "Tubes and palettes (*.toml)"
MOST_ROWS_SHOWN = 12


class PalettePanel(QWidget):
    """Mirrors and changes palette and easel of the sitting. `said` takes one sentence about what went wrong."""

    def __init__(self, model: Model, said=print):
        super().__init__()
        self.model, self._say = model, said
        self._library: PaintLibrary | None = None
        self._maker: TubeMaker | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(5)
        self.tubes = TubeList("tubes of the palette", movable=True)
        self.tubes.ordered.connect(lambda names: self._palette("order of the tubes", paints=tuple(names)))
        self.tubes.removed.connect(lambda _name: self.remove())
        self.tubes.currentItemChanged.connect(self._tell)
        layout.addWidget(self.tubes)
        layout.addLayout(self._buttons())
        self.many = soft(f"More than {MOST_TUBES} tubes: those that serve the head best are mixed from.")
        self.words = soft()
        layout.addWidget(self.many)
        layout.addWidget(self.words)
        self.mixes = mixes = PaletteWishes()
        self.most, self.base, self.wishes = mixes.most, mixes.base, mixes.boxes
        self.light, self.second = mixes.light, mixes.second
        mixes.wished.connect(lambda what, changes: self._palette(what, **changes))
        mixes.lit.connect(lambda what, changes: self._take_easel(what, **changes))
        layout.addWidget(mixes)
        self._shown: tuple = ()
        model.on("state", self._mirror_if_changed)
        self.mirror()

    def _buttons(self) -> QVBoxLayout:
        row = QHBoxLayout()
        row.setSpacing(4)
        self.add, self.take_out, self.more = QPushButton("Add…"), QPushButton("Remove"), QToolButton()
        self.up, self.down = QToolButton(), QToolButton()
        for button, words, name, step in ((self.up, "↑", "move up", -1), (self.down, "↓", "move down", 1)):
            button.setText(words)
            button.setAccessibleName(f"{name} in the palette")
            button.setToolTip(f"{name} (Alt with the arrow key)")
            button.clicked.connect(lambda _=False, step=step: self.tubes.move(step))
        self.add.setToolTip("a tube from the library of paints")
        self.take_out.setToolTip("take the chosen tube off the palette (Del)")
        self.add.clicked.connect(self.open_library)
        self.take_out.clicked.connect(self.remove)
        self.more.setText("Palettes")
        self.more.setToolTip("take another palette, or save this one")
        self.more.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.more.setMenu(self._menu())
        for button in (self.add, self.take_out, self.up, self.down):
            row.addWidget(button)
        row.addStretch(1)
        own = QHBoxLayout()
        own.setSpacing(4)
        self.own = QToolButton()
        self.own.setText("Own tube")
        self.own.setToolTip("a tube that you have measured, or painted out and photographed")
        self.own.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        tubes = QMenu(self)
        tubes.addAction("From swatches…", self.open_maker)
        tubes.addAction("From its file…", self.ask_tube)
        self.own.setMenu(tubes)
        own.addWidget(self.own)
        own.addWidget(self.more)
        own.addStretch(1)
        both = QVBoxLayout()
        both.setSpacing(4)
        both.addLayout(row)
        both.addLayout(own)
        return both

    def _menu(self) -> QMenu:
        menu = QMenu(self)
        for title in PALETTES:
            action = QAction(f"Take “{title}”", menu)
            action.triggered.connect(lambda _=False, title=title: self.take(title))
            menu.addAction(action)
        menu.addSeparator()
        menu.addAction("Load a palette…", self.ask_palette)
        menu.addAction("Save this palette…", self.ask_save)
        return menu

    def _mirror_if_changed(self) -> None:
        sitting = self.model.sitting
        shown = (sitting.palette, sitting.easel, sitting.folder)
        if shown != self._shown:
            self._shown = shown
            self.mirror()

    def mirror(self) -> None:
        """Show the palette that the model's sitting has."""
        palette, easel = self.model.sitting.palette, self.model.sitting.easel
        tubes = self._found(palette.paints)
        self.tubes.show_tubes(tubes, self._light())
        self.tubes.setFixedHeight(ROW_HEIGHT * min(len(tubes), MOST_ROWS_SHOWN) + 2 * self.tubes.frameWidth() + 2)
        self.take_out.setEnabled(len(palette.paints) > 1)
        self.many.setVisible(len(palette.paints) > MOST_TUBES)
        self.mixes.show_wishes(palette, easel, tubes)
        if self._library is not None:
            self._library.show_library(self._ids(), self._light())
        self._tell()

    def _light(self) -> ViewingLight:
        try:
            return viewing_light(self.model.sitting.easel.light, self.model.sitting.folder)
        except ValueError:
            return viewing_light("D50")

    def _found(self, names: tuple[str, ...]) -> list[tuple[str, Paint]]:
        """The tubes that can be found; the recipes say in a sentence which cannot."""
        found = []
        for name in names:
            try:
                found.append((name, paint(name, self.model.sitting.folder)))
            except ValueError as error:
                self._say(str(error))
        return found

    def _ids(self) -> frozenset[str]:
        return frozenset(one.id for _, one in self._found(self.model.sitting.palette.paints))

    def _tell(self, *_changed) -> None:
        name = self.tubes.current_name
        try:
            self.words.setText(tube_words(name, self.model.sitting.folder) if name else "")
        except ValueError as error:
            self.words.setText(str(error))

    # ---- what changes the sitting

    def _palette(self, what: str, **changes) -> None:
        self.model.settle()
        self.model.change(with_palette(self.model.sitting, **changes), what)

    def _take_easel(self, what: str, **changes) -> None:
        self.model.settle()
        self.model.change(with_easel(self.model.sitting, **changes), what)

    def open_library(self) -> None:
        """Show the library to add tubes from."""
        if self._library is None:
            self._library = PaintLibrary(self)
            self._library.added.connect(self.add_tube)
        self._library.show_library(self._ids(), self._light())
        self._library.show()
        self._library.search.setFocus()

    @property
    def library(self) -> PaintLibrary | None:
        """The library's window, once it has been opened."""
        return self._library

    def open_maker(self) -> None:
        """Show what makes a tube from its swatches."""
        if self._maker is None:
            self._maker = TubeMaker(self)
            self._maker.made.connect(self.add_tube)
        self._maker.show()
        self._maker.name.setFocus()

    @property
    def maker(self) -> TubeMaker | None:
        """What makes a tube from swatches, once it has been opened."""
        return self._maker

    def add_tube(self, name: str) -> None:
        """Put a tube on the palette: a paint of the library, or a file of one's own."""
        try:
            one = paint(name, self.model.sitting.folder)
        except ValueError as error:
            self._say(str(error))
            return
        if one.id in self._ids():
            self._say(f"{one.label} is on the palette already.")
            return
        self._palette(f"add {one.label}", paints=(*self.model.sitting.palette.paints, name))
        self.tubes.choose(name)

    def remove(self) -> None:
        """Take the chosen tube off the palette; the last one stays."""
        name, kept = self.tubes.current_name, self.model.sitting.palette.paints
        if name in kept and len(kept) > 1:
            self._palette(f"remove {name}", paints=tuple(other for other in kept if other != name))

    def take(self, title: str) -> None:
        """Take one of the palettes to begin with."""
        self._palette(f"palette “{title}”", paints=PALETTES[title])

    def ask_tube(self) -> None:
        """Ask for a file of a measured tube and put it on the palette."""
        name, _ = QFileDialog.getOpenFileName(self, "A tube of your own", "", FILES)
        if name:
            self.add_tube(name)

    def ask_palette(self) -> None:
        """Ask for a palette's file and take it."""
        name, _ = QFileDialog.getOpenFileName(self, "A palette", "", FILES)
        if name:
            self.load(Path(name))

    def load(self, path: Path) -> None:
        """Take the palette of a file; a tube's file is added instead."""
        try:
            if not is_palette(path):
                self.add_tube(str(path))
                return
            found = read_palette(path)
        except ValueError as error:
            self._say(str(error))
            return
        names = tuple(moved(name, found.folder, self.model.sitting.folder) for name in found.paints)
        self._palette(f"palette “{found.title}”", paints=names)

    def ask_save(self) -> None:
        """Ask where to save the palette, and save it."""
        name, _ = QFileDialog.getSaveFileName(self, "Save the palette", "palette.toml", FILES)
        if name:
            self.save(Path(name if name.lower().endswith(".toml") else f"{name}.toml"))

    def save(self, path: Path) -> None:
        """Save the palette as a file that other sittings can take."""
        sitting = self.model.sitting
        try:
            write_palette(sitting.palette.paints, sitting.folder, path)
        except (ValueError, OSError) as error:
            self._say(f"{path.name} could not be saved: {sentence(error, named=False)}")
