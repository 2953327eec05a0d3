"""A stop of the round: the horses there, what is to be known of them and the place, and the drive to it."""

from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from django.urls import reverse
from django.utils.text import capfirst

from practice.lib import formats
from practice.lib.addresses import NOT_IN_BOOK
from practice.lib.formats import counted
from practice.lib.list_rows import ListRow
from practice.lib.pages import round_url
from practice.lib.profile import Profile
from practice.models import Client, Leg, Owner, Place, Visit
from practice.reports.earlier_findings import EarlierFinding, earlier_findings
from practice.reports.horses_at_stop import HorseAtStop, horses_at, next_horse
from practice.reports.material_costs import cost_of_visit
from practice.reports.miles import miles_of
from practice.reports.on_phone import horse_on_phone
from practice.reports.reaching import clients_to_call, directions_to
from practice.reports.working_time import in_words, last_services, planned_times, sum_of_times


@dataclass(frozen=True)
class Stop:
    """A visit as its page shows it."""

    visit: Visit
    profile: Profile

    @cached_property
    def horses(self) -> list[HorseAtStop]:
        return horses_at(self.visit)

    @cached_property
    def due(self) -> list[HorseAtStop]:
        """The horses that are due and not done yet."""
        return [row for row in self.horses if row.is_due and not row.done]

    @cached_property
    def done(self) -> list[HorseAtStop]:
        return [row for row in self.horses if row.done]

    @cached_property
    def others(self) -> list[HorseAtStop]:
        """The horses that stand there and are not due, new ones last."""
        return [row for row in self.horses if not row.is_due and not row.done]

    @property
    def is_on_phone(self) -> bool:
        """Whether it is only on a phone so far."""
        return self.visit.pk == NOT_IN_BOOK

    @property
    def can_change(self) -> bool:
        """Whether work can be entered: it is not billed, and not canceled."""
        return not self.visit.is_fixed and self.visit.status != Visit.Status.CANCELLED

    @property
    def repeatable(self) -> list[HorseAtStop]:
        """The due horses with a last time, whose work can be repeated."""
        return [row for row in self.due if row.last] if self.can_change else []

    @property
    def repeatable_names(self) -> str:
        return formats.listed(row.horse for row in self.repeatable)

    @property
    def can_be_changed(self) -> bool:
        """Whether the stop itself can be moved, canceled and the like."""
        return not self.visit.is_fixed and not self.is_on_phone

    @property
    def horse_add_url(self) -> str:
        """The address of the form that adds a horse here."""
        return reverse("practice:visit-horse-add", args=[self.visit.pk])

    @property
    def new_horse_url(self) -> str:
        """The address of a horse's form here before the book knows the horse."""
        return self.visit.horse_url(horse_on_phone(self.visit))

    @property
    def can_be_done(self) -> bool:
        """Whether the stop can be ended, as the next thing to do: nobody waits."""
        return self.visit.status == Visit.Status.PLANNED and not self.first

    @property
    def done_look(self) -> str:
        """How the button looks that ends the stop: the main one, unless a horse is to be added first."""
        return "act-2" if self.is_on_phone else "act"

    @property
    def can_be_ended_early(self) -> bool:
        """Whether the stop can be ended although a horse waits."""
        return self.visit.status == Visit.Status.PLANNED and self.first is not None

    @property
    def can_arrive(self) -> bool:
        """Whether it is still to be said that we are here."""
        visit = self.visit
        return visit.status == Visit.Status.PLANNED and not visit.arrived and visit.date == self.profile.today

    @property
    def has_times(self) -> bool:
        """Whether there is a time to correct, or work to give one to."""
        return bool(self.visit.arrived or self.visit.leave or self.done)

    @property
    def arrive_entry(self) -> str:
        """What a phone's list says of our coming here."""
        return f"At {self.visit.place}"

    @property
    def done_entry(self) -> str:
        return f"{self.visit.place} is done"

    @property
    def round_url(self) -> str:
        return round_url(self.visit.date)

    @property
    def is_billed_here(self) -> bool:
        """Whether there is something to bill or to pay: it is over, or a horse is saved."""
        return self.visit.status != Visit.Status.PLANNED or bool(self.done)

    @property
    def has_thumb(self) -> bool:
        return bool(self.first or self.can_be_done)

    @cached_property
    def first(self) -> HorseAtStop | None:
        """The horse to start with; None where nobody waits, or what was billed stands."""
        return next_horse(self.horses) if self.can_change else None

    @property
    def waiting(self) -> list[HorseAtStop]:
        """The horses to start with, in order; none where nobody waits."""
        if self.first is None:
            return []
        return [self.first, *(row for row in self.due if row.horse != self.first.horse)]

    @property
    def worked_on(self) -> list[HorseAtStop]:
        """The horses that are due or done here: what is to be known of others can wait."""
        return [*self.due, *self.done]

    @property
    def with_cautions(self) -> list[HorseAtStop]:
        return [row for row in self.worked_on if row.horse.cautions]

    @property
    def with_notes(self) -> list[HorseAtStop]:
        return [row for row in self.worked_on if row.horse.notes]

    @cached_property
    def earlier_findings(self) -> list[EarlierFinding]:
        """What was seen on these horses before and is not seen to yet."""
        findings = earlier_findings([row.horse for row in self.worked_on], self.visit, self.profile)
        return [row for row in findings if not row.is_resolved]

    @property
    def for_vet(self) -> list[EarlierFinding]:
        """The findings that were for the veterinarian."""
        return [row for row in self.earlier_findings if row.is_for_vet]

    @property
    def to_look_at(self) -> list[ListRow]:
        """The other findings; each opens the horse's form, where it is marked as seen to."""
        rows = [row for row in self.earlier_findings if not row.is_for_vet]
        return [
            ListRow(self.visit.horse_url(row.horse), str(row.horse), f"{row.seen} {row.when}") for row in rows
        ]

    @property
    def directions(self) -> str:
        return directions_to(self.visit.place)

    @cached_property
    def calls(self) -> list[tuple[Place | Client, str]]:
        """Whom to call about the place, each with the address that dials the number."""
        return clients_to_call(self.visit.place, self.visit.date)

    @cached_property
    def payers(self) -> list[Client]:
        """The owners of the horses that are due or done, who may pay here before it is done."""
        if self.visit.is_fixed or self.visit.status != Visit.Status.PLANNED:
            return []
        horses = [row.horse for row in self.worked_on]
        owners = Owner.objects.on(self.visit.date).filter(horse__in=horses)
        return list(Client.objects.filter(pk__in=owners.values("client")).order_by("name", "pk"))

    @property
    def knows_place(self) -> bool:
        """Whether there is anything to say of the place and the horses there."""
        place = self.visit.place
        known = (place.address, place.notes, place.phone, place.gate_code)
        return any(known) or bool(self.with_notes or self.directions or self.calls)

    @property
    def answer(self) -> str:
        """Who is due there, as the page's heading says it."""
        due = len(self.due)
        if self.is_on_phone:
            return f"{self.visit.place} is saved on this phone."
        if due:
            return f"{counted(due, 'horse')} {'is' if due == 1 else 'are'} due at {self.visit.place}."
        if self.done:
            return f"Every horse due at {self.visit.place} is done."
        return f"No horse is due at {self.visit.place}."

    @cached_property
    def time(self) -> str:
        """How long the horses that are due will take: `About 1 h 20 min.` Blank where nobody knows."""
        if not self.can_change or self.visit.date < self.profile.today:
            return ""
        last = last_services({row.horse.pk: row.last for row in self.due if row.last})
        planned = planned_times(last)
        if not planned:
            return ""
        unknown = [row.horse for row in self.due if row.horse.pk not in planned]
        without = f", not counting {formats.listed(unknown)}" if unknown else ""
        return f"{capfirst(in_words(sum_of_times(planned.values())))} of work{without}."

    @property
    def status(self) -> str:
        """`planned, Truck`, `done, invoiced, Truck`."""
        words = [self.visit.get_status_display().lower()]
        if self.visit.locked:
            words.append("invoiced")
        elif self.visit.billed:
            words.append("billed before this book")
        return ", ".join([*words, *([str(self.visit.vehicle)] if self.visit.vehicle else [])])

    @cached_property
    def legs(self) -> list[Leg]:
        return list(self.visit.legs.select_related("vehicle").order_by("pk"))

    @cached_property
    def business_distance(self) -> Decimal | None:
        """The drives there with the visit's part of the drive home, in the practice's distance unit."""
        return miles_of([self.visit.pk]).get(self.visit.pk)

    @cached_property
    def materials_cost(self) -> Decimal:
        return sum(cost_of_visit(self.visit).values(), Decimal(0))

    @cached_property
    def has_used_materials(self) -> bool:
        """Whether something left the truck for it, which can come back."""
        return self.visit.materials.filter(movement__isnull=False).exists()

    @property
    def lacks_drive(self) -> bool:
        return not self.legs and self.visit.vehicle is not None
