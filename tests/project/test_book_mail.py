"""Messages, their wording and disputes in the book and in backups: nothing is ever sent from two books."""

from datetime import timedelta

import pytest

from billing.actions.delivering import send_waiting
from billing.actions.message_texts import set_text
from billing.actions.reminding import open_dispute, settle_dispute
from billing.models import Dispute, Message, MessageAttempt
from billing.papers.invoice_messages import INVOICE, REMINDERS
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from tests.factories.billing import InvoiceFactory
from tests.factories.mail import NOON, MailSettingsFactory, MessageFactory
from tests.factories.practice import DAY, ProfileFactory
from tests.mail_server import mail_server

pytestmark = pytest.mark.django_db
MESSAGES = "ref,kind,about,recipient,address,subject,text,message_id,state,queued_at\n"


@pytest.fixture
def told(tmp_path):
    """An export of a book with a message in every state, an own wording and two disputes."""
    ProfileFactory()
    invoice = InvoiceFactory(number="GF-1", client__ref="ann")
    for number, state in enumerate(Message.State.values):
        MessageFactory(
            ref=f"m{number}",
            about="GF-1",
            to="ann@barn.example",
            to_name="Ann",
            message_id=f"<{number}@x>",
            state=state,
        )
    MessageAttempt.objects.create(
        message=Message.objects.get(ref="m3"), at=NOON, what="refused", note="550 no"
    )
    set_text(INVOICE, "Bill {number}", "Two\nlines")
    set_text(REMINDERS[0], "Please", "Pay", 10)
    settle_dispute(open_dispute(invoice, "Two shoes, not four.", DAY), DAY)
    open_dispute(invoice, "Still", DAY + timedelta(days=1))
    export_book(tmp_path / "out")
    return tmp_path / "out"


def rows_of(folder, file: str) -> list[str]:
    return (folder / file).read_text(encoding="utf-8").splitlines()[1:]


def test_what_waits_goes_out_as_not_sent_and_what_is_being_sent_as_not_known(told):
    states = [row.split(",")[-2] for row in rows_of(told, "messages.csv")]

    assert states == ["refused", "doubtful", "sent", "refused", "doubtful"]
    assert rows_of(told, "messages.csv")[0] == (
        "m0,invoice,GF-1,Ann,ann@barn.example,Your invoice,Hello,<0@x>,refused,2026-10-14T12:00:00+00:00"
    )
    assert rows_of(told, "message_attempts.csv") == ["m3,2026-10-14T12:00:00+00:00,refused,550 no"]
    assert rows_of(told, "disputes.csv") == [
        'GF-1,2026-10-14,"Two shoes, not four.",2026-10-14',
        "GF-1,2026-10-15,Still,",
    ]


def test_what_is_in_the_book_is_known(told):
    report = import_book(told)

    assert report.problems == []
    assert {(row["new"], row["updated"]) for row in report.files} == {(0, 0)}


@pytest.mark.slow
def test_mail_comes_back_the_same(told, check_it_comes_back):
    check_it_comes_back(told)


def test_nothing_that_was_imported_is_sent_by_itself(told):
    Message.objects.all().delete()
    import_book(told)

    with mail_server() as server:
        MailSettingsFactory(port=server.port)
        ended = send_waiting(lambda: NOON + timedelta(days=1), only_due=False)

    assert (ended.total(), server.letters, Message.objects.count()) == (0, [], 5)


def test_an_own_wording_and_a_dispute_follow_the_folder(told):
    texts, disputes = told / "message_texts.csv", told / "disputes.csv"
    texts.write_text(texts.read_text().replace("Bill {number}", "Invoice {number}"))
    disputes.write_text(disputes.read_text().replace("Still,", "Still,2026-10-20"))

    report = import_book(told)

    assert report.problems == []
    assert INVOICE.own_wording().subject == "Invoice {number}"
    assert not Dispute.objects.open().exists()


@pytest.mark.parametrize(
    ("file", "rows", "column", "said"),
    [
        (
            "message_texts.csv",
            "kind,subject,text\norder,Order,For {client}\n",
            "text",
            "{client} is not filled in here."
            " Use {supplier}, {number}, {date}, {practice}, {address}, {phone}.",
        ),
        (
            "message_texts.csv",
            "kind,subject,text,days\ninvoice,a,b,7\n",
            "days",
            "is only for a reminder",
        ),
        (
            "messages.csv",
            MESSAGES + "m9,invoice,GF-1,,ann@x.example,a,b,<9@x>,waiting,2026-10-14T12:00:00+00:00\n",
            "state",
            '"waiting" is not one of sent, refused, doubtful',
        ),
        (
            "messages.csv",
            MESSAGES + "m9,invoice,GF-1,,ann@x.example,a,b,<0@x>,sent,2026-10-14T12:00:00+00:00\n",
            "message_id",
            '"<0@x>" is the ID of another message',
        ),
        (
            "disputes.csv",
            "invoice,opened_on,note\nGF-1,2026-10-20,Again\n",
            "settled_on",
            'invoice "GF-1" has another open dispute',
        ),
        (
            "disputes.csv",
            "invoice,opened_on,note,settled_on\nGF-1,2026-10-20,Again,2026-10-19\n",
            "settled_on",
            "2026-10-19 is before 2026-10-20",
        ),
    ],
)
def test_what_cannot_be_is_refused(told, tmp_path, file, rows, column, said):
    folder = tmp_path / "in"
    folder.mkdir()
    (folder / file).write_text(rows, encoding="utf-8")

    report = import_book(folder)

    assert [(each.file, each.column, each.message) for each in report.problems] == [(file, column, said)]
    assert Message.objects.count() == 5
