"""Runs the checks one after the other. One that fails itself is a fault, and the others go on."""

from collections.abc import Callable, Iterator
from contextlib import nullcontext
from dataclasses import dataclass, field

from django.db import Error, connection, transaction

from practice.project.doctor import database, machine, numbers, papers, sums
from practice.project.doctor.faults import RESTORE, NamedFault

START_SERVER = "Start the database server, and see that DATABASE_URL names it. Then run doctor again."
Look = Callable[[], Iterator[NamedFault]]


@dataclass(frozen=True)
class Check:
    """What is looked at, in words, and how."""

    name: str
    look: Look


MACHINE = (
    Check("free space", machine.look_at_room),
    Check("permissions", machine.look_at_permissions),
    Check("versions", machine.look_at_versions),
    Check("PDFs", machine.look_at_pdfs),
    Check("restores", machine.look_for_unfinished),
    Check("backups", papers.look_at_backups),
)
DATABASE = (
    Check("database", database.look_at_integrity),
    Check("version of the book", database.look_at_migrations),
)
BOOK = (
    Check("guards", database.look_at_guards),
    Check("search", database.look_at_search),
    Check("invoices", sums.look_at_invoices),
    Check("credit notes", sums.look_at_credit_notes),
    Check("numbers", numbers.look_at_numbers),
    Check("accounts", sums.look_at_accounts),
    Check("ledgers", sums.look_at_ledgers),
    Check("receipts", papers.look_at_receipts),
    Check("photos", papers.look_at_photos),
    Check("papers", papers.look_at_papers),
)


@dataclass
class Checkup:
    """What was looked at, what could not be, and what is wrong."""

    versions: dict[str, str] = field(default_factory=machine.versions)
    looked_at: list[str] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)
    faults: list[NamedFault] = field(default_factory=list)

    def run(self, check: Check, surroundings: Callable = nullcontext) -> bool:
        """Run a check; return whether it found nothing."""
        self.looked_at.append(check.name)
        try:
            with surroundings():
                found = list(check.look())
        except (Error, OSError) as error:
            what = f"This cannot be read: {check.name}. {in_a_line(error)}."
            found = [NamedFault("unreadable", what, RESTORE)]
        self.faults += found
        return not found

    def leave_out(self, checks: tuple[Check, ...]) -> None:
        self.left_out += [check.name for check in checks]


def look_over(say: Callable[[str], None] = lambda name: None) -> Checkup:
    """Look the book over; `say` is told what comes next.

    What rests on the tables is left out where the database is damaged or of another version.
    """
    checkup = Checkup()
    for check in MACHINE:
        say(check.name)
        checkup.run(check)
    if missing := [*database.look_for_book()] or [*look_whether_it_opens()]:
        checkup.faults += missing
        checkup.leave_out((*DATABASE, *BOOK))
        return checkup
    with database.only_looking():
        is_sound = True
        for check in DATABASE:
            say(check.name)
            is_sound = checkup.run(check, transaction.atomic) and is_sound
        if not is_sound:
            checkup.leave_out(BOOK)
            return checkup
        for check in BOOK:
            say(check.name)
            checkup.run(check, transaction.atomic)
    return checkup


def look_whether_it_opens() -> Iterator[NamedFault]:
    """Find that the database cannot be opened. Where there is no file, to ask would make one."""
    is_server = connection.vendor != "sqlite"
    try:
        connection.ensure_connection()
    except Error as error:
        yield NamedFault(
            "database_closed",
            f"The database cannot be opened: {in_a_line(error)}.",
            START_SERVER if is_server else RESTORE,
            of_machine=is_server,
        )


def in_a_line(error: Exception) -> str:
    return (" ".join(str(error).split()) or type(error).__name__).removesuffix(".")
