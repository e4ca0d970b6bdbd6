"""A head in VTK, flat: colours reach the screen as they were calculated, no light is added and none bent."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from vtkmodules.util.numpy_support import numpy_to_vtk, numpy_to_vtkIdTypeArray
from vtkmodules.vtkCommonCore import vtkLookupTable, vtkPoints
from vtkmodules.vtkCommonDataModel import vtkCellArray, vtkPolyData
from vtkmodules.vtkCommonMath import vtkMatrix4x4
from vtkmodules.vtkRenderingCore import vtkActor, vtkPolyDataMapper

from sitterlight.shading.legend_words import legend
from sitterlight.viewer.latest import Latest
from sitterlight.viewer.looks import Appearance
from sitterlight.viewer.screen_colour import codes_on_screen

if TYPE_CHECKING:
    from sitterlight.meshes.head import Head

FINE_STEPS = 2048
LIFT = 0.25
"""Millimetres by which the line round a plane stands off the skin."""

STRIPES = """//VTK::Color::Impl
  if (opacity < 0.5 && mod(gl_FragCoord.x + gl_FragCoord.y, 7.0) < 1.6) {
    ambientColor = vec3(dot(ambientColor, vec3(0.3, 0.6, 0.1)) > 0.45 ? 0.12 : 0.88);
    diffuseColor = vec3(0.0);
  }
  opacity = 1.0;
"""
"""Draws stripes where a place is marked, which its colour's fourth channel says."""

VARYING = ("vec4 vertexColorVSOutput;", "vec2 tcoordVCVSOutput;", "float tcoordVCVSOutput;")
"""What VTK's shaders pass from corner to pixel. It is taken in the middle of what a face covers of a pixel: the middle
of the whole pixel may lie outside a narrow face, and colours running on past its corners would show as specks."""

SEAM_AND_LINE = (4.5, 0.1, -4.0), (1.8, 1.0, -8.0)
"""Of the line round a plane and, before it, of its seam: width in pixels of an unscaled screen, grey, nearness."""


class HeadDrawing:
    """The display mesh of one head and a line round one of its planes, light with a dark seam, in a VTK renderer.

    Where the display mesh comes from the calculation mesh by parting each face in four, the calculation mesh can
    stand in for it: four times lighter to draw, for while the eye moves.
    """

    def __init__(self, renderer):
        self.head: Head | None = None
        self._fine, self._coarse = _Surface(), _Surface()
        self.looks: Appearance | None = None
        self._coarse_is_shown = False
        self._marked: int | None = None
        self._line = vtkPolyData()
        self._outline = [_line_actor(self._line, grey, nearer) for _, grey, nearer in SEAM_AND_LINE]
        for actor in (self._fine.actor, self._coarse.actor, *self._outline):
            renderer.AddActor(actor)
        if hasattr(renderer, "UseOITOff"):  # what hides nothing is drawn in the order of adding: the line over its seam
            renderer.UseOITOff()
        self._coarse.actor.VisibilityOff()

    def set_head(self, head: Head) -> None:
        """Draw another head from now on."""
        self.head = head
        self._fine.set_mesh(*make_mesh(head))
        self._coarse.empty()
        self.mark_plane(None)

    def stand_in(self, shown: bool) -> None:
        """Draw something small as the head is drawn, or the head again where there is one."""
        if shown:
            self._fine.set_mesh(*_mesh_of(np.diag([10.0, 10.0, 10.0]), np.array([[0, 1, 2]])))
            codes = np.full((3, 4), 255, np.uint8)
            self._fine.paint(Appearance(legend("as seen"), of_vertex=codes), codes, None, None)
        elif self.head is None:
            self._fine.empty()
        else:
            self._fine.set_mesh(*make_mesh(self.head))
            self._paint()

    def take_head(self, head: Head) -> None:
        """Another head of the same shape and planes: what is drawn stays."""
        self.head = head

    @property
    def has_coarse(self) -> bool:
        return self.head is not None and len(self.head.display.faces) == 4 * len(self.head.faces)

    def coarsen(self, coarse: bool) -> None:
        """Draw the lighter mesh, or the full one again."""
        coarse = coarse and self.has_coarse
        if coarse == self._coarse_is_shown:
            return
        self._coarse_is_shown = coarse
        self._fine.actor.SetVisibility(not coarse)
        self._coarse.actor.SetVisibility(coarse)
        self._paint()

    def turn(self, rotation: np.ndarray) -> None:
        """Turn the head by `rotation (3,3)`, from its own frame to the room's."""
        matrix = vtkMatrix4x4()
        for row in range(3):
            for column in range(3):
                matrix.SetElement(row, column, float(rotation[row, column]))
        for actor in (self._fine.actor, self._coarse.actor, *self._outline):
            actor.SetUserMatrix(matrix)

    def paint(self, looks: Appearance) -> None:
        """Give the head the colours of a view."""
        self.looks = looks
        self._fine.painted = self._coarse.painted = None
        self._paint()

    def _paint(self) -> None:
        looks = self.looks
        if looks is None:
            return
        if not self._coarse_is_shown:
            self._fine.paint(looks, looks.of_vertex, looks.of_face, looks.steps)
            return
        corners = len(self.head.vertices)
        if self._coarse.is_empty:
            about = self.head.display.vertices[:corners], self.head.faces
            self._coarse.set_mesh(*_meshes.of(("coarse", self.head.key), lambda: _mesh_of(*about)))
        of_vertex = None if looks.of_vertex is None else looks.of_vertex[:corners]
        of_face = None if looks.of_face is None else looks.of_face[::4]
        steps = None if looks.steps is None else (looks.steps[0][:corners], *looks.steps[1:])
        self._coarse.paint(looks, of_vertex, of_face, steps)

    def mark_plane(self, plane: int | None, scaling: float = 1.0) -> None:
        """Draw a line round a plane, or round none, as thick on a scaled screen as on others."""
        for actor, (width, _, _) in zip(self._outline, SEAM_AND_LINE, strict=True):
            actor.GetProperty().SetLineWidth(scaling * width)
        if self.head is None or plane is None or plane >= len(self.head.planes):
            self._marked = None
            self._show_outline(False)
            return
        if plane == self._marked:
            return
        self._marked = plane
        points, ends = _outlines.of((self.head.key, plane), lambda: _outline_of(self.head, plane))
        self._line.SetPoints(points)
        self._line.SetLines(ends)
        self._line.Modified()
        self._show_outline(True)

    def _show_outline(self, shown: bool) -> None:
        for actor in self._outline:
            actor.SetVisibility(shown)


def make_mesh(head: Head) -> tuple[vtkPoints, vtkCellArray]:
    """The display mesh of a head as VTK has it; made beforehand, in any thread, it need not be when it is drawn."""
    return _meshes.of(("fine", head.key), lambda: _mesh_of(head.display.vertices, head.display.faces))


class _Surface:
    """One mesh with its colours in VTK. `painted` is the appearance that it has."""

    def __init__(self):
        self.painted: Appearance | None = None
        self._mesh = vtkPolyData()
        self.actor = _flat_actor(vtkPolyDataMapper())
        self._take_mapper()
        self.actor.ForceOpaqueOn()
        shaders = self.actor.GetShaderProperty()
        shaders.AddFragmentShaderReplacement("//VTK::Color::Impl", True, STRIPES, False)
        for name in VARYING:
            shaders.AddVertexShaderReplacement(f"out {name}", False, f"centroid out {name}", False)
            shaders.AddFragmentShaderReplacement(f"in {name}", False, f"centroid in {name}", False)

    @property
    def is_empty(self) -> bool:
        return self._mesh.GetNumberOfPolys() == 0

    def empty(self) -> None:
        self._mesh.Initialize()
        self.painted = None

    def set_mesh(self, points: vtkPoints, faces: vtkCellArray) -> None:
        """Draw other points and faces. Both may be older than what was drawn before, and VTK takes for the extent of
        a mesh what it last found unless they are younger: so it is given new ones that share their arrays."""
        self.empty()
        for new, shared, take in (
            (vtkPoints(), points, self._mesh.SetPoints),
            (vtkCellArray(), faces, self._mesh.SetPolys),
        ):
            new.ShallowCopy(shared)
            take(new)

    def paint(self, looks: Appearance, of_vertex, of_face, steps) -> None:
        """Take the colours of `looks`, of which the arrays for this mesh are given."""
        if looks is self.painted:
            return
        self.painted = looks
        if steps is not None:
            self._paint_steps(*steps)
            return
        by_face = of_face is not None
        if by_face:
            self._take_mapper()
        codes = np.array(of_face if by_face else of_vertex)
        codes[:, :3] = codes_on_screen(codes[:, :3])
        data = self._mesh.GetCellData() if by_face else self._mesh.GetPointData()
        data.SetScalars(numpy_to_vtk(codes, deep=True))
        self._mapper.SetInterpolateScalarsBeforeMapping(False)
        self._mapper.SetColorModeToDirectScalars()
        if by_face:
            self._mapper.SetScalarModeToUseCellData()
        else:
            self._mapper.SetScalarModeToUsePointData()
        self._mesh.Modified()

    def _take_mapper(self) -> None:
        """Begin with a mapper that has drawn nothing: one that has drawn faces in colours of their own may go on with
        those when they have changed, on a busy machine (VTK 9.7)."""
        self._mapper = vtkPolyDataMapper()
        self._mapper.SetInputData(self._mesh)
        self.actor.SetMapper(self._mapper)

    def _paint_steps(self, numbers: np.ndarray, edges: np.ndarray, codes: np.ndarray) -> None:
        low, high = float(np.nanmin(numbers)), float(np.nanmax(numbers))
        middles = low + (np.arange(FINE_STEPS) + 0.5) * (high - low) / FINE_STEPS
        colours = codes_on_screen(codes)[np.searchsorted(edges, middles)]
        opaque = np.full((FINE_STEPS, 1), 255, np.uint8)
        table = vtkLookupTable()
        table.SetNumberOfTableValues(FINE_STEPS)
        table.SetTable(numpy_to_vtk(np.concatenate([colours, opaque], axis=1), deep=True))
        table.SetTableRange(low, high)
        self._mesh.GetPointData().SetScalars(numpy_to_vtk(numbers.astype(np.float32), deep=True))
        self._mapper.SetLookupTable(table)
        self._mapper.SetUseLookupTableScalarRange(True)
        self._mapper.SetColorModeToMapScalars()
        self._mapper.SetScalarModeToUsePointData()
        self._mapper.SetInterpolateScalarsBeforeMapping(True)
        self._mesh.Modified()


def plane_edges(head: Head, plane: int) -> np.ndarray:
    """The edges (n,2) of the display mesh at which a plane ends."""
    faces = head.display.faces[head.display.plane_of_face == plane]
    edges = np.sort(np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1)
    unique, counts = np.unique(edges, axis=0, return_counts=True)
    return unique[counts == 1]


def _outline_of(head: Head, plane: int) -> tuple[vtkPoints, vtkCellArray]:
    display, edges = head.display, plane_edges(head, plane)
    used, ends = np.unique(edges, return_inverse=True)
    return _mesh_of(display.vertices[used] + LIFT * display.normals[used], ends.reshape(-1, 2))


def _mesh_of(places: np.ndarray, corners: np.ndarray) -> tuple[vtkPoints, vtkCellArray]:
    points = vtkPoints()
    points.SetData(numpy_to_vtk(places.astype(np.float32), deep=True))
    return points, _cells(corners)


_meshes, _outlines = Latest(2), Latest(200)
"""What all stages that show a head share of it."""


def _cells(corners: np.ndarray) -> vtkCellArray:
    """Lines (n,2) or triangles (n,3) as VTK keeps them."""
    size = np.full(len(corners), corners.shape[1])
    listed = np.column_stack([size, corners]).astype(np.int64).ravel()
    result = vtkCellArray()
    result.ImportLegacyFormat(numpy_to_vtkIdTypeArray(listed, deep=True))
    return result


def _line_actor(line: vtkPolyData, grey: float, nearer: float) -> vtkActor:
    """A line of a grey from 0 to 1, drawn so much nearer to the eye."""
    mapper = vtkPolyDataMapper()
    mapper.SetInputData(line)
    mapper.SetResolveCoincidentTopologyToPolygonOffset()
    mapper.SetRelativeCoincidentTopologyLineOffsetParameters(nearer, 2 * nearer)
    actor = _flat_actor(mapper)
    actor.GetProperty().SetColor(grey, grey, grey)
    actor.ForceTranslucentOn()  # so that it hides nothing: pieces shorter than they are wide would hide the next ones
    actor.VisibilityOff()
    return actor


def _flat_actor(mapper: vtkPolyDataMapper) -> vtkActor:
    actor = vtkActor()
    actor.SetMapper(mapper)
    actor.GetProperty().LightingOff()
    return actor
