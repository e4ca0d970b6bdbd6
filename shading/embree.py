"""Embree asked from compiled code: in packets, on every core, without the interpreter's lock.

`embreex` brings the library and asks it one ray at a time while nothing else of the program can run. Its C interface
(Embree 4, the API of its manual) is called here straight from compiled loops instead. Where the library is not found
or is of another generation, `library()` is None and `ray_tree` answers in its place.
"""

from __future__ import annotations

import ctypes
import threading
import weakref
from collections.abc import Callable
from functools import lru_cache, wraps
from pathlib import Path

import numpy as np
from llvmlite import ir
from numba import types
from numba.extending import intrinsic

from sitterlight.shading.compiled import kernel, unsigned

FOR_HITS, FOR_SHADOWS = 8, 16
"""Rays in a packet. Of 4, 8 and 16 these were soonest: for what the rays of a transfer meet, and for shadow rays, which
leave neighbouring places toward one light and go through the tree together."""
_GENERATION = 4
_VERTEX, _INDEX, _FLOAT3, _UINT3, _TRIANGLES = 1, 0, 0x9003, 0x5003, 0
_ROBUST = 1 << 2  # RTC_SCENE_FLAG_ROBUST: no ray slips between two faces
_MAJOR = 1  # RTC_DEVICE_PROPERTY_VERSION_MAJOR

# Rows of a packet, each a number for every ray: one of validity, then RTCRayHit8 or RTCRayHit16 of the manual.
BEGIN, DIRECTION, FAR, _MASK, U, V, FACE, _GEOMETRY = 1, 5, 9, 10, 16, 17, 18, 19
RAY = 1
"""The first of the rows that a packet's rays begin with."""
ROWS = 28
"""How many rows, with room for what the library writes and for its alignment."""
_ALL, _NO = np.uint32(0xFFFFFFFF), np.uint32(0)

_HITS, _BLOCKED, _ASKED, _HOW = 0, 1, 2, 3
"""What the words of a tree's address are: the two functions that answer a packet, what these are to search, and how the
second is to search it."""
_COHERENT, _EVERY_FEATURE = 1 << 16, 0xFFFFFFFF
"""Of RTCOccludedArguments: the rays of a packet take much the same way, and nothing was compiled without."""


def once(function: Callable) -> Callable:
    """Whoever asks, and however many threads at once: worked out one single time."""
    known, asking = lru_cache(maxsize=1)(function), threading.Lock()

    @wraps(function)
    def asked():
        with asking:
            return known()

    return asked


@once  # two devices made at once leave a thread of theirs (oneTBB's) that looks for work for ever
def library() -> ctypes.CDLL | None:
    """The Embree library that embreex brings, ready for compiled code; None where there is none that fits."""
    try:
        import embreex
        import embreex.rtcore_scene  # loads the library and what it needs
    except ImportError:
        return None
    package = Path(embreex.__file__).parent
    folders = (package.parent / "embreex.libs", package / ".dylibs", package)
    found = [path for folder in folders if folder.is_dir() for path in sorted(folder.glob("*embree4*"))]
    for path in found:
        try:
            loaded = _declared(ctypes.CDLL(str(path)))
        except (OSError, AttributeError):
            continue
        device = loaded.rtcNewDevice(b"threads=1,set_affinity=0")
        if device and loaded.rtcGetDeviceProperty(device, _MAJOR) == _GENERATION:
            loaded.device = device
            return loaded
    return None


def _declared(loaded: ctypes.CDLL) -> ctypes.CDLL:
    pointer, unsigned, whole, size = ctypes.c_void_p, ctypes.c_uint, ctypes.c_int, ctypes.c_size_t
    for name, result, arguments in (
        ("rtcNewDevice", pointer, [ctypes.c_char_p]),
        ("rtcGetDeviceProperty", ctypes.c_ssize_t, [pointer, whole]),
        ("rtcNewScene", pointer, [pointer]),
        ("rtcSetSceneFlags", None, [pointer, whole]),
        ("rtcNewGeometry", pointer, [pointer, whole]),
        ("rtcSetNewGeometryBuffer", pointer, [pointer, whole, unsigned, whole, size, size]),
        ("rtcCommitGeometry", None, [pointer]),
        ("rtcAttachGeometry", unsigned, [pointer, pointer]),
        ("rtcReleaseGeometry", None, [pointer]),
        ("rtcCommitScene", None, [pointer]),
        ("rtcReleaseScene", None, [pointer]),
    ):
        function = getattr(loaded, name)
        function.restype, function.argtypes = result, arguments
    return loaded


class Tree:
    """The search tree of one triangle mesh. `scene` is its address, for the kernels below."""

    def __init__(self, vertices: np.ndarray, faces: np.ndarray):
        rtc = library()
        scene = rtc.rtcNewScene(rtc.device)
        weakref.finalize(self, rtc.rtcReleaseScene, scene)
        hits, blocked = getattr(rtc, f"rtcIntersect{FOR_HITS}"), getattr(rtc, f"rtcOccluded{FOR_SHADOWS}")
        self._how = np.array([_COHERENT, _EVERY_FEATURE] + [0] * 14, np.uint32)
        self._words = words_of(hits, blocked, scene, self._how.ctypes.data)
        self.scene = self._words.ctypes.data
        rtc.rtcSetSceneFlags(scene, _ROBUST)
        geometry = rtc.rtcNewGeometry(rtc.device, _TRIANGLES)
        for kind, form, content in (
            (_VERTEX, _FLOAT3, np.ascontiguousarray(vertices, np.float32)),
            (_INDEX, _UINT3, np.ascontiguousarray(faces, np.uint32)),
        ):
            place = rtc.rtcSetNewGeometryBuffer(geometry, kind, 0, form, 12, max(len(content), 1))
            ctypes.memmove(place, content.ctypes.data, content.nbytes)
        rtc.rtcCommitGeometry(geometry)
        rtc.rtcAttachGeometry(scene, geometry)
        rtc.rtcReleaseGeometry(geometry)
        rtc.rtcCommitScene(scene)


def words_of(hits: Callable, blocked: Callable, asked: int, how: int = 0) -> np.ndarray:
    """What the address of a tree leads to: two functions of C of the form of rtcIntersect8, what they search, and the
    last that the second of them is given."""
    functions = (ctypes.cast(each, ctypes.c_void_p).value for each in (hits, blocked))
    return np.array([*functions, asked, how], np.intp)


@intrinsic
def _ask(typing, scene, which, valid, rays):
    """Let the function `which` of a tree answer the rays at an address."""

    def generate(context, builder, signature, arguments):
        scene, which, valid, rays = arguments
        word = scene.type
        words = builder.inttoptr(scene, word.as_pointer())
        address, asked, how = (builder.load(builder.gep(words, [at])) for at in (which, word(_ASKED), word(_HOW)))
        function = builder.inttoptr(address, ir.FunctionType(ir.VoidType(), [word] * 4).as_pointer())
        is_shadow = builder.icmp_unsigned("==", which, word(_BLOCKED))
        builder.call(function, [valid, asked, rays, builder.select(is_shadow, how, word(0))])
        return context.get_dummy_value()

    return types.void(*[types.intp] * 4), generate


@kernel
def new_packet(lanes):
    """An aligned packet of so many rays: rows of what they are and what they hit, one after the other, as float32."""
    raw = np.zeros((ROWS + 1) * lanes, np.float32)
    first = (4 * lanes - raw.ctypes.data % (4 * lanes)) % (4 * lanes) // 4
    packet = raw[first : first + ROWS * lanes]
    packet.view(np.uint32)[_MASK * lanes : (_MASK + 1) * lanes] = _ALL
    return packet


@kernel
def set_ray(packet, lanes, lane, ox, oy, oz, x, y, z, far):
    """Put a ray into one of a packet's lanes: from (ox, oy, oz) along (x, y, z), as far as `far` times that."""
    at = unsigned(lane)
    packet[unsigned(BEGIN * lanes) + at] = ox
    packet[unsigned((BEGIN + 1) * lanes) + at] = oy
    packet[unsigned((BEGIN + 2) * lanes) + at] = oz
    packet[unsigned(DIRECTION * lanes) + at] = x
    packet[unsigned((DIRECTION + 1) * lanes) + at] = y
    packet[unsigned((DIRECTION + 2) * lanes) + at] = z
    packet[unsigned(FAR * lanes) + at] = far


@kernel
def ask_hits(scene, packet, filled):
    """Let the first `filled` rays of a packet FOR_HITS find what they meet first."""
    marks = packet.view(np.uint32)
    for lane in range(FOR_HITS):
        marks[lane] = _ALL if lane < filled else _NO
        marks[FACE * FOR_HITS + lane] = _ALL
        marks[_GEOMETRY * FOR_HITS + lane] = _ALL
    start = packet.ctypes.data
    _ask(scene, _HITS, start, start + 4 * RAY * FOR_HITS)


@kernel
def ask_blocked(scene, packet, filled):
    """Let the first `filled` rays of a packet FOR_SHADOWS find whether they meet anything."""
    marks = packet.view(np.uint32)
    for lane in range(FOR_SHADOWS):
        marks[lane] = _ALL if lane < filled else _NO
    start = packet.ctypes.data
    _ask(scene, _BLOCKED, start, start + 4 * RAY * FOR_SHADOWS)


@kernel
def face_met(packet, lane):
    """The face that a ray of an `ask_hits` met, −1 where none."""
    return np.int32(packet.view(np.uint32)[FACE * FOR_HITS + lane])


@kernel
def weights_met(packet, lane):
    """The weights of the second and the third corner of that face where the ray met it."""
    return packet[U * FOR_HITS + lane], packet[V * FOR_HITS + lane]


@kernel
def length_met(packet, lane):
    """How far along its direction the ray met it, as `far` of `set_ray`."""
    return packet[FAR * FOR_HITS + lane]


@kernel
def is_blocked(packet, lane):
    """Whether a ray of an `ask_blocked` met anything."""
    return packet[unsigned(FAR * FOR_SHADOWS) + unsigned(lane)] < 0
