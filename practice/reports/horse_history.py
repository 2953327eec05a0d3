"""What was done to a horse, told visit by visit and foot by foot, and what it usually takes."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import Finding, Horse, MaterialUse
from practice.reports.history import PastVisit
from practice.reports.material_costs import cost_of_horse
from practice.rules.by_foot import NO_FOOT, Got, got_by_foot, told_by_foot, usual_by_foot

# So many of the last shoeings say what is usual.
USUAL_OF = 6


@dataclass(frozen=True)
class HorseHistory:
    """Visits to a horse, the latest first. `costs` of materials and `findings` by the visit's key."""

    horse: Horse
    visits: list[PastVisit]
    costs: dict[int, Decimal]
    findings: dict[int, list[Finding]]
    profile: Profile

    @property
    def rows(self) -> list[ListRow]:
        return [self.row(visit) for visit in self.visits]

    def row(self, past: PastVisit) -> ListRow:
        """Return a visit: what was done, where, what each foot got and what was seen in it."""
        told = [f"{past.visit.place}.", *told_by_foot(self.got_at(past)), *self._seen(past)]
        return ListRow(
            past.visit.horse_url(self.horse),
            past.services or "Materials",
            more=" ".join(told),
            fact=formats.medium_date(past.date, self.profile.locale),
            note=self._cost(past),
        )

    def got_at(self, past: PastVisit) -> dict[str, Got]:
        return got_by_foot((use.foot, self._thing(use)) for use in past.materials)

    def _thing(self, use: MaterialUse) -> str:
        """Return a use in words: a shoe by its name alone, `6 × Nails, slim No 4`."""
        if use.quantity == 1 and use.item.is_counted_singly:
            return str(use.item)
        return f"{formats.quantity_of(use.quantity, use.item.unit, self.profile.locale)} × {use.item}"

    def _seen(self, past: PastVisit) -> list[str]:
        found = self.findings.get(past.visit.pk, [])
        return [f"Seen: {row.kind} ({row.get_foot_display().lower()}, {row.zone})." for row in found]

    def _cost(self, past: PastVisit) -> str:
        cost = self.costs.get(past.visit.pk)
        return f"materials {formats.money(cost, self.profile.currency, self.profile.locale)}" if cost else ""

    @property
    def usual(self) -> list[str]:
        """What the horse usually takes, in sentences; none where it never took anything at a shoeing."""
        shod = [past for past in self.visits if any(work.service.resets_cycle for work in past.work)]
        recent = shod[:USUAL_OF]
        if not recent:
            return []
        services = usual_by_foot(
            [{NO_FOOT: tuple(str(work.service) for work in past.work)} for past in recent]
        )
        told = told_by_foot(usual_by_foot([self.got_at(past) for past in recent]))
        return [f"{', '.join(services.get(NO_FOOT, ()))}.", *told]


def history_of(horse: Horse, visits: list[PastVisit], profile: Profile) -> HorseHistory:
    """Return these visits to a horse with what they cost and what was seen."""
    keys = [past.visit.pk for past in visits]
    return HorseHistory(horse, visits, cost_of_horse(horse, keys), findings_by_visit(horse, keys), profile)


def findings_by_visit(horse: Horse, keys: Iterable[int]) -> dict[int, list[Finding]]:
    found = defaultdict(list)
    for finding in horse.findings.filter(visit__in=keys).order_by("pk"):
        found[finding.visit_id].append(finding)
    return dict(found)
