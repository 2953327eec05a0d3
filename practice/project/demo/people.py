"""Who the demo practice works for: clients, places, horses and what each horse takes."""

from dataclasses import dataclass, field
from datetime import date, timedelta

from factory.random import randgen

from practice.project.demo import scenario
from practice.project.demo.factories import ClientRow, HorseRow, PlaceRow

MONTHLY_CLIENT = 1
EXEMPT_CLIENT = 24
SHARED = {5: [(0, "60"), (12, "40")], 22: [(9, "33.34"), (14, "33.33"), (18, "33.33")]}
SOLD = 33
WITHOUT_OWNER = 20


@dataclass
class DemoHorse:
    """One horse as the season knows it: its row, its cycle, and what is nailed to its feet."""

    row: dict
    place: int
    plan: str
    front: tuple[str, str]
    hind: tuple[str, str]
    nail: str
    pads: bool
    due: date
    jobs: int = 0
    cycle: timedelta = field(init=False)

    def __post_init__(self):
        self.cycle = timedelta(weeks=int(self.row["cycle_weeks"]))

    @property
    def ref(self) -> str:
        return self.row["ref"]

    def next_service(self) -> str:
        """Return the service that this cycle asks for; shod horses take a reset now and then."""
        self.jobs += 1
        if self.plan == "trim":
            return "trim"
        return "reset" if self.plan.startswith("full") and self.jobs % 3 == 0 else self.plan


def clients() -> list[dict]:
    """Return the client rows: one billed by the month, one exempt, one with a language of its own."""
    rows = [ClientRow() for _ in scenario.CLIENTS]
    rows[MONTHLY_CLIENT] |= {"billing": "monthly", "payment_terms_days": "30"}
    rows[EXEMPT_CLIENT] |= {"tax_exempt": "yes"}
    rows[11] |= {"language": "es-US"}
    return rows


def places() -> list[dict]:
    return [
        PlaceRow(name=name, area=area, east=east, north=north) for name, area, east, north in scenario.PLACES
    ]


def mounts(place_rows: list[dict], begin: date) -> list[DemoHorse]:
    """Return the horses, spread over the places, each due within its first cycle."""
    result = []
    for number, name in enumerate(scenario.HORSES):
        place = 6 if 10 <= number < 18 else randgen.randrange(len(place_rows))
        size = randgen.choice(["0", "1", "1", "2", "2"])
        plan = randgen.choices(
            ["trim", "fronts-hot", "fronts-cold", "full-hot", "full-cold"], [34, 22, 14, 18, 12]
        )[0]
        row = HorseRow(name=name, place=place_rows[place]["ref"], cautions=scenario.CAUTIONS.get(number, ""))
        result.append(
            DemoHorse(
                row=row,
                place=place,
                plan=plan,
                front=(randgen.choice(["plain", "plain", "toe-clip"]), size),
                hind=(randgen.choice(["plain", "side-clip"]), size),
                nail=randgen.choice(["slim-5", "slim-5", "slim-4", "regular-5"]),
                pads=plan.startswith("fronts") and randgen.randrange(5) == 0,
                due=begin + timedelta(days=randgen.randrange(42)),
            )
        )
    return result


def owners(horses: list[DemoHorse], clients: list[dict], begin: date, today: date) -> list[dict]:
    """Return the shares: most horses have one owner, two are shared, one was sold, one has none now."""
    sold_on = begin + (today - begin) / 2
    rows = []
    for number, horse in enumerate(horses):
        if number in SHARED:
            rows += [share(horse, clients[who], percent) for who, percent in SHARED[number]]
            continue
        who = MONTHLY_CLIENT if horse.place == 6 else number * 7 % len(clients)
        if number == SOLD:
            rows.append(share(horse, clients[who], "100", until=sold_on))
            rows.append(share(horse, clients[(who + 5) % len(clients)], "100", since=sold_on + timedelta(1)))
        elif number == WITHOUT_OWNER:
            rows.append(share(horse, clients[who], "100", until=today - timedelta(1)))
        else:
            rows.append(share(horse, clients[who], "100"))
    return rows


def share(horse: DemoHorse, client: dict, percent: str, since: date | None = None, until: date | None = None):
    return {
        "horse": horse.ref,
        "client": client["ref"],
        "share": percent,
        "from": since.isoformat() if since else "",
        "to": until.isoformat() if until else "",
    }
