"""What is to run, whatever the system: one command with its folder and its variables."""

import os
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from django.conf import settings

from practice.project.server import FIRST_PORT

NAME = "roundbook"
TITLE = "Roundbook, the farrier's book"
# How a file that `install` wrote is told from anybody else's.
MARK = "Written by Roundbook's `manage.py install`; `manage.py uninstall` deletes it."


@dataclass(frozen=True)
class InstalledServer:
    """The server as it runs by itself. `secrets` are variables that only their owner may read."""

    folder: Path
    data: Path
    python: Path
    port: int
    variables: dict[str, str] = field(default_factory=dict)
    secrets: dict[str, str] = field(default_factory=dict)
    phones: bool = False

    @property
    def command(self) -> Sequence[str]:
        """The program and its arguments."""
        start = ("start", "--no-browser", "--port", str(self.port), *(["--phones"] if self.phones else []))
        return (str(self.python), str(self.folder / "manage.py"), *start)

    @property
    def url(self) -> str:
        return f"http://localhost:{self.port}/"

    @property
    def secrets_file(self) -> Path:
        """Where variables are that nobody else may read."""
        return self.data / "service.env"

    @property
    def unprintable(self) -> list[str]:
        """The paths and values that no file of a service can hold: those with a line break or a tab."""
        values = [*map(str, (self.folder, self.data, self.python)), *self.variables.values()]
        return [value for value in (*values, *self.secrets.values()) if not value.isprintable()]


def this_server(port: int | None, phones: bool = False) -> InstalledServer:
    """Return the server of this copy of the program and its book, with the variables that are set now.

    The first login is none of them, nor is a day fixed for tests.
    """
    return InstalledServer(
        folder=settings.BASE_DIR,
        data=settings.DATA_DIR,
        python=python_outside(),
        port=port or settings.PORT or FIRST_PORT,
        variables=settings.SERVICE_VARIABLES,
        secrets={"DATABASE_URL": settings.DATABASE_URL} if settings.DATABASE_URL else {},
        phones=phones,
    )


def python_outside() -> Path:
    """Return the Python that `.venv` was made with: it makes the environment anew where that is missing."""
    return Path(os.path.abspath(getattr(sys, "_base_executable", "") or sys.executable))
