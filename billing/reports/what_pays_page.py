"""What the page of what pays shows, in words."""

from dataclasses import dataclass

from billing.reports.what_pays import EarningsRow, WhatPays
from billing.reports.year.words import Words
from billing.rules.paying import CLIENT, HORSE, PLACE, SERVICE
from practice.lib import formats
from practice.lib.profile import Profile
from practice.lib.ranking import RankedRow, Ranking, ranking
from practice.lib.tables import ListRow

VIEWS = {PLACE: "Places", CLIENT: "Clients", HORSE: "Horses", SERVICE: "Services"}
MOST_STOPS = 20


@dataclass(frozen=True)
class WhatPaysPage:
    """A year's earnings as their page shows them, `by` places, clients, horses or services."""

    report: WhatPays
    by: str
    profile: Profile

    @property
    def words(self) -> Words:
        return Words(self.profile)

    @property
    def heading(self) -> str:
        total = self.report.total
        if total is None:
            return "No work done this year yet."
        if total.an_hour is None:
            return f"You earned {self.words.money(total.left)}, after materials and driving."
        return f"You earned {self.words.money(total.an_hour)} an hour, after materials and driving."

    @property
    def lead(self) -> str:
        """How the heading's figure comes about, how many stops lost money, and how many are left out."""
        report, total, words = self.report, self.report.total, self.words
        if total is None:
            return ""
        work = f"{words.money(total.income)} for work, less {words.money(total.materials)} for materials"
        if report.by:
            rate = f"{words.price(report.per_distance)} per {self.profile.unit.one}, {report.by}"
            sentences = [f"{work} and {words.distance(total.distance)} of driving at {rate}."]
        else:
            sentences = [f"{work}. No business drive is logged."]
        sentences.append(self._losing())
        if report.held:
            be = "is" if report.held == 1 else "are"
            sentences.append(f"{formats.counted(report.held, 'stop')} {be} held back and left out.")
        return " ".join(sentences)

    def _losing(self) -> str:
        losing = len(self.report.losing)
        if not losing:
            return "No stop cost more than it brought in."
        they = "it" if losing == 1 else "they"
        return f"{formats.counted(losing, 'stop')} cost more than {they} brought in."

    @property
    def rows(self) -> list[EarningsRow]:
        return self.report.views.get(self.by, [])

    @property
    def rows_heading(self) -> str:
        return f"{VIEWS[self.by]}, best paid first"

    @property
    def ranking(self) -> Ranking | None:
        """What an hour earned, best first; where there are many, the first ten and the last five."""
        known = [row for row in self.rows if row.an_hour is not None]
        if not known:
            return None
        rows = [RankedRow(str(row.thing), row.an_hour, self.words.money(row.an_hour)) for row in known]
        ends = f"From {rows[0].figure} to {rows[-1].figure} an hour."
        return ranking(
            rows,
            title="Earned per hour of work, best first",
            description=f"{ends} The table below has each figure.",
        )

    @property
    def losing_heading(self) -> str:
        if len(self.report.losing) <= MOST_STOPS:
            return "Stops that lost money"
        return f"Stops that lost money, the worst {MOST_STOPS}"

    @property
    def losing(self) -> list[ListRow]:
        """The stops that lost most, as rows that open."""
        words = self.words
        return [
            ListRow(
                row.thing.get_absolute_url(),
                str(row.thing.place),
                f"{words.day(row.thing.date)}: {words.money(row.income)} for work,"
                f" {words.distance(row.distance)} of driving, {words.money(row.materials)} for materials",
                words.money(row.left),
                late=True,
            )
            for row in self.report.losing[:MOST_STOPS]
        ]
