"""How much memory the machine, or the process's control group, has; and a mesh that asks for more."""

from __future__ import annotations

import os

import pytest
from odd_machines import ON_LINUX

from sitterlight.meshes.library import load_head

pytestmark = pytest.mark.skipif(os.name == "nt", reason="limits and permissions as Unix has them")


@ON_LINUX
@pytest.mark.parametrize(
    ("own", "held", "gigabytes"),
    [
        ("4:memory:/user/ours\n1:cpu:/\n", {"memory/user/ours/memory.limit_in_bytes": 2e9}, 2.0),
        ("4:cpu,memory:/user/ours\n", {"memory/user/memory.limit_in_bytes": 1.5e9}, 1.5),
        ("0::/user.slice/ours\n", {"user.slice/ours/memory.max": "max", "user.slice/memory.max": 3e9}, 3.0),
        ("0::/user.slice/a:b\n", {"user.slice/a:b/memory.high": 1e9}, 1.0),
        ("4:memory:/docker/0123\n", {"memory/memory.limit_in_bytes": 2e9}, 2.0),
        ("0::/../outside\n", {"memory.max": 2e9}, 2.0),
        ("4:memory:/ours\n0::/\n", {"memory/ours/memory.limit_in_bytes": 2**63 - 4096, "memory.max": "max"}, None),
        ("nonsense\n\n7:\n0::/a\n", {"a/memory.max": "much"}, None),
    ],
)
def test_memory_that_a_control_group_leaves(monkeypatch, tmp_path, own, held, gigabytes):
    """Both versions (cgroups(7) of Linux), the group's own bound and those above it; in a container the name of the
    group may be the one outside."""
    from sitterlight.meshes import machine

    (tmp_path / "own").write_text(own)
    for name, value in held.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(f"{value}\n" if isinstance(value, str) else f"{value:.0f}\n")
    monkeypatch.setattr(machine, "OWN_GROUPS", tmp_path / "own")
    monkeypatch.setattr(machine, "HELD_BY_GROUPS", tmp_path)
    monkeypatch.setattr(os, "sysconf", lambda _name: 1e5)  # a machine of 10 GB
    assert machine.machine_memory() == (gigabytes or 10.0) * 1e9


@ON_LINUX
def test_no_word_of_control_groups(monkeypatch, tmp_path):
    from sitterlight.meshes import machine

    monkeypatch.setattr(machine, "OWN_GROUPS", tmp_path / "none")
    assert 1e8 < machine.machine_memory() < 1e15
    assert 0 < machine.memory_left() <= machine.machine_memory()


@ON_LINUX
def test_memory_that_is_left(monkeypatch, tmp_path):
    """What the group may hold less what it holds, copies of files not counted, or what the machine has left."""
    from sitterlight.meshes import machine

    for name, text in (
        ("own", "0::/a/ours\n"),
        ("a/ours/memory.max", "3000000000\n"),
        ("a/ours/memory.current", "1500000000\n"),
        ("a/ours/memory.stat", "anon 1\ninactive_file 500000000\n"),
        ("a/memory.max", "max\n"),
        ("a/memory.current", "9000000000\n"),
        ("meminfo", "MemTotal: 9 kB\nMemAvailable:   5000000 kB\n"),
    ):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text)
    monkeypatch.setattr(machine, "OWN_GROUPS", tmp_path / "own")
    monkeypatch.setattr(machine, "HELD_BY_GROUPS", tmp_path)
    monkeypatch.setattr(machine, "MACHINE", tmp_path / "meminfo")
    assert machine.memory_left() == 2e9
    (tmp_path / "meminfo").write_text("MemAvailable: 1000 kB\n")
    assert machine.memory_left() == 1_024_000
    (tmp_path / "a/ours/memory.max").write_text("1000000\n")
    assert machine.memory_left() == 0


@pytest.mark.parametrize(
    ("head", "gigabytes"),
    [
        ("format binary_little_endian 1.0", 1.1),
        ("format ascii 1.0", 0.7),
        ("format ascii 1.0\ncomment " + "x" * 30_000, 2.4),  # a header longer than is understood here
        ("format binary_big_endian 1.0\ncomment " + "x" * 30_000, 1.9),
    ],
)
def test_what_a_large_ply_takes_follows_from_how_it_is_read(monkeypatch, tmp_path, head, gigabytes):
    from sitterlight.meshes import mesh_file

    path = tmp_path / "scan.ply"
    with path.open("wb") as file:
        file.write(f"ply\n{head}\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n".encode())
        file.write(b"element face 1\nproperty list uchar int vertex_indices\nend_header\n")
        file.truncate(100_000_000)  # of which the disk keeps nothing
    monkeypatch.setattr(mesh_file, "memory_left", lambda: 2e8)
    what = "text" if "ascii" in head else "PLY"
    with pytest.raises(ValueError, match=rf"reading 100 MB of {what} takes about {gigabytes} GB of memory"):
        mesh_file.read_mesh(path)


@ON_LINUX
def test_memory_that_is_left_in_a_group_of_the_first_version(monkeypatch, tmp_path):
    """There "inactive_file" is of the group alone, and "total_inactive_file" of all below it as well, as what it holds
    is (memory.txt of Linux's cgroup-v1)."""
    from sitterlight.meshes import machine

    group = tmp_path / "memory/ours"
    group.mkdir(parents=True)
    (group / "memory.limit_in_bytes").write_text("3000000000\n")
    (group / "memory.usage_in_bytes").write_text("2500000000\n")
    (group / "memory.stat").write_text("inactive_file 1000\nrss 7\ntotal_inactive_file 500000000\n")
    (tmp_path / "own").write_text("4:memory:/ours\n")
    monkeypatch.setattr(machine, "OWN_GROUPS", tmp_path / "own")
    monkeypatch.setattr(machine, "HELD_BY_GROUPS", tmp_path)
    monkeypatch.setattr(machine, "MACHINE", tmp_path / "none")
    assert machine.memory_left() == 1e9


@ON_LINUX
def test_memory_that_a_limit_of_the_process_leaves(monkeypatch, tmp_path):
    """Of its address space, "ulimit -v"; what it takes of that already stands first in statm, in pages (proc(5))."""
    import resource

    from sitterlight.meshes import machine

    (tmp_path / "statm").write_text("1000 200 30 4 0 500 0\n")
    for name, place in (("OWN_GROUPS", "none"), ("MACHINE", "none"), ("OURS", "statm")):
        monkeypatch.setattr(machine, name, tmp_path / place)
    monkeypatch.setattr(os, "sysconf", lambda name: 4096 if name == "SC_PAGE_SIZE" else 1_000_000)
    given = {resource.RLIMIT_AS: (200_000_000, resource.RLIM_INFINITY)}
    monkeypatch.setattr(resource, "getrlimit", lambda what: given[what])
    assert machine.machine_memory() == 200_000_000
    assert machine.memory_left() == 200_000_000 - 1000 * 4096
    given[resource.RLIMIT_AS] = (resource.RLIM_INFINITY,) * 2
    assert machine.machine_memory() == 4096e6
    assert machine.memory_left() == float("inf")


def test_a_mesh_for_which_there_is_no_memory_is_refused_before_it_is_read(monkeypatch, tmp_path):
    from sitterlight.meshes import mesh_file

    cube, path = load_head("cube"), tmp_path / "scan.obj"
    lines = [f"v {x} {y} {z}" for x, y, z in cube.vertices] + [f"f {a} {b} {c}" for a, b, c in cube.faces + 1]
    path.write_text("\n".join(lines) + "\n")
    monkeypatch.setattr(mesh_file, "memory_left", lambda: 2e8)
    assert len(mesh_file.read_mesh(path).faces) == len(cube.faces)  # too small to be asked about
    monkeypatch.setattr(mesh_file, "LITTLE_FILE", 1000)
    with pytest.raises(ValueError, match=r"scan\.obj: reading .* takes about 0\.4 GB of memory, and 0\.2 GB are left"):
        mesh_file.read_mesh(path)
