"""A server killed with posts under way: what it answered is in the book, and nothing is in it twice.

Of what a phone may record, half comes plainly and half as a phone's entry, the first time and again.
"""

import json
import subprocess
import sys

import pytest

from tests.killed_server import BATCH
from tests.processes import PATIENCE, ROOT, surroundings

ROUNDS = 100


@pytest.mark.slow
def test_a_hundred_kills_lose_nothing_that_was_answered_and_double_nothing_that_is_sent_again(empty_book):
    ended = subprocess.run(
        [sys.executable, "-m", "tests.killed_server", str(ROUNDS)],
        cwd=ROOT,
        env=surroundings(**empty_book, ROUNDBOOK_TODAY="2026-10-14"),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=PATIENCE,
    )

    assert ended.returncode == 0, ended.stderr
    rounds = [json.loads(line) for line in ended.stdout.splitlines()]
    assert len(rounds) == ROUNDS
    for each in rounds:
        answered = len(each["answers"])
        assert each["after_the_kill"][:answered] == [1] * answered
        # The one that was under way is in the book or not; what comes after it never began.
        assert each["after_the_kill"][answered:] in (
            [],
            *([n] + [0] * (BATCH - 1 - answered) for n in (0, 1)),
        )
        assert each["again"][:answered] == each["answers"]
        assert all(address.startswith("/") for address in each["again"])
        assert each["in_the_end"] == [1] * BATCH
    # Most kills came within a batch.
    assert sum(len(each["answers"]) < BATCH for each in rounds) > ROUNDS / 2
