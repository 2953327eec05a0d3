"""Materials: the sums that add up, and each delivery."""

from billing.pack.tables import YearTables
from practice.lib.sheet_tables import AMOUNT, DAY, NUMBER, RATE, Formula, Table, columns
from stock.models import MovementKind, Valuation


class ShelfTables(YearTables):
    """Materials: the sums that add up, and each delivery."""

    def gather(self) -> None:
        self.materials, self.deliveries = self._materials(), self._deliveries()

    def _materials(self) -> Table:
        materials = self.year.materials
        return Table(
            "Materials",
            "materials.csv",
            columns("what", ("value", AMOUNT)),
            (
                ("on hand on the first day", materials.opening_value),
                ("purchased", materials.purchased),
                ("used on your own horses", materials.withdrawn),
                ("count differences", materials.count_adjustments),
                ("on hand on the last day", materials.closing_value),
                ("used, waste included", Formula("B2+B3-B4+B5-B6", materials.used)),
                ("paid for during the year", materials.paid),
                ("delivered, no payment date", materials.not_said),
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
        deliveries = []
        for row in rows:
            purchase = getattr(row.movement, "purchase", None)
            supplier = purchase.supplier.name if purchase and purchase.supplier else ""
            deliveries.append(
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
                ("unit cost", RATE),
                ("cost", AMOUNT, True),
                ("paid on", DAY),
            ),
            tuple(deliveries),
        )
