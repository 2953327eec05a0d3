"""The signs that a finding is chosen from: the practice's own, or those that it starts with."""

from uuid import UUID, uuid5

from practice.lib.names import is_same_name
from practice.models import Sign
from practice.rules.signs import FIRST_SIGNS, FOR_VET

# What the UUIDs of the first signs are made of, so that they are the same in every book.
OF_FIRST_SIGNS = UUID("5b0c1f0a-3a7e-4b43-9d0e-6f3f2a1c7e55")


def first_signs() -> list[Sign]:
    """Return the signs that a practice starts with, as rows that are not saved."""
    return [
        Sign(uuid=uuid5(OF_FIRST_SIGNS, name), name=name, for_vet=name in FOR_VET, position=number)
        for number, name in enumerate(FIRST_SIGNS, start=1)
    ]


def all_signs() -> list[Sign]:
    """Return the signs in their order, archived ones too. As long as none was changed, none is saved."""
    return list(Sign.objects.order_by("position", "pk")) or first_signs()


def signs_to_choose() -> list[Sign]:
    """Return the signs that a new finding is chosen from."""
    return [sign for sign in all_signs() if not sign.archived]


def is_for_vet(name: str) -> bool:
    """Whether a sign is one to call the veterinarian about, also by a name that it had at first."""
    names = [*FOR_VET, *(sign.name for sign in all_signs() if sign.for_vet)]
    return any(is_same_name(name, other) for other in names)
