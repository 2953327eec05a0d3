"""Credit notes on their pages: looked at before they are issued, once however often it is pressed."""

import re
from datetime import timedelta
from decimal import Decimal
from html import unescape

import page as page_validation
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from billing.actions.crediting import issue_credit_note
from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import CreditNote, Invoice, Rebilling, TaxRate
from billing.papers.credit_note import credit_note_paper
from billing.papers.invoice import invoice_paper
from practice.models import Visit
from tests.factories.billing import ChargeFactory, InvoiceFactory
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    OwnerFactory,
    ProfileFactory,
    VisitFactory,
    WorkFactory,
    trim,
)

pytestmark = pytest.mark.django_db
D = Decimal
LATER = DAY + timedelta(5)


@pytest.fixture(autouse=True)
def practice(settings):
    settings.TODAY = LATER
    return ProfileFactory()


def billed(client=None, price="50") -> Invoice:
    trim(client or ClientFactory(name="Ann Marsh"), price=price)
    [invoice] = close_days(DAY, DAY, DAY).invoices
    return invoice


def form_url(invoice) -> str:
    return reverse("billing:credit-note-add", args=[invoice.pk])


def typed(**values) -> dict:
    return {"what": "all", "reason": "correction", "date": LATER.isoformat(), "note": ""} | values


def words_of(answer) -> str:
    """Return a page's text, its main part, one blank between words."""
    main = answer.content.decode().partition("<main")[2]
    return re.sub(r"\s+", " ", unescape(re.sub("<[^>]+>", " ", main)))


def seen_of(answer) -> str:
    return re.search(r'name="seen" value="(\w+)"', answer.content.decode())[1]


def issue(browser, invoice, **values):
    """Look a credit note over and issue it; return the answers to both."""
    looked = browser.post(form_url(invoice), typed(**values))
    return looked, browser.post(form_url(invoice), typed(seen=seen_of(looked), **values))


def test_it_is_shown_before_it_is_issued(browser):
    invoice = billed()
    record_payment(invoice.client, DAY, D(50), "cash")

    looked = browser.post(form_url(invoice), typed(again="on"))

    assert CreditNote.objects.count() == 0
    text = words_of(looked)
    assert "Not issued yet. Is this right?" in text
    assert "Nothing is left to pay on invoice GF-2026-0001." in text
    assert "$50.00 of what was paid becomes Ann Marsh's credit." in text
    assert "can be corrected, and is billed again when you close October 14." in text
    assert "Issue the credit note, $50.00" in text
    assert Visit.objects.get().locked


def test_a_correction_says_which_charges_it_takes_off_for_good(browser):
    client = ClientFactory(name="Ann Marsh")
    ChargeFactory(client=client, date=DAY, name="After hours")
    invoice = billed(client)

    looked = browser.post(form_url(invoice), typed())
    goodwill = browser.post(form_url(invoice), typed(reason="goodwill"))

    told = "Not billed again: After hours. If it is still due, add a new charge."
    assert [told in words_of(answer) for answer in (looked, goodwill)] == [True, False]


def test_what_was_seen_is_issued_once(browser):
    invoice = billed()
    uuid = "b3b3a3f0-0000-4000-8000-000000000001"

    looked, answer = issue(browser, invoice, uuid=uuid)
    again = browser.post(form_url(invoice), typed(seen=seen_of(looked), uuid=uuid))

    note = CreditNote.objects.get()
    assert (answer.url, again.url, note.total) == (note.get_absolute_url(), note.get_absolute_url(), 50)


def test_what_changed_since_it_was_seen_is_shown_again(browser):
    invoice = billed()
    looked = browser.post(form_url(invoice), typed())
    issue_credit_note(invoice, LATER, {1: D("20.00")})

    answer = browser.post(form_url(invoice), typed(seen=seen_of(looked)))

    assert "Issue the credit note, $30.00" in words_of(answer)
    assert CreditNote.objects.count() == 1


def test_amounts_of_lines_with_their_reason(browser):
    invoice = billed()

    _, answer = issue(browser, invoice, what="some", line_1="20.00", reason="goodwill", note="Came late.")

    note = CreditNote.objects.get()
    assert (note.total, note.reason, note.note) == (20, "goodwill", "Came late.")
    text = words_of(browser.get(answer.url))
    assert "$20.00 credited to Ann Marsh. Goodwill. What it takes off is not billed again. Came late." in text


@pytest.mark.parametrize(
    ("values", "error"),
    [
        ({"line_1": "5.00"}, "You typed amounts. Choose 'The amounts below', or clear them."),
        ({"what": "some"}, "Type an amount for at least one line, or choose all that is left."),
        ({"what": "some", "line_1": "50.01"}, "Line 1: 50.01 is more than what is left of it, 50.00."),
        ({"reason": "goodwill", "again": "on"}, "Only a correction is billed again."),
        ({"date": "2026-10-13"}, "Invoice GF-2026-0001 is dated 2026-10-14. Choose that day or a later one."),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_issued(browser, values, error):
    answer = browser.post(form_url(billed()), typed(**values))

    assert error in words_of(answer)
    assert CreditNote.objects.count() == 0


def test_a_bad_debt_says_what_it_means_on_the_cash_basis(browser):
    text = words_of(browser.post(form_url(billed()), typed(reason="bad_debt")))

    assert "a write-off is not a deduction: ask your tax preparer." in text


def test_a_stop_that_others_were_billed_for_says_what_it_waits_for(browser):
    horse = HorseFactory()
    for name in ("Ann", "Bea"):
        OwnerFactory(horse=horse, client=ClientFactory(name=name), share=D(50))
    WorkFactory(horse=horse, visit=VisitFactory(date=DAY, status="done"), price=D(60))
    first, second = close_days(DAY, DAY, DAY).invoices

    assert "was billed to others too." in words_of(browser.post(form_url(first), typed()))
    issue(browser, first)
    assert "was billed to others too." not in words_of(browser.post(form_url(second), typed()))


def test_an_invoice_shows_its_credit_notes_and_offers_none_where_nothing_is_left(browser):
    invoice = billed()
    before = words_of(browser.get(invoice.get_absolute_url()))
    note = issue_credit_note(invoice, LATER)

    after = words_of(browser.get(invoice.get_absolute_url()))

    assert "Credit this invoice" in before
    assert "Credit this invoice" not in after
    assert "$50.00, credited in full." in after
    assert f"{note.number} Oct 19, 2026, correction" in after


def test_a_freed_stop_asks_at_the_stop_at_the_close_and_on_the_credit_note(browser):
    invoice = billed()
    note = issue_credit_note(invoice, LATER)
    visit = Visit.objects.get()
    close, again = f"/close/{DAY.isoformat()}/", reverse("billing:visit-again", args=[visit.pk])
    pages = [close, reverse("billing:visit-billed", args=[visit.pk]), note.get_absolute_url()]
    assert all("Bill it again" in words_of(browser.get(page)) for page in pages)

    answer = browser.post(f"{again}?close")

    assert (answer.url, Rebilling.objects.count()) == (close, 1)
    assert not any("Bill it again" in words_of(browser.get(page)) for page in pages)
    assert "1 invoice, $50.00." in words_of(browser.get(close))


@pytest.mark.parametrize("said_with_the_credit_note", [True, False])
def test_a_stop_that_is_to_be_billed_again_can_be_held_back_until_it_is(browser, said_with_the_credit_note):
    issue_credit_note(billed(), LATER, again=said_with_the_credit_note)
    visit = Visit.objects.get()
    again, undo = (
        reverse(f"billing:{name}", args=[visit.pk]) for name in ("visit-again", "visit-again-undo")
    )
    page = reverse("billing:visit-billed", args=[visit.pk])
    browser.post(again)

    assert "Do not bill it again" in words_of(browser.get(page))
    browser.post(undo)
    held = words_of(browser.get(page))
    issued = [len(close_days(DAY, DAY, LATER).invoices)]
    browser.post(again)
    issued.append(len(close_days(DAY, DAY, LATER).invoices))
    answer = browser.post(undo, follow=True)

    assert ("Bill it again" in held, "Do not bill" in held, issued) == (True, False, [0, 1])
    assert "This stop is not credited in full" in words_of(answer)


def test_the_account_of_a_client_lists_the_credit_notes(browser):
    invoice = billed()
    issue_credit_note(invoice, LATER, {1: D("20.00")}, reason="goodwill")

    text = words_of(browser.get(reverse("billing:client-account", args=[invoice.client.pk])))

    assert "Owed $30.00" in text
    assert "Credit notes GF-CN-2026-0001 Oct 19, 2026, goodwill −20.00" in text


def test_a_stop_lists_its_invoices_and_credit_notes(browser):
    invoice = billed()
    issue_credit_note(invoice, LATER, {1: D("20.00")})

    page = reverse("billing:visit-billed", args=[Visit.objects.get().pk])

    text = words_of(browser.get(page))
    assert "Invoice GF-2026-0001 Ann Marsh $30.00 open" in text
    assert "Credit note GF-CN-2026-0001 for GF-2026-0001 −20.00" in text


def test_the_list_takes_as_many_queries_for_three_as_for_one(browser):
    url, counts = reverse("billing:credit-note-list"), []
    browser.get(url)  # the first page of a login notes that it is in use
    for number in (1, 2):
        for _ in range(number):
            issue_credit_note(InvoiceFactory(), LATER)
        with CaptureQueriesContext(connection) as seen:
            browser.get(url)
        counts.append(len(seen))

    assert counts[0] == counts[1]


def test_the_pdf_is_tagged_and_the_same_when_it_is_opened_again(browser, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    note = issue_credit_note(billed(), LATER)
    url = reverse("billing:credit-note-pdf", args=[note.pk])

    first, second = browser.get(url), browser.get(url)

    path = tmp_path / "credit_notes/2026/GF-CN-2026-0001.pdf"
    assert first.content == second.content == path.read_bytes()
    assert page_validation.validate_pdf(path, profile="ua1").is_compliant


def test_an_invoice_shows_what_it_billed_also_after_the_stop_was_corrected_and_billed_again():
    """Shares and travel are those of its own lines; what was done since is not shown as if it had been."""
    horse = HorseFactory()
    owners = [
        OwnerFactory(horse=horse, client=ClientFactory(name=name), share=D(share))
        for name, share in (("Ann", 60), ("Bea", 40))
    ]
    work = WorkFactory(horse=horse, visit=VisitFactory(date=DAY, status="done"), price=D(60))
    first, other = close_days(DAY, DAY, DAY).invoices
    before = invoice_paper(first).blocks[0]
    for invoice in (first, other):
        issue_credit_note(invoice, LATER, again=True)
    for owner, share in zip(owners, (50, 50), strict=True):
        owner.share = D(share)
        owner.save()
    work.price = D(80)
    work.save()
    again = close_days(DAY, DAY, LATER).invoices[0]

    old, new = (invoice_paper(invoice).blocks[0] for invoice in (first, again))

    assert (before.shares, old.shares) == (["Your share: 60%", "Bea: 40%"],) * 2
    assert (old.amount, new.shares, new.amount) == ("36.00", ["Your share: 50%", "Bea: 50%"], "40.00")
    assert (len(before.feet), old.feet, old.next_due, len(new.feet)) == (4, [], "", 4)


def test_the_paper_names_the_invoice_what_is_taken_and_why():
    TaxRate.objects.create(name="State", valid_from=DAY, rate=D(5))
    work = trim(ClientFactory(name="Ann Marsh", address="4 Mill Lane"))
    work.service.taxable = True
    work.service.save()
    [invoice] = close_days(DAY, DAY, DAY).invoices
    note = issue_credit_note(invoice, LATER, {1: D("20.00")}, reason="bad_debt", note="Moved away.")

    paper = credit_note_paper(note)

    shown = (paper.number, paper.invoice, paper.invoice_issued, paper.issued, paper.reason, paper.note)
    assert shown == (
        "GF-CN-2026-0001",
        "GF-2026-0001",
        "October 14, 2026",
        "October 19, 2026",
        "Written off",
        "Moved away.",
    )
    assert (paper.client_name, paper.client_address) == ("Ann Marsh", "4 Mill Lane")
    [line] = paper.lines
    assert (line.name, line.amount) == (str(work.service), "20.00")
    assert line.detail == f"{work.horse}, October 14, taxed"
    assert [(tax.words, tax.amount) for tax in paper.taxes] == [("State, 5% of 20.00", "1.00")]
    assert (paper.net, paper.total, paper.amount) == ("20.00", "21.00", "$21.00")
