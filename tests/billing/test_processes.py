"""Many processes close the same days at once, and one is killed half-way: on the real database."""

import json
import signal
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from threading import Barrier

import pytest
from django.conf import settings
from django.db import connection

from billing.actions.invoicing import close_days
from billing.models import Invoice, InvoiceLine
from billing.papers.documents import invoice_pdf, pdf_path
from practice.models import Visit
from tests.factories.practice import DAY, ClientFactory, ProfileFactory, trim
from tests.papers import plain_paper
from tests.processes import PATIENCE, ROOT, run_command, surroundings

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]
DAYS = 4

CLOSER = """
import sys, time
from pathlib import Path
import django
django.setup()
from datetime import date
from billing.actions.invoicing import close_days
barrier, number, begin, end = Path(sys.argv[1]), sys.argv[2], *map(date.fromisoformat, sys.argv[3:5])
(barrier / number).touch()
while len(list(barrier.iterdir())) < 8:
    time.sleep(0.005)
issued = close_days(begin, end, end).invoices
print(number, " ".join(invoice.number for invoice in issued))
"""

CREDITOR = """
import sys, time
from pathlib import Path
import django
django.setup()
from datetime import date
from decimal import Decimal
from billing.actions.crediting import issue_credit_note
from billing.actions.invoicing import close_days
from billing.models import Invoice
from practice.lib.errors import RuleBroken
barrier, number, first, begin, end = Path(sys.argv[1]), sys.argv[2], *map(date.fromisoformat, sys.argv[3:6])
(barrier / number).touch()
while len(list(barrier.iterdir())) < 8:
    time.sleep(0.005)
drawn, refused = [], 0
for invoice in Invoice.objects.filter(issued=first).order_by("pk"):
    try:
        drawn.append(issue_credit_note(invoice, end, {1: Decimal("10.00")}).number)
    except RuleBroken as error:
        assert error.code == "credit_nothing_left" or error.code == "credit_more_than_left", error.code
        refused += 1
    close_days(begin, end, end)
print(number, refused, *drawn)
"""

WRITES_AND_WAITS = """
import sys, time
import django
django.setup()
from datetime import date
from django.db import transaction
from billing.actions.invoicing import issue_date
day = date.fromisoformat(sys.argv[1])
with transaction.atomic():
    issued = issue_date(day, day, day, day)
    print(len(issued), flush=True)
    time.sleep(60)
"""


def child(script, *arguments):
    return subprocess.Popen(
        [sys.executable, "-c", script, *map(str, arguments)],
        cwd=ROOT,
        env=surroundings(DJANGO_SETTINGS_MODULE="practice.project.settings"),
        stdout=subprocess.PIPE,
        text=True,
    )


@pytest.fixture
def season():
    ProfileFactory()
    clients = [ClientFactory(name=f"Client {number}") for number in range(5)]
    days = [DAY + timedelta(number) for number in range(DAYS)]
    for day in days:
        for client in clients:
            trim(client, on=day)
    return days


def test_eight_processes_close_the_same_days_and_issue_one_set_of_invoices(season, tmp_path, capsys):
    closers = [child(CLOSER, tmp_path, number, season[0], season[-1]) for number in range(8)]
    said = [closer.communicate(timeout=PATIENCE)[0].strip() for closer in closers]

    with capsys.disabled():
        print("\nwho issued what:", *said, sep="\n  ")
    assert [closer.returncode for closer in closers] == [0] * 8
    numbers = sorted(number for line in said for number in line.split()[1:])
    assert numbers == [f"GF-2026-{number:04d}" for number in range(1, 5 * DAYS + 1)]
    assert sorted(Invoice.objects.values_list("number", flat=True)) == numbers
    assert InvoiceLine.objects.count() == 5 * DAYS
    drawn = Invoice.objects.order_by("number").values_list("issued", "client")
    assert list(drawn) == sorted(drawn)


def test_eight_processes_that_credit_and_close_at_once_leave_no_gap_and_credit_no_more_than_there_is(
    season, tmp_path, capsys
):
    """Five invoices of 50.00 have room for 25 credit notes of 10.00; 40 are asked for."""
    close_days(season[0], season[0], season[0])
    creditors = [child(CREDITOR, tmp_path, n, season[0], season[1], season[-1]) for n in range(8)]
    said = [creditor.communicate(timeout=PATIENCE)[0].split() for creditor in creditors]

    with capsys.disabled():
        print("\nwho credited what:", *map(" ".join, said), sep="\n  ")
    assert [creditor.returncode for creditor in creditors] == [0] * 8
    numbers = sorted(number for words in said for number in words[2:])
    assert numbers == [f"GF-CN-2026-{number:04d}" for number in range(1, 26)]
    assert sum(int(words[1]) for words in said) == 40 - 25
    credited = Invoice.objects.with_settled().filter(issued=season[0])
    assert {(invoice.total, invoice.credited) for invoice in credited} == {(50, 50)}
    drawn = sorted(Invoice.objects.values_list("number", flat=True))
    assert drawn == [f"GF-2026-{number:04d}" for number in range(1, 5 * DAYS + 1)]
    assert Visit.objects.filter(locked=False).count() == 5


def test_a_process_killed_before_it_committed_leaves_the_book_as_it_was(season):
    process = child(WRITES_AND_WAITS, season[0])
    written = process.stdout.readline().strip()
    process.send_signal(signal.SIGKILL)
    process.wait()
    process.stdout.close()

    assert written == "5"
    assert (Invoice.objects.count(), Visit.objects.filter(locked=True).count()) == (0, 0)
    assert len(close_days(season[0], season[0], season[0]).invoices) == 5


def test_eight_who_open_a_paper_that_is_not_made_yet_all_get_it(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    ProfileFactory()
    for _ in range(10):
        trim()
    invoices = close_days(DAY, DAY, DAY).invoices
    together = Barrier(8, timeout=PATIENCE)

    def open_with_the_others(invoice):
        together.wait()
        return invoice_pdf(invoice, plain_paper)

    def open_all(_):
        try:
            return [open_with_the_others(invoice) for invoice in invoices]
        finally:
            connection.close()

    with ThreadPoolExecutor(8) as pool:
        opened = list(pool.map(open_all, range(8)))

    kept = [(tmp_path / pdf_path(invoice)).read_bytes() for invoice in invoices]
    assert opened == [kept] * 8
    assert len(set(kept)) == 10
    assert len(list((tmp_path / "invoices" / "2026").iterdir())) == 10


def test_many_pdfs_are_made_on_all_cores_after_the_invoices_are_issued():
    ProfileFactory()
    for _ in range(10):
        trim()

    ended = run_command("close_day", "--date", DAY, "--json")

    assert (ended.returncode, ended.stderr) == (0, "")
    paths = [settings.DATA_DIR / invoice["pdf"] for invoice in json.loads(ended.stdout)["invoices"]]
    assert [path.read_bytes()[:5] for path in paths] == [b"%PDF-"] * 10
    for path in paths:
        path.unlink()
