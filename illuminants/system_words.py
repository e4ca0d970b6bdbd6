"""What the system says against a file or folder, in plain words and with what can be done."""

from __future__ import annotations

import errno
import os

_PLAIN = {
    errno.ENOENT: "there is no such file or folder; look at how its name is written",
    errno.EACCES: "the system does not allow it; choose another place, or have its permissions changed",
    errno.EPERM: "the system does not allow it; choose another place, or have its permissions changed",
    errno.ENOSPC: "the disk is full; make room on it or choose another",
    errno.EROFS: "nothing can be written there; choose another folder",
    errno.ENAMETOOLONG: "the name is too long; choose a shorter one",
    errno.EISDIR: "it is a folder, not a file",
    errno.ENOTDIR: "a part of its path is a file, not a folder",
    errno.ELOOP: "its links lead in a circle",
    errno.EIO: "the disk or its connection fails; try again, or choose another place",
    errno.EMFILE: "too many files are open; close other programs and try again",
}


def system_words(error: OSError) -> str:
    """The error's own words, where the program gave it some, else those for its number."""
    words = error.strerror or " ".join(str(error).split())
    if error.errno in _PLAIN and words == os.strerror(error.errno):
        return _PLAIN[error.errno]
    return words
