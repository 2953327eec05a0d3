"""Writing visits, what was done and taken there, and the road."""

from django.db.models import Model

from practice.actions.materials import use_of
from practice.lib.inserting import insert
from practice.models import (
    Finding,
    FootRecord,
    HorseTime,
    Leg,
    LegChange,
    MaterialUse,
    OdometerChange,
    Photo,
    Prescription,
    Reading,
    Visit,
    Work,
)
from practice.project.book.files_horses import FEET, PHOTOS, PRESCRIPTIONS
from practice.project.book.reader import own_key
from practice.project.book.writer.common import BATCH, Writer
from stock.actions.movements import movement_of


def write_visits(writer: Writer) -> None:
    writer.add("visits.csv", Visit)
    writer.add("work.csv", Work)
    _materials(writer)
    _with_uuids(writer, "findings.csv", Finding)
    _photos(writer)
    writer.add("horse_times.csv", HorseTime)
    writer.add(FEET, FootRecord)
    writer.add(PRESCRIPTIONS, Prescription)
    writer.change(PRESCRIPTIONS)
    writer.add("readings.csv", Reading)
    _with_uuids(writer, "legs.csv", Leg)
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


def _with_uuids(writer: Writer, file: str, model: type[Model]) -> None:
    """Write rows that have a UUID of their own where another file names them."""
    for rows in writer.batches(file):
        named = [{"uuid": row["uuid"]} if row["uuid"] else {} for row in rows]
        insert(
            model(**writer.attributes(row, ["uuid"]), **name) for row, name in zip(rows, named, strict=True)
        )


def _photos(writer: Writer) -> None:
    """Write down the photos; their files come with files.csv."""
    for rows in writer.batches(PHOTOS):
        keys = {row["finding"] for row in rows} - {None}
        findings = {row.uuid: row for row in Finding.objects.filter(uuid__in=keys)}
        photos = [
            Photo(
                **writer.attributes(row, ["ref", "finding"]),
                **own_key(row),
                finding=findings.get(row["finding"]),
            )
            for row in rows
        ]
        Photo.objects.bulk_create(photos, batch_size=BATCH)
        for row, photo in zip(rows, photos, strict=True):
            writer.lookup.objects[PHOTOS][row["ref"]] = photo
