"""What is issued, and what a payment was before, cannot be changed: the database itself refuses it."""

from practice.lib.triggers import Follows, Guard

CLIENT = Follows("client_id", "client")

GUARDS = [
    Guard("billing_invoice", "an issued invoice cannot be changed", follows=(CLIENT,)),
    Guard(
        "billing_invoiceline",
        "a line of an issued invoice cannot be changed",
        when="OLD.invoice_id IS NOT NULL",
        follows=(CLIENT, Follows("horse_id", "horse"), Follows("item_id", "item")),
    ),
    Guard("billing_creditnote", "an issued credit note cannot be changed"),
    Guard("billing_creditnoteline", "a line of an issued credit note cannot be changed"),
    Guard(
        "billing_paymentchange",
        "what a payment was before is only added to, never changed",
        follows=(CLIENT,),
    ),
]
