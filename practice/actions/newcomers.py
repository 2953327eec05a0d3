"""A client with horses and the place where they stand, brought into the book in one go."""

import uuid as uuids
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db import transaction

from practice.actions.horses import set_owners
from practice.actions.materials import take_materials
from practice.actions.visits import plan_visit
from practice.lib.errors import RuleBroken
from practice.lib.names import is_same_name
from practice.lib.profile import Profile
from practice.models import Client, Horse, MaterialUse, Place, Service, Visit, Work
from practice.rules.horse_work import FORE, HIND
from stock.actions.opening import raise_opening
from stock.models import Item


@dataclass(frozen=True)
class NewHorse:
    """A horse to be added. `others` are further owners with their shares in percent; the client has the rest.

    `last_done` and `service`: when it was last done, and what was done; None: not known. `front` and `hind`
    are the shoes that it wears.
    """

    name: str
    cycle_weeks: int = 6
    cautions: str = ""
    others: Sequence[tuple[str, Decimal]] = ()
    last_done: date | None = None
    service: Service | None = None
    front: Item | None = None
    hind: Item | None = None

    @property
    def worn(self) -> list[tuple[str, Item]]:
        feet = [(foot, self.front) for foot in FORE] + [(foot, self.hind) for foot in HIND]
        return [(foot, item) for foot, item in feet if item]

    @property
    def puts_shoes_on(self) -> bool:
        """Whether the last work put new shoes on: then they left the truck that day."""
        return bool(self.service and self.service.new_shoes)


@dataclass(frozen=True)
class NewClient:
    """A client by name, with the place by name. Who is in the book by that name is not made again."""

    name: str
    phone: str = ""
    email: str = ""
    address: str = ""
    place: str = ""
    place_address: str = ""
    horses: Sequence[NewHorse] = ()


def known_by_name(model: type, name: str):
    """Return the row in use that has this name to a reader, the first of several; None: there is none."""
    rows = model.objects.current().order_by("pk").values_list("pk", "name")
    key = next((pk for pk, other in rows if is_same_name(name, other)), None)
    return model.objects.get(pk=key) if key else None


@transaction.atomic
def add_client_with_horses(new: NewClient) -> Client:
    """Add a client, the place, and the horses with their owners and last work; return the client.

    The last work stands in a visit billed before the book was kept here, one for each day, so that the horse
    is due on the right day. Shoes that it put on leave the shelf, and the first count, taken later, is raised
    by them. What else a horse wears stands in its notes. Raises RuleBroken for shares that leave the
    client nothing, a last work without a place, and a day closed for good; then nothing is changed.
    """
    client = _named_or_new(Client, new.name, phone=new.phone, email=new.email, address=new.address)
    place = _named_or_new(Place, new.place, address=new.place_address) if new.place else None
    for each in new.horses:
        horse = Horse.objects.create(
            name=each.name,
            place=place,
            cycle_weeks=each.cycle_weeks,
            cautions=each.cautions,
            notes="" if each.puts_shoes_on else worn_in_words(each),
        )
        set_owners(horse, _shares(client, each), None)
        if each.last_done:
            _enter_last_work(horse, each)
    return client


@transaction.atomic
def add_horse_at_stop(
    visit: Visit,
    name: str,
    owner: Client | None = None,
    new_owner: str = "",
    phone: str = "",
    cycle_weeks: int = 6,
    uuid: uuids.UUID | None = None,
) -> Horse:
    """Add a horse that stands at a visit's place, owned by a client, else by `new_owner`; return it.

    With a `uuid` that is in the book already, that horse is returned and nothing is written.
    """
    if uuid and (known := Horse.objects.filter(uuid=uuid).first()):
        return known
    client = owner or _named_or_new(Client, new_owner, phone=phone)
    horse = Horse.objects.create(
        uuid=uuid or uuids.uuid4(), name=name, place=visit.place, cycle_weeks=cycle_weeks
    )
    set_owners(horse, [(client, Decimal(100))], None)
    return horse


@transaction.atomic
def plan_at_new_place(name: str, on: date, **plan) -> Visit:
    """Plan a call at a place that is not in the book yet; one of that name is not made again."""
    return plan_visit(_named_or_new(Place, name), on, **plan)


def _named_or_new(model: type, name: str, **more: str):
    """Return the row of this name, its blank fields filled in, or a new one."""
    row = known_by_name(model, name) or model(name=name)
    for field, value in more.items():
        setattr(row, field, getattr(row, field) or value)
    row.save()
    return row


def _shares(client: Client, new: NewHorse) -> list[tuple[Client, Decimal]]:
    rest = 100 - sum((share for _, share in new.others), Decimal(0))
    if rest <= 0:
        raise RuleBroken(
            "no_share_left",
            f"The other owners of {new.name} have 100 percent already. Leave {client} a share.",
        )
    return [(client, rest), *((_named_or_new(Client, name), share) for name, share in new.others)]


def worn_in_words(new: NewHorse) -> str:
    """Return `Wears Plain front, No 2 in front and Plain hind, No 1 behind.`, blank where it is not known."""
    parts = [f"{item} {where}" for item, where in ((new.front, "in front"), (new.hind, "behind")) if item]
    return f"Wears {' and '.join(parts)}." if parts else ""


def _enter_last_work(horse: Horse, new: NewHorse) -> None:
    if horse.place is None:
        raise RuleBroken("no_place", f"Enter the place where {horse} is kept, or leave out when it was done.")
    Profile.current().check_open(new.last_done)
    day = {"place": horse.place, "date": new.last_done, "status": Visit.Status.DONE, "billed": True}
    visit = Visit.objects.filter(**day).order_by("pk").first() or Visit.objects.create(**day)
    Work.objects.create(visit=visit, horse=horse, service=new.service)
    if not new.puts_shoes_on:
        return
    for item in dict.fromkeys(item for _, item in new.worn):
        raise_opening(item, Decimal(sum(item == other for _, other in new.worn)), new.last_done)
    uses = [
        MaterialUse(visit=visit, horse=horse, item=item, quantity=Decimal(1), foot=foot)
        for foot, item in new.worn
    ]
    take_materials(visit, MaterialUse.objects.bulk_create(uses))
