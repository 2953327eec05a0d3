"""What the machine needs besides Python: the venv module, and Pango for PDFs.

Standard library only, as this runs before anything is installed.
"""

from __future__ import annotations  # an older Python must get as far as being refused

import os
import shutil
import subprocess
import sys
from ctypes import CDLL

VENV_PACKAGES = ["python3-venv"]
PANGO_PACKAGES = ["libpangoft2-1.0-0", "libharfbuzz-subset0"]
# What WeasyPrint opens, by system; without the subset library it only warns.
PANGO_LIBRARIES = {
    "darwin": ["libpango-1.0.dylib", "libpangoft2-1.0.dylib"],
    "win32": ["libpango-1.0-0.dll", "libpangoft2-1.0-0.dll"],
}
LIBRARIES_ELSEWHERE = ["libpango-1.0.so.0", "libpangoft2-1.0.so.0"]


def say(text: str) -> None:
    """Print a message on standard error at once."""
    print(text, file=sys.stderr, flush=True)


def bring_venv() -> str:
    """Install what creates `.venv`; return the command to type if that fails, else blank."""
    return _install(VENV_PACKAGES, "the venv module of your Python")


def bring_pango() -> None:
    """Install Pango if it is missing and can be installed; everything but PDFs works without it."""
    if pdf_problem() and _install(PANGO_PACKAGES, "the pango package"):
        say(f"{pdf_problem()}\nEverything else works without it.")


def pdf_problem() -> str:
    """Return why PDFs cannot be made on this machine and the command that helps, or blank if they can.

    Opens the libraries that WeasyPrint opens: importing it takes half a second.
    """
    for name in PANGO_LIBRARIES.get(sys.platform, LIBRARIES_ELSEWHERE):
        try:
            CDLL(name)
        except OSError:
            if not _found_elsewhere(name):
                command = _command_for(PANGO_PACKAGES, "the pango package")
                return f"PDFs need the Pango library. To install it: {command}"
    return ""


def _found_elsewhere(name: str) -> bool:
    """Whether WeasyPrint finds the library in a folder that the loader does not search by itself."""
    folders = os.environ.get("WEASYPRINT_DLL_DIRECTORIES", r"C:\msys64\ucrt64\bin").split(";")
    if sys.platform == "darwin":
        folders = ["/opt/homebrew/lib", "/usr/local/lib"]
    found = any(os.path.exists(os.path.join(folder, name)) for folder in folders)
    return found and sys.platform in PANGO_LIBRARIES


def _command_for(packages: list[str], what: str) -> str:
    """Return the one command that installs these Debian packages, by their name on this system."""
    if shutil.which("apt-get"):
        return f"sudo apt-get install -y --no-install-recommends {' '.join(packages)}"
    if packages == PANGO_PACKAGES:
        if sys.platform == "darwin":
            return "brew install pango"
        if os.name == "nt":
            return "pacman -S mingw-w64-ucrt-x86_64-pango (in MSYS2)"
        for tool, command in [
            ("dnf", "sudo dnf install -y pango"),
            ("pacman", "sudo pacman -S --noconfirm pango"),
            ("zypper", "sudo zypper install -y libpango-1_0-0"),
            ("apk", "sudo apk add pango"),
        ]:
            if shutil.which(tool):
                return command
    return f"use your system's package manager to install {what}"


def _install(packages: list[str], what: str) -> str:
    """Install Debian packages if this is root; return the command to type if that fails, else blank."""
    if not (shutil.which("apt-get") and os.name == "posix" and os.geteuid() == 0):
        return _command_for(packages, what)
    say(f"Installing {' '.join(packages)} ...")
    install = ["apt-get", "install", "-y", "-q", "--no-install-recommends", *packages]
    for command in (install, ["apt-get", "update", "-q"], install):
        ended = subprocess.run(
            command,
            env=os.environ | {"DEBIAN_FRONTEND": "noninteractive"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
            umask=0o022,
        )
        if command is install and ended.returncode == 0:
            return ""
    say(ended.stdout[-1000:].strip())
    return _command_for(packages, what)
