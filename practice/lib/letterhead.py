"""What stands at the head of every paper that leaves the practice."""

from dataclasses import dataclass

from practice.lib.logo import logo_file
from practice.lib.profile import Profile


@dataclass(frozen=True, kw_only=True)
class Letterhead:
    """The practice as its papers show it. `size` is `Letter` or `A4`, `logo` an asset's address or blank."""

    language: str
    size: str
    initials: str
    logo: str
    practice_name: str
    practice_address: str
    contact: list[str]
    registration: list[str]


def letterhead(profile: Profile, locale: str, name: str = "", address: str = "") -> dict:
    """Return the fields of `Letterhead`; a name and address kept with a paper win over the practice's."""
    logo = logo_file()
    return {
        "language": locale,
        "size": profile.home_country.paper,
        "initials": initials(name or profile.name),
        "logo": f"asset:///logo/{logo.name}" if logo else "",
        "practice_name": name or profile.name,
        "practice_address": address or profile.address,
        "contact": [text for text in (profile.phone, profile.email) if text],
        "registration": [
            f"{label} {text}"
            for label, text in (("Registered", profile.registration_number), ("Tax no.", profile.tax_id))
            if text
        ],
    }


def initials(name: str) -> str:
    """Return the first letters of the first two words of a name, for the touchmark."""
    return "".join(word[0] for word in name.split()[:2] if word[0].isalnum()).upper()
