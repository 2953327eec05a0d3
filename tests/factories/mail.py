"""Messages and how they are sent."""

from datetime import UTC, datetime

import factory
from factory.django import DjangoModelFactory

from billing.models import MailSettings, Message
from tests.factories.billing import InvoiceFactory

NOON = datetime(2026, 10, 14, 12, 0, tzinfo=UTC)


class MailSettingsFactory(DjangoModelFactory):
    """A server on this machine without a login: nothing leaves the machine."""

    class Meta:
        model = MailSettings

    host = "127.0.0.1"
    port = 2525
    security = "none"
    from_name = "Garrow Farriery"
    from_address = "office@garrow.example"


class MessageFactory(DjangoModelFactory):
    """A message that waits, about an invoice."""

    class Meta:
        model = Message

    kind = "invoice"
    about = factory.LazyFunction(lambda: InvoiceFactory().number)
    to_name = factory.Sequence(lambda n: f"Client {n}")
    to = factory.Sequence(lambda n: f"client{n}@barn.example")
    subject = "Your invoice"
    text = "Hello"
    message_id = factory.Sequence(lambda n: f"<{n:04}@garrow.example>")
    queued_at = NOON
    next_try = NOON
