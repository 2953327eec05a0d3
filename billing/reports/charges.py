"""Charges as rows of a client's account and of a stop."""

from collections.abc import Iterable

from django.urls import reverse

from billing.models import Charge
from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import Visit
from practice.rules.charges import line_amount


def charge_rows(charges: Iterable[Charge], profile: Profile, names_client: bool = False) -> list[ListRow]:
    """Return a row for each charge; it opens the charge while that can be changed, else its invoice.

    `charges` come from `for_list()`. `names_client`: each says whose it is.
    """
    return [_row(charge, profile, names_client) for charge in charges]


def _row(charge: Charge, profile: Profile, names_client: bool) -> ListRow:
    amount = line_amount(charge.quantity, charge.unit_price, profile.currency)
    about = [str(charge.client)] if names_client else []
    about.append(formats.medium_date(charge.date, profile.locale))
    if charge.visit and not names_client:
        about.append(str(charge.visit.place))
    return ListRow(
        charge.invoice.get_absolute_url() if charge.invoice else charge.get_absolute_url(),
        charge.name,
        more=", ".join(about),
        fact=formats.amount(amount, profile.currency, profile.locale),
        note=str(charge.invoice) if charge.invoice else "not invoiced yet",
    )


def link_to_add(visit: Visit, charges: Iterable[Charge]) -> tuple[str, str]:
    """Return where a stop's next charge is added, and the words of that link.

    A canceled stop asks for its no-show, until that is charged.
    """
    url = reverse("billing:visit-charge-add", args=[visit.pk])
    is_charged = any(charge.kind == Charge.Kind.NO_SHOW for charge in charges)
    if visit.status == Visit.Status.CANCELLED and not is_charged:
        return f"{url}?kind={Charge.Kind.NO_SHOW}", "Charge for the no-show"
    return f"{url}?kind={Charge.Kind.AFTER_HOURS}", "Add a charge"
