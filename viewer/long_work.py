"""One long work at a time on a thread of its own: told how far it is, stopped when asked, its end told."""

from __future__ import annotations

import threading
from collections.abc import Callable
from contextlib import suppress

from PyQt6.QtCore import QObject, pyqtSignal
from PyQt6.sip import isdeleted

from sitterlight.shading.progress import Progress
from sitterlight.viewer.courtesy import give_way
from sitterlight.viewer.sentences import sentence
from sitterlight.viewer.thrift import give_back


class _StoppedError(Exception):
    """The work is to end."""


class LongWork(QObject):
    """`progressed(share)` while it goes on; `failed(sentence)` where it could not be done, `stopped()` where it was
    stopped in time; `ended()` whenever nothing goes on any more.
    """

    progressed = pyqtSignal(float)
    failed = pyqtSignal(str)
    stopped = pyqtSignal()
    ended = pyqtSignal()

    def __init__(self, parent: QObject | None = None, name: str = "long work"):
        super().__init__(parent)
        self._name = name
        self._thread: threading.Thread | None = None
        self._stop = threading.Event()

    @property
    def is_busy(self) -> bool:
        thread = self._thread  # which the work itself takes away when it ends
        return thread is not None and thread.is_alive()

    def begin(self, work: Callable[[Progress], Callable[[], object] | None]) -> bool:
        """Begin a work, which tells its share to what it is given and ends where that raises; what it returns is called
        when the next may begin. False where another goes on."""
        if self.is_busy:
            return False
        self._stop.clear()
        self._thread = threading.Thread(target=self._work, args=(work,), name=self._name, daemon=True)
        self._thread.start()
        return True

    def stop(self) -> None:
        """Give up what goes on, when it next tells its share."""
        self._stop.set()

    def wait(self, seconds: float = 10.0) -> None:
        """Wait until the work has ended."""
        thread = self._thread
        if thread is not None:
            thread.join(seconds)

    def _work(self, work: Callable[[Progress], Callable[[], object] | None]) -> None:
        give_way()
        tell_of_it = None
        try:
            tell_of_it = work(self._tell)
        except _StoppedError:
            self._end("stopped")
        except (ValueError, OSError, MemoryError) as error:
            self._end("failed", sentence(error, named=False))
        except Exception as error:
            if isdeleted(self) and isinstance(error, RuntimeError):
                return  # the window has closed meanwhile: there is nobody to be told
            self._end("failed", f"a fault in Sitterlight, {type(error).__name__}: {sentence(error, named=False)}")
            raise
        except BaseException as error:  # what ends programs ends a thread without a word
            self._end("failed", f"a fault in Sitterlight, {type(error).__name__}")
            raise
        finally:
            self._thread = None
            if tell_of_it is not None:  # not before, or whoever goes on at once would be refused
                with suppress(RuntimeError):
                    tell_of_it()
            self._end("ended")
            give_back()

    def _end(self, signal: str, *what) -> None:
        """Tell how the work ended, if there is still someone to be told."""
        with suppress(RuntimeError):
            getattr(self, signal).emit(*what)

    def _tell(self, share: float) -> None:
        self.progressed.emit(share)
        if self._stop.is_set():
            raise _StoppedError
