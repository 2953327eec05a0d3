"""Pages of messages: sending one and many, what is printed, and what became of them."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from billing.actions.crediting import issue_credit_note
from billing.actions.payments import record_payment
from billing.models import Message, MessageText, SharedLink
from billing.papers.statement_messages import STATEMENT
from billing.reports.shared import token_of
from billing.reports.statement import statement_of
from practice.lib.periods import Period
from practice.lib.profile import Profile
from tests.factories.billing import InvoiceFactory
from tests.factories.mail import NOON, MailSettingsFactory, MessageFactory
from tests.factories.practice import DAY, ClientFactory, HorseFactory, ProfileFactory
from tests.factories.stock import OrderFactory, SupplierFactory

pytestmark = pytest.mark.django_db
State = Message.State


@pytest.fixture(autouse=True)
def on_the_day(settings):
    settings.TODAY = DAY
    ProfileFactory()


def said(response) -> list[str]:
    """What the page says that the last action did."""
    return [str(message) for message in response.context["messages"]]


def waiting() -> list[tuple]:
    return list(Message.objects.waiting().order_by("pk").values_list("kind", "about", "to"))


def test_one_press_sends_all_invoices_of_a_day_and_the_next_none(browser):
    MailSettingsFactory()
    ann, ben = (InvoiceFactory(client__email=f"{name}@barn.example") for name in ("ann", "ben"))
    InvoiceFactory(client=ClientFactory(name="Cora", phone="555-0116"), number="GF-9")
    close = reverse("billing:close-day", args=[DAY.isoformat()])

    page = browser.get(close).context["page"]
    pressed = [browser.post(f"{close}send/", follow=True) for _ in "ab"]

    assert page.mail.send_label == "Send 2 invoices"
    assert [said(answer) for answer in pressed] == [
        ["2 invoices queued to send."],
        ["There was nothing left to send."],
    ]
    assert waiting() == [
        ("invoice", ann.number, "ann@barn.example"),
        ("invoice", ben.number, "ben@barn.example"),
    ]
    after = pressed[1].context["page"]
    assert (after.mail.to_send, [row.row.more for row in after.issued]) == (
        [],
        [f"{ann.number}, waiting", f"{ben.number}, waiting", "GF-9"],
    )


def test_who_has_no_address_is_listed_for_printing_or_the_phone(browser):
    for name, phone in (("Zora", "+1 (555) 0116"), ("ann", "")):
        InvoiceFactory(client=ClientFactory(name=name, phone=phone), number=f"GF-{name}")

    mail = browser.get(reverse("billing:close-day", args=[DAY.isoformat()])).context["page"].mail

    assert [(row.row.name, row.label) for row in mail.to_print] == [
        ("ann", "Text ann"),
        ("Zora", "Text Zora"),
    ]
    assert [row.sms_url for row in mail.to_print] == [
        "",
        "sms:+15550116?body=Invoice%20GF-Zora%3A%20%24100.00%2C%20due%20October%2014%2C%202026."
        "%20Garrow%20Farriery",
    ]
    assert mail.print_label == "Print these 2"


def test_the_invoices_to_print_are_one_pdf_by_client(browser, monkeypatch):
    printed = []
    monkeypatch.setattr(
        "billing.views.mail.invoices_in_one_pdf", lambda rows, title: printed.append((rows, title)) or b"%PDF"
    )
    InvoiceFactory(client__email="ann@barn.example")
    rows = [InvoiceFactory(client=ClientFactory(name=name)) for name in ("Zora", "ben", "Ann")]

    answer = browser.get(reverse("billing:close-print-pdf", args=[DAY.isoformat()]))

    assert (answer.content, printed) == (b"%PDF", [(rows[::-1], "Invoices to print, Oct 14, 2026")])


def test_without_a_mail_server_the_pages_say_so_and_nothing_is_queued(browser):
    invoice = InvoiceFactory(client__email="ann@barn.example")
    send = reverse("billing:invoice-send", args=[invoice.pk])

    pages = [browser.get(url).content.decode() for url in (send, reverse("billing:message-list"))]
    answer = browser.post(send, {"to": "ann@barn.example", "subject": "a", "text": "b"})

    link = f'<a href="{reverse("billing:mail-settings")}">Set up mail</a>'
    assert [page.count(link) for page in pages] == [1, 1]
    assert "Mail is not set up." in answer.context["form"].non_field_errors()[0]
    assert Message.objects.count() == 0


def test_a_message_can_be_changed_before_it_is_sent(browser):
    MailSettingsFactory()
    invoice = InvoiceFactory(client=ClientFactory(name="Ann", email="ann@barn.example"), number="GF-1")
    url = reverse("billing:invoice-send", args=[invoice.pk])
    form = browser.get(url).context["form"]

    answer = browser.post(
        url, {"to": "other@barn.example", "subject": form["subject"].value(), "text": "Short."}, follow=True
    )

    message = Message.objects.get()
    assert said(answer) == ["On its way to other@barn.example."]
    assert (message.to, message.to_name, message.subject, message.text) == (
        "other@barn.example",
        "Ann",
        "Invoice GF-1 from Garrow Farriery",
        "Short.",
    )


def test_sending_an_invoice_a_second_time_is_asked_about(browser):
    MailSettingsFactory()
    invoice = InvoiceFactory(client__email="ann@barn.example")
    MessageFactory(about=invoice.number, to="ann@barn.example", state=State.SENT)
    url = reverse("billing:invoice-send", args=[invoice.pk])
    typed = {"to": "ann@barn.example", "subject": "a", "text": "b"}

    asked = browser.post(url, typed).context["form"]
    before = Message.objects.count()
    browser.post(url, typed | {"right": asked.tick})

    assert [row.message for row in asked.asked] == [
        "This was sent to ann@barn.example already. Send it once more?"
    ]
    assert (before, Message.objects.count()) == (1, 2)


def test_an_order_goes_to_its_supplier_and_its_page_shows_that(browser):
    MailSettingsFactory()
    order = OrderFactory(supplier=SupplierFactory(name="Tarn Iron", email="sales@tarn.example"), ref="O-1")
    url = reverse("billing:order-send", args=[order.pk])
    form = browser.get(url).context["form"]

    browser.post(url, {name: form[name].value() for name in ("to", "subject", "text")})

    assert waiting() == [("order", "O-1", "sales@tarn.example")]
    [row] = browser.get(order.get_absolute_url()).context["mail"].rows
    assert (row.name, row.fact, row.url) == ("Order", "Waiting", Message.objects.get().get_absolute_url())


def test_a_statement_goes_to_its_client_and_is_named_by_its_days(browser):
    MailSettingsFactory()
    client = ClientFactory(name="Ann Birch", email="ann@barn.example", ref="birch")
    InvoiceFactory(client=client, issued=DAY, net=Decimal(100))
    days = f"{DAY.isoformat()}/{DAY.isoformat()}"
    url = f"/clients/{client.pk}/statement/{days}/send/"
    form = browser.get(url).context["form"]

    browser.post(url, form.initial)

    [message] = Message.objects.all()
    assert (message.kind, message.about, message.to) == ("statement", f"{days}/birch", "ann@barn.example")
    assert "from October 14, 2026 to October 14, 2026. The balance on that day is $100.00." in message.text
    page = browser.get(message.get_absolute_url()).context
    assert page["named"] == "Statement from Oct 14, 2026 to Oct 14, 2026"
    assert page["url"] == f"/clients/{client.pk}/statement/?begin=2026-10-14&end=2026-10-14"
    assert page["papers"] == ["statement-ann-birch-2026-10-14.pdf"]
    [row] = browser.get(page["url"]).context["mail"].rows
    assert row.name == "Statement"


def text_with_a_link() -> None:
    MailSettingsFactory()
    MessageText.objects.create(kind="invoice", subject="Invoice {number}", text="See {link}\nThank you")


def test_a_link_in_the_wording_is_made_when_the_invoice_is_sent(browser, client, settings):
    settings.PUBLIC_ADDRESS = "https://book.example"
    text_with_a_link()
    invoice = InvoiceFactory(client__email="ann@barn.example")
    url = f"/invoices/{invoice.pk}/send/"
    form = browser.get(url).context["form"]
    assert not SharedLink.objects.exists()

    browser.post(url, form.initial)

    [message], [link] = Message.objects.all(), SharedLink.objects.all()
    assert form.initial["text"] == "See {link}\nThank you"
    assert message.text == f"See https://book.example/shared/{token_of(link)}/\nThank you"
    assert link.invoice == invoice


def test_one_press_for_all_makes_a_link_for_each(browser, settings):
    settings.PUBLIC_ADDRESS = "https://book.example"
    text_with_a_link()
    for _ in range(2):
        InvoiceFactory(client__email="ann@barn.example", issued=DAY)

    browser.post(f"/close/{DAY}/send/")

    shown = {f"https://book.example/shared/{token_of(link)}/" for link in SharedLink.objects.all()}
    assert {message.text.split()[1] for message in Message.objects.all()} == shown
    assert len(shown) == 2


def test_where_clients_cannot_reach_the_book_no_link_is_made_or_offered(browser):
    text_with_a_link()
    invoice = InvoiceFactory(client__email="ann@barn.example")
    url = f"/invoices/{invoice.pk}/send/"

    browser.post(url, browser.get(url).context["form"].initial)
    page = browser.get("/settings/texts/reminder-1/").content.decode()

    assert [message.text for message in Message.objects.all()] == ["See \nThank you"]
    assert not SharedLink.objects.exists()
    assert "{link}" not in page


@pytest.mark.parametrize("about", ["", "2026-10-14", "2026-10-14/x/birch", "2026-10-14/2026-10-14/nobody"])
def test_a_statement_that_the_book_no_longer_has_is_not_found(about):
    assert STATEMENT.find(about) is None


def test_credit_in_a_statement_is_in_the_clients_favor():
    client = ClientFactory()
    record_payment(client, DAY, Decimal(20), "cash")
    statement = statement_of(client, Period(DAY, DAY))

    assert STATEMENT.values(statement, Profile.current())["balance"] == "$20.00 in your favor"


def test_a_credit_note_goes_to_the_client_of_its_invoice(browser):
    MailSettingsFactory()
    invoice = InvoiceFactory(number="GF-1", client=ClientFactory(name="Ann", email="ann@barn.example"))
    note = issue_credit_note(invoice, DAY)
    url = reverse("billing:credit-note-send", args=[note.pk])
    form = browser.get(url).context["form"]

    browser.post(url, {name: form[name].value() for name in ("to", "subject", "text")})

    assert waiting() == [("credit-note", note.number, "ann@barn.example")]
    assert Message.objects.get().text.splitlines()[2] == (
        f"Attached is credit note {note.number}, dated October 14, 2026. It takes $100.00 off invoice GF-1."
    )
    [row] = browser.get(note.get_absolute_url()).context["mail"].rows
    assert (row.name, row.fact) == ("Credit note", "Waiting")


def test_a_doubtful_message_shows_two_buttons_and_each_does_what_it_says(browser):
    MailSettingsFactory()
    first, second = (MessageFactory(state=State.DOUBTFUL) for _ in "ab")
    page = browser.get(first.get_absolute_url())

    browser.post(reverse("billing:message-arrived", args=[first.pk]))
    browser.post(reverse("billing:message-again", args=[second.pk]))

    buttons = [f">{label}</button>" in page.content.decode() for label in ("It arrived", "Send again")]
    assert (page.context["heading"], buttons) == ("It may or may not have arrived.", [True, True])
    assert [Message.objects.get(pk=row.pk).state for row in (first, second)] == ["sent", "waiting"]


def test_the_first_page_tells_of_mail_that_needs_a_look(browser):
    HorseFactory()
    MessageFactory(state=State.SENT)
    told = [browser.get("/").context["home"].mail]

    MessageFactory(state=State.DOUBTFUL)
    for days in (6, 8):
        MessageFactory(state=State.REFUSED, queued_at=NOON - timedelta(days=days))
    told.append(browser.get("/").context["home"].mail)

    assert told == ["", "1 message may or may not have arrived. 1 message was not sent."]


def test_a_message_that_waits_can_be_stopped(browser):
    message = MessageFactory()

    answer = browser.post(reverse("billing:message-take-back", args=[message.pk]), follow=True)

    assert (said(answer), Message.objects.count()) == (["Deleted. It is not sent."], 0)


@pytest.mark.parametrize(
    ("query", "found"), [("", 3), ("?state=doubtful", 1), ("?q=cora", 1), ("?state=sent&q=cora", 0)]
)
def test_messages_are_found_by_state_and_words(browser, query, found):
    MessageFactory(to_name="Cora")
    MessageFactory(state=State.DOUBTFUL)
    MessageFactory(state=State.SENT)

    page = browser.get(reverse("billing:message-list") + query)

    assert len(page.context["table"].rows) == found
    assert page.context["heading"] == "1 message may or may not have arrived."
