"""Sets Sitterlight up and opens it, from the project's folder: python3 viewer/start.py

On first use it makes the folder .venv and installs Sitterlight into it, which takes a minute or two; after
that it starts at once. What follows on the command line goes to `sitterlight`, so that a machine without a
screen can say python3 viewer/start.py study --out OUT. Needs Python 3.11 or newer and nothing else.
"""

import hashlib
import os
import subprocess
import sys
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
STAMP = ENVIRONMENT / "sitterlight-installed"


def program(name):
    """The path of a program inside the environment."""
    return ENVIRONMENT / (f"Scripts/{name}.exe" if os.name == "nt" else f"bin/{name}")


def wanted():
    """What the environment was made from: a change of any of it calls for a new one."""
    made_from = [
        str(ROOT),
        sys.version,
        sys.base_prefix,
        (ROOT / "pyproject.toml").read_text(encoding="utf-8"),
    ]
    return hashlib.sha256("\n".join(made_from).encode()).hexdigest()


def is_set_up():
    """Whether the environment is there, whole, and made from what is here now."""
    try:
        return STAMP.read_text(encoding="utf-8") == wanted() and program("sitterlight").exists()
    except OSError:
        return False


def set_up():
    """Make the environment anew; the stamp comes last, so that a broken-off set-up is begun again."""
    print("Sitterlight: setting up in .venv, which takes a minute or two", flush=True)
    venv.EnvBuilder(clear=True, with_pip=True).create(ENVIRONMENT)
    pip = [str(program("python")), "-m", "pip", "--disable-pip-version-check", "install", "--quiet"]
    subprocess.run([*pip, "--editable", str(ROOT)], check=True, cwd=ROOT)
    STAMP.write_text(wanted(), encoding="utf-8")


def light_first():
    """Light the first sitting once, so that the window need not keep a newcomer waiting; what fails here is said by
    the window."""
    print("Sitterlight: lighting the first head, which takes some seconds, once", flush=True)
    command = [str(program("python")), "-m", "sitterlight.viewer.first_light"]
    subprocess.run(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def main(arguments):
    """Set up if need be, then run sitterlight with the arguments; its exit code is returned."""
    if sys.version_info < (3, 11):  # noqa: UP036 - run before anything checks it
        return refuse("Sitterlight needs Python 3.11 or newer; this is " + sys.version.split()[0])
    if not (ROOT / "pyproject.toml").exists():
        return refuse("this belongs to the project's folder; installed, the command is sitterlight")
    try:
        if not is_set_up():
            set_up()
            if not arguments:
                light_first()
    except subprocess.CalledProcessError as error:
        if "ensurepip" in str(error.cmd):
            return refuse("this Python has no ensurepip; on Debian and Ubuntu: apt install python3-venv")
        return refuse("installing failed; what pip said stands above (a network is needed the first time)")
    except OSError as error:
        return refuse(f"the folder .venv cannot be made: {error}")
    command = [str(program("sitterlight")), *arguments]
    if os.name == "nt":
        return subprocess.run(command).returncode
    sys.stdout.flush()
    os.execv(command[0], command)


def refuse(sentence):
    """Say what is wrong, in one line; exit code 2."""
    print(f"sitterlight: error: {sentence}", file=sys.stderr)
    return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
