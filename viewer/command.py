"""The command line: `sitterlight [SITTING]` opens the window, the other commands need no screen.

Exit code 0, or 2 for a bad request or file with one line on standard error. Everything heavy is imported by
the command that needs it.
"""

from __future__ import annotations

import argparse
import os
import sys
import warnings
from collections.abc import Callable, Sequence

from sitterlight.viewer.commands import RUN, file_of, find_sitting
from sitterlight.viewer.request import COMMANDS, LISTS, parser_of
from sitterlight.viewer.sentences import sentence
from sitterlight.viewer.terminal import print_whatever_comes, refuse


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; 0, or 2 after one line on standard error. SITTERLIGHT_DEBUG lets errors through."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    print_whatever_comes()
    if os.environ.get("SITTERLIGHT_DEBUG"):
        return _run(words)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        try:
            return _run(words)
        except BrokenPipeError:  # what reads our output has seen enough
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return 0
        except KeyboardInterrupt:
            return refuse("stopped")
        except (ValueError, OSError, ImportError) as error:
            return refuse(sentence(error))
        except MemoryError:
            return refuse("this needs more memory than there is")
        except Exception as error:
            _log(error)
            return refuse(
                f"a fault in Sitterlight, {type(error).__name__}: {sentence(error)} "
                "(with SITTERLIGHT_DEBUG=1 it says where)"
            )


def _run(words: list[str]) -> int:
    given = parser_of(RUN).parse_args(_with_command(words))
    command: Callable[[argparse.Namespace], int | None] = given.command
    code = command(given) or 0
    sys.stdout.flush()
    return code


def _with_command(words: list[str]) -> list[str]:
    """`sitterlight [SITTING]` is short for `sitterlight window [SITTING]`."""
    first = next((word for word in words if not word.startswith("-")), None)
    asks_about_itself = any(word in ("-h", "--help", "--version") for word in words)
    if first in COMMANDS or (first is None and asks_about_itself):
        return words
    return ["window", *words]


def _log(error: Exception) -> None:
    """Leave a note of a fault of ours."""
    from sitterlight.viewer import log

    log.begin()
    log.fault(error, "command line")


__all__ = ["LISTS", "file_of", "find_sitting", "main"]

if __name__ == "__main__":
    sys.exit(main())
