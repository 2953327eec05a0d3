"""Who the demo practice works for: clients, places, horses and what each horse takes."""

from dataclasses import dataclass, field
from datetime import date, timedelta

from factory.random import randgen

from practice.project.demo import goods, scenario
from practice.project.demo.days import is_holiday
from practice.project.demo.factories import ClientRow, HorseRow, PlaceRow

MONTHLY_CLIENT = 1
EXEMPT_CLIENT = 24
SCHOOL_PLACE = 6
IN_TRAINING, TRAINER = 2, 6
SHARED = {5: [(0, "60"), (12, "40")], 22: [(9, "33.34"), (14, "33.33"), (18, "33.33")]}
SOLD = 33
WITHOUT_OWNER = 20
# Aluminum is not put into the fire; common practice, no source.
PLANS = {"glue-on": "fronts-glue", "aluminum": "fronts-cold"}
# What is out of the ordinary, the plan it goes with, the breeds it suits best, on how many horses.
SPECIALS = [
    ("glue-on", "fronts", ("Thoroughbred",), 1),
    ("aluminum", "fronts", ("warmblood", "Thoroughbred", "Arabian"), 2),
    ("bar", "fronts", ("Quarter Horse", "Morgan"), 1),
    ("wedge", "fronts", ("Thoroughbred", "Quarter Horse"), 1),
    ("studs", "full", ("Morgan", "Welsh Cob", "draft cross"), 3),
]


@dataclass
class DemoHorse:
    """One horse as the season knows it: its row, its cycle, and what it wears.

    `front` and `hind` are pattern and size, `pads` their pattern, `special` what is out of the ordinary
    (a key of HORSE_NOTES); each blank where there is none.
    """

    row: dict
    place: int
    plan: str
    front: tuple[str, str]
    hind: tuple[str, str]
    nail: str
    pads: str
    due: date
    special: str = ""
    jobs: int = 0
    cycle: timedelta = field(init=False)

    def __post_init__(self):
        self.cycle = timedelta(weeks=int(self.row["cycle_weeks"]))

    @property
    def ref(self) -> str:
        return self.row["ref"]

    @property
    def next_service(self) -> str:
        """The service that this cycle asks for; a full set is reset every third time."""
        return "reset" if self.plan.startswith("full") and self.jobs % 3 == 2 else self.plan

    def is_ready(self, day: date, within: timedelta) -> bool:
        """Whether it is due by so many days after a day, and its next due date would be no holiday."""
        return self.due <= day + within and not is_holiday(day + self.cycle)

    def shoe(self, foot: str) -> str:
        """Return the ref of the shoe that a foot wears."""
        (pattern, size), fits = (self.front, "front") if foot in ("LF", "RF") else (self.hind, "hind")
        return f"shoe-{pattern}-{fits}-{size}"

    def move(self, place: int, ref: str) -> None:
        self.place, self.row["place"] = place, ref

    def wear(self, size: str) -> None:
        self.front, self.hind = (self.front[0], size), (self.hind[0], size)
        self.nail = randgen.choice(goods.NAILS_OF[size])

    def other_sizes(self) -> list[str]:
        """Return the sizes next to its own in which its breed goes and its patterns are kept."""
        at = goods.SIZES.index(self.front[1])
        kept = {*goods.SIZES_KEPT[self.front[0], "front"]} & {*goods.SIZES_KEPT[self.hind[0], "hind"]}
        near = goods.SIZES[max(at - 1, 0) : at] + goods.SIZES[at + 1 : at + 2]
        return [size for size in near if size in kept and size in scenario.SIZES_OF[self.row["breed"]]]


def clients() -> list[dict]:
    """Return the client rows: one billed by the month with a discount, one exempt, one in Spanish."""
    rows = [ClientRow() for _ in scenario.CLIENTS]
    rows[MONTHLY_CLIENT] |= {"billing": "monthly", "payment_terms_days": "30", "discount": "5"}
    rows[EXEMPT_CLIENT] |= {"tax_exempt": "yes"}
    rows[MONTHLY_CLIENT] |= {"address": address_of(scenario.SCHOOL)}
    rows[11] |= {"language": "es-US"}
    return rows


def places() -> list[dict]:
    return [
        PlaceRow(
            name=name,
            area=area,
            east=east,
            north=north,
            address=f"{street}\n{town}",
            notes=notes,
            gate_code=scenario.GATE_CODES.get(name, ""),
        )
        for name, area, east, north, street, town, notes in scenario.PLACES
    ]


def mounts(place_rows: list[dict], begin: date) -> list[DemoHorse]:
    """Return the horses, spread over the places, each due within its first cycle."""
    result = []
    for number, name in enumerate(scenario.HORSES):
        place = 6 if 10 <= number < 18 else randgen.randrange(len(place_rows))
        plan = randgen.choices(
            ["trim", "fronts-hot", "fronts-cold", "full-hot", "full-cold"], [34, 22, 14, 18, 12]
        )[0]
        row = HorseRow(
            name=name, place=place_rows[place]["ref"], cautions=scenario.CAUTIONS.get(number, ""), notes=""
        )
        size = randgen.choice(scenario.SIZES_OF[row["breed"]])
        result.append(
            DemoHorse(
                row=row,
                place=place,
                plan=plan,
                front=(pattern_in(size, "front", ["plain", "plain", "toe-clip"]), size),
                hind=(pattern_in(size, "hind", ["plain", "side-clip"]), size),
                nail=randgen.choice(goods.NAILS_OF[size]),
                pads="leather" if plan.startswith("fronts") and randgen.randrange(5) == 0 else "",
                due=begin + timedelta(days=randgen.randrange(42)),
            )
        )
    make_special(result)
    return result


def pattern_in(size: str, fits: str, patterns: list[str]) -> str:
    """Draw one of the patterns, each as often as it is named, among those that are kept in a size."""
    return randgen.choice([pattern for pattern in patterns if size in goods.SIZES_KEPT[pattern, fits]])


def make_special(horses: list[DemoHorse]) -> None:
    """Give a few horses what is out of the ordinary: those whom it suits best, each one thing."""
    ordinary = [horse for number, horse in enumerate(horses) if number != WITHOUT_OWNER]
    for special, plan, breeds, many in SPECIALS:
        sizes = goods.SIZES_KEPT.get((special, "front"), goods.SIZES[2:6])
        suited = [
            horse
            for horse in ordinary
            if horse.plan.startswith(plan) and horse.front[1] in sizes and not horse.special
        ]
        for horse in sorted(suited, key=lambda horse: horse.row["breed"] not in breeds)[:many]:
            horse.special, horse.row["notes"] = special, scenario.HORSE_NOTES[special]
            if special == "wedge":
                horse.pads = "wedge"
            elif special != "studs":
                horse.front, horse.pads = (special, horse.front[1]), ""
            horse.plan = PLANS.get(special, horse.plan)


def address_of(place: str) -> str:
    return next(f"{street}\n{town}" for name, *_, street, town, _ in scenario.PLACES if name == place)


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


def trainer(horses: list[DemoHorse], clients: list[dict], begin: date, today: date) -> dict:
    """Return who pays for a horse instead of its owner: it went into training half-way through."""
    since = begin + (today - begin) / 2
    return {
        "horse": horses[IN_TRAINING].ref,
        "client": clients[TRAINER]["ref"],
        "from": since.isoformat(),
    }


def school_price(places: list[dict], begin: date) -> dict:
    """Return what a trim costs at the riding school, where eight horses stand side by side."""
    since = (begin - timedelta(30)).isoformat()
    return {"service": "trim", "from": since, "price": "48", "place": places[SCHOOL_PLACE]["ref"]}


def share(horse: DemoHorse, client: dict, percent: str, since: date | None = None, until: date | None = None):
    return {
        "horse": horse.ref,
        "client": client["ref"],
        "share": percent,
        "from": since.isoformat() if since else "",
        "to": until.isoformat() if until else "",
    }
