"""Files and folders that appear whole or not at all: written beside their place, then moved into it."""

from __future__ import annotations

import errno
import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sitterlight.shading.leftovers import begin_file, begin_folder, clear
from sitterlight.shading.progress import Progress, tell


@contextmanager
def whole_file(path: str | os.PathLike[str]) -> Iterator[Path]:
    """A file beside `path` to write into, which takes its place when the block ends well: a reader, or a stop at any
    moment, finds the old content or the new.

    A symbolic link stays one; what it leads to is replaced. What killed programs of ours left in the folder is taken
    away. OSError where the file cannot be written, or where there is a device, a pipe or a folder.
    """
    path = Path(os.path.realpath(path)) if os.path.islink(path) else Path(path)
    _check_is_file_or_nothing(path)
    clear(path.parent)
    with _told_of(path):
        descriptor, beside = begin_file(path)
    try:
        yield beside
        os.fsync(descriptor)
        os.chmod(beside, _mode(path))
        if os.name == "nt":  # which moves no file that is open
            descriptor = _closed(descriptor)
        os.replace(beside, path)
    except BaseException:
        descriptor = _closed(descriptor)
        with suppress(OSError):
            os.unlink(beside)
        raise
    finally:
        _closed(descriptor)


def write_bytes(path: str | os.PathLike[str], content: bytes) -> None:
    """Write a file, whole or not at all, as `whole_file`."""
    with whole_file(path) as beside:
        beside.write_bytes(content)


def write_text(path: str | os.PathLike[str], text: str) -> None:
    """Write UTF-8 text with plain line ends, whole or not at all."""
    write_bytes(path, text.encode("utf-8"))


@contextmanager
def whole_folder(folder: str | os.PathLike[str]) -> Iterator[Path]:
    """A folder beside `folder` to write into, whose files are moved into `folder` when the block ends well.

    Files of the same names in `folder` are replaced, others are left. After an error `folder` is as it was. What
    killed programs of ours left there is taken away.
    OSError where the folder cannot be made or is a file.
    """
    folder = Path(folder)
    if folder.exists() and not folder.is_dir():
        raise NotADirectoryError(20, "is a file, not a folder", str(folder))
    made = _make_parents(folder.parent)
    descriptor, beside = None, None
    # A folder that is there may be another disk's, or all that may be written to.
    place = folder if folder.exists() else folder.parent
    try:
        clear(place)
        with _told_of(folder):
            descriptor, beside = begin_folder(folder, place)
        yield beside
        _move_into(beside, folder)
    except BaseException:
        if beside is not None:
            shutil.rmtree(beside, ignore_errors=True)
        for parent in made:
            with suppress(OSError):
                parent.rmdir()
        raise
    finally:
        _closed(descriptor)


def write_files(
    folder: str | os.PathLike[str], contents: dict[str, bytes], progress: Progress | None = None
) -> dict[str, Path]:
    """Write files into a folder, all or none, as `whole_folder`; their paths by name come back.

    `progress` is told that all is done while nothing is in its place yet, so that it may still stop it.
    """
    folder = Path(folder)
    with whole_folder(folder) as beside:
        for name, content in contents.items():
            (beside / name).write_bytes(content)
        tell(progress, 1.0)
    return {name: folder / name for name in contents}


@contextmanager
def _told_of(path: Path) -> Iterator[None]:
    """An error is told of what was asked for, not of the name that it has while it is written."""
    try:
        yield
    except OSError as error:
        if error.filename is not None:
            error.filename = str(path)
        raise


def _closed(descriptor: int | None) -> None:
    if descriptor is not None:
        os.close(descriptor)


def _move_into(beside: Path, folder: Path) -> None:
    if not folder.exists():
        os.chmod(beside, 0o777 & ~_umask())
        os.replace(beside, folder)
        return
    files = sorted(beside.rglob("*"))
    for file in files:
        if file.is_file():
            _check_is_file_or_nothing(folder / file.relative_to(beside))
    for file in files:
        target = folder / file.relative_to(beside)
        if file.is_dir():
            target.mkdir(exist_ok=True)
        else:
            os.replace(file, target)
    shutil.rmtree(beside)


def _check_is_file_or_nothing(path: Path) -> None:
    if os.path.lexists(path) and not path.is_symlink() and not path.is_file():
        raise OSError(errno.EINVAL, "is a folder, a pipe or a device, not a plain file", str(path))


def _make_parents(folder: Path) -> list[Path]:
    """Make the folder and those above it; those that were not there before, deepest first."""
    missing = []
    above = folder
    while not above.exists():
        missing.append(above)
        above = above.parent
    folder.mkdir(parents=True, exist_ok=True)
    return missing


def _mode(path: Path) -> int:
    """The file's own permissions where it exists, else those of a new file."""
    try:
        return path.stat().st_mode & 0o7777
    except OSError:
        return 0o666 & ~_umask()


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
