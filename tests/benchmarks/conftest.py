"""How long things take, each beside a yardstick: `python3 manage.py test tests/benchmarks` prints the table.

A benchmark asserts that the work was done, never a time. Action and yardstick run by turns in one
process, so that what else the machine does slows both; the table has the medians and their ratio.
"""

from collections.abc import Callable
from contextlib import nullcontext
from time import perf_counter

import pytest
from django.core.management import call_command
from django.db import connection

from tests.benchmarks.books import Book
from tests.benchmarks.load import Measured
from tests.benchmarks.turns import Timed, medians_of_turns

HEAD = ("What", "Takes", "Yardstick", "Takes", "Ratio")


@pytest.fixture
def compare(record_property):
    """Return a function that times an action and its yardstick, and puts both into the table.

    `within` are the contexts that their turns run in, which are not timed.
    """

    def timed(
        what: str,
        action: Callable,
        beside: str,
        yardstick: Callable,
        within: tuple[Callable, Callable] = (nullcontext, nullcontext),
        turns: int = 7,
    ) -> None:
        pair = Timed(action, within[0]), Timed(yardstick, within[1])
        took, took_beside = medians_of_turns(*pair, turns, perf_counter)
        record_property("figure", [what, took, beside, took_beside])

    return timed


@pytest.fixture(scope="session")
def empty_book(tmp_path_factory, django_db_blocker):
    """A migrated book in a folder of its own, to be copied."""
    if connection.vendor != "sqlite":
        pytest.fail("The benchmarks copy the file of a book: run them without DATABASE_URL.")
    book = Book(tmp_path_factory.mktemp("books") / "empty")
    book.folder.mkdir()
    with django_db_blocker.unblock():
        with book.opened():
            call_command("migrate", verbosity=0)
        yield book


def pytest_terminal_summary(terminalreporter):
    figures = [
        value
        for report in terminalreporter.getreports("passed")
        for name, value in report.user_properties
        if name == "figure"
    ]
    loads = [
        value
        for report in (*terminalreporter.getreports("passed"), *terminalreporter.getreports("failed"))
        for name, value in report.user_properties
        if name == "load"
    ]
    for measured, what in loads:
        terminalreporter.section(f"load: {what}")
        terminalreporter.write_line(in_words(measured))
        for kind in sorted(set(measured.kinds)):
            terminalreporter.write_line(f"{kind:16}{in_words(measured, kind)}")
    for report in terminalreporter.getreports("passed"):
        for name, value in report.user_properties:
            if name == "volume":
                terminalreporter.section("volume: rows a second of processor time, and peak memory")
                for what, rows, spent in value:
                    terminalreporter.write_line(
                        f"{what:30}{rows / spent.seconds:>12,.0f} rows/s{spent.megabytes:>8,.0f} MB"
                    )
    if not figures:
        return
    rows = [HEAD] + [
        (what, in_ms(took), beside, in_ms(took_beside), f"{took / took_beside:.2f}")
        for what, took, beside, took_beside in figures
    ]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    terminalreporter.section("benchmarks: medians of several turns")
    for what, took, beside, took_beside, ratio in rows:
        terminalreporter.write_line(
            f"{what:{widths[0]}}  {took:>{widths[1]}}  {beside:{widths[2]}}"
            f"  {took_beside:>{widths[3]}}  {ratio:>{widths[4]}}"
        )


def in_words(measured: Measured, kind: str = "") -> str:
    """Return percentiles of a load; of all kinds together also errors and the generator's share."""
    p50, p99 = (in_ms(measured.percentile(percent, kind)) for percent in (50, 99))
    times = f"p50 {p50:>12}, p99 {p99:>12}"
    if kind:
        return times
    shares = f"{measured.share_of_two_cores:.0%}, the server {measured.of_the_server:.0%} of two cores"
    return f"{len(measured.errors)} errors, {times}; the generator took {shares}"


def in_ms(seconds: float) -> str:
    return f"{seconds * 1000:,.1f} ms"
