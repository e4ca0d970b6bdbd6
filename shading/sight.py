"""How much of each plane the eye sees: by area, on the mesh that is looked at.

A place is seen where its face and its smooth normal are turned toward the eye and nothing stands between. Faces whose
corners agree are seen whole or not at all; across an edge of sight a face is tried at four places, and at sixteen
where those disagree. So the share grows and shrinks smoothly as the eye moves, and is the same however fine the light
is calculated.

What light does on a plane goes by its normals. So the vertices' shares are evened out until the mean normal of a plane,
and how much of it lies along the line of sight, are those of what is seen on the finer mesh.
"""

from __future__ import annotations

import numpy as np
from scipy import sparse

from sitterlight.meshes.head import Head, face_vectors
from sitterlight.shading.memory import Memory
from sitterlight.shading.rays import RayCaster

LIFT = 0.02
"""How far a ray to the eye starts off the surface, mm."""
_DAMPING, _MOST_EVENED = 1e-3, 3.0
"""How soon evening out gives up where a plane hardly curves, and the most that it makes of a vertex's share."""

_seen, _wholes, _casters = Memory(8), Memory(4), Memory(2)


def seen_of_planes(scene) -> sparse.csr_matrix:
    """The area that the eye sees of each plane of a scene by its vertices, (planes, V) mm²; `head.plane_weights` where
    it sees everything."""
    head, eye = scene.head, scene.eye_position
    blocked = bool((_faces_eye(head.vertices, head.normals, eye) & ~scene.eye_sees).any())
    key = (head.key, np.asarray(eye).tobytes(), blocked)
    return _seen.of(key, lambda: _seen_area(head, eye, *_seen_corners(head, eye, scene.eye_sees, blocked)))


def _seen_area(head: Head, eye: np.ndarray, face: np.ndarray, corners: np.ndarray) -> sparse.csr_matrix:
    """Each vertex counts by its own area in the plane, as far as what it stands for is seen, evened out; a plane's sum
    is the share seen of its faces, times its area."""
    fine, whole = _by_display_vertex(head, face, corners), _whole_planes(head)
    seen = fine @ head.to_display
    part = head.plane_weights.multiply(seen).multiply(whole.power(-1.0)).tocsr()
    mesh = head.display
    part = _evened(part, _turns(head.vertices, head.normals, eye), fine, _turns(mesh.vertices, mesh.normals, eye))
    shown, total, area, given = (_sums(each) for each in (seen, whole, head.plane_weights, part))
    wanted = shown / np.maximum(total, 1e-12) * area
    return sparse.csr_matrix(sparse.diags(wanted / np.maximum(given, 1e-12)) @ part)


def _turns(places: np.ndarray, normals: np.ndarray, eye: np.ndarray) -> np.ndarray:
    """What light on a place goes by (N,4): its normal, and how nearly the eye looks along it, in the manner of
    C. Schlick's form of Fresnel's equations (Computer Graphics Forum 13, 1994) but with the fourth power, since rough
    surfaces mirror less along them; beyond the edge of sight it runs on straight."""
    toward = eye - places
    cosine = (normals * toward).sum(axis=1) / np.linalg.norm(toward, axis=1)
    along = (1 - np.maximum(cosine, 0)) ** 4 + 4 * np.maximum(-cosine, 0)
    return np.column_stack([normals, along])


def _evened(part: sparse.csr_matrix, turns: np.ndarray, fine: sparse.csr_matrix, wanted: np.ndarray):
    """Areas `part (planes, V)` changed as little as can be so that the means of `turns (V,k)` are those of `wanted
    (D,k)` by the areas `fine (planes, D)`."""
    total, count = np.maximum(_sums(part), 1e-12)[:, None], turns.shape[1]
    mean = part @ turns / total
    products = (turns[:, :, None] * turns[:, None]).reshape(len(turns), -1)
    spread = (part @ products / total).reshape(-1, count, count) - mean[:, :, None] * mean[:, None]
    flat = np.trace(spread, axis1=1, axis2=2) / count
    spread += (_DAMPING * flat + 1e-9)[:, None, None] * np.eye(count)
    missing = fine @ wanted / np.maximum(_sums(fine), 1e-12)[:, None] - mean
    slope = np.linalg.solve(spread, missing[:, :, None])[:, :, 0]
    plane = np.repeat(np.arange(part.shape[0]), np.diff(part.indptr))
    factor = 1 + ((turns[part.indices] - mean[plane]) * slope[plane]).sum(axis=1)
    return sparse.csr_matrix((part.data * np.clip(factor, 0, _MOST_EVENED), part.indices, part.indptr), part.shape)


def _sums(areas: sparse.csr_matrix) -> np.ndarray:
    return np.asarray(areas.sum(axis=1)).ravel()


def _whole_planes(head: Head) -> sparse.csr_matrix:
    """Planes seen whole, (planes, V) mm²."""
    faces, thirds = np.arange(len(head.display.faces)), np.full((len(head.display.faces), 3), 1 / 3)
    return _wholes.of(head.key, lambda: _by_display_vertex(head, faces, thirds) @ head.to_display)


def _by_display_vertex(head: Head, face: np.ndarray, corners: np.ndarray) -> sparse.csr_matrix:
    """Areas of planes by display vertex, (planes, D) mm², from display faces and their `corners (n,3)`, what each
    corner stands for as a share of the face."""
    mesh = head.display
    plane = mesh.plane_of_face[face]
    member = plane >= 0
    faces, plane = mesh.faces[face[member]], plane[member].astype(np.int64)
    area = np.linalg.norm(face_vectors(mesh.vertices, faces), axis=1)
    values = (corners[member] * area[:, None]).ravel()
    shape = (len(head.planes), len(mesh.vertices))
    return sparse.csr_matrix((values, (np.repeat(plane, 3), faces.ravel())), shape=shape)


def _seen_corners(head: Head, eye: np.ndarray, sees: np.ndarray, blocked: bool) -> tuple[np.ndarray, np.ndarray]:
    """Display faces seen at all (n,), and what each of their corners stands for (n,3)."""
    mesh = head.display
    prior = (head.to_display @ sees.astype(np.float32))[mesh.faces]
    clear = prior.min(axis=1) > 1 - 1e-5
    mixed = np.flatnonzero((prior.max(axis=1) > 1e-5) & ~clear)
    whole = np.flatnonzero(clear)
    tried = _tried_corners(head, eye, mixed, blocked, _spots(2))
    unsure = np.flatnonzero((tried.sum(axis=1) > 0) & (tried.sum(axis=1) < 1 - 1e-9))
    tried[unsure] = _tried_corners(head, eye, mixed[unsure], blocked, _spots(4))
    return np.concatenate([whole, mixed]), np.concatenate([np.full((len(whole), 3), 1 / 3), tried])


def _tried_corners(head: Head, eye: np.ndarray, face: np.ndarray, blocked: bool, spots: np.ndarray) -> np.ndarray:
    """What each corner stands for (n,3) of the part of faces that the eye sees, tried at `spots (s,3)`."""
    mesh = head.display
    corners = mesh.faces[face]
    places = np.einsum("sk,nkc->nsc", spots, mesh.vertices[corners])
    normals = np.einsum("sk,nkc->nsc", spots, mesh.normals[corners])
    flat = face_vectors(mesh.vertices, corners)
    flat /= np.maximum(np.linalg.norm(flat, axis=1, keepdims=True), 1e-12)
    toward = eye - places
    seen = ((normals * toward).sum(axis=-1) > 0) & ((flat[:, None] * toward).sum(axis=-1) > 0)
    if blocked:
        number, spot = np.nonzero(seen)
        origins = places[number, spot] + LIFT * flat[number]
        seen[number, spot] = _reaches(head, origins, eye)
    return seen @ spots / len(spots)


def _reaches(head: Head, origins: np.ndarray, eye: np.ndarray) -> np.ndarray:
    mesh = head.display
    caster = _casters.of(head.key, lambda: RayCaster(mesh.vertices, mesh.faces))
    return caster.reaches(origins, np.broadcast_to(eye, origins.shape))


def _faces_eye(places: np.ndarray, normals: np.ndarray, eye: np.ndarray) -> np.ndarray:
    return (normals * (eye - places)).sum(axis=1) > 0


def _spots(steps: int) -> np.ndarray:
    """Weights of the corners (steps², 3) at the middles of a face's equal parts."""
    spots = []
    for i in range(steps):
        for j in range(steps - i):
            spots.append(((i + 1 / 3), (j + 1 / 3)))
            if i + j < steps - 1:
                spots.append(((i + 2 / 3), (j + 2 / 3)))
    u, v = np.array(spots).T / steps
    return np.stack([1 - u - v, u, v], axis=1)
