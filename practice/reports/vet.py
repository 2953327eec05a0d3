"""Whom to call about a horse: its own veterinarian, else the practice's."""

from dataclasses import dataclass

from practice.lib.profile import Profile
from practice.models import Horse
from practice.reports.reaching import tel_link


@dataclass(frozen=True)
class Vet:
    """A veterinarian as far as the book knows one."""

    name: str
    phone: str

    @property
    def link(self) -> str:
        """The address that dials the number; blank where there is none."""
        return tel_link(self.phone)

    @property
    def called(self) -> str:
        """What the link says: `Call Dr. Quill, 555-0142`."""
        return "Call " + ", ".join(filter(None, [self.name, self.phone]))


def vet_of(horse: Horse, profile: Profile) -> Vet:
    """Return the horse's own veterinarian where it has one, else the practice's."""
    own = Vet(horse.vet_name, horse.vet_phone)
    return own if own.name or own.phone else Vet(profile.vet_name, profile.vet_phone)
