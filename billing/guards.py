"""What is issued, and what a payment was before, cannot be changed: the database itself refuses it."""

from practice.lib.triggers import Guard

GUARDS = [
    Guard("billing_invoice", "an issued invoice cannot be changed"),
    Guard(
        "billing_invoiceline",
        "a line of an issued invoice cannot be changed",
        when="OLD.invoice_id IS NOT NULL",
    ),
    Guard("billing_creditnote", "an issued credit note cannot be changed"),
    Guard("billing_creditnoteline", "a line of an issued credit note cannot be changed"),
    Guard("billing_paymentchange", "what a payment was before is only added to, never changed"),
]
