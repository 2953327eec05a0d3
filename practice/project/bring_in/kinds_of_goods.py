"""Sheets of items, open invoices and credit: their columns, with examples that are made up."""

from practice.project.bring_in.meanings import NOTES, Meaning, SheetKind

ITEMS = SheetKind(
    "items",
    "item",
    "items",
    "Bring in what is on the truck",
    "One row per item, each size on its own: shoes, nails, pads, and the rest, with how many there are.",
    (
        Meaning(
            "name",
            "Name",
            "name, item, item name, product, description, article, material",
            "What you call it. If several sizes share a name, the size is added to it.",
            ("Plain front 1", "Race nail 5", "Sole sealant"),
        ),
        Meaning(
            "kind",
            "Kind",
            "kind, type, category, group",
            "Shoe, nail, pad, packing, sealant, adhesive, stud, bar stock, casting, fuel, or other.",
            ("shoe", "nail", "sealant"),
        ),
        Meaning(
            "pattern",
            "Pattern",
            "pattern, model, style, head",
            "The pattern of a shoe or the head of a nail.",
            ("plain", "race", ""),
        ),
        Meaning("size", "Size", "size, no", "As it is stamped or printed.", ("1", "5", "")),
        Meaning(
            "fits", "Fits", "fits, front or hind, fore or hind", "Front, hind, or any.", ("front", "", "")
        ),
        Meaning("side", "Side", "side, left or right", "Left, right, or any."),
        Meaning(
            "on_hand",
            "How many there are",
            "how many there are, on hand, quantity, qty, count, stock, in stock, counted, amount",
            "Counted one by one, not in packs.",
            ("24", "250", "480"),
        ),
        Meaning(
            "unit_cost",
            "Cost of one",
            "cost of one, cost, unit cost, cost each, price paid, cost per piece, purchase price, price",
            "What you paid for one, with freight. It values what you counted.",
            ("4.35", "0.16", "0.09"),
        ),
        Meaning(
            "sale_price",
            "Sale price of one",
            "sale price of one, sale price, selling price, retail, retail price, charge",
            "Only for what you bill separately. The price of the work covers the rest.",
        ),
        Meaning(
            "unit",
            "Unit",
            "unit, units, counted in, measure",
            "Such as each, ml, or g. Leave it blank for each.",
            ("", "", "ml"),
        ),
        Meaning(
            "pack_size",
            "Units in a pack",
            "units in a pack, pack size, pack, per box, per pack, box, pieces per box",
            "How many you buy at once.",
            ("2", "250", "250"),
        ),
        Meaning(
            "supplier",
            "Supplier",
            "supplier, vendor, bought from, source",
            "Who sells it to you. One that is not in the book yet is added.",
            ("Ember Ford Supply", "Ember Ford Supply", ""),
        ),
    ),
    (("name",),),
    "stock:truck",
)
INVOICES = SheetKind(
    "invoices",
    "invoice",
    "invoices",
    "Bring in open invoices",
    "One row per invoice from before you kept this book that is not paid in full.",
    (
        Meaning(
            "number",
            "Number",
            "number, invoice, invoice number, invoice no, no, inv",
            "As on the invoice.",
            ("2026-118", "2026-121", "2026-124"),
        ),
        Meaning(
            "client",
            "Client",
            "client, customer, name, client name, customer name, bill to, owner",
            "Who owes it. A client who is not in the book yet is added.",
            ("Wren Halloway", "Odell Marsh", "Twelve Pines Riding Club"),
        ),
        Meaning(
            "issued",
            "Dated",
            "dated, date, issued, invoice date, issued on, billed on",
            "The invoice's date.",
            ("2026-10-19", "2026-10-26", "2026-11-02"),
        ),
        Meaning(
            "due",
            "Due on",
            "due on, due, due date, pay by",
            "Leave it blank to use the client's days to pay.",
            ("2026-11-02", "", ""),
        ),
        Meaning(
            "total",
            "Total",
            "total, amount, invoice total, gross",
            "With tax.",
            ("180.00", "64.20", "425.00"),
        ),
        Meaning(
            "tax",
            "Tax in it",
            "tax in it, tax, sales tax, vat, gst",
            "Leave it blank if there is none.",
            ("", "4.20", ""),
        ),
        Meaning(
            "open",
            "Still open",
            "still open, open, balance, balance due, owed, due amount, outstanding, unpaid, amount due",
            "What is left to pay. Leave it blank for all of it.",
            ("80.00", "", ""),
        ),
        Meaning(
            "paid_on",
            "Part paid on",
            "part paid on, paid on, paid, payment date",
            "When part of it was paid. Leave it blank to use the invoice's date.",
            ("2026-10-30", "", ""),
        ),
    ),
    (("number",), ("client",), ("issued",), ("total",)),
    "billing:owed",
    same=False,
    note="The part already paid comes in as a payment on its day and counts as received then. Check"
    " the figures of that year with a licensed tax preparer.",
)
CREDIT = SheetKind(
    "credit",
    "client's credit",
    "clients' credit",
    "Bring in credit",
    "One row per client who paid ahead or paid too much. The client's next invoices use it.",
    (
        Meaning(
            "client",
            "Client",
            "client, customer, name, client name, customer name, owner",
            "Who paid it. A client who is not in the book yet is added.",
            ("Odell Marsh", "Wren Halloway", ""),
        ),
        Meaning(
            "amount",
            "Credit",
            "credit, amount, balance, prepaid, deposit, account balance, paid ahead",
            "How much is left of it.",
            ("120.00", "35.50", ""),
        ),
        Meaning(
            "date",
            "Received on",
            "received on, date, received, paid on, as of",
            "The day you received it. Leave it blank to use one day for all.",
            ("2026-10-02", "", ""),
        ),
        NOTES,
    ),
    (("client",), ("amount",)),
    "billing:payment-list",
    same=False,
    note="Credit counts as received on the day that you type. Whether it is income then differs from place to"
    " place; a licensed tax preparer decides.",
)
