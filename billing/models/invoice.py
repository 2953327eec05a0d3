from datetime import date
from decimal import Decimal

from django.db import models
from django.db.models import Case, Exists, F, OuterRef, Q, When
from django.urls import reverse

from billing.models.charge import Charge
from billing.models.credit_note import CreditNote
from billing.models.settlement import Settlement
from billing.rules.lines import CHARGE, MATERIAL, MINIMUM, SERVICE, LinePart
from billing.rules.totals import read_taxes, write_taxes
from practice.lib.fields import ExactField
from practice.lib.queries import sum_of
from practice.lib.rows import Identified, not_negative, positive
from practice.models import Client, Horse, Service, Visit
from stock.models import Item


class InvoiceQuerySet(models.QuerySet):
    def with_settled(self):
        """Annotate `settled` by payments and `credited` by credit notes; 0 where there is nothing."""
        return self.annotate(
            settled=sum_of(Settlement.objects.all(), "amount", per="invoice"),
            credited=sum_of(CreditNote.objects.all(), "total", per="invoice"),
        )

    def outstanding(self):
        """Invoices that are neither paid nor credited in full."""
        return self.with_settled().filter(total__gt=F("settled") + F("credited"))

    def open_total(self) -> Decimal:
        """Return what is left to pay of these together, in the practice's currency."""
        return sum((invoice.open for invoice in self.outstanding()), Decimal(0))

    def for_day(self, on):
        """Those of a day's close: issued on that day, or with lines of its visits; in order of issue."""
        of_its_visits = self.model.objects.filter(lines__visit__date=on).values("pk")
        return self.with_settled().filter(Q(issued=on) | Q(pk__in=of_its_visits)).order_by("pk")

    def within(self, period):
        """Those issued on the days of a period."""
        return self.filter(issued__gte=period.begin, issued__lte=period.end)

    def for_list(self):
        """The latest first, with what a row of the list shows."""
        return self.with_settled().select_related("client").order_by("-issued", "-pk")

    def open_first(self):
        """As `for_list`, but those that something is left to pay of first, the earliest due date first.

        Annotated with `is_open`, 1 or 0, and `due_if_open`, None for what is paid.
        """
        unpaid = Q(total__gt=F("settled") + F("credited"))
        rows = self.for_list().annotate(
            is_open=Case(When(unpaid, then=1), default=0), due_if_open=Case(When(unpaid, then=F("due")))
        )
        return rows.order_by("-is_open", "due_if_open", "-issued", "-pk")

    def named(self, words: str):
        """Those whose number or client holds these words; all where there are none."""
        if not words:
            return self
        return self.filter(Q(number__icontains=words) | Q(client__name__icontains=words))


class Invoice(Identified):
    """What one client owes for a day or a month. It is issued when it is made, and never changes after.

    Names, addresses and the credit applied are kept as they were on that day. The UUID stands in
    its PDF: after the book went back to an earlier state, a number is drawn again, a UUID never.
    """

    number = models.CharField(max_length=60, unique=True)
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="invoices")
    issued = models.DateField(db_index=True)
    due = models.DateField()
    net = ExactField()
    tax = ExactField()
    total = ExactField()
    credit_applied = ExactField(default=Decimal(0))
    client_name = models.CharField(max_length=200, blank=True, default="")
    client_address = models.TextField(blank=True, default="")
    practice_name = models.CharField(max_length=200, blank=True, default="")
    practice_address = models.TextField(blank=True, default="")

    objects = InvoiceQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(total=F("net") + F("tax")), name="billing_invoice_total_is_net_and_tax"
            ),
            not_negative("credit_applied", "billing_invoice_credit_is_not_negative"),
        ]

    def __str__(self):
        return self.number

    def get_absolute_url(self):
        return reverse("billing:invoice-detail", args=[self.pk])

    @property
    def open(self) -> Decimal:
        """What is left to pay, in the practice's currency; needs `with_settled`."""
        return self.total - self.credited - self.settled

    @property
    def settled_word(self) -> str:
        """How an invoice was settled that nothing is left to pay of; needs `with_settled`."""
        return "credited" if self.credited and self.credited >= self.total else "paid"


class InvoiceLineQuerySet(models.QuerySet):
    def waiting(self):
        """Parts that are recorded and wait for their client's invoice."""
        return self.filter(invoice__isnull=True)

    def of_visits(self):
        """Parts of what visits bill; not charges and discounts of their own."""
        return self.filter(horse__isnull=False)

    def standing(self):
        """Parts by which visits are billed now: not those that credit notes took back before, or for good."""
        since = InvoiceLine.objects.filter(visit=OuterRef("visit"), rebilled__gt=OuterRef("rebilled"))
        return self.of_visits().filter(~Exists(since), visit__locked=True)

    def for_paper(self):
        """In the order of an invoice, with what a line names: by visit, then charges, discounts last."""
        of_a_visit = Case(When(horse__isnull=False, then="visit__date"))
        lines = self.select_related("visit__place", "horse", "service", "item", "charge")
        return lines.order_by(of_a_visit.asc(nulls_last=True), "pk")


class InvoiceLine(models.Model):
    """One client's part of a line, recorded when its visit is locked; without an `invoice` it waits.

    A `charge` without a row of charges is what brings a visit up to the practice's minimum. A row of charges
    and a client's discount have no horse, and never wait here.

    `unit_price` is of the whole line, `share` the client's percent, `net` the client's part.
    The tax columns hold what applied on the visit's date, `;` between. For an exempt client they
    say what would have been taxed. `percent` is that of a client's discount, where it is known.
    `rebilled`: how often its visit was billed before and credited in full.
    """

    class Kind(models.TextChoices):
        SERVICE = "service", "Service"
        MATERIAL = "material", "Material"
        TRAVEL = "travel", "Travel"
        CHARGE = "charge", "Charge"
        DISCOUNT = "discount", "Discount"

    AS_IN_A_PART = ("kind", "quantity", "unit_price", "share", "net", "percent")

    invoice = models.ForeignKey(
        Invoice, null=True, blank=True, on_delete=models.PROTECT, related_name="lines"
    )
    client = models.ForeignKey(Client, on_delete=models.PROTECT, related_name="lines")
    kind = models.CharField(max_length=10, choices=Kind)
    visit = models.ForeignKey(Visit, null=True, blank=True, on_delete=models.PROTECT, related_name="lines")
    horse = models.ForeignKey(Horse, null=True, blank=True, on_delete=models.PROTECT, related_name="lines")
    service = models.ForeignKey(Service, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    item = models.ForeignKey(Item, null=True, blank=True, on_delete=models.PROTECT, related_name="+")
    charge = models.OneToOneField(
        Charge, null=True, blank=True, on_delete=models.PROTECT, related_name="line"
    )
    quantity = ExactField()
    unit_price = ExactField()
    share = ExactField()
    net = ExactField()
    tax_names = models.TextField(blank=True, default="")
    tax_rates = models.TextField(blank=True, default="")
    tax_areas = models.TextField(blank=True, default="")
    percent = ExactField(null=True, blank=True)
    rebilled = models.PositiveSmallIntegerField(default=0)

    objects = InvoiceLineQuerySet.as_manager()

    class Meta:
        constraints = [
            positive("quantity", "billing_invoiceline_quantity_is_positive"),
            models.CheckConstraint(
                condition=Q(unit_price__gte=0) | Q(charge__isnull=False) | Q(kind="discount"),
                name="billing_invoiceline_unit_price_is_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(kind="service", service__isnull=False, item__isnull=True, charge__isnull=True)
                | Q(kind="material", service__isnull=True, item__isnull=False, charge__isnull=True)
                | Q(kind="travel", service__isnull=True, item__isnull=True, charge__isnull=True)
                | Q(kind__in=["charge", "discount"], service__isnull=True, item__isnull=True),
                name="billing_invoiceline_names_what_its_kind_says",
            ),
            models.CheckConstraint(
                condition=Q(visit__isnull=False, horse__isnull=False, charge__isnull=True)
                & ~Q(kind="discount")
                | Q(kind="charge", charge__isnull=False, horse__isnull=True, invoice__isnull=False)
                | Q(kind="discount", charge__isnull=True, horse__isnull=True, invoice__isnull=False)
                & Q(visit__isnull=True),
                name="billing_invoiceline_of_a_visit_or_of_its_own",
            ),
        ]

    def __str__(self):
        return f"{self.get_kind_display()}, {self.horse or self.client}, {self.net}"

    @classmethod
    def of_part(
        cls, visit: Visit | None, part: LinePart, invoice: Invoice | None, rebilled: int = 0
    ) -> "InvoiceLine":
        """Return a client's part as a line of its invoice, not saved; `invoice` None: it waits."""
        names, rates, areas = write_taxes(part.taxes)
        return cls(
            invoice=invoice,
            visit=visit,
            rebilled=rebilled,
            client_id=part.client,
            horse_id=part.horse,
            service_id=part.code if part.kind == SERVICE else None,
            item_id=part.code if part.kind == MATERIAL else None,
            charge_id=part.code if part.kind == CHARGE and part.code != MINIMUM else None,
            tax_names=names,
            tax_rates=rates,
            tax_areas=areas,
            **{name: getattr(part, name) for name in cls.AS_IN_A_PART},
        )

    def as_part(self) -> LinePart:
        """Return the part that was written down in this line."""
        return LinePart(
            client=self.client_id,
            horse=self.horse_id,
            code=self.service_id or self.item_id or self.charge_id or (MINIMUM if self.is_minimum else None),
            taxes=read_taxes(self.tax_names, self.tax_rates, self.tax_areas),
            **{name: getattr(self, name) for name in self.AS_IN_A_PART},
        )

    @property
    def code(self) -> str:
        """The key of the service, item or charge, or `minimum`; blank for travel and discounts."""
        named = self.service or self.item or self.charge
        return named.key if named else MINIMUM if self.is_minimum else ""

    @property
    def name(self) -> str:
        """What it is for: `Reset`, `Front shoe`, `Travel`, the name of a charge."""
        if self.is_minimum:
            return "Minimum charge"
        return str(self.service or self.item or self.charge or self.get_kind_display())

    @property
    def day(self) -> date | None:
        """The day of its visit or charge; None for a client's discount."""
        about = self.charge or self.visit
        return about.date if about else None

    @property
    def is_minimum(self) -> bool:
        """Whether it brings its visit up to the practice's minimum."""
        return self.kind == CHARGE and self.charge_id is None
