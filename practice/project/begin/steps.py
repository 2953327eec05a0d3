"""The five steps of a new book: what is there, what is still missing."""

from collections.abc import Iterable
from dataclasses import dataclass

from billing.models import Price
from practice.lib.formats import counted, listed
from practice.lib.logo import logo_file
from practice.lib.profile import Profile
from practice.models import Client, Horse, Reading, Vehicle
from stock.models import Item, Movement

NUMBERS = ("Zero", "One", "Two", "Three", "Four", "Five")


@dataclass(frozen=True)
class BeginStep:
    """A step: its heading, what the book has of it (blank: nothing), and what is missing.

    It is done once nothing needed is missing; what is `useful` may be missing for good.
    """

    key: str
    heading: str
    why: str
    there: str = ""
    needed: tuple[str, ...] = ()
    useful: tuple[str, ...] = ()
    more: tuple[str, str] | None = None  # where the rest of it is: the name of an address, and its label

    @property
    def is_done(self) -> bool:
        return not self.needed

    @property
    def missing(self) -> str:
        """`Missing: address, how to pay`; blank where nothing is."""
        words = [*self.needed, *self.useful]
        return f"Missing: {', '.join(words)}" if words else ""

    @property
    def standing(self) -> str:
        """What stands beside the heading: what there is, and what is missing."""
        return ". ".join(filter(None, (self.there, self.missing)))


@dataclass(frozen=True)
class BeginPage:
    """All steps of a book in order."""

    steps: tuple[BeginStep, ...]

    @property
    def done(self) -> int:
        return sum(step.is_done for step in self.steps)

    @property
    def is_complete(self) -> bool:
        return self.done == len(self.steps)

    @property
    def answer(self) -> str:
        """`Two of five steps are done.`"""
        if self.is_complete:
            return "All five steps are done."
        if not self.done:
            return "Five steps to a book of your own."
        return f"{NUMBERS[self.done]} of five steps {'is' if self.done == 1 else 'are'} done."

    @property
    def left(self) -> str:
        """The headings of the steps that are not done, as a sentence lists them."""
        headings = [step.heading for step in self.steps if not step.is_done]
        return listed(heading[0].lower() + heading[1:] for heading in headings)

    @property
    def first_missing(self) -> str:
        """The key of the first step that is not done; blank where all are."""
        return next((step.key for step in self.steps if not step.is_done), "")


def _if_missing(*rows: tuple[object, str]) -> tuple[str, ...]:
    """Return the words of what is blank, from pairs of a value and its word."""
    return tuple(word for value, word in rows if not value)


def begin_page(profile: Profile) -> BeginPage:
    """Return the steps as the book stands."""
    return BeginPage(tuple(_steps(profile)))


def _steps(profile: Profile) -> Iterable[BeginStep]:
    prices = Price.objects.general().filter(service__isnull=False).values("service").distinct().count()
    items, counts = Item.objects.count(), Movement.objects.exists()
    clients, horses = Client.objects.count(), Horse.objects.count()
    vehicles, readings = Vehicle.objects.count(), Reading.objects.exists()
    yield BeginStep(
        "practice",
        "Your practice",
        "Printed at the top of every invoice.",
        profile.name,
        _if_missing((profile.name, "name"), (profile.country, "country")),
        _if_missing((profile.address, "address"), (profile.pay_note, "how to pay"), (logo_file(), "logo")),
        ("practice:settings", "Settings"),
    )
    yield BeginStep(
        "work",
        "Work and prices",
        "What you do and what it costs. Leave a row's price blank to leave it out. The prices apply from"
        " the start; when one changes, give it a new price from that day on.",
        counted(prices, "price") if prices else "",
        _if_missing((prices, "prices")),
        more=("practice:service-list", "Prices"),
    )
    yield BeginStep(
        "truck",
        "The truck",
        "Each pattern takes one row for all its sizes.",
        counted(items, "item") if items else "",
        _if_missing((items, "items"), (counts, "counts")),
        more=("stock:truck", "Truck"),
    )
    yield BeginStep(
        "clients",
        "Clients and horses",
        "One client at a time, with the horses at one place. Places in the book are found by their names.",
        f"{counted(clients, 'client')}, {counted(horses, 'horse')}" if clients or horses else "",
        _if_missing((clients, "clients"), (horses, "horses")),
        more=("practice:client-list", "Clients"),
    )
    yield BeginStep(
        "vehicle",
        "Your vehicle",
        "The odometer is where your mileage log begins.",
        counted(vehicles, "vehicle") if vehicles else "",
        _if_missing((vehicles, "vehicle"), (readings, "odometer")),
        more=("practice:vehicle-list", "Vehicles"),
    )


def begin_left(profile: Profile) -> BeginPage | None:
    """Return the steps where some are left and the page was not put away; None where nothing is asked for."""
    if profile.is_demo or profile.begin_put_away:
        return None
    page = begin_page(profile)
    return None if page.is_complete else page
