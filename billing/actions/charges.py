"""Charges: added, changed and deleted until they are invoiced."""

import uuid as uuids
from datetime import date
from decimal import Decimal

from django.db import transaction

from billing.models import Charge
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.models import Client, Visit

FIELDS = ("date", "name", "kind", "quantity", "unit_price", "taxable")


@transaction.atomic
def add_charge(
    client: Client,
    on: date,
    name: str,
    unit_price: Decimal,
    *,
    quantity: Decimal = Decimal(1),
    taxable: bool = False,
    kind: str = Charge.Kind.OTHER,
    visit: Visit | None = None,
    ref: str = "",
    uuid: uuids.UUID | None = None,
) -> Charge:
    """Add a charge, below zero a discount; it goes on the client's invoice of its day or month.

    With a `uuid` that is in the book already, that charge is returned and nothing is written. Raises
    RuleBroken("day_closed") for a day that is closed for good, and `charge_of_nothing`.
    """
    if uuid and (known := Charge.objects.filter(uuid=uuid).first()):
        return known
    _check(Profile.locked(), on, unit_price)
    return Charge.objects.create(
        uuid=uuid or uuids.uuid4(),
        ref=ref,
        client=client,
        date=on,
        name=name,
        unit_price=unit_price,
        quantity=quantity,
        taxable=taxable,
        kind=kind,
        visit=visit,
    )


@transaction.atomic
def change_charge(charge: Charge, facts: dict) -> Charge:
    """Change what is said of a charge: the `facts` given, by field.

    Raises RuleBroken as `add_charge` does, for its old and its new day, and `charge_invoiced`.
    """
    profile = Profile.locked()
    charge = _open_charge(charge, profile)
    for name in FIELDS:
        setattr(charge, name, facts.get(name, getattr(charge, name)))
    _check(profile, charge.date, charge.unit_price)
    charge.save(update_fields=FIELDS)
    return charge


@transaction.atomic
def delete_charge(charge: Charge) -> None:
    """Delete a charge. Raises RuleBroken `charge_invoiced`, and `day_closed` for a closed day."""
    _open_charge(charge, Profile.locked()).delete()


def _open_charge(charge: Charge, profile: Profile) -> Charge:
    """Return the charge as it is now, under the lock of whoever issues invoices."""
    charge = Charge.objects.select_related("line__invoice").get(pk=charge.pk)
    if charge.invoice:
        raise RuleBroken(
            "charge_invoiced",
            f"This charge is on invoice {charge.invoice}, so it stays as it is. Credit it there.",
        )
    profile.check_open(charge.date)
    return charge


def _check(profile: Profile, on: date, unit_price: Decimal) -> None:
    profile.check_open(on)
    if not unit_price:
        raise RuleBroken("charge_of_nothing", "Enter an amount above 0, or below 0 for a discount.")
