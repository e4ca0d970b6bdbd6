"""Numbers side by side that the processor takes as one.

Written for LLVM: what numba makes of sums of a few numbers each takes number after number, three times as long.
"""

from __future__ import annotations

import numpy as np
from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.extending import intrinsic

STRIP = 8
"""Numbers of a strip."""
AT_ONCE = 2
"""Strips that are added up at a time: each sum has the time of the other to be ready."""
COLOUR = 4
"""Numbers of a colour in a table: X, Y, Z and one that counts for nothing."""
_CONTRACT = ("contract",)
_WORD = ir.IntType(32)


def new_strips(count: int) -> np.ndarray:
    """Room (count,STRIP) float32 for strips, none of which lies across two of the processor's lines of memory."""
    room = np.empty((count + 1) * STRIP, np.float32)
    address, _ = room.__array_interface__["data"]
    first = -address // room.itemsize % STRIP
    return room[first : first + count * STRIP].reshape(count, STRIP)


@intrinsic
def add_strips(_typing, column, weight, strips, first, last, total):
    """Into `total (STRIP,)` the sum of `weight` times the `strips (R,STRIP)` at `column`, from entry `first` to `last`,
    AT_ONCE at a time; all float32 but for the columns."""

    def build(context, builder, signature, given):
        columns, weights, rows, result = (_data(context, builder, signature, given, n) for n in (0, 1, 2, 5))
        word, kind = given[3].type, ir.VectorType(ir.FloatType(), STRIP)
        sums = [_nothing(builder, kind) for _ in range(AT_ONCE)]
        step = ir.Constant(word, AT_ONCE)
        with cgutils.for_range_slice(builder, given[3], given[4], step, intp=word, inc=True) as (entry, _):
            for ahead, kept in enumerate(sums):
                at = builder.add(entry, ir.Constant(word, ahead))
                which = builder.load(builder.gep(columns, [at]))
                which = context.cast(builder, which, signature.args[0].dtype, types.intp)
                strip = _load(builder, rows, builder.mul(which, ir.Constant(word, STRIP)), kind)
                _add(builder, kept, builder.load(builder.gep(weights, [at])), strip)
        whole = builder.load(sums[0])
        for kept in sums[1:]:
            whole = builder.fadd(whole, builder.load(kept))
        builder.store(whole, builder.bitcast(result, kind.as_pointer()), align=4)
        return context.get_dummy_value()

    return types.void(column, weight, strips, first, last, total), build


@intrinsic
def add_colours(_typing, values, table):
    """X, Y and Z of `values (C,)` times the colours of a `table (C,COLOUR)`, float32."""

    def build(context, builder, signature, given):
        numbers, colours = (_data(context, builder, signature, given, n) for n in (0, 1))
        count = builder.extract_value(context.make_array(signature.args[0])(context, builder, given[0]).shape, 0)
        kind = ir.VectorType(ir.FloatType(), COLOUR)
        kept = _nothing(builder, kind)
        with cgutils.for_range(builder, count, intp=count.type) as each:
            colour = _load(builder, colours, builder.mul(each.index, ir.Constant(count.type, COLOUR)), kind)
            _add(builder, kept, builder.load(builder.gep(numbers, [each.index])), colour)
        return _three_of(context, builder, signature, kept)

    return types.UniTuple(types.float32, 3)(values, table), build


@intrinsic
def add_colours_by(_typing, values, first, last, which, table, column):
    """X, Y and Z of the rows of `values (N,C)` from `first` to `last`, each times the colours of that of the `table
    (T,R,C,COLOUR)` at `which (N,)` and `column`; float32 but for the places."""

    def build(context, builder, signature, given):
        shape = context.make_array(signature.args[4])(context, builder, given[4]).shape
        numbers, chosen, colours = (_data(context, builder, signature, given, n) for n in (0, 3, 4))
        across, count = (builder.extract_value(shape, n) for n in (1, 2))
        kind, word = ir.VectorType(ir.FloatType(), COLOUR), count.type
        kept, aside = _nothing(builder, kind), context.cast(builder, given[5], signature.args[5], types.intp)
        with cgutils.for_range_slice(builder, given[1], given[2], word(1), intp=word, inc=True) as (row, _):
            place = builder.load(builder.gep(chosen, [row]))
            place = context.cast(builder, place, signature.args[3].dtype, types.intp)
            place = builder.mul(builder.add(builder.mul(place, across), aside), count)
            own = builder.mul(row, count)
            with cgutils.for_range(builder, count, intp=word) as each:
                at = builder.mul(builder.add(place, each.index), word(COLOUR))
                number = builder.load(builder.gep(numbers, [builder.add(own, each.index)]))
                _add(builder, kept, number, _load(builder, colours, at, kind))
        return _three_of(context, builder, signature, kept)

    return types.UniTuple(types.float32, 3)(values, types.intp, types.intp, which, table, column), build


def _three_of(context, builder, signature, kept):
    """The first three numbers of a sum."""
    whole = builder.load(kept)
    parts = [builder.extract_element(whole, _WORD(n)) for n in range(3)]
    return context.make_tuple(builder, signature.return_type, parts)


def _data(context, builder, signature, given, which):
    """Where the numbers of an array lie."""
    return context.make_array(signature.args[which])(context, builder, given[which]).data


def _nothing(builder, kind):
    """A sum that begins at nothing."""
    return cgutils.alloca_once_value(builder, ir.Constant(kind, [0.0] * kind.count))


def _load(builder, numbers, at, kind):
    """So many numbers as the kind has, from one of them on."""
    return builder.load(builder.bitcast(builder.gep(numbers, [at]), kind.as_pointer()), align=4)


def _add(builder, kept, weight, numbers):
    """Add `weight` times some numbers to a sum."""
    unset, everywhere = ir.Constant(numbers.type, ir.Undefined), ir.VectorType(_WORD, numbers.type.count)
    weights = builder.insert_element(unset, weight, _WORD(0))
    weights = builder.shuffle_vector(weights, unset, ir.Constant(everywhere, [0] * numbers.type.count))
    more = builder.fmul(weights, numbers, flags=_CONTRACT)
    builder.store(builder.fadd(builder.load(kept), more, flags=_CONTRACT), kept)
