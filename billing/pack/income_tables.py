"""What was received, invoiced and owed, the sales tax, and the work."""

from django.utils.text import capfirst

from billing.models import CreditNote, EstimatedPayment, Invoice, Payment
from billing.pack.tables import YearTables
from billing.reports.sales_tax import sales_tax
from billing.reports.year.by_time import set_aside
from practice.lib.formats import month_name
from practice.lib.sheet_tables import AMOUNT, DAY, NUMBER, RATE, Formula, Table, columns


class IncomeTables(YearTables):
    """What was received, invoiced and owed, the sales tax, and the work."""

    def gather(self) -> None:
        self.received, self.invoiced, self.owed = self._received(), self._invoiced(), self._owed()
        self.credited = self._credited()
        self.by_month, self.sales_tax, self.work = self._by_month(), self._sales_tax(), self._work()
        self.by_quarter, self.estimated = self._by_quarter(), self._estimated()

    def _received(self) -> Table:
        paid = Payment.objects.filter(**self.dated("date")).select_related("client", "invoice")
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
                "what it is",
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
                    "bounced check" if row.bounced else "refund" if row.amount < 0 else "payment",
                )
                for row in paid.order_by("date", "pk")
            ),
        )

    def _invoiced(self) -> Table:
        invoices = Invoice.objects.filter(**self.dated("issued")).select_related("client")
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

    def _credited(self) -> Table:
        notes = CreditNote.objects.within(self.period).select_related("invoice")
        return Table(
            "Credit notes",
            "credit_notes.csv",
            columns(
                "number",
                ("date", DAY),
                "invoice",
                "client",
                "reason",
                ("net", AMOUNT, True),
                ("tax", AMOUNT, True),
                ("total", AMOUNT, True),
            ),
            tuple(
                (
                    *(row.number, row.issued, row.invoice.number, row.invoice.client_name),
                    row.get_reason_display().lower(),
                    *(row.net, row.tax, row.total),
                )
                for row in notes.order_by("issued", "pk")
            ),
        )

    def _by_month(self) -> Table:
        """Received by month is added up from the payments; the tax in it follows what each settled."""
        rows = []
        income, invoiced = self.year.income, self.year.invoiced
        for number, month in enumerate(self.year.months):
            until, since = '"<="&$C{row}', '">="&$B{row}'
            rows.append(
                (
                    month_name(month.begin, self.profile.locale),
                    month.begin,
                    month.end,
                    Formula(
                        f"SUMIFS({self.received.cells('amount')},{self.received.cells('date')},{since},"
                        f"{self.received.cells('date')},{until})",
                        income.by_month[number],
                    ),
                    income.tax_by_month[number],
                    Formula("D{row}-E{row}", income.net_by_month[number]),
                    Formula(
                        f"SUMIFS({self.invoiced.cells('total')},{self.invoiced.cells('date')},{since},"
                        f"{self.invoiced.cells('date')},{until})"
                        f"-SUMIFS({self.credited.cells('total')},{self.credited.cells('date')},{since},"
                        f"{self.credited.cells('date')},{until})",
                        invoiced.by_month[number],
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
                (f"{self.sales_tax_word} included", AMOUNT, True),
                ("net of tax", AMOUNT, True),
                ("invoiced", AMOUNT, True),
            ),
            tuple(rows),
        )

    def _owed(self) -> Table:
        return Table(
            "Owed at year end",
            "owed.csv",
            columns("client", ("open", AMOUNT, True), ("credit", AMOUNT, True)),
            tuple((row.client.name, row.open, row.credit) for row in self.year.accounts.rows),
        )

    def _sales_tax(self) -> Table:
        return Table(
            capfirst(self.sales_tax_word),
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
            columns("service", ("times", NUMBER, True), ("net", AMOUNT, True)),
            tuple((row.service.name, row.count, row.net) for row in self.year.work.by_service),
        )

    def _by_quarter(self) -> Table:
        rows = set_aside(self.year, None)
        return Table(
            "By quarter",
            "by_quarter.csv",
            columns(
                ("from", DAY),
                ("to", DAY),
                ("received, net of tax", AMOUNT, True),
                ("expenses", AMOUNT, True),
                ("left", AMOUNT, True),
                ("estimated tax paid", AMOUNT, True),
            ),
            tuple(
                (
                    row.quarter.period.begin,
                    row.quarter.period.end,
                    row.quarter.net,
                    row.quarter.spent,
                    Formula("C{row}-D{row}", row.left),
                    row.paid,
                )
                for row in rows
            ),
        )

    def _estimated(self) -> Table:
        paid = EstimatedPayment.objects.of_tax_year(self.year.year, self.period)
        return Table(
            "Estimated tax",
            "estimated_tax.csv",
            columns(("date", DAY), "for the tax year", ("amount", AMOUNT, True), "note"),
            tuple((row.date, self.period.years, row.amount, row.note) for row in paid),
        )
