"""From the demo to a practice of one's own: ten horses out of a messy workbook, an invoice, a restore.

On a phone and on a desk; taps and fields are counted, a tap into a field as well.
"""

import re
from datetime import timedelta

import pytest

from billing.models import Invoice
from practice.models import Client, Horse
from practice.reports.due import due_horses
from tests.factories.practice import DAY, HorseFactory, ProfileFactory
from tests.project.bring_in.sheets_to_bring import MESSY_HORSES, workbook_of
from tests.test_begin import CountingThumb

pytestmark = [pytest.mark.slow, pytest.mark.path, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def demo(settings, tmp_path):
    """The demo practice on DAY, in a data folder of its own."""
    settings.TODAY, settings.DATA_DIR = DAY, tmp_path / "data"
    settings.DATA_DIR.mkdir()
    ProfileFactory(is_demo=True)
    HorseFactory()


@pytest.fixture
def workbook(tmp_path):
    file = tmp_path / "barns.xlsx"
    file.write_bytes(workbook_of(Horses=MESSY_HORSES))
    return file


def begin_own_book(thumb) -> None:
    thumb.page.goto("/")
    thumb.tap("link", "Begin your own book")
    thumb.tap("button", "Replace the demo with an empty book")
    thumb.fill_in("practice", name="Garrow Farriery", address="4 Tongs Row\nPell Crossing")
    thumb.fill_in("work", price_1="55")


def bring_in(thumb, workbook) -> tuple[list[str], list[str]]:
    """Bring the horses in, with two mistakes mended; return what was marked, and what was to come in."""
    page = thumb.page
    page.goto("/horses/all/")
    thumb.tap("link", "Bring in a spreadsheet")
    page.get_by_label("File", exact=True).set_input_files(workbook)
    thumb.taps, thumb.fields = thumb.taps + 1, thumb.fields + 1
    thumb.tap("button", "Read the file")
    thumb.tap("button", "Check the rows")
    marked = [text.strip() for text in page.locator(".has-error .error").all_inner_texts()]
    assert Horse.objects.count() == 0
    for field, text in (("Last shod", "9/3/2026"), ("Every", "6")):
        thumb._tap(page.get_by_label(field, exact=True))
        page.get_by_label(field, exact=True).fill(text)
        thumb.fields += 1
    thumb.tap("button", "Check again")
    comes_in = page.locator(".rows .row-name").all_inner_texts()
    thumb.tap("button", "Bring in 10 horses")
    page.get_by_text("Brought in. 10 new horses").wait_for()
    return marked, comes_in


def first_invoice(thumb) -> None:
    thumb.page.goto("/")
    thumb.tap("link", "Plan a stop")
    thumb.choose("place", "Lantern Barn")
    thumb.tap("button", "Plan this stop")
    thumb.tap("button", "I am here")
    thumb.tap("link", re.compile("Élan"))
    thumb.tap("button", re.compile("^Trim"))
    thumb.tap("button", re.compile("^Save"))
    thumb.tap("button", "The stop is done")
    thumb.tap("link", "Close the day")
    thumb.tap("button", "Issue 1 invoice")


def back_up(thumb) -> None:
    thumb.page.goto("/settings/")
    thumb.tap("link", re.compile("^Backups"))
    thumb.tap("button", "Back up now")


def restore_yesterday(thumb) -> None:
    thumb.page.goto("/settings/")
    thumb.tap("link", re.compile("^Backups"))
    thumb.tap("link", re.compile("^Wed, Oct 14|^Wednesday, October 14|^Oct 14"))
    thumb._tap(thumb.page.get_by_label("Replace the book with this backup"))
    thumb.tap("button", "Restore this backup")


def test_a_practice_of_ones_own_begins_earns_and_goes_back_a_day(own_page, demo, workbook, settings, capsys):
    thumb = CountingThumb(own_page)

    begin_own_book(thumb)
    before = thumb.taps, thumb.fields
    marked, comes_in = bring_in(thumb, workbook)
    brought = thumb.taps - before[0], thumb.fields - before[1]
    due = len(due_horses())
    first_invoice(thumb)
    back_up(thumb)
    settings.TODAY = DAY + timedelta(days=1)
    Client.objects.update(name="Overwritten by mistake")
    restore_yesterday(thumb)

    with capsys.disabled():
        print(f"\ndemo to first invoice and back a day: {thumb.taps} taps, {thumb.fields} fields")
    assert marked == [
        "Type a date such as Oct 14, 2026, or 2026-10-14.",
        "Type a whole number from 1 to 520.",
        "This looks like a total of the rows above.",
    ]
    assert comes_in == [
        "10 new horses.",
        "4 new clients.",
        "3 new places.",
        "2 kinds of work: 1 new, 1 already in the book.",
        "The last work on 9 horses, so that each comes due on the right day.",
    ]
    assert due == 10
    invoice = Invoice.objects.get()
    assert (invoice.client_name, invoice.total, invoice.client.name) == ("Ines Corvo", 55, "Ines Corvo")
    assert Client.objects.count() == 4
    assert own_page.problems == []
    assert (brought[0] <= 9, brought[1] <= 3) == (True, True)
    assert thumb.taps <= 40
    assert thumb.fields <= 15
