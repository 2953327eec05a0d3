"""What is done to a demo horse at a stop, as rows: work, materials, findings."""

from datetime import date
from decimal import Decimal

from factory.random import randgen

from practice.project.demo import goods, scenario
from practice.project.demo.days import DemoStop
from practice.project.demo.people import DemoHorse
from practice.project.demo.truck import DemoTruck

FORE, HIND = ("LF", "RF"), ("LH", "RH")
RESIZED_EVERY = 60
STUD_MONTHS = (11, 12, 1, 2, 3)


class Shoeing:
    """Writes into the season's rows, and takes what is used off its truck."""

    def __init__(self, rows: dict[str, list[dict]], truck: DemoTruck):
        self.rows, self.truck = rows, truck
        self.since_resized = 0

    def shoe(self, stop: DemoStop, horse: DemoHorse, service: str, shoes: bool = True) -> None:
        """Write down a cycle work with the materials that it takes."""
        new_shoes = shoes and service not in ("trim", "reset")
        note = self.resize(horse) if new_shoes else ""
        self.work(stop, horse, service, note)
        feet = FORE if service.startswith("fronts") else FORE + HIND if service != "trim" else ()
        for foot in feet if new_shoes else ():
            self.use(stop, horse, horse.shoe(foot), Decimal(1), foot)
        for foot in feet if service != "fronts-glue" else ():
            self.use(stop, horse, f"nail-{horse.nail}", goods.NAILS_A_SHOE, foot)
        if service == "fronts-glue":
            self.use(stop, horse, "adhesive", 2 * goods.ADHESIVE_A_SHOE)
        if horse.pads and service.startswith("fronts"):
            self.use(stop, horse, f"pad-{horse.pads}-{goods.pad_size(horse.front[1])}", Decimal(2))
            self.use(stop, horse, "packing", Decimal(1))
        if horse.special == "studs" and new_shoes and day_of(stop).month in STUD_MONTHS:
            self.use(stop, horse, "stud", 2 * goods.STUDS_A_SHOE)
        if randgen.randrange(9) == 0:
            self.use(stop, horse, "sealant", Decimal(randgen.choice([20, 30, 40])))
        if randgen.randrange(60) == 0:
            self.find(stop, horse)
        self.truck.burn(goods.HOT_FEET.get(service, 0), day_of(stop))

    def resize(self, horse: DemoHorse) -> str:
        """Put one horse in so many into its next size; return the note that says so, blank if it stays."""
        self.since_resized += 1
        sizes = horse.other_sizes() if self.since_resized >= RESIZED_EVERY else []
        if not sizes:
            return ""
        self.since_resized = 0
        before = goods.SIZES.index(horse.front[1])
        horse.wear(randgen.choice(sizes))
        return scenario.SIZE_UP if goods.SIZES.index(horse.front[1]) > before else scenario.SIZE_DOWN

    def nail_on_lost(self, stop: DemoStop, horse: DemoHorse) -> None:
        """Put back a front shoe that was lost."""
        foot = randgen.choice(FORE)
        self.work(stop, horse, "lost")
        self.use(stop, horse, horse.shoe(foot), Decimal(1), foot)
        self.use(stop, horse, f"nail-{horse.nail}", goods.NAILS_A_SHOE, foot)

    def find(self, stop: DemoStop, horse: DemoHorse) -> None:
        self.rows["findings.csv"].append(
            {
                "visit": stop.visit["ref"],
                "horse": horse.ref,
                "foot": "LF",
                "zone": "sole",
                "kind": scenario.RED,
                "marked": "slight",
                "note": scenario.FINDING,
                "refer_to_vet": "no",
            }
        )

    def work(self, stop: DemoStop, horse: DemoHorse, service: str, note: str = "") -> None:
        stop.work(service)
        self.rows["work.csv"].append(
            {"visit": stop.visit["ref"], "horse": horse.ref, "service": service, "note": note}
        )

    def use(self, stop: DemoStop, horse: DemoHorse, item: str, quantity: Decimal, foot: str = "") -> None:
        self.truck.take(item, quantity, day_of(stop))
        self.rows["materials.csv"].append(
            {
                "visit": stop.visit["ref"],
                "horse": horse.ref,
                "item": item,
                "quantity": str(quantity),
                "foot": foot,
            }
        )


def day_of(stop: DemoStop) -> date:
    return date.fromisoformat(stop.visit["date"])
