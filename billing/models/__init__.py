from billing.models.invoice import Invoice, InvoiceLine
from billing.models.mileage_rate import MileageRate
from billing.models.payment import Expense, Payment, Settlement
from billing.models.price import Price, TaxRate

__all__ = [
    "Expense",
    "Invoice",
    "InvoiceLine",
    "MileageRate",
    "Payment",
    "Price",
    "Settlement",
    "TaxRate",
]
