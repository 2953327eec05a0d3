"""The pages of the mail server and of the wording of messages."""

import stat

import pytest
from django.urls import reverse

from billing.models import MailSettings, MessageText
from tests.billing.test_mail_pages import said
from tests.factories.billing import InvoiceFactory
from tests.factories.mail import MailSettingsFactory
from tests.factories.practice import DAY, ProfileFactory
from tests.mail_server import mail_server

pytestmark = pytest.mark.django_db
SETTINGS = {
    "host": "mail.example.com",
    "port": "465",
    "security": "tls",
    "username": "garrow",
    "password": "six nails",
    "from_name": "Garrow Farriery",
    "from_address": "office@garrow.example",
}


@pytest.fixture(autouse=True)
def on_the_day(settings):
    settings.TODAY = DAY
    ProfileFactory()


def test_the_password_goes_into_a_file_that_nobody_else_reads_and_is_never_shown(browser, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    url = reverse("billing:mail-settings")

    browser.post(url, SETTINGS)
    page = browser.get(url).content.decode()

    file = tmp_path / "mail_password"
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert ("six nails" in file.read_text(), "six nails" in page) == (True, False)
    assert "six nails" not in str(MailSettings.objects.values_list().get())


def test_a_blank_password_keeps_the_old_one_but_another_server_never_gets_it(browser, settings, tmp_path):
    settings.DATA_DIR = tmp_path
    url = reverse("billing:mail-settings")
    browser.post(url, SETTINGS)

    browser.post(url, SETTINGS | {"password": "", "port": "587", "security": "starttls"})
    answer = browser.post(url, SETTINGS | {"password": "", "host": "thief.example"})

    assert answer.context["form"].non_field_errors() == ["Type the password of garrow at thief.example."]
    row = MailSettings.objects.get()
    assert (row.host, row.port, row.security) == ("mail.example.com", 587, "starttls")


def test_mail_never_leaves_this_machine_without_encryption(browser):
    answer = browser.post(reverse("billing:mail-settings"), SETTINGS | {"security": "none"})

    assert answer.context["form"].non_field_errors()[0].startswith("Choose TLS or STARTTLS")
    assert MailSettings.objects.count() == 0


def test_a_test_message_says_how_the_server_answered(browser):
    url, answers = reverse("billing:mail-test"), []
    with mail_server() as server:
        MailSettingsFactory(port=server.port)
        answers += said(browser.post(url, follow=True))
        server.handler.rules["rcpt"] = lambda to: "550 nobody here"
        answers += said(browser.post(url, follow=True))

    assert answers == [
        "127.0.0.1 accepted the test message (250 Taken). It should arrive at office@garrow.example soon.",
        "The test message was not sent. The server answered 550 nobody here",
    ]
    assert [letter["To"] for letter in server.letters] == ["Garrow Farriery <office@garrow.example>"]


def test_the_practices_own_wording_is_what_is_sent(browser):
    url = reverse("billing:message-text", args=["invoice"])
    invoice = InvoiceFactory(client__email="ann@barn.example", number="GF-1")

    browser.post(url, {"subject": "Rechnung {number}", "text": "Bitte {open} bis {due}."})

    form = browser.get(reverse("billing:invoice-send", args=[invoice.pk])).context["form"]
    assert [form["subject"].value(), form["text"].value()] == [
        "Rechnung GF-1",
        "Bitte $100.00 bis October 14, 2026.",
    ]


def test_a_preview_fills_in_examples_and_saves_nothing(browser):
    url = reverse("billing:message-text", args=["invoice"])

    page = browser.post(url, {"subject": "Bill {number}", "text": "Hi {client}", "preview": "yes"})

    preview = page.context["preview"]
    assert (preview.subject, preview.text) == ("Bill GF-2026-0187", "Hi Ann Birch")
    assert MessageText.objects.count() == 0


def test_a_word_that_is_not_filled_in_is_refused_beside_its_field(browser):
    url = reverse("billing:message-text", args=["order"])

    errors = browser.post(url, {"subject": "Order", "text": "For {client}"}).context["form"].errors

    assert errors == {
        "text": [
            "{client} is not filled in here."
            " Use {supplier}, {number}, {date}, {practice}, {address}, {phone}."
        ]
    }
    assert MessageText.objects.count() == 0


def test_reminders_come_one_after_the_other(browser):
    url = reverse("billing:message-text", args=["reminder-2"])

    answer = browser.post(url, {"subject": "a", "text": "b", "days": "7"})

    assert "7, 7, and 42 days" in answer.context["form"].non_field_errors()[0]
    assert MessageText.objects.count() == 0


def test_the_original_wording_comes_back(browser):
    url = reverse("billing:message-text", args=["invoice"])
    browser.post(url, {"subject": "Bill", "text": "Pay"})

    browser.post(f"{url}reset/")

    assert browser.get(url).context["form"]["subject"].value() == "Invoice {number} from {practice}"
