"""The Qt widget that VTK draws into, from pyvistaqt, without what else comes with it.

`import pyvistaqt` brings pyvista and its plotting and with it matplotlib, none of which the window uses: on a slow
machine that is half of the time to the first picture. The widget itself is a module of the package that needs VTK and
Qt only, so it alone is loaded, and it is given VTK's own classes instead of asking pyvista for them.
"""

from __future__ import annotations

import sys
from importlib import import_module
from importlib.util import find_spec
from types import ModuleType

_CLASSES = {
    "vtkGenericOpenGLRenderWindow": "vtkRenderingOpenGL2",
    "vtkGenericRenderWindowInteractor": "vtkRenderingUI",
    "vtkObjectBase": "vtkCommonCore",
    "vtkActor": "vtkRenderingCore",
    "vtkRenderer": "vtkRenderingCore",
}
"""What the widget asks of VTK, and the modules that hold it."""


def _widget_class() -> type:
    if "pyvistaqt" in sys.modules:
        return import_module("pyvistaqt.rwi").QVTKRenderWindowInteractor
    shells = {"pyvistaqt": _package(), "pyvistaqt._vtk": _vtk()}
    sys.modules |= shells
    shells["pyvistaqt"]._vtk = shells["pyvistaqt._vtk"]
    try:
        return import_module("pyvistaqt.rwi").QVTKRenderWindowInteractor
    except (ImportError, AttributeError):  # another release, where the widget lives elsewhere or asks for more
        _take_away(shells)
        return import_module("pyvistaqt").QtInteractor
    finally:
        _take_away(shells)


def _package() -> ModuleType:
    """An empty package where pyvistaqt is."""
    shell = ModuleType("pyvistaqt")
    shell.__path__ = list(find_spec("pyvistaqt").submodule_search_locations)
    return shell


def _vtk() -> ModuleType:
    """VTK's classes under the name by which the widget asks for them."""
    shell = ModuleType("pyvistaqt._vtk")
    shell.VTK_BACKEND, shell.BACKEND_IS_FLAT = "vtkmodules", False
    for name, module in _CLASSES.items():
        setattr(shell, name, getattr(import_module(f"vtkmodules.{module}"), name))
    return shell


def _take_away(shells: dict[str, ModuleType]) -> None:
    for name, shell in shells.items():
        if sys.modules.get(name) is shell:
            del sys.modules[name]


VtkWidget = _widget_class()
