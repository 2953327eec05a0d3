"""The files that make a system start a service: text from plain values, quoted as each system reads it."""

import plistlib
from xml.sax.saxutils import escape

from practice.project.autostart.installed_server import MARK, NAME, TITLE, InstalledServer

LABEL = f"local.{NAME}"


def systemd_unit(server: InstalledServer, user: str = "") -> str:
    """Return the unit: of the whole machine, run by `user`, or of whoever installs it where that is blank.

    Quoting and specifiers as in systemd.service(5), *Command lines*, and systemd.unit(5), *Specifiers*.
    """
    program, *arguments = server.command
    command = " ".join([quoted(program), *(quoted(each).replace("$", "$$") for each in arguments)])
    lines = [
        f"# {MARK}",
        "[Unit]",
        f"Description={TITLE}",
        *(["After=network.target postgresql.service"] if user else []),
        "StartLimitIntervalSec=300",
        "StartLimitBurst=5",
        "",
        "[Service]",
        *([f"User={user}"] if user else []),
        f"WorkingDirectory={str(server.folder).replace('%', '%%')}",
        f"ExecStart={command}",
        *(f"Environment={quoted(f'{name}={value}')}" for name, value in server.variables.items()),
        *([f"EnvironmentFile={str(server.secrets_file).replace('%', '%%')}"] if server.secrets else []),
        "Restart=on-failure",
        "RestartSec=10",
        "# Bad settings do not get better by trying again.",
        "RestartPreventExitStatus=2",
        "TimeoutStopSec=10",
        "UMask=0077",
        "NoNewPrivileges=yes",
        "",
        "[Install]",
        f"WantedBy={'multi-user' if user else 'default'}.target",
        "",
    ]
    return "\n".join(lines)


def quoted(text: str) -> str:
    """Return a word as systemd reads it: in quotes, with its specifiers made harmless."""
    inside = text.replace("\\", "\\\\").replace('"', '\\"').replace("%", "%%")
    return f'"{inside}"'


def secrets_text(server: InstalledServer) -> str:
    """Return the variables that only their owner may read, as EnvironmentFile= takes them."""
    rows = ((name, value.replace("\\", "\\\\").replace('"', '\\"')) for name, value in server.secrets.items())
    return "".join([f"# {MARK}\n", *(f'{name}="{value}"\n' for name, value in rows)])


def menu_entry(server: InstalledServer) -> str:
    """Return the entry of a desktop's menu that opens the book by its name (Desktop Entry Specification)."""
    return "\n".join(
        [
            f"# {MARK}",
            "[Desktop Entry]",
            "Type=Application",
            "Name=Roundbook",
            "Comment=Open the book in the browser",
            f"Exec=xdg-open {server.url}",
            "Icon=web-browser",
            "Categories=Office;",
            "",
        ]
    )


def launch_agent(server: InstalledServer) -> bytes:
    """Return macOS' property list (launchd.plist(5)). It holds the secrets: its owner alone may read it."""
    log = str(server.data / "logs" / "service.log")
    return plistlib.dumps(
        {
            "Label": LABEL,
            "ProgramArguments": list(server.command),
            "WorkingDirectory": str(server.folder),
            "EnvironmentVariables": {**server.variables, **server.secrets},
            "RunAtLoad": True,
            "KeepAlive": {"SuccessfulExit": False},
            "Umask": 0o077,
            "StandardOutPath": log,
            "StandardErrorPath": log,
            "Comment": MARK,
        },
        sort_keys=False,
    )


def windows_starter(server: InstalledServer) -> str:
    """Return the batch file that Windows' task runs: tasks themselves have no variables."""
    sets = [
        f'set "{name}={value.replace("%", "%%")}"'
        for name, value in {**server.variables, **server.secrets}.items()
    ]
    command = " ".join(f'"{word.replace("%", "%%")}"' for word in server.command)
    folder = str(server.folder).replace("%", "%%")
    return "\r\n".join(
        [f"@rem {MARK}", "@echo off", "chcp 65001 >nul", *sets, f'cd /d "{folder}"', command, ""]
    )


def windows_menu_entry(server: InstalledServer) -> str:
    """Return the entry of the Start menu that opens the book by its name."""
    return f"; {MARK}\r\n[InternetShortcut]\r\nURL={server.url}\r\n"


def windows_task(server: InstalledServer, starter: str) -> str:
    """Return the task as `schtasks /Create /XML` reads it: at each login of who installs it."""
    return f"""<?xml version="1.0" encoding="UTF-16"?>
<Task version="1.2" xmlns="http://schemas.microsoft.com/windows/2004/02/mit/task">
  <RegistrationInfo>
    <Description>{escape(f"{TITLE}. {MARK}")}</Description>
  </RegistrationInfo>
  <Triggers>
    <LogonTrigger><Enabled>true</Enabled></LogonTrigger>
  </Triggers>
  <Settings>
    <MultipleInstancesPolicy>IgnoreNew</MultipleInstancesPolicy>
    <DisallowStartIfOnBatteries>false</DisallowStartIfOnBatteries>
    <StopIfGoingOnBatteries>false</StopIfGoingOnBatteries>
    <ExecutionTimeLimit>PT0S</ExecutionTimeLimit>
    <RestartOnFailure><Interval>PT1M</Interval><Count>3</Count></RestartOnFailure>
  </Settings>
  <Actions>
    <Exec>
      <Command>{escape(starter)}</Command>
      <WorkingDirectory>{escape(str(server.folder))}</WorkingDirectory>
    </Exec>
  </Actions>
</Task>
"""
