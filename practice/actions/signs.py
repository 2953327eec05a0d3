"""Signs: add one to the practice's list, or change one."""

from uuid import UUID

from django.db import transaction

from practice.lib.errors import RuleBroken
from practice.lib.names import is_same_name
from practice.lib.profile import Profile
from practice.models import Sign
from practice.reports.signs import all_signs, first_signs


@transaction.atomic
def save_sign(sign: Sign, uuid: UUID | None = None) -> Sign:
    """Save a new or changed sign; one without a position goes to the end. A new one takes the UUID.

    The first time, the signs that every practice starts with are written down too. Findings keep the name
    that they were recorded by. Raises RuleBroken for a name that another sign has.
    """
    Profile.locked()
    sign.uuid = uuid or sign.uuid
    known = all_signs()
    if any(other.uuid != sign.uuid and is_same_name(other.name, sign.name) for other in known):
        raise RuleBroken("sign_known", f"There is a sign named {sign.name} already. Change that one instead.")
    sign.position = sign.position or 1 + max(other.position for other in known)
    if not Sign.objects.exists():
        Sign.objects.bulk_create(first for first in first_signs() if first.uuid != sign.uuid)
    sign.save()
    return sign
