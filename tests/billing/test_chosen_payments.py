"""One payment for several invoices, card fees, refunds, and checks that bounce."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from billing.actions.bouncing import bounce_check
from billing.actions.payments import change_payment, delete_payment, record_payment
from billing.actions.settling import credit_left
from billing.models import Expense, Invoice, Payment, PaymentChange
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.project.book.exporter import export_book
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import DAY, ClientFactory, ProfileFactory
from tests.project.test_book_errors import complaints, put

pytestmark = pytest.mark.django_db
D = Decimal
DAYS = timedelta(1)
NOW = {"by": "farrier", "at": datetime(2026, 10, 14, 18, 5, tzinfo=UTC)}


@pytest.fixture(autouse=True)
def practice(settings, tmp_path):
    settings.DATA_DIR, settings.TODAY = tmp_path, DAY
    return ProfileFactory()


@pytest.fixture
def ann():
    """A client with three invoices of 100, dated day after day: A, B, C."""
    ann = ClientFactory(name="Ann", ref="ann")
    for days, number in ((3, "A"), (2, "B"), (1, "C")):
        InvoiceFactory(number=number, client=ann, issued=DAY - days * DAYS)
    return ann


def of(ann, numbers):
    return list(ann.invoices.filter(number__in=list(numbers)))


def open_of(ann):
    return {row.number: row.open for row in ann.invoices.with_settled()}


def parts(payment):
    rows = payment.settlements.order_by("date", "invoice")
    return [(row.invoice.number, row.amount, row.by_hand) for row in rows]


def test_several_invoices_that_are_ticked_are_settled_by_hand_oldest_first(ann):
    payment = record_payment(ann, DAY, D(150), "check", invoices=of(ann, "BC"))

    assert parts(payment) == [("B", 100, True), ("C", 50, True)]
    assert (payment.invoice, open_of(ann)) == (None, {"A": 100, "B": 0, "C": 50})


def test_what_the_ticked_invoices_leave_settles_the_others_and_becomes_credit(ann):
    payment = record_payment(ann, DAY, D(330), "check", invoices=of(ann, "BC"))

    assert parts(payment) == [("A", 100, False), ("B", 100, True), ("C", 100, True)]
    assert credit_left(ann) == 30


def test_what_was_chosen_stays_when_an_earlier_payment_is_entered(ann):
    payment = record_payment(ann, DAY, D(200), "check", invoices=of(ann, "BC"))

    earlier = record_payment(ann, DAY - DAYS, D(150), "cash")

    assert (parts(payment), parts(earlier)) == ([("B", 100, True), ("C", 100, True)], [("A", 100, False)])


def test_other_invoices_can_be_ticked_later_and_the_history_names_those_before(ann):
    payment = record_payment(ann, DAY, D(200), "check", invoices=of(ann, "BC"))

    change_payment(payment, {"invoices": of(ann, "AB")}, **NOW)
    change_payment(Payment.objects.get(), {"invoices": of(ann, "AB")}, **NOW)

    assert parts(payment) == [("A", 100, True), ("B", 100, True)]
    assert list(PaymentChange.objects.values_list("invoices", "invoice")) == [("B; C", None)]


def test_one_that_is_ticked_is_named_by_the_payment_itself(ann):
    payment = record_payment(ann, DAY, D(200), "check", invoices=of(ann, "BC"))

    changed = change_payment(payment, {"invoices": of(ann, "B"), "amount": D(100)}, **NOW)

    assert (changed.invoice.number, parts(changed)) == ("B", [("B", 100, True)])


def test_a_refund_is_from_one_invoice_at_most(ann):
    with pytest.raises(RuleBroken) as refused:
        record_payment(ann, DAY, D(-20), "check", invoices=of(ann, "BC"))

    assert refused.value.code == "refund_of_several_invoices"


def test_a_bounced_check_opens_just_what_it_settled_and_takes_its_tip_back(ann):
    record_payment(ann, DAY - DAYS, D(100), "cash", invoices=of(ann, "A"))
    check = record_payment(ann, DAY, D(170), "check", invoices=of(ann, "BC"), tip=D(10), check_number="1042")
    record_payment(ann, DAY, D(40), "cash", invoices=of(ann, "C"))

    bounce = bounce_check(check, DAY + DAYS)

    assert (bounce.amount, bounce.tip, bounce.check_number, bounce.reverses) == (-170, -10, "1042", check)
    assert open_of(ann) == {"A": 0, "B": 100, "C": 60}
    assert credit_left(ann) == 0


def test_after_a_check_bounced_the_same_invoices_can_be_chosen_again(ann):
    bounce_check(record_payment(ann, DAY, D(200), "check", invoices=of(ann, "BC")), DAY)

    again = record_payment(ann, DAY + DAYS, D(200), "cash", invoices=of(ann, "BC"))

    assert parts(again) == [("B", 100, True), ("C", 100, True)]


@pytest.mark.parametrize(
    ("method", "days", "code"), [("cash", 0, "not_a_check"), ("check", -1, "bounced_before_paid")]
)
def test_only_a_check_bounces_and_not_before_it_came(ann, method, days, code):
    payment = record_payment(ann, DAY, D(50), method)

    with pytest.raises(RuleBroken) as refused:
        bounce_check(payment, DAY + days * DAYS)

    assert (refused.value.code, Payment.objects.count()) == (code, 1)


def test_a_check_that_bounced_stays_until_the_bounced_row_is_deleted(ann):
    check = record_payment(ann, DAY, D(50), "check")
    bounce = bounce_check(check, DAY)

    for change in (
        lambda: bounce_check(check, DAY),
        lambda: delete_payment(check, **NOW),
        lambda: change_payment(check, {"amount": D(60)}, **NOW),
    ):
        with pytest.raises(RuleBroken) as refused:
            change()
        assert refused.value.code == "payment_bounced"
    delete_payment(bounce, **NOW)
    delete_payment(check, **NOW)

    assert not Payment.objects.exists()


def test_a_card_fee_is_an_expense_and_the_payment_stays_what_was_paid(ann):
    payment = record_payment(ann, DAY, D(100), "card", fee=D("3.20"))
    recorded = Expense.objects.values_list("category", "amount", "date", "payment").get()

    change_payment(payment, {"fee": D("2.90")}, **NOW)
    changed = Expense.objects.get().amount
    delete_payment(payment, **NOW)

    assert recorded == ("card fees", D("3.20"), DAY, payment.pk)
    assert (changed, Expense.objects.count(), PaymentChange.objects.count()) == (D("2.90"), 0, 1)


@pytest.mark.parametrize(
    ("method", "fee", "code"), [("cash", "1", "fee_without_card"), ("card", "101", "fee_above_amount")]
)
def test_a_fee_belongs_to_a_card_payment_and_is_part_of_it(ann, method, fee, code):
    with pytest.raises(RuleBroken) as refused:
        record_payment(ann, DAY, D(100), method, fee=D(fee))

    assert (refused.value.code, Payment.objects.count(), Expense.objects.count()) == (code, 0, 0)


def sent(**typed):
    return {"date": DAY.isoformat(), "method": "check", "amount": "", "tip": ""} | typed


def offered_by(page):
    return [label for _, label in page.context["form"].fields["invoices"].choices]


def test_the_form_offers_open_invoices_and_a_blank_amount_is_what_is_left_of_those_ticked(browser, ann):
    record_payment(ann, DAY, D(130), "cash")
    address = f"/clients/{ann.pk}/payments/add/"
    offered = offered_by(browser.get(address))

    browser.post(address, sent(invoices=[row.pk for row in of(ann, "BC")], tip="5", check_number="1042"))

    assert offered == ["B, Oct 12, 2026, 70.00 left", "C, Oct 13, 2026, 100.00 left"]
    payment = Payment.objects.latest("pk")
    assert (payment.amount, payment.tip, payment.check_number) == (175, 5, "1042")
    assert parts(payment) == [("B", 70, True), ("C", 100, True)]


def test_a_payment_opens_with_its_invoices_ticked_and_what_it_can_settle_of_them(browser, ann):
    payment = record_payment(ann, DAY, D(200), "card", invoices=of(ann, "BC"), fee=D(6))
    address = f"/payments/{payment.pk}/change/"
    opened = browser.get(address)
    form, offered = opened.context["form"], offered_by(opened)

    browser.post(address, sent(invoices=[of(ann, "A")[0].pk], amount="90", method="card", fee=""))

    assert form.initial["invoices"] == [str(row.pk) for row in of(ann, "BC")]
    assert form.initial["fee"] == 6
    assert [label.rpartition(", ")[2] for label in offered] == ["100.00 left"] * 3
    assert (parts(Payment.objects.get()), Expense.objects.exists()) == ([("A", 90, True)], False)


@pytest.mark.parametrize(
    ("typed", "error"),
    [
        ({}, ("amount", "Enter an amount above 0, such as 120.00.")),
        ({"invoices": ["x"]}, ("invoices", "Choose one from the list.")),
        (
            {"amount": "5", "fee": "1"},
            ("fee", "Only a card payment has a card fee. Choose Card, or clear the fee."),
        ),
    ],
)
def test_a_payment_is_refused_beside_its_field(browser, ann, typed, error):
    form = browser.post(f"/clients/{ann.pk}/payments/add/", sent(**typed)).context["form"]

    assert (dict(form.errors), Payment.objects.exists()) == ({error[0]: [error[1]]}, False)


def test_a_refund_is_typed_above_zero_and_called_a_refund_everywhere(browser, ann):
    record_payment(ann, DAY, D(320), "check")
    address = f"/clients/{ann.pk}/refunds/add/"
    proposed = browser.get(address).context["form"].initial["amount"]

    browser.post(address, sent(amount="20", check_number="77"))

    refund = Payment.objects.latest("pk")
    page = browser.get(refund.get_absolute_url())
    [(_, [row, _])] = browser.get("/payments/").context["table"].groups()
    assert (proposed, refund.amount, open_of(ann)["C"]) == (20, -20, 0)
    assert page.context["page"].heading == "$20.00 refunded to Ann."
    assert "Refund, check 77" in page.content.decode()
    assert (row.more, row.note) == ("Wed, Oct 14, check 77", "refund")
    changed = browser.get(f"/payments/{refund.pk}/change/").context["form"].initial["amount"]
    assert changed == 20


def test_a_check_bounces_from_its_page_which_then_says_so(browser, ann):
    check = record_payment(ann, DAY, D(100), "check", check_number="1042")
    address = f"/payments/{check.pk}/bounced/"

    answer = browser.post(address, {"date": DAY.isoformat(), "note": ""}, follow=True)

    bounce = Payment.objects.latest("pk")
    assert answer.context["page"].heading == "A check of $100.00 from Ann bounced."
    assert bounce.get_absolute_url() in browser.get(check.get_absolute_url()).content.decode()
    assert address not in browser.get(check.get_absolute_url()).content.decode()
    assert open_of(ann)["A"] == 100


def test_the_list_of_payments_names_the_invoices(browser, ann):
    record_payment(ann, DAY, D(300), "check", check_number="1042")

    [(_, [row])] = browser.get("/payments/?q=1042").context["table"].groups()

    assert (row.name, row.more) == ("Ann", "Wed, Oct 14, check 1042, A, B, C")


@pytest.mark.slow
def test_all_of_it_comes_back_byte_for_byte(ann, tmp_path, check_it_comes_back):
    check = record_payment(ann, DAY, D(170), "check", invoices=of(ann, "BC"), tip=D(10), check_number="1042")
    record_payment(ann, DAY - DAYS, D(150), "card", fee=D("4.50"))
    bounce_check(check, DAY)
    change_payment(record_payment(ann, DAY, D(90), "cash", invoices=of(ann, "BC")), {"note": "Late"}, **NOW)

    export_book(tmp_path / "out")

    assert "by_hand" in (tmp_path / "out" / "settlements.csv").read_text()
    check_it_comes_back(tmp_path / "out")


BOUNCED = "ref,date,client,amount,method,tip,bounced,reverses\np1,2026-10-20,ann,30,check,5,no,\n"


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ("p2,2026-10-21,ann,-30,check,-5,yes,p1", []),
        (
            "p2,2026-10-21,ann,-20,check,0,yes,p1",
            ['payments.csv:3: reverses: must have the client, amount and tip of "p1"'],
        ),
        (
            "p2,2026-10-21,ann,-30,check,-5,yes,",
            ["payments.csv:3: reverses: is required where the tip is below 0"],
        ),
        (
            "p2,2026-10-21,ann,-30,check,-5,yes,p1\np3,2026-10-21,ann,-30,check,-5,yes,p1",
            ['payments.csv:4: reverses: "p1" bounced already'],
        ),
    ],
    ids=["fits", "another amount", "a tip of nothing", "twice"],
)
def test_a_bounced_check_in_a_file_takes_back_just_the_check_it_names(tmp_path, row, expected):
    Profile.objects.all().delete()
    Invoice.objects.all().delete()

    assert complaints(put(tmp_path / "book", payments_csv=f"{BOUNCED}{row}\n")) == expected
