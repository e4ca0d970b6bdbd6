"""Blurs over the surface of a head, by a fixed bank of widths: how far light travels under the skin.

The blur of length L turns a field g per vertex into the x of (M + L² K) x = M g, with M the areas of the vertices
and K the exchange between neighbours (intrinsic_triangles.py): on a plane the convolution with
K₀(r / L) / (2π L²), whose mean square radius is 4 L². It keeps ∫g, keeps a constant, and stays between the
smallest and the largest value it was given. Light passes only from skin to skin: an exchange counts as much as the
less skin-like of its two ends, and eyes and clothes keep what they have.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy import sparse

from sitterlight.meshes.head import Head
from sitterlight.meshes.regions import REGIONS
from sitterlight.shading.intrinsic_triangles import exchange
from sitterlight.shading.memory import Last, Memory
from sitterlight.shading.skin_regions import CHANGES
from sitterlight.shading.symmetric_factor import SymmetricFactors

WIDTHS: tuple[float, ...] = (0.0, 0.25, 0.5, 1.0, 2.0, 4.0)
"""Lengths L of the bank, mm; the first leaves everything where it is. Chosen for what they make of Burley's profile:
beyond half a millimetre from a straight shadow edge the mixture is within 0.012 of the step's height."""

LEAST_SHARE = 0.02
"""A width counts as none where of twenty vertices of skin nineteen give away less than this share of their light
(L² K over M): the vertex beside a hard shadow edge then changes by no more than half of it."""

_SKIN = np.array([name in CHANGES for name in REGIONS])


def widths() -> np.ndarray:
    """Lengths of the bank (W,), mm, ascending from zero."""
    return np.array(WIDTHS)


@dataclass(frozen=True)
class Bank:
    """The blurs of one head."""

    kept: tuple[int, ...]
    """Which of WIDTHS do something on this mesh, W′ of them; always beginning with 0, the identity."""
    fold: np.ndarray
    """(W′, W): fold @ weights moves the weights of the widths that are not kept onto those that are. Sums stay,
    and so does the mean square radius where a wider one is kept."""
    area: np.ndarray
    """(V,) mm²: what a vertex counts for in ∫g."""
    factors: SymmetricFactors | None
    """For each width kept but the first; None where there is no other."""
    _folded: Last = field(default_factory=Last, init=False, compare=False)

    def folded(self, weights: np.ndarray) -> np.ndarray:
        """`fold @ weights (…,W,81)`, read-only, remembered while it is asked for with the same array."""
        return self._folded.of(weights, lambda: _read_only(self.fold @ weights))

    def spread(self, fields: np.ndarray, used: np.ndarray | None = None) -> np.ndarray:
        """`fields` (V, K) blurred by each width kept, (W′, V, K) float32.

        Widths that are not `used` (W′,) bool are left at zero, to save their time. Raises ValueError for fields of
        another number of vertices.
        """
        fields = np.asarray(fields, dtype=np.float32)
        if fields.ndim != 2 or len(fields) != len(self.area):
            raise ValueError(f"fields to spread are {fields.shape}; they must be ({len(self.area)}, columns)")
        # A vertex's widths together, as who takes them side by side wants them.
        new = np.empty if used is None else np.zeros
        result = new((len(fields), len(self.kept), fields.shape[1]), np.float32)
        # The widest, which take longest, first.
        wanted = [n - 1 for n in range(len(self.kept) - 1, 0, -1) if used is None or used[n]]
        if wanted and result.size:
            self.factors.solve(fields * self.area[:, None], wanted, fields, result)
        else:
            result[:, 0] = fields
        return result.swapaxes(0, 1)

    @property
    def nbytes(self) -> int:
        """Memory held, bytes."""
        return self.area.nbytes + (0 if self.factors is None else self.factors.nbytes)


def _read_only(array: np.ndarray) -> np.ndarray:
    array.setflags(write=False)
    return array


def bank_of(head: Head) -> Bank:
    """The bank of a head, remembered by its key."""
    return _REMEMBERED.of(
        head.shape_key, lambda: make_bank(head.vertices, head.faces, skinness(head), head.vertex_area)
    )


def skinness(head: Head) -> np.ndarray:
    """(V,): how much of each vertex is skin, 0 to 1."""
    return np.clip(head.region_weights[:, _SKIN].sum(axis=1, dtype=float), 0.0, 1.0)


def make_bank(
    vertices: np.ndarray, faces: np.ndarray, skin: np.ndarray, area: np.ndarray, lengths: np.ndarray | None = None
) -> Bank:
    """The bank of a mesh: vertices (V, 3) mm, faces (F, 3), how much is `skin` (V,), areas (V,) mm²."""
    lengths = widths() if lengths is None else np.asarray(lengths, dtype=float)
    flow = _between_skin(exchange(vertices, faces), skin)
    mass = np.maximum(area, 1e-9 * max(float(area.max(initial=0.0)), 1e-9))
    given_away = np.asarray(flow.sum(axis=1)).ravel()
    kept = (0, *_felt(lengths, given_away / mass, skin > 0.5))
    laplacian = sparse.diags(given_away) - flow
    matrices = [sparse.diags(mass) + lengths[n] ** 2 * laplacian for n in kept[1:]]
    factors = SymmetricFactors.of(matrices) if matrices else None
    return Bank(kept, folding(lengths, kept), mass.astype(np.float32), factors)


def folding(lengths: np.ndarray, kept: tuple[int, ...]) -> np.ndarray:
    """(W′, W): each length's weight on those kept, linear in L² between its neighbours, at the ends the nearest."""
    squares = lengths**2
    known = squares[list(kept)]
    return np.stack([np.interp(squares, known, np.arange(len(kept)) == n) for n in range(len(kept))])


def _between_skin(flow: sparse.csr_matrix, skin: np.ndarray) -> sparse.csr_matrix:
    flow = flow.tocoo()
    share = np.minimum(skin[flow.row], skin[flow.col])
    share[share < 0.01] = 0.0
    cut = sparse.coo_matrix((flow.data * share, (flow.row, flow.col)), shape=flow.shape).tocsr()
    cut.eliminate_zeros()
    return cut


def _felt(lengths: np.ndarray, rate: np.ndarray, is_skin: np.ndarray) -> list[int]:
    """Which lengths move light noticeably, given what each vertex gives away per L² (V,), mm⁻²."""
    if not is_skin.any():
        return []
    fast = float(np.percentile(rate[is_skin], 95))
    return [n for n, length in enumerate(lengths) if length**2 * fast >= LEAST_SHARE and length > 0]


_REMEMBERED = Memory(4, most_bytes=200_000_000)
