"""Carrying an installation out, and taking it back."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

from practice.lib.errors import RuleBroken
from practice.lib.kept_files import replace_file
from practice.project.autostart.installations import (
    Installation,
    Typed,
    in_words,
    launchd,
    systemd_for_all,
    systemd_for_one,
    windows,
)
from practice.project.autostart.installed_server import MARK, InstalledServer
from practice.project.exits import EnvironmentProblem

SYSTEMD_RUNS = Path("/run/systemd/system")  # sd_booted(3)


def installation_here(server: InstalledServer, to_look_at: bool = False) -> Installation:
    """Return how this machine is told. Raises EnvironmentProblem where it starts programs in another way.

    `to_look_at`: for files that are only written, to a folder of their own.
    """
    home = Path.home()
    if sys.platform == "darwin":
        return launchd(server, home, os.getuid())
    if os.name == "nt":
        return windows(server, home)
    if not to_look_at and not (SYSTEMD_RUNS.is_dir() and shutil.which("systemctl")):
        raise EnvironmentProblem(
            "This machine does not run systemd. Have whatever starts its programs run this command in the"
            f" folder {server.folder}, with ROUNDBOOK_DATA={server.data}: {in_words(server.command)}"
        )
    return (
        systemd_for_all(server, server.data.owner()) if os.geteuid() == 0 else systemd_for_one(server, home)
    )


def check(server: InstalledServer, installation: Installation) -> None:
    """Refuse what cannot be installed. Raises RuleBroken."""
    if server.unprintable:
        raise RuleBroken(
            "odd_path",
            f"{server.unprintable[0]!r} has a line break or another character that no service can hold."
            " Rename it, then install again.",
        )
    for file in installation.files:
        if file.path.exists() and not is_ours(file.path):
            raise RuleBroken(
                "not_ours",
                f"{file.path} was not written by Roundbook. Move it away, then install again.",
            )


def is_ours(path: Path) -> bool:
    """Whether `install` wrote this file."""
    return any(MARK.encode(coding) in path.read_bytes() for coding in ("utf-8", "utf-16-le"))


def write(installation: Installation) -> None:
    """Write the files of an installation, each whole or not at all."""
    for file in installation.files:
        file.path.parent.mkdir(parents=True, exist_ok=True)
        replace_file(file.path, file.content)
        file.path.chmod(file.mode)


def begin(installation: Installation) -> list[str]:
    """Tell the system; return what could not be had, in words.

    Raises EnvironmentProblem where it refuses; then the files are gone again.
    """
    for command in installation.before:
        problem_with(command)
    for command in installation.begin:
        problem = problem_with(command)
        if problem:
            take_back(installation)
            raise EnvironmentProblem(
                f"Nothing was installed, because this failed: {in_words(command)}\n{problem}".strip()
            )
    return [wish.otherwise for wish in installation.wishes if problem_with(wish.command)]


def take_back(installation: Installation, *more: Path) -> list[Path]:
    """Stop what runs and delete the files that are ours, also `more` of an earlier one; return them."""
    paths = dict.fromkeys([*(file.path for file in installation.files), *more])
    ours = [path for path in paths if path.exists() and is_ours(path)]
    for command in installation.end if ours else []:
        problem_with(command)
    for path in ours:
        path.unlink()
    for command in installation.after_end if ours else []:
        problem_with(command)
    return ours


def problem_with(command: Typed) -> str:
    """Run a command; return what it complained of, blank where it succeeded."""
    try:
        ended = subprocess.run(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            errors="replace",
            timeout=120,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        return str(error)
    return ended.stdout.strip() or f"It ended with {ended.returncode}." if ended.returncode else ""
