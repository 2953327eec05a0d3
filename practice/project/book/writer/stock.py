"""Writing facts of stock: purchases, counts and the rest, in the order of their files."""

from practice.actions.materials import job_key
from practice.lib.inserting import insert
from practice.models import Horse, MaterialReturn, Visit
from practice.project.book.reader import FolderRow
from practice.project.book.writer.common import BATCH, Writer
from practice.project.book.writer.orders import lines_delivered
from stock.actions.movements import LAST
from stock.models import Found, Movement, MovementKind, OrderLine, Purchase, ValuationChange
from stock.rules.facts import RANK


def write_facts(writer: Writer) -> None:
    writer.add("valuations.csv", ValuationChange)
    line_of = lines_delivered(writer)
    for rows in writer.batches("purchases.csv"):
        _receive(writer, rows, line_of)
    for rows in writer.batches("counts.csv"):
        writer.add_facts(
            _movement(writer, row, MovementKind.COUNT, unit_cost=row["unit_cost"], location=row["location"])
            for row in rows
        )
    _other_facts(writer)
    writer.add("count_sheets.csv", Found)
    writer.change("count_sheets.csv")


def _receive(writer: Writer, rows: list[FolderRow], line_of: dict[tuple, OrderLine]) -> None:
    receipts = writer.add_facts(
        _movement(writer, row, MovementKind.RECEIPT, unit_cost=row["unit_cost"], location=row["location"])
        for row in rows
    )
    insert(
        Purchase(
            movement=movement,
            supplier=writer.find("suppliers.csv", row["supplier"]),
            reference=row["reference"],
            paid_on=row["paid_on"],
            order_line=line_of.get((row["order"], row["item"])),
            lot=row["lot"],
            use_by=row["use_by"],
        )
        for row, movement in zip(rows, receipts, strict=True)
    )


def _movement(
    writer: Writer, row: FolderRow, kind: str, unit_cost=None, location: str | None = None, **more
) -> Movement:
    return Movement(
        item=writer.find("items.csv", row["item"]),
        date=row["date"],
        kind=kind,
        quantity=row["quantity"],
        unit_cost=unit_cost,
        location=writer.find("locations.csv", location),
        **({"rank": RANK[kind]} | more if kind in RANK else more),
    )


def _other_facts(writer: Writer) -> None:
    rows = writer.new("stock_facts.csv")
    waiting: list[tuple[FolderRow, Movement]] = []
    for row in rows:
        if row["kind"] == MovementKind.REVERSAL:
            _add_others(writer, waiting)
            waiting = []
            _reverse(writer, row)
        else:
            more = {"to_location": writer.find("locations.csv", row["to_location"]), "note": row["note"]}
            if row["kind"] == MovementKind.VISIT_RETURN:
                visit, horse = _visit_and_horse(writer, row)
                more["job"] = job_key(visit.pk, horse.pk)
            waiting.append((row, _movement(writer, row, row["kind"], location=row["location"], **more)))
    _add_others(writer, waiting)


def _visit_and_horse(writer: Writer, row: FolderRow) -> tuple[Visit, Horse]:
    return writer.find("visits.csv", row["visit"]), writer.find("horses.csv", row["horse"])


def _add_others(writer: Writer, waiting: list[tuple[FolderRow, Movement]]) -> None:
    writer.add_facts([movement for _, movement in waiting])
    returns = []
    for row, movement in waiting:
        if row["kind"] == MovementKind.VISIT_RETURN:
            visit, horse = _visit_and_horse(writer, row)
            returns.append(MaterialReturn(movement=movement, visit=visit, horse=horse))
    MaterialReturn.objects.bulk_create(returns, batch_size=BATCH)


def _reverse(writer: Writer, row: FolderRow) -> None:
    """Reverse the first fact, not reversed yet, of the same kind, date, item, quantity and location."""
    location = writer.find("locations.csv", row["location"])
    undone = (
        Movement.objects.filter(
            kind=row["reverses"],
            date=row["reverses_date"] or row["date"],
            item=writer.find("items.csv", row["item"]),
            quantity=row["quantity"],
            location=location,
            reversal__isnull=True,
        )
        .in_order()
        .first()
    )
    if undone is None:
        message = f"the book has no such {row['reverses']} to reverse"
        writer.folder.complain("stock_facts.csv", row.line, "reverses", message)
        return
    late = row["reverses_date"] is not None
    reversal = _movement(
        writer,
        row,
        MovementKind.REVERSAL,
        location=row["location"],
        to_location=undone.to_location,
        reverses=undone,
        rank=undone.rank,
        cause_order=LAST if late else 0,
        note=row["note"],
    )
    writer.add_facts([reversal])
