from billing.models.account_day import AccountDay
from billing.models.bank_deposit import BankDeposit
from billing.models.bill_to import BillTo
from billing.models.charge import Charge
from billing.models.checked_warning import CheckedWarning
from billing.models.credit_note import CreditNote, CreditNoteLine, Rebilling
from billing.models.dispute import Dispute
from billing.models.equipment import Equipment
from billing.models.estimated_payment import EstimatedPayment
from billing.models.expense import Expense, RepeatingExpense
from billing.models.invoice import Invoice, InvoiceLine
from billing.models.mail_settings import MailSettings
from billing.models.message import Message, MessageAttempt, MessageText
from billing.models.mileage_rate import MileageRate
from billing.models.pack import Pack
from billing.models.payment import Payment, PaymentChange
from billing.models.price import Price, TaxRate
from billing.models.settlement import Settlement
from billing.models.shared_link import SharedLink

__all__ = [
    "AccountDay",
    "BankDeposit",
    "BillTo",
    "Charge",
    "CheckedWarning",
    "CreditNote",
    "CreditNoteLine",
    "Dispute",
    "Equipment",
    "EstimatedPayment",
    "Expense",
    "Invoice",
    "InvoiceLine",
    "MailSettings",
    "Message",
    "MessageAttempt",
    "MessageText",
    "MileageRate",
    "Pack",
    "Payment",
    "PaymentChange",
    "Price",
    "Rebilling",
    "RepeatingExpense",
    "Settlement",
    "SharedLink",
    "TaxRate",
]
