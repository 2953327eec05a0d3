"""The demo practice is replaced by an empty book, while the program runs."""

import zipfile

import pytest
from django.db import DatabaseError, transaction

from billing.models import Invoice, MileageRate
from practice.lib.errors import RuleBroken
from practice.lib.presses import new_press
from practice.lib.profile import Profile
from practice.project.begin.own_book import begin_own_book
from practice.project.sent_forms import SAVED_BEFORE
from tests.factories.practice import DAY, ProfileFactory
from tests.project.test_presses import rows
from tests.walk import book_of_all_pages


@pytest.fixture
def demo(db, settings):
    """A book with something on every page that says it is the demo practice."""
    settings.TODAY = DAY
    book_of_all_pages()
    Profile.objects.update(is_demo=True)


@pytest.fixture
def papers(settings):
    """A paper, a receipt and a logo of the practice."""
    files = [settings.DATA_DIR / name for name in ("invoices/2026/GF-1.pdf", "receipts/0.jpg", "logo.png")]
    for path in files:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"of the demo")
    yield files
    for path in files:
        path.unlink(missing_ok=True)


def test_every_page_of_the_demo_says_so_and_leads_to_ones_own_book(browser, demo):
    pages = [browser.get(path).content.decode() for path in ("/", "/money/", "/items/add/")]

    assert [page.count("This is the demo practice.") for page in pages] == [1, 1, 1]
    assert [page.count('href="/own-book/"') for page in pages] == [1, 1, 1]


def test_a_press_replaces_the_demo_by_an_empty_book_and_leaves_the_login(
    browser, demo, papers, settings, django_capture_on_commit_callbacks
):
    rates = MileageRate.objects.filter(from_program=True).count()
    press = {"uuid": new_press()}
    earlier = set((settings.DATA_DIR / "backups").glob("demo-*.zip"))

    with django_capture_on_commit_callbacks(execute=True):
        answer = browser.post("/own-book/", press)
    again = browser.post("/own-book/", press, follow=True)

    left = {table: count for table, count in rows().items() if count}
    assert left == {"billing_mileagerate": rates}
    assert [path.exists() for path in papers] == [False, False, False]
    assert (answer.status_code, again.status_code) == (302, 200)
    assert SAVED_BEFORE in again.content.decode()
    [copy] = set((settings.DATA_DIR / "backups").glob("demo-*.zip")) - earlier
    with zipfile.ZipFile(copy) as packed:
        assert "contents.json" in packed.namelist()
    copy.unlink()


def test_the_empty_book_is_guarded_again(demo):
    begin_own_book()
    book_of_all_pages()

    with pytest.raises(DatabaseError, match="an issued invoice cannot be changed"), transaction.atomic():
        Invoice.objects.update(total=1)


def test_a_book_of_ones_own_is_never_replaced(browser, db):
    ProfileFactory()
    before = rows()

    with pytest.raises(RuleBroken, match="This is your own book already"):
        begin_own_book()
    answers = [browser.get("/own-book/"), browser.post("/own-book/", {"uuid": new_press()})]

    assert [(answer.status_code, answer.headers["Location"]) for answer in answers] == [(302, "/begin/")] * 2
    assert rows() == before
