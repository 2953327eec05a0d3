"""Sheets of open invoices and of clients' credit as rows of the book."""

from datetime import date, timedelta
from decimal import Decimal

from billing.models import Payment
from practice.project.bring_in.contract_rows import made_key
from practice.project.bring_in.known import CLIENT
from practice.project.bring_in.rows import RowReading
from practice.project.bring_in.translation import Translation, plain

INVOICE, CREDIT = "invoice", "credit"
PAID_BEFORE, BROUGHT_IN = "Paid before this book was kept.", "Credit from before this book was kept."


def translate_invoices(work: Translation) -> None:
    for row in work.sound_rows():
        number, name = row.needed("number"), row.needed("client")
        issued, due, paid_on = row.past_day("issued"), row.day("due"), row.past_day("paid_on")
        total, tax, left = (row.number_of(code, "180.00") for code in ("total", "tax", "open"))
        row.needed("issued")
        row.needed("total")
        client = work.named(CLIENT, name, row, "client")
        if not number or work.is_second(row, "number", number) or not row.is_sound:
            continue
        tax, left = tax or Decimal(0), total if left is None else left
        if total < 0:
            row.refuse("total", "This is below 0. What you owe a client is brought in as credit.")
        elif not 0 <= tax <= total:
            row.refuse("tax", "The tax is at least 0 and at most the total.")
        elif not 0 <= left <= total:
            row.refuse("open", "What is still open is at least 0 and at most the total.")
        elif due and due < issued:
            row.refuse("due", "This is before the invoice's date.")
        else:
            due = due or issued + timedelta(days=_terms(work, name, row))
            _add_invoice(work, row, client, (issued, due, paid_on), (total, tax, left))


def _terms(work: Translation, name: str, row: RowReading) -> int:
    """Return the days to pay of a client in the book, else the practice's."""
    found = work.find(CLIENT, name, row, "client")
    own = found.payment_terms_days if found else None
    return work.profile.payment_terms_days if own is None else own


def _add_invoice(
    work: Translation,
    row: RowReading,
    client: str,
    days: tuple[date, date, date | None],
    sums: tuple[Decimal, ...],
) -> None:
    (issued, due, paid_on), (total, tax, left), number = days, sums, row.text("number")
    values = {"number": number, "client": client, "issued": plain(issued), "due": plain(due)}
    values |= {"net": plain(total - tax), "tax": plain(tax), "total": plain(total)}
    work.add("invoices.csv", row, values, {code: code for code in values} | {"net": "total"})
    work.sums[INVOICE] += left
    work.tally(INVOICE).new.append(number)
    if left < total:
        on = paid_on or issued
        key = made_key("part paid", number, on, total - left)
        paid = {"ref": str(key), "date": plain(on), "client": client, "amount": plain(total - left)}
        paid |= {"method": Payment.Method.OTHER.value, "invoice": number, "note": PAID_BEFORE}
        codes = {"date": "paid_on" if row.text("paid_on") else "issued", "amount": "open", "client": "client"}
        work.add("payments.csv", row, paid, codes)


def translate_credit(work: Translation) -> None:
    for row in work.sound_rows():
        name, amount, on = row.needed("client"), row.number_of("amount", "120.00"), row.past_day("date")
        client = work.named(CLIENT, name, row, "client")
        row.needed("amount")
        if amount is not None and amount < 0:
            row.refuse("amount", "This is below 0. What a client owes you is brought in as an open invoice.")
        if not row.is_sound or not amount:
            continue
        day = plain(on) or work.option("day")
        key = str(made_key(CREDIT, client, day, amount))
        if work.is_second(row, "client", key):
            continue
        values = {"ref": key, "date": day, "client": client, "amount": plain(amount)}
        values |= {"method": Payment.Method.OTHER.value, "note": row.text("notes") or BROUGHT_IN}
        codes = {"date": "date" if on else "amount", "amount": "amount", "client": "client", "note": "notes"}
        work.add("payments.csv", row, values, codes)
        work.sums[CREDIT] += amount
        work.tally(CREDIT).new.append(name)
