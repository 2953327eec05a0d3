from billing.models.invoice import Invoice, InvoiceLine
from billing.models.payment import Expense, Payment, Settlement
from billing.models.price import Price, TaxRate

__all__ = ["Expense", "Invoice", "InvoiceLine", "Payment", "Price", "Settlement", "TaxRate"]
