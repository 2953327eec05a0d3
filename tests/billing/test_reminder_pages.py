"""The pages of reminders and disputes."""

from datetime import date, timedelta

import pytest
from django.urls import reverse

from billing.models import Dispute, Invoice, Message
from tests.billing.test_mail_pages import said, waiting
from tests.factories.billing import InvoiceFactory
from tests.factories.mail import NOON, MailSettingsFactory, MessageFactory
from tests.factories.practice import DAY, ProfileFactory

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def on_the_day(settings):
    settings.TODAY = DAY
    ProfileFactory()


def overdue(days: int, **more) -> Invoice:
    due = DAY - timedelta(days=days)
    return InvoiceFactory(issued=due - timedelta(days=14), due=due, **more)


def test_reminders_are_proposed_by_their_days_and_sent_only_when_checked(browser):
    MailSettingsFactory()
    checked, left = overdue(7, client__email="ann@barn.example"), overdue(9, client__email="ben@barn.example")
    overdue(6, client__email="cora@barn.example")
    url = reverse("billing:reminder-list")

    page = browser.get(url)
    pressed = [said(browser.post(url, {"invoice": [checked.pk]}, follow=True)) for _ in "ab"]

    assert page.context["heading"] == "2 reminders due."
    assert [invoice.pk for invoice, _ in page.context["by_mail"]] == [left.pk, checked.pk]
    assert pressed == [["1 reminder queued to send."], ["No reminder is checked, so none is sent."]]
    assert waiting() == [("reminder-1", checked.number, "ann@barn.example")]


def test_the_next_reminder_comes_when_its_days_have_passed(browser):
    MailSettingsFactory()
    invoice = overdue(40, client__email="ann@barn.example")
    sent = NOON - timedelta(days=13)
    MessageFactory(kind="reminder-1", about=invoice.number, state=Message.State.SENT, queued_at=sent)
    url, found = reverse("billing:reminder-list"), []

    for at in (sent, sent - timedelta(days=1)):
        Message.objects.update(queued_at=at)
        found.append([row.more for _, row in browser.get(url).context["by_mail"]])

    assert found == [[], [f"Second reminder, {invoice.number}"]]


def test_a_dispute_stops_reminders_until_it_is_settled(browser):
    invoice = overdue(30, client__email="ann@barn.example")
    reminders = reverse("billing:reminder-list")

    browser.post(reverse("billing:dispute-add", args=[invoice.pk]), {"note": "Two shoes, not four."})
    during = browser.get(reminders).context["heading"]
    shown = browser.get(invoice.get_absolute_url()).context["page"].dispute
    browser.post(reverse("billing:dispute-settle", args=[shown.pk]))

    assert (during, shown.note) == ("No reminder is due.", "Two shoes, not four.")
    assert browser.get(reminders).context["heading"] == "1 reminder due."
    assert Dispute.objects.get().settled_on == DAY


def test_an_invoice_is_disputed_once_at_a_time(browser):
    invoice = overdue(30)
    url = reverse("billing:dispute-add", args=[invoice.pk])

    answers = [browser.post(url, {"note": "Wrong"}) for _ in "ab"]

    assert [answer.status_code for answer in answers] == [302, 200]
    assert answers[1].context["form"].non_field_errors() == [
        f"Invoice {invoice} is already marked as disputed."
    ]
    assert list(invoice.disputes.values_list("opened_on", flat=True)) == [date(2026, 10, 14)]
