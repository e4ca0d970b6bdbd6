"""Files for the robot to open, drop and save over: whole ones, damaged ones, and places that cannot be written."""

from __future__ import annotations

import random
import shutil
from dataclasses import replace
from pathlib import Path

import trimesh

from sitterlight.shading.sitting import HeadSetting, Sitting, SkinSetting
from sitterlight.shading.sitting_file import to_toml, write_sitting
from sitterlight.shading.sittings import built_in, built_in_names

CORPUS = Path(__file__).resolve().parents[1] / "corpus"
TOO_LARGE = 3_000_000


def make_files(folder: Path, head: str, chance: random.Random) -> list[Path]:
    """Write them all into the folder; their paths in a fixed order."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in built_in_names():
        write_sitting(replace(built_in(name), head=HeadSetting(mesh=head)), folder / f"{name}.toml")
    trimesh.creation.box((150, 200, 170)).export(folder / "box.ply")
    trimesh.creation.icosphere(3, 100).export(folder / "ball of mine.obj")
    trimesh.creation.icosphere(2, 0.1).export(folder / "käse Ω.stl")
    trimesh.creation.capsule(120, 60).export(folder / "capsule.glb")
    rows = [(nm, 0.2 + 0.3 * (nm - 400) / 300) for nm in range(400, 701, 10)]
    (folder / "skin.csv").write_text("\n".join(f"{nm},{value:.3f}" for nm, value in rows), encoding="utf-8")
    (folder / "lamp.csv").write_text("\n".join(f"{nm};{100 * v:.1f}" for nm, v in rows), encoding="utf-8")
    (folder / "palette.toml").write_text('paints = ["PW6", "PY43", "PB29"]\n', encoding="utf-8")
    with_file = Sitting(head=HeadSetting(mesh="box.ply"), skin=SkinSetting(reflectance="skin.csv", ladder=None))
    write_sitting(with_file, folder / "with files.toml")
    (folder / "leads nowhere.toml").write_text(
        to_toml(replace(with_file, head=HeadSetting(mesh="gone.ply"))), encoding="utf-8"
    )
    for path in sorted(CORPUS.iterdir()):
        if path.stat().st_size < TOO_LARGE:
            shutil.copy(path, folder / path.name)
    for path in sorted(folder.iterdir()):
        if chance.random() < 0.5 and path.stat().st_size > 40:
            _damage(path, folder / f"damaged {path.name}", chance)
    (folder / "empty.toml").write_bytes(b"")
    (folder / "a folder.toml").mkdir(exist_ok=True)
    (folder / "odd.xyz").write_text("?", encoding="utf-8")
    return [*sorted(folder.iterdir()), folder / "not there.toml", folder / "not there.ply"]


def _damage(path: Path, copy: Path, chance: random.Random) -> None:
    content = bytearray(path.read_bytes())
    for _ in range(chance.randint(1, 6)):
        place = chance.randrange(len(content))
        content[place] = chance.randrange(256)
    if chance.random() < 0.4:
        del content[chance.randrange(len(content)) :]
    copy.write_bytes(bytes(content))


def place_to_write(folder: Path, ending: str, chance: random.Random) -> str:
    """A path to write to: mostly a new or an old file, at times one that cannot be, at times none."""
    ways = ["", str(folder / "no such folder" / f"a{ending}"), str(folder / "a folder.toml"), "/dev/full"]
    if chance.random() < 0.2:
        return chance.choice(ways)
    return str(folder / f"written {chance.randint(1, 5)}{ending}")
