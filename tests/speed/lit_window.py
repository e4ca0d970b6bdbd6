"""Opens the program as its command does and ends with its first lit picture: prints the time of day when it is drawn,
whether it was the exact one, and whether it was kept from another time or lit anew.

With `--look` it ends only when it has kept a picture of what it lit; with `--forget` it takes kept pictures away first.
"""

from __future__ import annotations

import importlib.abc
import importlib.util
import os
import sys
import time
from pathlib import Path


class _OnceImported(importlib.abc.MetaPathFinder):
    """Does something with a module as soon as it is imported, so that nothing has to be imported sooner than it is."""

    def __init__(self, name: str, change):
        self.name, self.change = name, change

    def find_spec(self, fullname, path, target=None):
        if fullname != self.name:
            return None
        sys.meta_path.remove(self)
        spec = importlib.util.find_spec(fullname)
        run = spec.loader.exec_module

        def exec_module(module):
            run(module)
            self.change(module)

        spec.loader.exec_module = exec_module
        return spec


def tell_first_picture(module) -> None:
    """Let the stage tell when it first has drawn a lit head, and end there."""
    show_lit, show_kept = module.Stage.show_lit, module.Stage.show_kept

    def lit_is_shown(stage, lit, looks, gaze=None):
        show_lit(stage, lit, looks, gaze)
        stage.plotter.drawn.connect(lambda _: tell(lit.exact, "lit"))

    def kept_is_shown(stage, kept):
        show_kept(stage, kept)
        stage.plotter.drawn.connect(lambda _: tell(True, "kept"))  # only exact ones are kept

    module.Stage.show_lit, module.Stage.show_kept = lit_is_shown, kept_is_shown


def tell_when_kept(module) -> None:
    """End when a picture has been kept."""
    keep = module.keep_picture

    def keep_and_end(lit, looks):
        keep(lit, looks)
        tell(lit.exact, "lit")

    module.keep_picture = keep_and_end


def tell(exact: bool, how: str) -> None:
    """Print and end at once."""
    print(time.time(), int(exact), how, flush=True)
    os._exit(0)


def main(words: list[str]) -> None:
    """Open the window."""
    if "--forget" in words:
        for file in Path(os.environ["SITTERLIGHT_CACHE"]).glob("picture-*.npz"):
            file.unlink()
    name, change = ("picture_keeper", tell_when_kept) if "--look" in words else ("stage", tell_first_picture)
    sys.meta_path.insert(0, _OnceImported(f"sitterlight.viewer.{name}", change))
    from sitterlight.viewer.command import main

    main([])


if __name__ == "__main__":
    main(sys.argv[1:])
