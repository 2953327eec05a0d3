"""What the demo practice charges besides its work: a stop where nobody was, and thanks to a client."""

from datetime import date, timedelta

from practice.project.demo import scenario

NO_SHOW_DAYS, THANKS_DAYS = 40, 20
NO_SHOW, THANKS = "35.00", "-10.00"


def charges(rows: dict[str, list[dict]], today: date) -> list[dict]:
    """Return charge rows: a no-show at a stop that is added to the visits, and an amount off for a client.

    Needs the visits, horses, owners and work of the season.
    """
    owner = {row["horse"]: row["client"] for row in reversed(rows["owners.csv"])}
    place = {row["ref"]: row["place"] for row in rows["horses.csv"] if row["ref"] in owner}
    missed, thanked = (_round_before(rows, today, days) for days in (NO_SHOW_DAYS, THANKS_DAYS))
    horse = _horse_elsewhere(rows, missed, owner, place)
    visit = missed[-1] | {
        "ref": f"{missed[-1]['ref']}-missed",
        "place": place[horse],
        "status": "cancelled",
        "arrive": "",
        "leave": "",
        "position": str(len(missed) + 1),
        "note": scenario.NOBODY_THERE,
    }
    rows["visits.csv"].append(visit)
    shod = next(row["horse"] for row in rows["work.csv"] if row["visit"] == thanked[0]["ref"])
    return [
        {
            "ref": "no-show-1",
            "date": visit["date"],
            "client": owner[horse],
            "name": "No-show",
            "unit_price": NO_SHOW,
            "visit": visit["ref"],
            "kind": "no_show",
        },
        {
            "ref": "thanks-1",
            "date": thanked[0]["date"],
            "client": owner.get(shod, owner[horse]),
            "name": scenario.REFERRED,
            "unit_price": THANKS,
            "kind": "discount",
        },
    ]


def _horse_elsewhere(rows: dict[str, list[dict]], visits: list[dict], owner: dict, place: dict) -> str:
    """Return a horse at a place that was not visited that day; of a client who is billed anyway, if any."""
    refs, seen = {row["ref"] for row in visits}, {row["place"] for row in visits}
    billed = {owner.get(row["horse"]) for row in rows["work.csv"] if row["visit"] in refs}
    horses = [ref for ref, at in place.items() if at not in seen]
    return next((ref for ref in horses if owner[ref] in billed), horses[0])


def _round_before(rows: dict[str, list[dict]], today: date, days: int) -> list[dict]:
    """Return the visits of the last round that is so many days ago, or longer."""
    last = (today - timedelta(days)).isoformat()
    done = [row for row in rows["visits.csv"] if row["status"] == "done" and row["date"] <= last]
    day = max(row["date"] for row in done)
    return [row for row in done if row["date"] == day]
