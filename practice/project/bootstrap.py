"""What happens before Django is there: the environment in `.venv`, and every command run inside it.

Standard library only. A command that finds itself outside `.venv` makes it where it is missing or
out of date, and goes on inside it.
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

from practice.project.exits import INTERRUPTED, LACKING, EnvironmentProblem
from practice.project.locks import one_at_a_time
from practice.project.system import bring_pango, bring_venv, say

ROOT = Path(__file__).resolve().parent.parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
STAMP = VENV / "roundbook-stamp"
RUN, TESTS = ROOT / "requirements.txt", ROOT / "tests" / "requirements.txt"
OLDEST, NEWEST = (3, 11), (3, 13)
ON_ALL_CORES = ["-n", "auto", "--dist", "loadgroup"]


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
        # All tests share the processors; a few are quicker without that.
        _become([str(PYTHON), "-m", "pytest", *(arguments[2:] or ON_ALL_CORES)])
    from practice.project.commands import run

    return run(arguments)


def ensure_environment(for_tests: bool) -> None:
    """Go on inside `.venv`, making it first where it is missing or older than the requirements.

    Returns only when this process runs inside it already. Raises EnvironmentProblem where it cannot be made.
    """
    if not OLDEST <= sys.version_info[:2] <= NEWEST:
        raise EnvironmentProblem(
            f"Roundbook needs Python 3.11, 3.12 or 3.13; this is {platform.python_version()}."
            " Call manage.py with one of these."
        )
    wanted = TESTS if for_tests else RUN
    if not _is_ready(wanted):
        try:
            with one_at_a_time(ROOT / ".venv.lock") as lock:
                if not _is_ready(wanted):
                    _make_ready(wanted, lock)
        except OSError as error:
            raise EnvironmentProblem(
                f"The environment {VENV} cannot be made: {error.strerror or error}."
            ) from None
    if Path(sys.prefix).resolve() != VENV.resolve():
        _become([str(PYTHON), *sys.argv])


def _stamp_of(requirements: Path) -> str:
    """Return what the stamp of an environment holds that was made from these requirements."""
    digest = hashlib.sha256(RUN.read_bytes() + (TESTS.read_bytes() if requirements == TESTS else b""))
    return digest.hexdigest()


def _is_ready(requirements: Path) -> bool:
    """Whether `.venv` was made from these requirements; one made for the tests serves for running too."""
    if not (PYTHON.exists() and STAMP.exists()):
        return False
    return STAMP.read_text() in {_stamp_of(requirements), _stamp_of(TESTS)}


def _make_ready(requirements: Path, lock) -> None:
    """Make `.venv` where it is missing, install into it, and stamp it last."""
    if not (PYTHON.exists() and STAMP.exists()):
        _make_venv()
    say("Installing the packages that Roundbook needs; once, about a minute ...")
    started = time.monotonic()
    for command in _install_commands(requirements):
        inherited = {} if os.name == "nt" else {"pass_fds": [lock.fileno()]}  # who outlives us keeps the lock
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
            f"{ended.stdout[-3000:].strip()}\nThe packages could not be installed. Is there a network?"
        )
    STAMP.write_text(_stamp_of(requirements))
    say(f"Installed in {time.monotonic() - started:.0f} s.")


def _install_commands(requirements: Path) -> list[list[str]]:
    """Return the install commands to try: uv where it is, then pip. Both check each file's hash."""
    hashed = ["--require-hashes", "--no-deps", "--only-binary", ":all:", "-q", "-r", str(requirements)]
    pip = [str(PYTHON), "-m", "pip", "install", "--no-input", "--disable-pip-version-check", *hashed]
    if shutil.which("uv"):
        return [["uv", "pip", "install", "--python", str(PYTHON), *hashed], pip]
    return [pip]


def _make_venv() -> None:
    """Make `.venv` anew, with pip. Debian leaves ensurepip out of Python; then `venv` fails half-way."""
    try:
        import ensurepip  # noqa: F401
        import venv  # noqa: F401
    except ImportError:
        command = bring_venv()
        if command:
            raise EnvironmentProblem(
                f"Roundbook needs the module venv of Python, which is missing here: {command}"
            ) from None
    say("Making the environment .venv ...")
    ended = subprocess.run(
        [sys.executable, "-m", "venv", "--clear", str(VENV)],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        errors="replace",
    )
    if ended.returncode:
        raise EnvironmentProblem(f"{ended.stdout.strip()}\nThe environment {VENV} could not be made.")


def _become(command: list[str]) -> None:
    """Go on as another program: this process becomes it, so that signals and the exit code are its own."""
    sys.stdout.flush()
    sys.stderr.flush()
    if os.name == "nt":  # execv returns to the shell there
        raise SystemExit(subprocess.run(command).returncode)
    os.execv(command[0], command)
