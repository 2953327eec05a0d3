"""Writing visits, what was done and taken there, and the road."""

from practice.actions.materials import use_of
from practice.lib.inserting import insert
from practice.models import Finding, Leg, LegChange, MaterialUse, OdometerChange, Reading, Visit, Work
from practice.project.book.writer.common import Writer
from stock.actions.movements import movement_of


def write_visits(writer: Writer) -> None:
    writer.add("visits.csv", Visit)
    writer.add("work.csv", Work)
    _materials(writer)
    writer.add("findings.csv", Finding)
    writer.add("readings.csv", Reading)
    _legs(writer)
    writer.add("leg_changes.csv", LegChange)
    writer.add("odometers.csv", OdometerChange)


def _materials(writer: Writer) -> None:
    """Write down what visits took; what done ones took leaves the shelf."""
    for rows in writer.batches("materials.csv"):
        uses = [MaterialUse(**writer.attributes(row, ["ref", "location"])) for row in rows]
        done, facts = [], []
        for row, use in zip(rows, uses, strict=True):
            if use.visit.status == Visit.Status.DONE:
                done.append(use)
                fact = movement_of(use_of(use, use.visit))
                fact.location = writer.find("locations.csv", row["location"]) or fact.location
                facts.append(fact)
        for use, movement in zip(done, writer.add_facts(facts), strict=True):
            use.movement = movement
        insert(uses)


def _legs(writer: Writer) -> None:
    for rows in writer.batches("legs.csv"):
        named = [{"uuid": row["uuid"]} if row["uuid"] else {} for row in rows]
        insert(Leg(**writer.attributes(row, ["uuid"]), **name) for row, name in zip(rows, named, strict=True))
