"""Commands of manage.py in processes of their own."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def surroundings(**variables) -> dict:
    """Return the environment of a child process: this one's with these variables; None takes one out."""
    changed = {"DJANGO_ALLOW_ASYNC_UNSAFE": None, **variables}
    kept = {name: value for name, value in os.environ.items() if name not in changed}
    return kept | {name: str(value) for name, value in changed.items() if value is not None}


def run_command(*arguments, **variables) -> subprocess.CompletedProcess:
    """Run a command of manage.py; return what it ended with, its texts as str."""
    return subprocess.run(
        [sys.executable, "manage.py", *map(str, arguments)],
        cwd=ROOT,
        env=surroundings(**variables),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=120,
    )
