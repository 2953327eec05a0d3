from billing.models.account_day import AccountDay
from billing.models.checked_warning import CheckedWarning
from billing.models.equipment import Equipment
from billing.models.estimated_payment import EstimatedPayment
from billing.models.expense import Expense, RepeatingExpense
from billing.models.invoice import Invoice, InvoiceLine
from billing.models.mileage_rate import MileageRate
from billing.models.pack import Pack
from billing.models.payment import Payment, PaymentChange
from billing.models.price import Price, TaxRate
from billing.models.settlement import Settlement

__all__ = [
    "AccountDay",
    "CheckedWarning",
    "Equipment",
    "EstimatedPayment",
    "Expense",
    "Invoice",
    "InvoiceLine",
    "MileageRate",
    "Pack",
    "Payment",
    "PaymentChange",
    "Price",
    "RepeatingExpense",
    "Settlement",
    "TaxRate",
]
