"""The rule for planes of a head joined or named by hand, as a sitting file has them under [[head.plane]]."""

from __future__ import annotations

from dataclasses import dataclass

from sitterlight.meshes.plane_edits import PlaneEdit
from sitterlight.shading.sitting_rules import Row, SittingError, Text, Whole, check_table, refuse

PLANE_NUMBER = Whole(1, 500)
PLANE = {
    "number": PLANE_NUMBER,
    "name": Text("a name", 60),
    "joined": Row(PLANE_NUMBER, (1, 200), "an array of plane numbers such as [9, 12]"),
}


@dataclass(frozen=True)
class PlaneEdits:
    """Tables with the number of a plane and a name for it, or the planes joined to it, or both."""

    allowed: str = 'tables headed [[head.plane]] such as number = 7, name = "left temple", joined = [9]'

    def __call__(self, value: object, where: str) -> tuple[PlaneEdit, ...]:
        if not isinstance(value, list | tuple) or len(value) > 500:
            raise refuse(where, value, self.allowed)
        edits, numbers, joined = [], set(), set()
        for place, table in enumerate(value, start=1):
            here = f"{where}[{place}]"
            values = check_table(table, PLANE, here, "[[head.plane]]")
            if "number" not in values or len(values) == 1:
                missing = "a name or joined" if "number" in values else "a number"
                raise SittingError(f"{here} lacks {missing}; allowed are {self.allowed}")
            edit = PlaneEdit(**values)
            if edit.number in numbers:
                raise SittingError(f"{here}.number is {edit.number} a second time; allowed is each plane once")
            again = [n for k, n in enumerate(edit.joined) if n in joined or n in edit.joined[:k] or n == edit.number]
            if again:
                raise SittingError(f"{here}.joined has {again[0]}, which is joined already; allowed is each plane once")
            numbers.add(edit.number)
            joined.update(edit.joined)
            edits.append(edit)
        both = [edit.number for edit in edits if edit.number in joined]
        if both:
            raise SittingError(f"{where} joins plane {both[0]} to another and edits it too; allowed is one of the two")
        return tuple(edits)
