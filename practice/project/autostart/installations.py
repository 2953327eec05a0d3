"""What starting with the machine takes on each system: files, and commands before and after."""

import getpass
import os
import shlex
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from practice.project.autostart import texts
from practice.project.autostart.installed_server import NAME, InstalledServer

PRIVATE, SHARED = 0o600, 0o644
Typed = Sequence[str]  # a command and its arguments


@dataclass(frozen=True)
class InstalledFile:
    """A file that is installed: where, what, and who may read it."""

    path: Path
    content: bytes
    mode: int = SHARED


@dataclass(frozen=True)
class Wish:
    """A command that may fail, and what to say then."""

    command: Typed
    otherwise: str


@dataclass(frozen=True)
class Installation:
    """How a system is told. `begin` has to succeed, in its order; `end` is run before the files go.

    `before` stops what is installed already; it may fail, as `end` and `after_end` may.
    """

    files: list[InstalledFile]
    begin: list[Typed]
    end: list[Typed]
    advice: list[str]
    before: list[Typed] = field(default_factory=list)
    after_end: list[Typed] = field(default_factory=list)
    wishes: list[Wish] = field(default_factory=list)


def systemd_for_all(
    server: InstalledServer, user: str, folder: Path = Path("/etc/systemd/system")
) -> Installation:
    """Return the installation for a machine with systemd, by its administrator: `user` runs the server."""
    return Installation(
        files=[_unit(server, folder, user), *_secrets(server)],
        begin=[
            ["runuser", "-u", user, "--", str(server.python), "--version"],
            ["systemctl", "daemon-reload"],
            ["systemctl", "enable", NAME],
            ["systemctl", "restart", NAME],
        ],
        end=[["systemctl", "disable", "--now", NAME]],
        after_end=[["systemctl", "daemon-reload"]],
        advice=[
            f"It runs as the user {user}. To check on it: systemctl status {NAME}",
            f"After you update the program: systemctl restart {NAME}",
        ],
    )


def systemd_for_one(server: InstalledServer, home: Path) -> Installation:
    """Return the installation for a user's own systemd. Without lingering it starts at the login."""
    applications = home / ".local/share/applications"
    entry = texts.menu_entry(server).encode()
    return Installation(
        files=[
            _unit(server, home / ".config/systemd/user"),
            InstalledFile(applications / f"{NAME}.desktop", entry),
            *_secrets(server),
        ],
        begin=[
            ["systemctl", "--user", "daemon-reload"],
            ["systemctl", "--user", "enable", NAME],
            ["systemctl", "--user", "restart", NAME],
        ],
        end=[["systemctl", "--user", "disable", "--now", NAME]],
        after_end=[["systemctl", "--user", "daemon-reload"]],
        wishes=[
            Wish(
                ["loginctl", "enable-linger"],
                "It starts when you log in to this machine. To start it before you log in:"
                f" sudo loginctl enable-linger {getpass.getuser()}",
            )
        ],
        advice=[
            f"To check on it: systemctl --user status {NAME}",
            f"After you update the program: systemctl --user restart {NAME}",
        ],
    )


def launchd(server: InstalledServer, home: Path, user_id: int) -> Installation:
    """Return the installation for macOS: an agent of the user, from the login on."""
    path = home / "Library/LaunchAgents" / f"{texts.LABEL}.plist"
    return Installation(
        files=[InstalledFile(path, texts.launch_agent(server), PRIVATE)],
        begin=[["launchctl", "bootstrap", f"gui/{user_id}", str(path)]],
        before=[["launchctl", "bootout", f"gui/{user_id}/{texts.LABEL}"]],
        end=[["launchctl", "bootout", f"gui/{user_id}/{texts.LABEL}"]],
        advice=[
            f"It starts when you log in. To check on it: launchctl print gui/{user_id}/{texts.LABEL}",
            f"After you update the program: launchctl kickstart -k gui/{user_id}/{texts.LABEL}",
        ],
    )


def windows(server: InstalledServer, home: Path) -> Installation:
    """Return the installation for Windows: a task at the login, and an entry in the Start menu."""
    starter = server.data / "start-roundbook.cmd"
    task = server.data / "roundbook-task.xml"
    menu = home / "AppData/Roaming/Microsoft/Windows/Start Menu/Programs/Roundbook.url"
    return Installation(
        files=[
            InstalledFile(starter, texts.windows_starter(server).encode(), PRIVATE),
            InstalledFile(task, texts.windows_task(server, str(starter)).encode("utf-16"), PRIVATE),
            InstalledFile(menu, texts.windows_menu_entry(server).encode()),
        ],
        begin=[
            ["schtasks", "/Create", "/F", "/TN", NAME, "/XML", str(task)],
            ["schtasks", "/Run", "/TN", NAME],
        ],
        before=[["schtasks", "/End", "/TN", NAME]],
        end=[["schtasks", "/End", "/TN", NAME], ["schtasks", "/Delete", "/F", "/TN", NAME]],
        advice=[
            "It starts when you log in, in a window that you can minimize.",
            f"To check on it: schtasks /Query /TN {NAME}",
        ],
    )


def below(installation: Installation, folder: Path) -> Installation:
    """Return the installation with its files below a folder, to be looked at."""
    files = [
        replace(file, path=folder.absolute() / file.path.relative_to(file.path.anchor))
        for file in installation.files
    ]
    return replace(installation, files=files)


def in_words(command: Typed) -> str:
    """Return a command as one types it."""
    if os.name == "nt":
        return " ".join(f'"{word}"' if " " in word else word for word in command)
    return shlex.join(command)


def _unit(server: InstalledServer, folder: Path, user: str = "") -> InstalledFile:
    return InstalledFile(folder / f"{NAME}.service", texts.systemd_unit(server, user).encode())


def _secrets(server: InstalledServer) -> list[InstalledFile]:
    if not server.secrets:
        return []
    return [InstalledFile(server.secrets_file, texts.secrets_text(server).encode(), PRIVATE)]
