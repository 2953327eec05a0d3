"""Links by which a client sees one invoice or statement: made and ended."""

import uuid as uuids
from datetime import date, datetime, timedelta

from django.db import transaction

from billing.models import Invoice, SharedLink
from practice.lib.periods import Period
from practice.models import Client

# How long a link opens that a message brings.
OPENS_FOR = timedelta(30)


def share_invoice(
    invoice: Invoice, until: date, now: datetime, with_history: bool = False, uuid: uuids.UUID | None = None
) -> SharedLink:
    """Make a link to an invoice that opens through a day."""
    return _share(invoice.client, until, now, with_history, uuid, invoice=invoice)


def share_statement(
    client: Client,
    period: Period,
    until: date,
    now: datetime,
    with_history: bool = False,
    uuid: uuids.UUID | None = None,
) -> SharedLink:
    """Make a link to a client's statement that opens through a day."""
    return _share(client, until, now, with_history, uuid, begin=period.begin, end=period.end)


@transaction.atomic
def _share(client: Client, until: date, now: datetime, with_history: bool, uuid, **what) -> SharedLink:
    """Make a link; with a `uuid` that is in the book already, that link is returned."""
    if uuid and (known := SharedLink.objects.filter(uuid=uuid).first()):
        return known
    return SharedLink.objects.create(
        uuid=uuid or uuids.uuid4(),
        client=client,
        expires_on=until,
        made_at=now,
        with_history=with_history,
        **what,
    )


@transaction.atomic
def end_link(link: SharedLink, now: datetime) -> None:
    """End a link for good; one that has ended already stays as it was."""
    SharedLink.objects.filter(pk=link.pk, ended_at__isnull=True).update(ended_at=now)
