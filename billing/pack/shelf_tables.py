"""The shelf: the block that adds up, and each delivery."""

from billing.pack.tables import AMOUNT, DAY, NUMBER, RATE, Formula, Table, YearTables, columns
from stock.models import MovementKind, Valuation


class ShelfTables(YearTables):
    """The shelf: the block that adds up, and each delivery."""

    def gather(self) -> None:
        self.materials, self.deliveries = self._materials(), self._deliveries()

    def _materials(self) -> Table:
        materials = self.year.materials
        return Table(
            "Materials",
            "materials.csv",
            columns("what", ("value", AMOUNT)),
            (
                ("at the beginning", materials.opening_value),
                ("purchased", materials.purchased),
                ("withdrawn for own horses", materials.withdrawn),
                ("count differences (found)", materials.count_adjustments),
                ("at the end", materials.closing_value),
                ("used", Formula("B2+B3-B4+B5-B6", materials.used)),
                ("paid within the year", materials.paid),
                ("came, and the book does not say when it was paid", materials.not_said),
            ),
        )

    def _deliveries(self) -> Table:
        rows = (
            Valuation.objects.filter(
                kind="receipt",
                movement__kind=MovementKind.RECEIPT,
                movement__reversal__isnull=True,
                **self.dated("movement__date"),
            )
            .select_related("item", "movement__purchase__supplier")
            .order_by("movement__date", "movement")
        )
        found = []
        for row in rows:
            purchase = getattr(row.movement, "purchase", None)
            supplier = purchase.supplier.name if purchase and purchase.supplier else ""
            found.append(
                (
                    row.movement.date,
                    row.item.name,
                    supplier,
                    purchase.reference if purchase else "",
                    row.quantity,
                    row.movement.unit_cost,
                    Formula("ROUND(E{row}*F{row},4)", row.cost),
                    purchase.paid_on if purchase else None,
                )
            )
        return Table(
            "Deliveries",
            "deliveries.csv",
            columns(
                ("date", DAY),
                "item",
                "supplier",
                "delivery note",
                ("quantity", NUMBER),
                ("cost of one", RATE),
                ("cost", AMOUNT, True),
                ("paid on", DAY),
            ),
            tuple(found),
        )
