"""The Qt widget that VTK draws into, from pyvistaqt, without what else comes with it.

`import pyvistaqt` brings pyvista's plotting and with it matplotlib, none of which the window uses: on a slow machine
that is a third of the time to the first picture. The widget itself is a module of the package that needs VTK and Qt
only, so it alone is loaded.
"""

from __future__ import annotations

import sys
from importlib import import_module
from importlib.util import find_spec
from types import ModuleType


def _widget_class() -> type:
    if "pyvistaqt" in sys.modules:
        return import_module("pyvistaqt.rwi").QVTKRenderWindowInteractor
    shell = ModuleType("pyvistaqt")
    shell.__path__ = list(find_spec("pyvistaqt").submodule_search_locations)
    sys.modules["pyvistaqt"] = shell
    try:
        return import_module("pyvistaqt.rwi").QVTKRenderWindowInteractor
    except ImportError:  # another release, where the widget lives elsewhere
        del sys.modules["pyvistaqt"]
        return import_module("pyvistaqt").QtInteractor
    finally:
        if sys.modules.get("pyvistaqt") is shell:
            del sys.modules["pyvistaqt"]


VtkWidget = _widget_class()
