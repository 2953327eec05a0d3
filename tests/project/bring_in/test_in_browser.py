"""A farrier brings in ten horses from a messy workbook, on a phone and on a desk."""

import pytest

from practice.models import Horse
from practice.reports.due import due_horses
from tests.factories.practice import DAY, ProfileFactory
from tests.project.bring_in.sheets_to_bring import MESSY_HORSES, workbook_of
from tests.test_evening import Thumb

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


def test_ten_horses_come_in_from_a_messy_workbook_in_seven_taps_and_two_fields(own_page, settings, tmp_path):
    settings.TODAY = DAY
    ProfileFactory()
    file = tmp_path / "barns.xlsx"
    file.write_bytes(workbook_of(Horses=MESSY_HORSES))
    thumb = Thumb(own_page)
    own_page.goto("/horses/all/")

    thumb.tap("link", "Bring in a spreadsheet")
    own_page.get_by_label("File", exact=True).set_input_files(file)
    thumb.tap("button", "Read the file")
    thumb.tap("button", "Check the rows")
    marked = own_page.locator(".has-error .error").all_inner_texts()
    nothing_yet = Horse.objects.count()
    own_page.get_by_label("Last shod", exact=True).fill("9/3/2026")
    own_page.get_by_label("Every", exact=True).fill("6")
    thumb.tap("button", "Check again")
    comes_in = own_page.locator(".rows .row-name").all_inner_texts()
    thumb.tap("button", "Bring in 10 horses")
    own_page.get_by_text("Brought in. 10 new horses").wait_for()

    assert [text.strip() for text in marked] == [
        "Type a date such as Oct 14, 2026, or 2026-10-14.",
        "Type a whole number from 1 to 520.",
        "This looks like a total of the rows above.",
    ]
    assert comes_in == [
        "10 new horses.",
        "4 new clients.",
        "3 new places.",
        "2 new kinds of work.",
        "The last work on 9 horses, so that each comes due on the right day.",
    ]
    assert (nothing_yet, len(due_horses()), own_page.problems) == (0, 10, [])
    assert thumb.taps + 1 <= 7  # the file is chosen with one more
