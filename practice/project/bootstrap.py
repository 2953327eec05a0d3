"""What happens before Django is there: the environment in `.venv`, and every command run inside it.

Standard library only. A command that finds itself outside `.venv` makes it where it is missing or
out of date, and goes on inside it.
"""

import contextlib
import hashlib
import os
import platform
import shutil
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
VENV = Path(os.environ.get("ROUNDBOOK_VENV") or ROOT / ".venv")
PYTHON = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
RUN, TESTS = ROOT / "requirements.txt", ROOT / "tests" / "requirements.txt"
OLDEST, NEWEST = (3, 11), (3, 13)
LACKING = 3


def say(text: str) -> None:
    print(text, file=sys.stderr, flush=True)


def give_up(text: str) -> None:
    """End with the exit code for a machine that lacks something."""
    say(text)
    raise SystemExit(LACKING)


def ensure_environment(for_tests: bool) -> None:
    """Go on inside `.venv`, making it first where it is missing or older than the requirements.

    Returns only when this process runs inside it already.
    """
    if not OLDEST <= sys.version_info[:2] <= NEWEST:
        give_up(
            f"Roundbook needs Python 3.11, 3.12 or 3.13; this is {platform.python_version()}."
            " Call manage.py with one of these."
        )
    inside = Path(sys.prefix).resolve() == VENV.resolve()
    wanted = TESTS if for_tests else RUN
    if not _is_ready(wanted):
        _install(wanted)
    if not inside:
        _go_on_inside()


def _stamp_of(requirements: Path) -> str:
    digest = hashlib.sha256(RUN.read_bytes() + (TESTS.read_bytes() if requirements == TESTS else b""))
    return digest.hexdigest()


def _is_ready(requirements: Path) -> bool:
    """Whether `.venv` was made from these requirements; one made for the tests serves for running too."""
    stamp = VENV / "roundbook-stamp"
    if not (PYTHON.exists() and stamp.exists()):
        return False
    return stamp.read_text().split()[-1] in {_stamp_of(requirements), _stamp_of(TESTS)}


def _install(requirements: Path) -> None:
    with _one_at_a_time():
        if _is_ready(requirements):
            return
        if not (VENV / "roundbook-stamp").exists() or not PYTHON.exists():
            _make_venv()
        say("Installing the packages that Roundbook needs (once; about a minute) ...")
        started = time.monotonic()
        command = _install_command(requirements)
        result = subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        if result.returncode:
            give_up(f"{result.stdout[-3000:]}\nThe packages could not be installed. Is there a network?")
        (VENV / "roundbook-stamp").write_text(_stamp_of(requirements))
        say(f"Installed in {time.monotonic() - started:.0f} s.")


def _install_command(requirements: Path) -> list[str]:
    """Return the install command: uv where it is, else pip; every file is checked against its hash."""
    hashed = ["--require-hashes", "--only-binary", ":all:"]
    if shutil.which("uv"):
        return ["uv", "pip", "install", "-q", *hashed, "--python", str(PYTHON), "-r", str(requirements)]
    pip = [
        str(PYTHON),
        "-m",
        "pip",
        "install",
        "--no-deps",
        "--no-input",
        "-q",
        "--disable-pip-version-check",
    ]
    return [*pip, *hashed, "-r", str(requirements)]


def _make_venv() -> None:
    try:
        import ensurepip  # noqa: F401  (Debian leaves it out; `venv` would fail half-way)
        import venv
    except ImportError:
        _install_packages(["python3-venv"], "make its environment")
        result = subprocess.run([sys.executable, "-m", "venv", "--clear", str(VENV)])
        if result.returncode:
            give_up(f"The environment could not be made in {VENV}.")
        return
    say(f"Making the environment in {VENV.name} ...")
    try:
        venv.EnvBuilder(with_pip=True, clear=True, symlinks=os.name != "nt").create(VENV)
    except (OSError, subprocess.CalledProcessError) as error:
        give_up(f"The environment could not be made in {VENV}: {error}")


@contextlib.contextmanager
def _one_at_a_time():
    """Hold a lock beside `.venv`, so that two starts do not install twice."""
    with open(VENV.parent / f"{VENV.name}.lock", "w") as lock:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(lock.fileno(), msvcrt.LK_LOCK, 1)
        else:
            import fcntl

            fcntl.flock(lock, fcntl.LOCK_EX)
        yield


def _go_on_inside() -> None:
    command = [str(PYTHON), *sys.argv]
    if os.name == "nt":
        raise SystemExit(subprocess.run(command).returncode)
    sys.stdout.flush()
    sys.stderr.flush()
    os.execv(command[0], command)


def system_command(packages: list[str]) -> str:
    """Return the one command that brings these Debian packages, or what other systems call them."""
    if shutil.which("apt-get"):
        return "sudo apt-get install -y --no-install-recommends " + " ".join(packages)
    if packages == ["python3-venv"]:
        return "install the venv and pip modules of your Python"
    if sys.platform == "darwin":
        return "brew install pango"
    if os.name == "nt":
        return "pacman -S mingw-w64-ucrt-x86_64-pango   (in MSYS2)"
    return "sudo dnf install pango" if shutil.which("dnf") else "install the package pango of your system"


def _install_packages(packages: list[str], purpose: str, required: bool = True) -> bool:
    """Install Debian packages as root, else print the command. Returns whether they were installed."""
    command = system_command(packages)
    if shutil.which("apt-get") and os.geteuid() == 0:
        say(f"Installing {' '.join(packages)} ...")
        install = ["apt-get", "install", "-y", "-q", "--no-install-recommends", *packages]
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "stdin": subprocess.DEVNULL}
        environment = os.environ | {"DEBIAN_FRONTEND": "noninteractive"}
        for update_first in (False, True):
            if update_first:
                subprocess.run(["apt-get", "update", "-q"], env=environment, **quiet)
            if subprocess.run(install, env=environment, **quiet).returncode == 0:
                return True
    text = f"To {purpose}, Roundbook needs packages of the system: {command}"
    if required:
        give_up(text)
    say(text)
    return False


def pdf_problem() -> str:
    """Return why PDFs cannot be made on this machine, blank where they can.

    Looks for the libraries that WeasyPrint opens; importing it takes half a second.
    """
    from ctypes import CDLL
    from ctypes.util import find_library

    names = {
        "linux": ["libpango-1.0.so.0", "libpangoft2-1.0.so.0"],
        "darwin": ["libpango-1.0.dylib", "libpangoft2-1.0.dylib"],
        "win32": ["libpango-1.0-0.dll", "libpangoft2-1.0-0.dll"],
    }.get(sys.platform, ["libpango-1.0.so.0", "libpangoft2-1.0.so.0"])
    for name in names:
        try:
            CDLL(find_library(name.split(".")[0].removeprefix("lib")) or name)
        except OSError:
            return f"PDFs need Pango: {system_command(PANGO)}"
    return ""


PANGO = ["libpangoft2-1.0-0", "libharfbuzz-subset0"]


def ensure_pdf() -> None:
    """Bring Pango where it is missing and can be brought; everything but the PDFs works without."""
    if pdf_problem():
        _install_packages(PANGO, "make PDFs", required=False)


def main(arguments: list[str]) -> int:
    """Run a command of manage.py inside `.venv`; return its exit code."""
    name = arguments[1] if len(arguments) > 1 else "help"
    ensure_environment(for_tests=name == "test")
    if name == "test":
        ensure_pdf()
        return subprocess.run([str(PYTHON), "-m", "pytest", *arguments[2:]], cwd=ROOT).returncode
    from practice.project.commands import run

    return run(arguments)
