"""Commands of manage.py in processes of their own."""

import contextlib
import os
import random
import select
import signal
import socket
import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PATIENCE = 1200  # seconds until a process that does not end fails a test, also on a busy machine


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
        timeout=PATIENCE,
    )


def run_here(*arguments) -> int:
    """Run a command of manage.py in this process; return its exit code."""
    from practice.project.commands import _run_command

    return _run_command("manage.py", list(arguments))


def free_port() -> int:
    """Return a port that nobody has, out of those that no system gives to a connection by itself."""
    while True:
        # Not by the tests' own seed: tests side by side would all draw the same one.
        port = random.SystemRandom().randrange(10_000, 30_000)
        with contextlib.suppress(OSError), socket.create_server(("127.0.0.1", port)):
            return port


def ends_within(child: int, seconds: float) -> bool:
    """Wait until a child ends, but no longer than so many seconds; it is still to be asked how it ended."""
    with os.fdopen(os.pidfd_open(child)) as process:
        return bool(select.select([process], [], [], seconds)[0])


def held_up(process: int) -> float:
    """Return the seconds that the main thread of a process waited for a processor (Linux)."""
    return int(Path(f"/proc/{process}/schedstat").read_text().split()[1]) / 1e9


@dataclass
class Started:
    """A book that `start` serves: its process, its address, and what it said before it was ready."""

    process: subprocess.Popen
    url: str = ""
    said: list[str] = field(default_factory=list)

    def get_ready(self) -> None:
        """Read what it says until it is ready."""
        for line in self.process.stdout:
            if line.startswith("Roundbook is ready at "):
                self.url = line.removeprefix("Roundbook is ready at ").strip()
                return
            self.said.append(line)
        raise AssertionError(f"start ended with {self.process.wait()} before it was ready: {self.said}")

    def end(self, by: signal.Signals = signal.SIGTERM) -> tuple[int, float]:
        """End it by a signal; return the exit code and the seconds it took, without those of others."""
        began = time.monotonic() - held_up(self.process.pid)
        self.process.send_signal(by)
        assert ends_within(self.process.pid, PATIENCE)
        seconds = time.monotonic() - held_up(self.process.pid) - began
        return self.process.wait(), seconds


@contextlib.contextmanager
def started(*arguments, wait=True, **variables):
    """Run `start` without a browser, and yield it as Started once it is ready (`wait=False`: at once)."""
    process = subprocess.Popen(
        [sys.executable, "manage.py", "start", "--no-browser", *map(str, arguments)],
        cwd=ROOT,
        env=surroundings(**variables),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        book = Started(process)
        if wait:
            book.get_ready()
        yield book
    finally:
        process.kill()
        process.wait()
        process.stdout.close()
