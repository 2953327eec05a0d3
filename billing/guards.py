"""An issued invoice never changes: the database itself refuses it."""

from practice.lib.triggers import Guard

GUARDS = [
    Guard("billing_invoice", "an issued invoice never changes; mend it by a credit note"),
    Guard(
        "billing_invoiceline",
        "a line of an issued invoice never changes; mend it by a credit note",
        when="OLD.invoice_id IS NOT NULL",
    ),
]
