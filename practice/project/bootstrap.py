"""What happens before Django is loaded: every command runs inside the environment in `.venv`.

Standard library only. A command that starts outside `.venv` creates or updates it if need be, and goes
on inside it.
"""

from __future__ import annotations  # an older Python must get as far as being refused

import hashlib
import os
import platform
import shutil
import subprocess
import sys
import time
from pathlib import Path

from practice.lib.locks import one_at_a_time
from practice.project.exits import INTERRUPTED, LACKING, EnvironmentProblem
from practice.project.system import bring_pango, bring_venv, say

ROOT = Path(__file__).resolve().parent.parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
STAMP = VENV / "roundbook-stamp"
RUN, TESTS = ROOT / "requirements.txt", ROOT / "tests" / "requirements.txt"
OLDEST, NEWEST = (3, 11), (3, 13)
# One worker more than there are processors: tests of browsers and processes wait much of their time.
ON_ALL_CORES = ["-n", str((os.cpu_count() or 1) + 1), "--dist", "loadgroup"]


def main(arguments: list[str]) -> int:
    """Run a command of manage.py inside `.venv`; return its exit code."""
    testing = arguments[1:2] == ["test"]
    try:
        ensure_environment(for_tests=testing)
    except EnvironmentProblem as error:
        say(str(error))
        return LACKING
    except KeyboardInterrupt:
        say("Stopped.")
        return INTERRUPTED
    if testing:
        bring_pango()
        os.chdir(ROOT)
        # A run starts the program some hundred times: compiling it each time would double what a start takes.
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
        # The whole suite runs on all processors; a few tests are quicker on one.
        _become([str(PYTHON), "-m", "pytest", *(arguments[2:] or ON_ALL_CORES)])
    from practice.project.commands import run

    return run(arguments)


def ensure_environment(for_tests: bool) -> None:
    """Go on inside `.venv`, after creating or updating it if need be.

    Returns only if this process already runs inside it. Raises EnvironmentProblem if it cannot be created.
    """
    if not OLDEST <= sys.version_info[:2] <= NEWEST:
        raise EnvironmentProblem(
            f"Roundbook needs Python 3.11, 3.12 or 3.13; this is {platform.python_version()}."
            " Run manage.py with one of these."
        )
    wanted = TESTS if for_tests else RUN
    if not _is_ready(wanted):
        try:
            with one_at_a_time(ROOT / ".venv.lock") as lock:
                if not _is_ready(wanted):
                    _make_ready(wanted, lock)
        except OSError as error:
            raise EnvironmentProblem(
                f"Could not create the environment {VENV}: {error.strerror or error}."
            ) from None
    if Path(sys.prefix).resolve() != VENV.resolve():
        _become([str(PYTHON), *sys.argv])


def _stamp_of(requirements: Path) -> str:
    """Return the stamp of an environment that was made from these requirements."""
    digest = hashlib.sha256(RUN.read_bytes() + (TESTS.read_bytes() if requirements == TESTS else b""))
    return digest.hexdigest()


def _is_ready(requirements: Path) -> bool:
    """Whether `.venv` was made from these requirements; one made for the tests serves for running too."""
    if not (PYTHON.exists() and STAMP.exists()):
        return False
    return STAMP.read_text() in {_stamp_of(requirements), _stamp_of(TESTS)}


def _make_ready(requirements: Path, lock) -> None:
    """Create `.venv` if it is missing, install the packages, and stamp it last."""
    if not (PYTHON.exists() and STAMP.exists()):
        _make_venv()
    say("Installing the packages Roundbook needs. This happens once and takes about a minute ...")
    started = time.monotonic()
    for command in _install_commands(requirements):
        inherited = (
            {} if os.name == "nt" else {"pass_fds": [lock.fileno()]}
        )  # a child that outlives this process keeps it
        ended = subprocess.run(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
            **inherited,
        )
        if ended.returncode == 0:
            break
    else:
        raise EnvironmentProblem(
            f"{ended.stdout[-3000:].strip()}\nCould not install the packages. Is this machine online?"
        )
    STAMP.write_text(_stamp_of(requirements))
    say(f"Installed in {time.monotonic() - started:.0f} s.")


def _install_commands(requirements: Path) -> list[list[str]]:
    """Return the install commands to try: uv if it is there, then pip. Both check each file's hash."""
    hashed = ["--require-hashes", "--no-deps", "--only-binary", ":all:", "-q", "-r", str(requirements)]
    pip = [str(PYTHON), "-m", "pip", "install", "--no-input", "--disable-pip-version-check", *hashed]
    if shutil.which("uv"):
        return [["uv", "pip", "install", "--python", str(PYTHON), *hashed], pip]
    return [pip]


def _make_venv() -> None:
    """Create `.venv` from scratch, with pip. Without ensurepip, as on Debian, `venv` fails midway."""
    try:
        import ensurepip  # noqa: F401
        import venv  # noqa: F401
    except ImportError:
        command = bring_venv()
        if command:
            raise EnvironmentProblem(f"Python's venv module is missing. To install it: {command}") from None
    say("Creating the environment .venv ...")
    ended = subprocess.run(
        [sys.executable, "-m", "venv", "--clear", str(VENV)],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
    )
    if ended.returncode:
        raise EnvironmentProblem(f"{ended.stdout.strip()}\nCould not create the environment {VENV}.")


def _become(command: list[str]) -> None:
    """Replace this process by another program, so that signals reach it and the exit code is its own."""
    sys.stdout.flush()
    sys.stderr.flush()
    if os.name == "nt":  # there, execv returns to the shell
        raise SystemExit(subprocess.run(command).returncode)
    os.execv(command[0], command)
