"""Pairing a phone: whoever is logged in makes a code, which lets one phone in within ten minutes.

The phone then has a session of its own with its name in it (`practice/project/logins.py`). What is wrong with
a code is not said: mistyped, used, old and ended codes are refused alike, in the same time.
"""

import secrets
from datetime import datetime, timedelta

from django.db import transaction
from django.utils.crypto import constant_time_compare

from practice.lib.errors import RuleBroken
from practice.models import PairingCode

GOOD_FOR = timedelta(minutes=10)
MOST_WRONG = 10


def make_code(user, now: datetime) -> PairingCode:
    """Make the code of a login; the one before it ends."""
    with transaction.atomic():
        PairingCode.objects.filter(ends_at__lt=now).delete()
        PairingCode.objects.filter(user=user).delete()
        return PairingCode.objects.create(user=user, seed=secrets.token_hex(16), ends_at=now + GOOD_FOR)


def open_code(user, now: datetime) -> PairingCode | None:
    """Return the code of a login while it lets a phone in."""
    found = PairingCode.objects.filter(user=user).first()
    return found if found and is_open(found, now) else None


def is_open(code: PairingCode, now: datetime) -> bool:
    """Whether a code still lets a phone in. A clock that is set back does not make it last longer."""
    return code.wrong_tries < MOST_WRONG and timedelta(0) < code.ends_at - now <= GOOD_FOR


def use_code(typed: str, now: datetime):
    """Return the login whose code was typed; the code is used up with that.

    Raises RuleBroken("code_refused") for any other. That counts against each open code: after ten wrong tries
    in all, none of them is open any more.
    """
    user = _take(plain(typed), now)
    if user is None or not user.is_active:
        raise RuleBroken(
            "code_refused",
            "This code does not work. It may be mistyped, used already, or more than ten minutes old."
            " Check it, or make a new one on the computer.",
        )
    return user


def plain(typed: str) -> str:
    """Return a code as it was made, however it was typed."""
    return "".join(each for each in typed.upper() if each.isalnum())


def in_groups(code: str) -> str:
    """Return a code as it is shown: `K7M2-9QXD`."""
    return f"{code[:4]}-{code[4:]}"


@transaction.atomic
def _take(typed: str, now: datetime):
    """Use up the code that was typed and return its login, or count a wrong try and return None.

    The codes are locked meanwhile: of two phones with one code, the second finds it gone.
    """
    codes = [code for code in PairingCode.objects.select_for_update().order_by("pk") if is_open(code, now)]
    right = [code for code in codes if constant_time_compare(code.code, typed)]
    if right:
        user = right[0].user
        right[0].delete()
        return user
    for code in codes:
        code.wrong_tries += 1
        code.save(update_fields=["wrong_tries"])
    return None
