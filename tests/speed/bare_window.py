"""The least that shows the same mesh: a Qt window with VTK's widget in it, loaded as lightly as ours; vertices, faces
and colours from a file. Ends with its first picture and prints the time of day when it is drawn."""

from __future__ import annotations

import os
import sys
import time

import numpy as np
from PyQt6.QtWidgets import QApplication, QMainWindow
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
from vtkmodules.vtkCommonCore import vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper, vtkRenderer

from sitterlight.viewer.vtk_widget import VtkWidget


class Bare(VtkWidget):
    """Tells when it has drawn."""

    def paintGL(self) -> None:
        super().paintGL()
        print(time.time(), flush=True)
        os._exit(0)


def actor_of(path: str) -> vtkActor:
    """Vertices, faces and colours of a file, unlit."""
    kept = np.load(path)
    points, cells, mesh = vtkPoints(), vtkCellArray(), vtkPolyData()
    points.SetData(numpy_to_vtk(kept["vertices"]))
    faces = kept["faces"]
    cells.SetData(3, numpy_to_vtkIdTypeArray(np.ascontiguousarray(faces, np.int64).ravel()))
    mesh.SetPoints(points)
    mesh.SetPolys(cells)
    mesh.GetPointData().SetScalars(numpy_to_vtk(kept["codes"]))
    mapper, actor = vtkPolyDataMapper(), vtkActor()
    mapper.SetInputData(mesh)
    actor.SetMapper(mapper)
    actor.GetProperty().LightingOff()
    return actor


def main(path: str) -> None:
    """Open the window."""
    app = QApplication(sys.argv)
    window = QMainWindow()
    window.resize(1280, 860)
    bare, renderer = Bare(window), vtkRenderer()
    bare.GetRenderWindow().AddRenderer(renderer)
    bare.GetRenderWindow().GetInteractor().Initialize()
    renderer.AddActor(actor_of(path))
    renderer.ResetCamera()
    window.setCentralWidget(bare)
    window.show()
    app.exec()


if __name__ == "__main__":
    main(sys.argv[1])
