"""Embree asked from compiled code: eight rays at a time, on every core, without the interpreter's lock.

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

LANES = 8
"""Rays in a packet: of 4, 8 and 16 eight were soonest, by a tenth of all and more for rays that graze."""
_GENERATION = 4
_VERTEX, _INDEX, _FLOAT3, _UINT3, _TRIANGLES = 1, 0, 0x9003, 0x5003, 0
_ROBUST = 1 << 2  # RTC_SCENE_FLAG_ROBUST: no ray slips between two faces
_MAJOR = 1  # RTC_DEVICE_PROPERTY_VERSION_MAJOR

# Rows of a packet, in units of 4 bytes: RTCRayHit8 of the manual, after a row of validity.
RAY = LANES
HIT = RAY + 12 * LANES
PACKET = 28 * LANES
"""Length of a packet with room for what the library writes and for its alignment."""
_FAR, _MASK = RAY + 8 * LANES, RAY + 9 * LANES
_U, _V, _FACE, _GEOMETRY = (HIT + row * LANES for row in (3, 4, 5, 6))
_ALL, _NO = np.uint32(0xFFFFFFFF), np.uint32(0)

_HITS, _BLOCKED, _ASKED = 0, 1, 2
"""What the words of a tree's address are: the two functions that answer a packet, and what these are to search."""


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
        self._words = words_of(getattr(rtc, f"rtcIntersect{LANES}"), getattr(rtc, f"rtcOccluded{LANES}"), scene)
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


def words_of(hits: Callable, blocked: Callable, asked: int) -> np.ndarray:
    """What the address of a tree leads to: two functions of C of the form of rtcIntersect8, and what they search."""
    return np.array([*(ctypes.cast(each, ctypes.c_void_p).value for each in (hits, blocked)), asked], np.intp)


@intrinsic
def _ask(typing, scene, which, valid, rays):
    """Let the function `which` of a tree answer the rays at an address."""

    def generate(context, builder, signature, arguments):
        scene, which, valid, rays = arguments
        word = scene.type
        words = builder.inttoptr(scene, word.as_pointer())
        address, asked = (builder.load(builder.gep(words, [index])) for index in (which, word(_ASKED)))
        function = builder.inttoptr(address, ir.FunctionType(ir.VoidType(), [word] * 4).as_pointer())
        builder.call(function, [valid, asked, rays, word(0)])
        return context.get_dummy_value()

    return types.void(*[types.intp] * 4), generate


@kernel
def new_packet():
    """An aligned packet: for each lane its validity, then the rays and what they hit, all as float32."""
    raw = np.zeros(PACKET + LANES, np.float32)
    first = (4 * LANES - raw.ctypes.data % (4 * LANES)) % (4 * LANES) // 4
    packet = raw[first : first + PACKET]
    packet.view(np.uint32)[_MASK : _MASK + LANES] = _ALL
    return packet


@kernel
def set_ray(packet, lane, ox, oy, oz, x, y, z, far):
    """Put a ray into a lane: from (ox, oy, oz) along (x, y, z), as far as `far` times that."""
    at = unsigned(RAY) + unsigned(lane)
    packet[at] = ox
    packet[at + unsigned(LANES)] = oy
    packet[at + unsigned(2 * LANES)] = oz
    packet[at + unsigned(4 * LANES)] = x
    packet[at + unsigned(5 * LANES)] = y
    packet[at + unsigned(6 * LANES)] = z
    packet[at + unsigned(8 * LANES)] = far


@kernel
def ask_hits(scene, packet, filled):
    """Let the first `filled` rays of a packet find what they meet first."""
    marks = packet.view(np.uint32)
    for lane in range(LANES):
        marks[lane] = _ALL if lane < filled else _NO
        marks[_FACE + lane] = _ALL
        marks[_GEOMETRY + lane] = _ALL
    start = packet.ctypes.data
    _ask(scene, _HITS, start, start + 4 * RAY)


@kernel
def ask_blocked(scene, packet, filled):
    """Let the first `filled` rays of a packet find whether they meet anything."""
    marks = packet.view(np.uint32)
    for lane in range(LANES):
        marks[lane] = _ALL if lane < filled else _NO
    start = packet.ctypes.data
    _ask(scene, _BLOCKED, start, start + 4 * RAY)


@kernel
def face_met(packet, lane):
    """The face that a ray of an `ask_hits` met, −1 where none."""
    return np.int32(packet.view(np.uint32)[_FACE + lane])


@kernel
def weights_met(packet, lane):
    """The weights of the second and the third corner of that face where the ray met it."""
    return packet[_U + lane], packet[_V + lane]


@kernel
def length_met(packet, lane):
    """How far along its direction the ray met it, as `far` of `set_ray`."""
    return packet[_FAR + lane]


@kernel
def is_blocked(packet, lane):
    """Whether a ray of an `ask_blocked` met anything."""
    return packet[unsigned(_FAR) + unsigned(lane)] < 0
