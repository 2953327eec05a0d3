"""PostgreSQL's own programs, on the book's database. A program may get the lock that a restore holds."""

import errno
import os
import shutil
import subprocess
from typing import IO

from django.db import connection

from practice.lib.errors import RuleBroken
from practice.project.exits import EnvironmentProblem

PARTS = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD", "PGDATABASE": "NAME"}
SCRIPT_FAILED = 3  # how psql ends then


def has_program(name: str) -> bool:
    return shutil.which(name) is not None


def run_program(
    program: str, *arguments: str, lock: IO | None = None, out: IO | int = subprocess.PIPE
) -> subprocess.CompletedProcess:
    """Run a program on the book's database to its end; `out`: the file that takes what it writes."""
    if not has_program(program):
        raise EnvironmentProblem(f"{program} is missing. On Debian: sudo apt-get install postgresql-client")
    given = connection.settings_dict
    environment = {name: str(given[key]) for name, key in PARTS.items() if given.get(key)}
    return subprocess.run(
        [program, *arguments],
        env={**os.environ, **environment, "LC_ALL": "C"},
        stdin=subprocess.DEVNULL,
        stdout=out,
        stderr=subprocess.PIPE,
        text=True,
        errors="replace",
        pass_fds=[lock.fileno()] if lock else (),
    )


def run_on_book(
    program: str, *arguments: str, lock: IO | None = None, out: IO | int = subprocess.PIPE
) -> None:
    """Run one of PostgreSQL's own programs on the book's database; raise what went wrong with it."""
    done = run_program(program, *arguments, lock=lock, out=out)
    if "No space left on device" in done.stderr or "could not extend file" in done.stderr:
        raise OSError(errno.ENOSPC, what_it_said(done))
    if program == "psql" and done.returncode == SCRIPT_FAILED:
        raise RuleBroken(
            "backup_not_taken",
            f"The database rejected this backup: {what_it_said(done)}. Use another one.",
        )
    if done.returncode:
        raise EnvironmentProblem(f"{what_it_said(done)}. Nothing was changed.")


def what_it_said(done: subprocess.CompletedProcess) -> str:
    lines = done.stderr.strip().splitlines() or [f"{done.args[0]} ended with {done.returncode}"]
    return lines[0].removesuffix(".")
