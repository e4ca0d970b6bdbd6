"""Runs all tests in a fresh environment of their own: python3 tests/run.py

Makes the folder .venv-test anew, installs Sitterlight with its `test` extra into it, gives the tests a
virtual screen where there is none, and runs pytest; what follows on the command line goes to pytest. With
--again as the first word the environment of the last run is used once more. Needs Python 3.11 or newer and
nothing else.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
import venv
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv-test"
FIRST_BEGINS = "tests/test_h"
"""Of the files in order, where the first process begins: with what compiles next to nothing, while the second compiles
the loops that both will need; with both at it, each would compile all of them."""


def environment_python():
    """The Python inside the environment."""
    return ENVIRONMENT / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def make_environment():
    """Make the environment anew and install the project with its test extra."""
    print("Sitterlight: making .venv-test and installing .[test] into it", flush=True)
    venv.EnvBuilder(clear=True, with_pip=True).create(ENVIRONMENT)
    pip = [str(environment_python()), "-m", "pip", "--disable-pip-version-check", "install", "--quiet"]
    pip.append("--no-compile")  # a fifth of the modules is ever imported, and compiled then
    subprocess.run([*pip, "--editable", f"{ROOT}[test]"], check=True, cwd=ROOT)


@contextmanager
def virtual_screen(size, *options):
    """The name of a screen in memory, by Xvfb, of a size such as "800x600x24"; empty where it gives none."""
    reading, writing = os.pipe()
    command = ["Xvfb", "-displayfd", str(writing), "-screen", "0", size, "-nolisten", "tcp", *options]
    server = subprocess.Popen(command, pass_fds=[writing], stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL)
    os.close(writing)
    try:
        with os.fdopen(reading) as answer:
            number = answer.readline().strip()
        yield f":{number}" if number else ""
    finally:
        server.terminate()
        server.wait()


@contextmanager
def screen():
    """The environment variables to run in; on Linux with a virtual screen where there is none."""
    variables = dict(os.environ)
    if not sys.platform.startswith("linux") or variables.get("DISPLAY"):
        yield variables
        return
    if shutil.which("Xvfb") is None:
        print("Sitterlight: no screen and no Xvfb (Debian: apt install xvfb); leaving out tests of the window")
        yield variables
        return
    with virtual_screen("1920x1200x24", "+extension", "GLX") as display:
        if display:
            variables |= {"DISPLAY": display, "LIBGL_ALWAYS_SOFTWARE": "1", "QT_QPA_PLATFORM": "xcb"}
        yield variables


def run_tests(arguments, variables):
    """Run pytest; the exit code. Where nothing was asked for in particular, tests of the window, which often wait for
    it, and the slow ones run beside the rest. Of the rest the second process then takes file after file from the end,
    until it comes to what the first has done or does (see conftest.py): both end together. What it says follows at the
    end."""
    command = [str(environment_python()), "-m", "pytest", "-q"]
    if arguments:
        return subprocess.run([*command, *arguments], cwd=ROOT, env=variables).returncode
    others = ["-m", "not (screen or slow)"]
    files = sorted(path.relative_to(ROOT).as_posix() for path in (ROOT / "tests").glob("test_*.py"))
    files = [file for file in files if file >= FIRST_BEGINS] + [file for file in files if file < FIRST_BEGINS]
    beside = ["-o", "cache_dir=.pytest_cache/second"]
    with (
        tempfile.TemporaryDirectory() as taken,
        tempfile.TemporaryFile() as said,
        ThreadPoolExecutor(1) as second,
    ):
        shared = {**variables, "SITTERLIGHT_TESTS_TAKEN": taken}

        def run_beside():
            runs = (
                subprocess.run([*command, *share, *beside], cwd=ROOT, env=env, stdout=said, stderr=subprocess.STDOUT)
                for share, env in ((["-m", "screen or slow"], variables), ([*others, *reversed(files)], shared))
            )
            return max(abs(run.returncode) for run in runs)

        codes = second.submit(run_beside)
        code = subprocess.run([*command, *others, *files], cwd=ROOT, env=shared).returncode
        code = codes.result() or code
        said.seek(0)
        print(said.read().decode(errors="replace"), flush=True)
    return code


def main(arguments):
    """Run everything; the exit code is that of pytest."""
    if sys.version_info < (3, 11):  # noqa: UP036 - run before anything checks it
        print("Sitterlight needs Python 3.11 or newer; this is " + sys.version.split()[0], file=sys.stderr)
        return 2
    start = time.monotonic()
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # else every program that a test starts compiles its modules anew
    if arguments[:1] == ["--again"] and environment_python().exists():
        arguments = arguments[1:]
    else:
        make_environment()
    with screen() as variables:
        code = run_tests(arguments, variables)
    seconds = time.monotonic() - start
    print(f"Sitterlight: {'all tests passed' if code == 0 else 'TESTS FAILED'} ({seconds:.0f} s)")
    return code


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
