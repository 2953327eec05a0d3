"""Cash and checks ticked into a bank deposit: its total, its slip, and what stays while they are in it."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from billing.actions.bouncing import bounce_check
from billing.actions.depositing import make_deposit, undo_deposit
from billing.actions.payments import change_payment, delete_payment, record_payment
from billing.models import BankDeposit, Payment
from billing.papers.deposit import CheckShown, deposit_paper
from practice.lib.errors import RuleBroken
from practice.lib.profile import Profile
from practice.project.book.exporter import export_book
from tests.factories.practice import DAY, ClientFactory, ProfileFactory
from tests.project.test_book_errors import complaints, put

pytestmark = pytest.mark.django_db
D = Decimal
NOW = {"by": "farrier", "at": datetime(2026, 10, 14, 18, 5, tzinfo=UTC)}
DAYS = timedelta(1)


@pytest.fixture(autouse=True)
def practice(settings, tmp_path):
    settings.DATA_DIR, settings.TODAY = tmp_path, DAY
    return ProfileFactory()


@pytest.fixture
def ann():
    return ClientFactory(name="Ann")


@pytest.fixture
def paid(ann):
    """Two checks and some cash."""
    checks = [
        record_payment(ann, DAY, D(amount), "check", check_number=no)
        for amount, no in ((80, "107"), (20, "9"))
    ]
    return [*checks, record_payment(ann, DAY, D("12.50"), "cash")]


def test_a_deposit_adds_up_and_its_slip_lists_cash_and_each_check_by_number(paid):
    deposit = make_deposit(DAY, paid, note="Main Street")

    paper = deposit_paper(deposit)

    assert paper.checks == [
        CheckShown("9", "Ann", "Oct 14, 2026", "20.00"),
        CheckShown("107", "Ann", "Oct 14, 2026", "80.00"),
    ]
    assert (paper.cash, paper.checks_total, paper.count, paper.total) == (
        "12.50",
        "100.00",
        "2 checks",
        "$112.50",
    )
    assert BankDeposit.objects.for_list().get().total == D("112.50")


@pytest.mark.parametrize(
    ("payment", "code"),
    [
        ({"method": "card"}, "not_for_deposit"),
        ({"amount": D(-5)}, "not_for_deposit"),
        ({"on": DAY + DAYS}, "deposit_before_payment"),
    ],
    ids=["a card", "a refund", "tomorrow's"],
)
def test_only_cash_and_checks_that_came_in_are_deposited(ann, payment, code):
    facts = {"on": DAY, "amount": D(5), "method": "cash"} | payment

    with pytest.raises(RuleBroken) as refused:
        make_deposit(DAY, [record_payment(ann, **facts)])

    assert (refused.value.code, BankDeposit.objects.exists()) == (code, False)


def test_a_payment_is_in_one_deposit_at_most(paid):
    make_deposit(DAY, paid[:1])

    with pytest.raises(RuleBroken) as refused:
        make_deposit(DAY, paid)

    assert (refused.value.code, Payment.objects.filter(deposit=None).count()) == ("already_deposited", 2)


def test_a_check_that_bounced_is_not_deposited(paid):
    bounce_check(paid[0], DAY)

    with pytest.raises(RuleBroken) as refused:
        make_deposit(DAY, paid)

    assert refused.value.code == "not_for_deposit"
    assert list(Payment.objects.to_deposit()) == paid[1:]


def test_what_adds_up_to_a_deposit_stays_until_the_deposit_is_undone(paid):
    check, deposit = paid[0], make_deposit(DAY, paid)

    change_payment(check, {"note": "From her mother"}, **NOW)
    for change in (
        lambda: change_payment(check, {"amount": D(81)}, **NOW),
        lambda: change_payment(check, {"method": "card"}, **NOW),
        lambda: delete_payment(check, **NOW),
    ):
        with pytest.raises(RuleBroken) as refused:
            change()
        assert refused.value.code == "payment_deposited"
    undo_deposit(deposit)
    delete_payment(check, **NOW)

    assert (BankDeposit.objects.exists(), Payment.objects.count()) == (False, 2)


def test_a_deposit_of_a_closed_day_stays_and_none_is_added_there(paid):
    deposit = make_deposit(DAY, paid[:1])
    Profile.objects.update(closed_through=DAY)

    for act in (lambda: undo_deposit(deposit), lambda: make_deposit(DAY, paid[1:])):
        with pytest.raises(RuleBroken) as refused:
            act()
        assert refused.value.code == "day_closed"


def test_payments_are_ticked_and_the_list_and_each_payment_say_so(browser, paid):
    told = browser.get("/deposits/").context["heading"]
    form = browser.get("/deposits/add/").context["form"]
    labels = [label for _, label in form.fields["payments"].choices]

    answer = browser.post(
        "/deposits/add/", {"date": DAY.isoformat(), "payments": [row.pk for row in paid[:2]]}, follow=True
    )

    assert told == "$112.50 in cash and checks is not deposited."
    assert labels[0] == "Ann, 80.00, check 107, Oct 14, 2026"
    assert answer.context["page"].heading == "$100.00 deposited."
    [(heading, [row])] = browser.get("/deposits/").context["table"].groups()
    assert (heading, row.name, row.fact) == ("October 2026, $100.00", "Wed, Oct 14", "$100.00")
    [(_, rows)] = browser.get("/payments/").context["table"].groups()
    assert [row.more for row in rows][1:] == [
        "Wed, Oct 14, check 9, deposited Wed, Oct 14",
        "Wed, Oct 14, check 107, deposited Wed, Oct 14",
    ]
    assert "bank deposit of" in browser.get(paid[0].get_absolute_url()).content.decode()


@pytest.mark.parametrize("ticked", [[], ["x"]])
def test_a_deposit_of_nothing_is_refused_beside_its_field(browser, paid, ticked):
    form = browser.post("/deposits/add/", {"date": DAY.isoformat(), "payments": ticked}).context["form"]

    assert (list(form.errors), BankDeposit.objects.exists()) == (["payments"], False)


def test_what_came_in_long_ago_is_offered_on_request(browser, ann):
    record_payment(ann, DAY - 90 * DAYS, D(5), "cash")

    offered = [browser.get(f"/deposits/add/{query}") for query in ("", "?earlier=1")]

    assert [len(page.context["form"].fields["payments"].choices) for page in offered] == [0, 1]
    assert [page.context["earlier"] for page in offered] == [True, False]


def test_the_slip_is_a_pdf_and_undo_is_one_press(browser, paid):
    deposit = make_deposit(DAY, paid)

    slip = browser.get(f"/deposits/{deposit.pk}/slip/")
    browser.post(f"/deposits/{deposit.pk}/undo/")

    assert (slip.content[:5], BankDeposit.objects.exists()) == (b"%PDF-", False)
    assert Payment.objects.filter(deposit=None).count() == 3


def test_a_list_of_deposits_takes_as_many_queries_for_one_row_as_for_three(
    browser, paid, django_assert_max_num_queries, django_assert_num_queries
):
    make_deposit(DAY, paid[:1])
    browser.get("/deposits/")
    with django_assert_max_num_queries(30) as few:
        browser.get("/deposits/")
    for row in paid[1:]:
        make_deposit(DAY, [row])

    with django_assert_num_queries(len(few)):
        browser.get("/deposits/")


@pytest.mark.slow
def test_deposits_come_back_byte_for_byte(paid, tmp_path, check_it_comes_back):
    make_deposit(DAY, paid[:2], note="Main Street")
    export_book(tmp_path / "out")

    assert (tmp_path / "out" / "bank_deposits.csv").read_text().count("Main Street") == 1
    check_it_comes_back(tmp_path / "out")


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ("p1,2026-10-20,ann,30,check,b1", []),
        ("p1,2026-10-20,ann,30,card,b1", ["only cash and checks that came in are deposited"]),
        ("p1,2026-10-20,ann,-3,cash,b1", ["only cash and checks that came in are deposited"]),
        ("p1,2026-10-23,ann,30,cash,b1", ["the deposit is of 2026-10-22, before the payment"]),
    ],
    ids=["fits", "a card", "a refund", "too early"],
)
def test_a_file_says_the_same_of_what_is_deposited(tmp_path, row, expected):
    Profile.objects.all().delete()
    folder = put(
        tmp_path / "book",
        bank_deposits_csv="ref,date,note\nb1,2026-10-22,\n",
        payments_csv=f"ref,date,client,amount,method,deposit\n{row}\n",
    )

    assert [line for line in complaints(folder) if "payments.csv:2: deposit" in line] == [
        f"payments.csv:2: deposit: {message}" for message in expected
    ]
