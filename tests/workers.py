"""How the tests of a run on several workers are dealt to them.

`--dist loadgroup` alone does nothing with this version of pytest: pytest-xdist marks a group in a name that
pytest no longer reads.
"""

from xdist.scheduler import LoadScopeScheduling

# Each of these has something made that all tests in it share: a book, a season, a process. So that it is made
# once, they run on one worker; those that share the started book of `kept_book` on one together.
TOGETHER = {
    **dict.fromkeys(
        (
            "tests/project/test_start.py",
            "tests/project/serving/test_start_phones.py",
            "tests/project/test_mail_worker.py::test_start_ends_within_five_seconds_in_the_middle_of_a_message",
        ),
        "kept_book",
    ),
    **{
        module: module
        for module in (
            "tests/billing/test_pack.py",
            "tests/project/test_backup.py",
            "tests/project/test_book_round_trip.py",
            "tests/project/test_demo_feet.py",
            "tests/project/test_demo_practice.py",
            "tests/project/test_doctor_command.py",
            "tests/project/test_full_disk.py",
            "tests/project/test_hostile_books.py",
            "tests/project/test_kills.py",
            "tests/project/test_old_books.py",
        )
    },
}


class DealingTogether(LoadScopeScheduling):
    """Deals each test to whoever is free, but what belongs together to one; the largest of these first."""

    def _split_scope(self, nodeid: str) -> str:
        return TOGETHER.get(nodeid) or TOGETHER.get(nodeid.partition("::")[0]) or nodeid
