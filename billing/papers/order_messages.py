"""The message that brings an order to its supplier."""

from django.urls import reverse

from billing.papers.message_kinds import MessageKind, Recipient, Wording
from practice.lib import formats
from practice.lib.mail import Enclosure
from practice.lib.pdf import render_pdf
from practice.lib.profile import Profile
from stock.models import Order
from stock.papers.orders import file_stem, order_paper
from stock.reports.orders import order_sheet


class OrderMessage(MessageKind):
    code, name = "order", "Order"
    placeholders = {
        "supplier": "Tarn Iron",
        "number": "O-2026-0007",
        "date": "October 14, 2026",
        "practice": "Garrow Farriery",
        "address": "4 Mill Lane, Larkspur",
        "phone": "555-0100",
    }
    wording = Wording(
        "Order {number} from {practice}",
        "Hello {supplier},\n\n"
        "Attached is our order {number}, dated {date}. Please tell us when you expect to deliver.\n\n"
        "Thank you,\n{practice}\n{address}\n{phone}",
    )

    def about(self, order: Order) -> str:
        return order.key

    def find(self, about: str) -> Order | None:
        try:
            return Order.objects.select_related("supplier").by_key(about)
        except Order.DoesNotExist:
            return None

    def recipient(self, order: Order) -> Recipient:
        supplier = order.supplier
        if supplier is None:
            return Recipient("", "", "", "", reverse("stock:order-change", args=[order.pk]))
        change = reverse("stock:supplier-change", args=[supplier.pk])
        return Recipient(supplier.name, supplier.email, supplier.phone, change, change)

    def values(self, order: Order, profile: Profile) -> dict[str, str]:
        return {
            "supplier": order.supplier.name if order.supplier else "",
            "number": order.key,
            "date": formats.long_date(order.ordered_on, profile.locale),
            "practice": profile.name,
            "address": profile.address.replace("\r\n", "\n"),
            "phone": profile.phone,
        }

    def enclosures(self, order: Order) -> list[Enclosure]:
        content = render_pdf("pdf/order.html", {"paper": order_paper(order_sheet(order))})
        return [Enclosure(self.enclosed(order)[0], content)]

    def enclosed(self, order: Order) -> list[str]:
        return [f"{file_stem(order_sheet(order))}.pdf"]


ORDER = OrderMessage()
