"""Estimated tax that was paid."""

from django.db import transaction

from billing.models import EstimatedPayment
from practice.lib.profile import Profile


@transaction.atomic
def save_estimated(payment: EstimatedPayment) -> EstimatedPayment:
    """Save a new or changed payment. Raises RuleBroken `day_closed` where its day is, or was, closed."""
    profile = Profile.current()
    profile.check_open(payment.date)
    if payment.pk:
        profile.check_open(EstimatedPayment.objects.get(pk=payment.pk).date)
    payment.save()
    return payment


@transaction.atomic
def delete_estimated(payment: EstimatedPayment) -> None:
    """Delete a payment. Raises RuleBroken `day_closed` where its day is closed."""
    Profile.current().check_open(payment.date)
    payment.delete()
