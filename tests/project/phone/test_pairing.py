"""A code lets one phone in, once, within ten minutes; whoever guesses ends it."""

from datetime import UTC, datetime, timedelta
from threading import Barrier, Thread

import pytest
from django.db import connection

from practice.lib.characters import READ_ALOUD
from practice.lib.errors import RuleBroken
from practice.models import PairingCode
from practice.project.phone.pairing import GOOD_FOR, MOST_WRONG, in_groups, make_code, open_code, use_code

pytestmark = pytest.mark.django_db
NOON = datetime(2026, 10, 14, 12, tzinfo=UTC)
SECOND = timedelta(seconds=1)
REFUSED = "code_refused"


def tried(typed: str, now: datetime = NOON) -> str:
    """Return whose code was typed, or why it was refused."""
    try:
        return use_code(typed, now).username
    except RuleBroken as error:
        return error.code


@pytest.fixture
def code(user):
    return make_code(user, NOON).code


@pytest.fixture
def helper(django_user_model):
    return django_user_model.objects.create_user("helper", password="six nails a shoe")


def test_a_code_is_eight_characters_that_nobody_takes_for_others(code):
    assert (len(code), set(code) - set(READ_ALOUD), set("0O1ILS") & set(READ_ALOUD)) == (8, set(), set())


def test_a_code_lets_its_login_in_once(code):
    assert [tried(code), tried(code)] == ["farrier", REFUSED]
    assert PairingCode.objects.count() == 0


def test_a_code_may_be_typed_in_any_way(user):
    for way in (str.lower, in_groups, lambda code: f" {code[:3]} {code[3:]} "):
        assert tried(way(make_code(user, NOON).code)) == "farrier"


@pytest.mark.parametrize(
    ("later", "answer"),
    [
        (timedelta(0), "farrier"),
        (GOOD_FOR - SECOND, "farrier"),
        (GOOD_FOR, REFUSED),
        (GOOD_FOR + SECOND, REFUSED),
        (-SECOND, REFUSED),  # a clock that was set back makes no code last longer
    ],
)
def test_a_code_is_good_for_ten_minutes_by_the_clock(code, later, answer):
    assert tried(code, NOON + later) == answer


def test_a_new_code_ends_the_one_before(user, code):
    new = make_code(user, NOON + SECOND).code

    assert [tried(code, NOON + SECOND), tried(new, NOON + SECOND)] == [REFUSED, "farrier"]


def test_each_login_has_a_code_of_its_own(user, helper, code):
    other = make_code(helper, NOON).code

    assert [tried(other), tried(code)] == ["helper", "farrier"]


@pytest.mark.parametrize("wrong", [MOST_WRONG - 1, MOST_WRONG])
def test_the_tenth_wrong_try_in_all_ends_every_open_code(user, helper, code, wrong):
    make_code(helper, NOON)

    answers = {tried("2222-222" + READ_ALOUD[number]) for number in range(wrong)}

    is_open = wrong < MOST_WRONG
    assert answers == {REFUSED}
    assert [open_code(each, NOON) is not None for each in (user, helper)] == [is_open, is_open]
    assert tried(code) == ("farrier" if is_open else REFUSED)


@pytest.mark.parametrize("typed", ["", "-", "ü" * 8, "\0", "٣" * 8, "A" * 5000])
def test_what_is_no_code_is_refused(code, typed):
    assert [tried(typed), tried(code)] == [REFUSED, "farrier"]


def test_the_code_of_a_login_that_was_put_out_of_use_lets_nobody_in(user, code):
    user.is_active = False
    user.save()

    assert tried(code) == REFUSED


def test_the_book_keeps_no_code(code, settings):
    row = PairingCode.objects.values_list().get()
    settings.SECRET_KEY = "the key of another data folder"

    assert [value for value in row if code in str(value).upper()] == []
    assert PairingCode.objects.get().code != code


@pytest.mark.django_db(transaction=True)
def test_of_two_phones_with_one_code_one_is_let_in(user):
    code, start, answers = make_code(user, NOON).code, Barrier(4), []

    def try_it():
        start.wait()
        answers.append(tried(code))
        connection.close()

    phones = [Thread(target=try_it) for _ in range(4)]
    for phone in phones:
        phone.start()
    for phone in phones:
        phone.join()

    assert sorted(answers) == [REFUSED, REFUSED, REFUSED, "farrier"]


@pytest.mark.django_db(transaction=True)
def test_wrong_tries_at_once_are_all_counted(user):
    make_code(user, NOON)
    start = Barrier(MOST_WRONG)

    def guess():
        start.wait()
        tried("22222222")
        connection.close()

    guesses = [Thread(target=guess) for _ in range(MOST_WRONG)]
    for each in guesses:
        each.start()
    for each in guesses:
        each.join()

    assert PairingCode.objects.get().wrong_tries == MOST_WRONG
