"""The year in a browser: closing it, reopening it, the pack."""

import csv
import hashlib
import io
import zipfile
from datetime import date

import pytest

from practice.lib.profile import Profile
from tests.billing.test_pack import MADE, live
from tests.conftest import DESK, PHONE

pytestmark = [pytest.mark.slow, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def year(transactional_db, settings):
    """A year with a bit of everything."""
    settings.TODAY = MADE
    live()


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_a_year_is_closed_and_its_pack_opened(open_page, user, year, size):
    page = open_page(*size, user=user)

    page.goto("/year/2025/")
    page.get_by_role("button", name="Close the year").click()
    page.get_by_role("button", name="Reopen the year").wait_for()
    assert Profile.current().closed_through == date(2025, 12, 31)
    with page.expect_download() as download:
        page.get_by_role("button", name="Make the pack").click()
    packed = zipfile.ZipFile(download.value.path())
    page.goto("/year/2025/")

    listed = packed.read("year-2025/manifest.csv").decode()
    for row in csv.DictReader(io.StringIO(listed)):
        content = packed.read(f"year-2025/{row['file']}")
        assert hashlib.sha256(content).hexdigest() == row["sha256"]
    assert packed.read("year-2025/year-2025.pdf").startswith(b"%PDF")
    # The pack went out: the closing stands.
    assert page.get_by_role("button", name="Reopen the year").count() == 0
    assert page.problems == []
