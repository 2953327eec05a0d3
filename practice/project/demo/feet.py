"""The shoeing records, prescriptions, and findings of a few demo horses, as rows.

They follow from what was done to each horse: nothing is drawn by chance, so that nothing else changes.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal
from uuid import NAMESPACE_URL, uuid5

from django.utils.timezone import make_aware

from practice.project.demo import goods, scenario
from practice.project.demo.people import WITHOUT_OWNER, DemoHorse
from practice.project.demo.shoeing import FORE, HIND
from practice.project.demo.stories import (
    A_BIT,
    AN_EIGHTH,
    FORE_ANGLE,
    HIND_ANGLE,
    STORIES,
    TOES,
    FeetStory,
    Ordered,
    SeenOnce,
)
from practice.rules.signs import FOR_VET

# So many shoeings of a horse are on record, and a horse with fewer than so many is in no story.
MOST_RECORDS, FEWEST = 9, 6
RESETTING = {row[0]: row[6] for row in goods.SERVICES if row[3] == "yes"}
CLIPS = {"toe-clip": "toe", "side-clip": "side"}


@dataclass(frozen=True)
class DemoShoeing:
    """A visit at which a horse had its cycle work."""

    visit: dict
    service: str

    @property
    def day(self) -> date:
        return date.fromisoformat(self.visit["date"])

    @property
    def fitted(self) -> str:
        return RESETTING[self.service]


def keep_feet(rows: dict[str, list[dict]], horses: list[DemoHorse], today: date) -> None:
    """Add to a season's rows what is on record of its horses' feet; what was seen before is seen to."""
    shod = shoeings(rows)
    for row in rows["findings.csv"]:
        row["resolved_on"] = next_day(shod[row["horse"]], row["visit"])
    for story, horse in cast(rows, horses, shod, today):
        times = shod[horse.ref][-MOST_RECORDS:]
        rows["foot_records.csv"] += foot_records(story, horse, times)
        rows["findings.csv"] += [row for seen in story.seen for row in findings(seen, horse, times)]
        rows["prescriptions.csv"] += [
            row for ordered in story.ordered for row in prescriptions(ordered, horse, times)
        ]


def shoeings(rows: dict[str, list[dict]]) -> dict[str, list[DemoShoeing]]:
    """Return each horse's shoeings, the first first."""
    visits = {row["ref"]: row for row in rows["visits.csv"]}
    shod = defaultdict(list)
    for row in rows["work.csv"]:
        if row["service"] in RESETTING:
            shod[row["horse"]].append(DemoShoeing(visits[row["visit"]], row["service"]))
    return shod


def next_day(times: list[DemoShoeing], visit: str) -> str:
    """Return the day of the first shoeing after a visit; blank if there was none yet."""
    days = (time.day.isoformat() for time in times if time.visit["ref"] > visit)
    return next(days, "")


def cast(
    rows: dict[str, list[dict]], horses: list[DemoHorse], shod: dict[str, list[DemoShoeing]], today: date
) -> Iterator[tuple[FeetStory, DemoHorse]]:
    """Yield each story with its horse, those at the stops that are still ahead today first."""
    ahead = {
        row["place"]
        for row in rows["visits.csv"]
        if row["date"] == today.isoformat() and row["status"] == "planned"
    }
    known = [
        horse
        for number, horse in enumerate(horses)
        if number != WITHOUT_OWNER and len(shod[horse.ref]) >= FEWEST
    ]
    free = sorted(known, key=lambda horse: (horse.row["place"] not in ahead, horse.due, horse.ref))
    for story in STORIES:
        for horse in free:
            # Nobody draws a toe clip where the toe is cracked.
            is_clipped = horse.front[0] == "toe-clip" and any(seen.kind == "crack" for seen in story.seen)
            if horse.special == story.special and horse.plan.startswith(story.plan) and not is_clipped:
                free.remove(horse)
                yield story, horse
                break


def foot_records(story: FeetStory, horse: DemoHorse, times: list[DemoShoeing]) -> list[dict]:
    """Return how each foot was shod; of a trim, how both forefeet measured."""
    return [
        foot_record(story, horse, time, number, foot)
        for number, time in enumerate(times)
        for foot in (FORE + HIND if time.service.startswith(("full", "reset")) else FORE)
    ]


def foot_record(story: FeetStory, horse: DemoHorse, time: DemoShoeing, number: int, foot: str) -> dict:
    is_fore, is_nailed = foot in FORE, bool(time.fitted)
    angle, toe = measures(story, horse, number, foot)
    row = {
        "visit": time.visit["ref"],
        "horse": horse.ref,
        "foot": foot,
        "angle": str(angle),
        "toe_length": str(toe),
        "toe_unit": "in",
    }
    if not is_nailed:
        return row
    pattern, _ = horse.front if is_fore else horse.hind
    half = str(goods.NAILS_A_SHOE // 2)
    row |= {"fitted": time.fitted, "clips": CLIPS.get(pattern, ""), "fit": story.fit if is_fore else ""}
    row |= {"nails_outside": half, "nails_inside": half}
    return row | ({"pad": story.pad, "packing": story.packing} if is_fore else {})


def measures(story: FeetStory, horse: DemoHorse, number: int, foot: str) -> tuple[Decimal, Decimal]:
    """Return angle and toe length after a trim: about the same each time, or a bit nearer to the aim."""
    toe, low = Decimal(TOES[horse.front[1]]), Decimal(story.low) if foot in FORE else Decimal(0)
    still_low = max(low - number * A_BIT, Decimal(0))
    is_off = (number + 2 * (FORE + HIND).index(foot)) % 5 == 0
    angle = (FORE_ANGLE if foot in FORE else HIND_ANGLE) - still_low - (A_BIT if is_off else 0)
    return angle, toe + AN_EIGHTH * int(still_low)


def findings(seen: SeenOnce, horse: DemoHorse, times: list[DemoShoeing]) -> Iterator[dict]:
    """Yield the row of a sign, if the horse's record reaches back to it."""
    if seen.ago >= len(times):
        return
    time = times[-1 - seen.ago]
    told = {}
    if seen.told_after:
        came = datetime.fromisoformat(f"{time.visit['date']}T{time.visit['arrive']}")
        at = make_aware(came + timedelta(minutes=seen.told_after))
        told = {"told_who": scenario.VET, "told_at": at.isoformat()}
    yield {
        "visit": time.visit["ref"],
        "horse": horse.ref,
        "foot": seen.foot,
        "zone": seen.zone,
        "kind": seen.kind,
        "marked": seen.marked,
        "note": seen.note,
        "refer_to_vet": "yes" if seen.kind in FOR_VET else "no",
        "resolved_on": "" if seen.is_open else times[-seen.ago].day.isoformat(),
        "uuid": str(uuid5(NAMESPACE_URL, f"{time.visit['ref']}/{horse.ref}")) if seen.is_drawn else "",
        **told,
    }


def prescriptions(ordered: Ordered, horse: DemoHorse, times: list[DemoShoeing]) -> Iterator[dict]:
    """Yield a row a foot, from the first shoeing on record at the earliest."""
    since = times[max(len(times) - 1 - ordered.ago, 0)].day
    until = "" if ordered.until is None else times[-1 - ordered.until].day.isoformat()
    for foot in ordered.feet:
        yield {
            "ref": f"{horse.ref}-{foot.lower()}",
            "horse": horse.ref,
            "foot": foot,
            "item": horse.shoe(foot) if ordered.with_shoe else "",
            "pad": ordered.pad,
            "packing": ordered.packing,
            "angle": ordered.angle,
            "note": ordered.note,
            "by": ordered.by,
            "from": since.isoformat(),
            "to": until,
        }
