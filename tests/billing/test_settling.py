"""Which payment settles which invoice: worked by hand, sentence by sentence."""

from datetime import date
from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from billing.rules.account_rows import Bill, CreditNoteValue, Paid, Settled
from billing.rules.settling import settle

D = Decimal


def day(number):
    return date(2026, 1, number)


def bill(key, on, total):
    return Bill(key, f"GF-{key}", day(on), D(total))


def paid(order, on, amount, invoice=None, tip="0"):
    return Paid(f"p{order}", order, day(on), D(amount), D(tip), invoice)


def rows(outcome):
    return [(row.payment, row.invoice, row.date.day, str(row.amount), row.by_hand) for row in outcome.rows]


A, B = bill("A", 5, 100), bill("B", 10, 60)


def test_a_payment_settles_open_invoices_by_date_and_the_rest_is_credit():
    outcome = settle([B, A], [paid(1, 12, "170")])

    assert rows(outcome) == [("p1", "A", 12, "100", False), ("p1", "B", 12, "60", False)]
    assert outcome.credit == {"p1": 10}


def test_credit_is_used_by_the_next_invoices_oldest_payment_first():
    outcome = settle([A], [paid(2, 3, "30"), paid(1, 2, "40")])

    assert rows(outcome) == [("p1", "A", 5, "40", False), ("p2", "A", 5, "30", False)]


def test_what_a_payment_names_is_set_aside_first_also_for_a_later_invoice():
    outcome = settle([A, B], [paid(1, 3, "80", "B"), paid(2, 4, "100")])

    assert rows(outcome) == [
        ("p1", "A", 5, "20", False),
        ("p2", "A", 5, "80", False),
        ("p1", "B", 10, "60", True),
    ]
    assert outcome.credit == {"p2": 20}


def test_a_chosen_part_is_at_most_the_invoices_total():
    outcome = settle([A], [paid(1, 6, "70", "A"), paid(2, 7, "70", "A")])

    assert rows(outcome) == [("p1", "A", 6, "70", True), ("p2", "A", 7, "30", True)]
    assert outcome.credit == {"p2": 40}


def test_a_tip_settles_nothing_and_becomes_no_credit():
    outcome = settle([A], [paid(1, 6, "110", tip="10")])

    assert rows(outcome) == [("p1", "A", 6, "100", False)]
    assert outcome.credit == {}


def test_a_refund_takes_credit_first_and_then_reopens_what_was_settled_last():
    outcome = settle([A, B], [paid(1, 11, "165"), paid(2, 12, "-80")])

    assert rows(outcome)[2:] == [("p2", "B", 12, "-60", False), ("p2", "A", 12, "-15", False)]
    assert outcome.credit == {}


def test_a_bounced_check_that_names_an_invoice_reopens_it():
    outcome = settle([A, B], [paid(1, 6, "100", "A"), paid(2, 11, "60"), paid(3, 12, "-100", "A")])

    assert rows(outcome) == [
        ("p1", "A", 6, "100", True),
        ("p2", "B", 11, "60", False),
        ("p3", "A", 12, "-100", True),
    ]


def test_credit_left_settles_a_reopened_invoice_on_that_day():
    outcome = settle([A], [paid(1, 6, "100", "A"), paid(2, 7, "30"), paid(3, 8, "-100", "A")])

    assert rows(outcome)[1:] == [("p3", "A", 8, "-100", True), ("p2", "A", 8, "30", False)]


def test_a_refund_beyond_everything_that_came_in_is_told():
    outcome = settle([A], [paid(1, 6, "20"), paid(2, 7, "-50")])

    assert (rows(outcome)[1:], outcome.uncovered) == ([("p2", "A", 7, "-20", False)], 30)


def test_a_credit_note_on_a_paid_invoice_gives_credit_back():
    outcome = settle([A, B], [paid(1, 6, "100", "A")], [CreditNoteValue("A", day(8), D(30))])

    assert rows(outcome)[1:] == [("p1", "A", 8, "-30", False), ("p1", "B", 10, "30", False)]


def note(invoice, on, total):
    return CreditNoteValue(invoice, day(on), D(total))


def test_a_second_credit_note_frees_no_more_of_a_payment_than_is_still_settled_by_it():
    """60 and 50 came in for 110; 40 and then 50 are credited: the second finds 10 of the later payment."""
    bills, payments = [bill("A", 5, 110)], [paid(1, 6, "60"), paid(2, 7, "50")]

    outcome = settle(bills, payments, [note("A", 8, "40"), note("A", 9, "50")])

    assert rows(outcome)[2:] == [
        ("p2", "A", 8, "-40", False),
        ("p2", "A", 9, "-10", False),
        ("p1", "A", 9, "-40", False),
    ]
    assert outcome.credit == {"p1": 40, "p2": 50}


def test_of_one_day_what_was_chosen_by_hand_is_freed_last():
    outcome = settle([A], [paid(1, 6, "60", "A"), paid(2, 6, "40")], [note("A", 8, "50")])

    assert rows(outcome)[2:] == [("p2", "A", 8, "-40", False), ("p1", "A", 8, "-10", False)]


def test_what_a_refund_gave_back_is_not_freed_again():
    outcome = settle([A], [paid(1, 6, "100"), paid(2, 7, "-30", "A")], [note("A", 8, "80")])

    assert rows(outcome)[2:] == [("p1", "A", 8, "-50", False)]
    assert outcome.credit == {"p1": 50}


def test_a_payment_after_the_credit_note_settles_only_what_is_left():
    outcome = settle([A, B], [paid(1, 12, "100", "A")], [note("A", 8, "70")])

    assert rows(outcome) == [("p1", "A", 12, "30", True), ("p1", "B", 12, "60", False)]
    assert outcome.credit == {"p1": 10}


def test_what_is_closed_for_good_stands_as_it_was():
    standing = [Settled("p1", "B", day(10), D(60))]
    payments = [paid(1, 10, "60"), paid(2, 12, "50")]

    outcome = settle([A, B], payments, closed_through=day(11), standing=standing)

    assert rows(outcome) == [("p1", "B", 10, "60", False), ("p2", "A", 12, "50", False)]


def test_a_part_chosen_by_hand_of_a_payment_that_names_nothing_is_set_aside_first():
    outcome = settle([A, B], [paid(1, 11, "90")], chosen=[Settled("p1", "B", day(11), D(50), True)])

    assert rows(outcome) == [("p1", "B", 11, "50", True), ("p1", "A", 11, "40", False)]


BILLS = st.lists(st.tuples(st.integers(1, 28), st.integers(1, 30000)), max_size=6)
PAYMENTS = st.lists(
    st.tuples(st.integers(1, 28), st.integers(-20000, 40000).filter(bool), st.integers(0, 7)),
    max_size=8,
    unique_by=lambda payment: payment[0],
)


def drawn(bills, payments):
    invoices = [Bill(n, f"{n:04d}", day(on), D(total) / 100) for n, (on, total) in enumerate(bills)]
    return invoices, [
        Paid(f"on {on}", order, day(on), D(amount) / 100, invoice=names if names < len(bills) else None)
        for order, (on, amount, names) in enumerate(payments)
    ]


@given(BILLS, PAYMENTS)
def test_nothing_is_lost_and_nothing_is_negative(bills, payments):
    invoices, come = drawn(bills, payments)

    outcome = settle(invoices, come)

    for invoice in invoices:
        settled = sum((row.amount for row in outcome.rows if row.invoice == invoice.key), D(0))
        assert 0 <= settled <= invoice.total
    assert all(left > 0 for left in outcome.credit.values())
    received = sum((payment.amount for payment in come), D(0))
    settled = sum((row.amount for row in outcome.rows), D(0))
    assert received + outcome.uncovered == settled + sum(outcome.credit.values(), D(0))


@given(BILLS, PAYMENTS, st.randoms(use_true_random=False))
def test_any_order_of_typing_gives_the_same_settlements(bills, payments, random):
    invoices, come = drawn(bills, payments)
    shuffled = list(payments)
    random.shuffle(shuffled)
    invoices_again, again = drawn(bills, shuffled)
    random.shuffle(invoices_again)

    assert rows(settle(invoices_again, again)) == rows(settle(invoices, come))


CREDITS = st.lists(st.tuples(st.integers(1, 28), st.integers(0, 5), st.integers(1, 100)), max_size=5)


@given(BILLS, PAYMENTS, CREDITS)
def test_no_credit_note_leaves_an_invoice_below_zero_or_loses_money(bills, payments, credits):
    """The balance of a client is what was billed, less credit notes, less payments."""
    invoices, come = drawn(bills, payments)
    left, notes = {invoice.key: invoice.total for invoice in invoices}, []
    for on, which, percent in sorted(credits):
        if which < len(invoices):
            part = (left[which] * percent / 100).quantize(D("0.01"))
            left[which] -= part
            notes.append(CreditNoteValue(which, max(day(on), invoices[which].date), part))

    outcome = settle(invoices, come, notes)

    settled = dict.fromkeys(left, D(0))
    for row in outcome.rows:
        settled[row.invoice] += row.amount
    assert all(0 <= settled[key] <= left[key] for key in left)
    assert all(amount > 0 for amount in outcome.credit.values())
    received = sum((payment.amount for payment in come), D(0))
    assert received + outcome.uncovered == sum(settled.values()) + sum(outcome.credit.values(), D(0))
    by_payment = {payment.key: D(0) for payment in come}
    for row in outcome.rows:
        by_payment[row.payment] += row.amount
    assert all(by_payment[p.key] <= p.amount for p in come if p.amount > 0)
    for key in left:
        for row in [row for row in outcome.rows if row.invoice == key and row.amount > 0]:
            own = [r.amount for r in outcome.rows if (r.invoice, r.payment) == (key, row.payment)]
            assert sum(own) >= 0
