"""What the pack's tables hold, gathered for one tax year."""

from collections import Counter
from decimal import Decimal

from billing.models import Equipment, Expense, Invoice, Payment
from billing.pack.tables import AMOUNT, DAY, DISTANCE, NUMBER, RATE, Cell, Formula, Table, columns
from billing.reports.sales_tax import sales_tax
from billing.reports.year_end import YearEnd
from billing.schedule_c import VEHICLE_COSTS, schedule_c_line
from practice.lib.formats import month_name
from practice.lib.money import minor_digits, round_money
from practice.lib.profile import MileageScheme, Profile
from practice.models import Vehicle
from practice.reports.mileage_log import mileage_log
from stock.models import MovementKind, Valuation


class Sheets:
    """The tables of a year, in the order of the workbook. Sums are formulas over the rows."""

    def __init__(self, year: YearEnd, profile: Profile):
        self.year, self.profile, self.period = year, profile, year.period
        self.within = {"gte": self.period.begin, "lte": self.period.end}
        self.digits = minor_digits(profile.currency)
        names = Counter(Vehicle.objects.values_list("name", flat=True))
        self.vehicles = {
            row.pk: f"{row.name}, {row.key}" for row in Vehicle.objects.all() if names[row.name] > 1
        }
        self.received, self.invoiced = self._received(), self._invoiced()
        self.by_month, self.owed = self._by_month(), self._owed()
        self.expenses = self._expenses()
        self.by_category = self._by_category()
        self.miles = self._miles()
        self.by_vehicle = self._by_vehicle()
        self.standard = self._standard()
        self.materials = self._materials()

    def all(self) -> list[Table]:
        """Return every table, the summary first."""
        return [
            self._summary(),
            self.by_month,
            self.received,
            self.invoiced,
            self.owed,
            self.materials,
            self._deliveries(),
            self.expenses,
            self.by_category,
            self._contractors(),
            self._equipment(),
            self.miles,
            self.by_vehicle,
            self.standard,
            self._sales_tax(),
            self._work(),
            self._to_mend(),
        ]

    def _dated(self, field: str) -> dict:
        return {f"{field}__{word}": day for word, day in self.within.items()}

    def _amount(self, value: Decimal) -> Decimal:
        return round_money(value, self.profile.currency)

    # What came in and was billed

    def _received(self) -> Table:
        paid = Payment.objects.filter(**self._dated("date")).select_related("client", "invoice")
        return Table(
            "Received",
            "received.csv",
            columns(
                ("date", DAY),
                "client",
                "method",
                ("amount", AMOUNT, True),
                ("tip", AMOUNT, True),
                "invoice",
                "note",
            ),
            tuple(
                (
                    row.date,
                    row.client.name,
                    row.method,
                    row.amount,
                    row.tip,
                    row.invoice.number if row.invoice else "",
                    row.note,
                )
                for row in paid.order_by("date", "pk")
            ),
        )

    def _invoiced(self) -> Table:
        invoices = Invoice.objects.filter(**self._dated("issued")).select_related("client")
        return Table(
            "Invoiced",
            "invoiced.csv",
            columns(
                "number",
                ("date", DAY),
                "client",
                ("net", AMOUNT, True),
                ("tax", AMOUNT, True),
                ("total", AMOUNT, True),
            ),
            tuple(
                (row.number, row.issued, row.client_name, row.net, row.tax, row.total)
                for row in invoices.order_by("issued", "number")
            ),
        )

    def _by_month(self) -> Table:
        """Received by month is added up from the payments; the tax in it follows what each settled."""
        rows = []
        income, invoiced = self.year.income, self.year.invoiced
        for place, month in enumerate(self.year.months):
            until, since = '"<="&$C{row}', '">="&$B{row}'
            rows.append(
                (
                    month_name(month.begin, self.profile.locale),
                    month.begin,
                    month.end,
                    Formula(
                        f"SUMIFS({self.received.cells('amount')},{self.received.cells('date')},{since},"
                        f"{self.received.cells('date')},{until})",
                        income.by_month[place],
                    ),
                    income.tax_by_month[place],
                    Formula("D{row}-E{row}", income.net_by_month[place]),
                    Formula(
                        f"SUMIFS({self.invoiced.cells('total')},{self.invoiced.cells('date')},{since},"
                        f"{self.invoiced.cells('date')},{until})",
                        invoiced.by_month[place],
                    ),
                )
            )
        return Table(
            "By month",
            "by_month.csv",
            columns(
                "month",
                ("from", DAY),
                ("to", DAY),
                ("received", AMOUNT, True),
                ("sales tax in it", AMOUNT, True),
                ("net of tax", AMOUNT, True),
                ("invoiced", AMOUNT, True),
            ),
            tuple(rows),
        )

    def _owed(self) -> Table:
        return Table(
            "Owed at the end",
            "owed.csv",
            columns("client", ("open", AMOUNT, True), ("credit", AMOUNT, True)),
            tuple((row.client.name, row.open, row.credit) for row in self.year.accounts.rows),
        )

    # Materials

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
                **self._dated("movement__date"),
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

    # What went out

    def _expenses(self) -> Table:
        rows = Expense.objects.within(self.period).select_related("vehicle").order_by("date", "pk")
        return Table(
            "Expenses",
            "expenses.csv",
            columns(
                ("date", DAY),
                "category",
                "Schedule C line",
                ("amount", AMOUNT, True),
                "vendor",
                "vehicle",
                "note",
                "receipt",
            ),
            tuple(
                (
                    row.date,
                    row.category,
                    schedule_c_line(row.category, self.profile.country),
                    row.amount,
                    row.vendor,
                    row.vehicle.name if row.vehicle else "",
                    row.note,
                    f"receipts/{row.receipt}" if row.receipt else "",
                )
                for row in rows
            ),
        )

    def _by_category(self) -> Table:
        names, amounts = self.expenses.cells("category"), self.expenses.cells("amount")
        return Table(
            "By category",
            "expenses_by_category.csv",
            columns("category", "Schedule C line", ("amount", AMOUNT, True)),
            tuple(
                (
                    row.category,
                    row.schedule_c_line,
                    Formula(f"SUMIFS({amounts},{names},$A{{row}})", row.amount),
                )
                for row in self.year.expenses.rows
            ),
        )

    def _contractors(self) -> Table:
        return Table(
            "Contract labor",
            "contract_labor.csv",
            columns("paid to", ("amount", AMOUNT, True), ("payments", NUMBER), "notes"),
            tuple(
                (row.vendor or "not said", row.amount, row.payments, "; ".join(row.notes))
                for row in self.year.expenses.contractors
            ),
        )

    def _equipment(self) -> Table:
        rows = Equipment.objects.filter(placed_in_service__lte=self.period.end).order_by(
            "placed_in_service", "pk"
        )
        return Table(
            "Tools and equipment",
            "equipment.csv",
            columns(
                "name", ("in service", DAY), ("cost", AMOUNT), ("disposed of", DAY), ("disposed for", AMOUNT)
            ),
            tuple(
                (row.name, row.placed_in_service, row.cost, row.disposed_on, row.disposed_for)
                for row in rows
                if row.disposed_on is None or row.disposed_on >= self.period.begin
            ),
        )

    # Miles

    def _named(self, vehicle: Vehicle) -> str:
        """Return what a vehicle is called here: two of one name are told apart."""
        return self.vehicles.get(vehicle.pk, vehicle.name)

    def _miles(self) -> Table:
        rows = mileage_log(self.period.begin, self.period.end)
        return Table(
            "Mileage log",
            "mileage_log.csv",
            columns(
                ("date", DAY),
                "vehicle",
                ("odometer from", DISTANCE),
                ("odometer to", DISTANCE),
                "from",
                "to",
                "reason",
                "purpose",
                ("distance", DISTANCE, True),
                "how it was taken",
                ("made on", DAY),
                ("changed on", DAY),
            ),
            tuple(
                (
                    row.date,
                    self._named(row.vehicle),
                    row.start,
                    row.end,
                    row.origin,
                    row.destination,
                    row.reason,
                    row.purpose,
                    row.distance,
                    "estimated" if row.estimated else "",
                    row.made_on,
                    row.changed_on,
                )
                for row in rows
            ),
        )

    def _by_vehicle(self) -> Table:
        distance, purpose = self.miles.cells("distance"), self.miles.cells("purpose")
        vehicle = self.miles.cells("vehicle")

        def driven(word: str, value: Decimal) -> Formula:
            return Formula(f'SUMIFS({distance},{vehicle},$A{{row}},{purpose},"{word}")', value)

        return Table(
            "Miles by vehicle",
            "miles_by_vehicle.csv",
            columns(
                "vehicle",
                ("business", DISTANCE, True),
                ("commuting", DISTANCE, True),
                ("personal", DISTANCE, True),
                ("not logged", DISTANCE, True),
                ("together", DISTANCE, True),
                ("odometer, first", DISTANCE),
                ("odometer, last", DISTANCE),
            ),
            tuple(
                (
                    self._named(row.vehicle),
                    driven("business", row.business),
                    driven("commuting", row.commuting),
                    driven("personal", row.personal),
                    driven("not logged", row.unlogged),
                    Formula("SUM(B{row}:E{row})", row.total),
                    row.first_odometer,
                    row.last_odometer,
                )
                for row in self.year.miles.vehicles
            ),
        )

    def _standard(self) -> Table:
        by_car = self.profile.mileage_scheme == MileageScheme.AU_CENTS_PER_KM
        same_unit = all(row.rate_unit == self.profile.distance_unit for row in self.year.miles.standard.rows)
        rows = []
        for row in self.year.miles.standard.rows:
            worth: Cell = row.amount
            if same_unit:
                worth = Formula(f"ROUND(E{{row}}*F{{row}},{self.digits})", row.amount)
            rows.append(
                (
                    row.begin,
                    row.end,
                    (row.vehicle or "") if by_car else "",
                    row.tier_from,
                    row.distance,
                    row.rate,
                    worth,
                    "provisional: the last known rate goes on" if row.carried else "",
                )
            )
        return Table(
            "Standard rate",
            "standard_rate.csv",
            columns(
                ("from", DAY),
                ("to", DAY),
                "vehicle",
                ("above", DISTANCE),
                ("distance", DISTANCE, True),
                ("rate", RATE),
                ("amount", AMOUNT, True),
                "note",
            ),
            tuple(rows),
        )

    # The rest

    def _sales_tax(self) -> Table:
        return Table(
            "Sales tax",
            "sales_tax.csv",
            columns(
                "area",
                "name",
                ("rate, percent", RATE),
                ("invoiced, taxable", AMOUNT),
                ("invoiced, exempt", AMOUNT),
                ("invoiced, tax", AMOUNT, True),
                ("received, taxable", AMOUNT),
                ("received, exempt", AMOUNT),
                ("received, tax", AMOUNT, True),
            ),
            tuple(
                (
                    row.area,
                    row.name,
                    row.rate,
                    *(row.invoiced.taxable, row.invoiced.exempt, row.invoiced.tax),
                    *(row.received.taxable, row.received.exempt, row.received.tax),
                )
                for row in sales_tax(self.period, self.profile).rows
            ),
        )

    def _work(self) -> Table:
        return Table(
            "Work",
            "work.csv",
            columns("service", ("count", NUMBER, True), ("net", AMOUNT, True)),
            tuple((row.service.name, row.count, row.net) for row in self.year.work.by_service),
        )

    def _to_mend(self) -> Table:
        return Table(
            "To mend", "to_mend.csv", columns("what"), tuple((row.text,) for row in self.year.warnings)
        )

    def _summary(self) -> Table:
        year = self.year
        income, miles = year.income, year.miles
        received = self.received.cells("amount")

        def spent_on(category: str) -> str:
            amounts, categories = self.expenses.cells("amount"), self.expenses.cells("category")
            return f'SUMIFS({amounts},{categories},"{category}")'

        vehicle_costs = "+".join(spent_on(category) for category in VEHICLE_COSTS)
        shared = f"{self.by_vehicle.sum('business')}/{self.by_vehicle.sum('together')}"
        rows: list[tuple[Cell, ...]] = [
            ("Received", Formula(self.received.sum("amount"), income.total)),
            ("Sales tax in it", Formula(self.by_month.sum("sales tax in it"), income.tax)),
            ("Received, net of tax", Formula("B2-B3", income.net_of_tax)),
            ("Tips in it", Formula(self.received.sum("tip"), income.tips)),
            (
                "Refunds in it",
                Formula(f'-SUMIFS({received},{received},"<0")', income.refunds),
            ),
            ("Invoiced, net", Formula(self.invoiced.sum("net"), year.invoiced.net)),
            ("Invoiced, sales tax", Formula(self.invoiced.sum("tax"), year.invoiced.tax)),
            ("Invoiced", Formula(self.invoiced.sum("total"), year.invoiced.total)),
            ("Owed to you at the end", Formula(self.owed.sum("open"), year.accounts.receivable)),
            ("Credit of clients at the end", Formula(self.owed.sum("credit"), year.accounts.credit)),
            ("Materials used", Formula(self.materials.at("value", 5), year.materials.used)),
            ("Expenses, without materials", Formula(self.expenses.sum("amount"), year.expenses.total)),
            ("Business distance", Formula(self.by_vehicle.sum("business"), miles.business)),
            ("Distance in all", Formula(self.by_vehicle.sum("together"), miles.total)),
            ("By the standard rate", Formula(self.standard.sum("amount"), miles.standard.total)),
            ("Parking and tolls, on top", Formula(spent_on("parking and tolls"), miles.parking_and_tolls)),
            ("Costs of the vehicles", Formula(vehicle_costs, miles.actual.costs)),
            (
                "By actual costs",
                Formula(
                    f"IF({self.by_vehicle.sum('together')}=0,0,ROUND(B18*{shared},{self.digits}))",
                    miles.actual.amount,
                ),
            ),
        ]
        return Table("Summary", "summary.csv", columns("what", ("amount", AMOUNT)), tuple(rows))
