"""The message that brings a client's statement."""

from datetime import date, datetime
from decimal import Decimal

from django.urls import reverse
from django.utils.timezone import localtime

from billing.actions.sharing import OPENS_FOR, share_statement
from billing.models import SharedLink
from billing.papers.client_words import ClientWords
from billing.papers.invoice_messages import recipient_of
from billing.papers.message_kinds import LINK_EXAMPLE, MessageKind, Recipient, Wording, link_to_come
from billing.papers.statement import statement_file_name, statement_pdf
from billing.reports.statement import Statement, statement_of
from practice.lib import formats
from practice.lib.mail import Enclosure
from practice.lib.periods import Period
from practice.lib.profile import Profile
from practice.models import Client

LONGEST_KEY = 170


class StatementMessage(MessageKind):
    """A statement is no row of the book: its key names days and client, `2026-08-01/2026-10-31/C-7`."""

    code, name = "statement", "Statement"
    placeholders = {
        "client": "Ann Birch",
        "begin": "August 1, 2026",
        "end": "October 31, 2026",
        "balance": "$172.00",
        "how_to_pay": "By mail: check to Garrow Farriery",
        "practice": "Garrow Farriery",
        "phone": "555-0100",
        **LINK_EXAMPLE,
    }
    wording = Wording(
        "Statement of {end} from {practice}",
        "Hello {client},\n\n"
        "Attached is your statement from {begin} to {end}. The balance on that day is {balance}.\n\n"
        "{how_to_pay}\n\n"
        "Thank you,\n{practice}\n{phone}",
    )

    def about(self, statement: Statement) -> str:
        client, days = statement.client, statement.period
        key = client.key if len(client.key) <= LONGEST_KEY else client.uuid
        return f"{days.begin.isoformat()}/{days.end.isoformat()}/{key}"

    def find(self, about: str) -> Statement | None:
        days, key = self._read(about)
        if days is None:
            return None
        try:
            return statement_of(Client.objects.by_key(key), days)
        except Client.DoesNotExist:
            return None

    def named(self, about: str, profile: Profile) -> str:
        days, _ = self._read(about)
        if days is None:
            return super().named(about, profile)
        begin, end = (formats.medium_date(day, profile.locale) for day in (days.begin, days.end))
        return f"{self.name} from {begin} to {end}"

    @staticmethod
    def _read(about: str) -> tuple[Period | None, str]:
        """Return the days and the client's key of a statement; None where a key does not say them."""
        begin, _, rest = about.partition("/")
        end, _, key = rest.partition("/")
        try:
            return Period(date.fromisoformat(begin), date.fromisoformat(end)), key
        except ValueError:
            return None, ""

    def address(self, statement: Statement) -> str:
        days = statement.period
        page = reverse("billing:statement", args=[statement.client.pk])
        return f"{page}?begin={days.begin.isoformat()}&end={days.end.isoformat()}"

    def recipient(self, statement: Statement) -> Recipient:
        return recipient_of(statement.client)

    def values(self, statement: Statement, profile: Profile) -> dict[str, str]:
        words, days = ClientWords(statement, profile), statement.period
        return {
            "client": statement.client.name,
            "begin": formats.long_date(days.begin, words.locale),
            "end": formats.long_date(days.end, words.locale),
            "balance": balance_in_words(statement.course.closing, words),
            "how_to_pay": profile.pay_note.replace("\r\n", "\n"),
            "practice": profile.name,
            "phone": profile.phone,
            **link_to_come(),
        }

    def share(self, statement: Statement, now: datetime) -> SharedLink:
        until = localtime(now).date() + OPENS_FOR
        return share_statement(statement.client, statement.period, until, now)

    def enclosures(self, statement: Statement) -> list[Enclosure]:
        return [Enclosure(self.enclosed(statement)[0], statement_pdf(statement))]

    def enclosed(self, statement: Statement) -> list[str]:
        return [f"{statement_file_name(statement)}.pdf"]


def balance_in_words(balance: Decimal, words: ClientWords) -> str:
    """Return a balance as a sentence says it: `$172.00`, or `$90.00 in your favor`."""
    return f"{words.money(-balance)} in your favor" if balance < 0 else words.money(balance)


STATEMENT = StatementMessage()
