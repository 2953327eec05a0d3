"""Placeholders, pauses and reminders: pure functions."""

from datetime import date, timedelta

import pytest

from billing.rules.reminding import next_reminder
from billing.rules.retrying import pause_after
from billing.rules.wording import complaint, fill
from practice.lib.phone import sms_url

DUE = date(2026, 10, 1)
DAYS = (7, 21, 42)


def test_placeholders_are_filled_in_once_and_blank_lines_do_not_pile_up():
    text = "Hello {client},\r\n\r\n{ how_to_pay }\r\n\r\nThanks, {practice}\r\n{phone}"
    values = {"client": "{practice}", "how_to_pay": "", "practice": "Garrow"}

    assert fill(text, values) == "Hello {practice},\n\nThanks, Garrow"


@pytest.mark.parametrize("text", ["{number.__class__}", "{0!r}", "100 {", "{}", "{{"])
def test_braces_that_hold_no_word_are_left_alone(text):
    assert (complaint(text, ["number"]), fill(text, {"number": "1"})) == ("", text)


def test_an_unknown_placeholder_is_named_with_those_that_are_known():
    assert complaint("{number} {nummer}", ["number", "due"]) == (
        "{nummer} is not filled in here. Use {number}, {due}."
    )


@pytest.mark.parametrize(
    ("overdue", "sent", "level"),
    [
        (6, [], None),
        (7, [], 1),
        (60, [], 1),
        (20, [7], None),
        (21, [7], 2),
        (41, [30], None),
        (44, [30], 2),
        (70, [7, 21, 42], None),
    ],
)
def test_which_reminder_is_due(overdue, sent, level):
    """`sent`: how many days after the due date each went out."""
    days = [DUE + timedelta(days=number) for number in sent]

    assert next_reminder(DUE, days, DAYS, DUE + timedelta(days=overdue)) == level


def test_pauses_grow_up_to_four_hours():
    pauses = [pause_after(tries) for tries in range(1, 10)]

    assert pauses == sorted(pauses)
    assert (pauses[0], pauses[-1]) == (timedelta(minutes=1), timedelta(hours=4))


@pytest.mark.parametrize(
    ("phone", "url"),
    [
        ("+1 (555) 010-0116", "sms:+15550100116?body=a%20%26%20b"),
        ("555-0116", "sms:5550116?body=a%20%26%20b"),
        ("ask Ann", ""),
        ("", ""),
    ],
)
def test_a_link_to_the_phones_messenger(phone, url):
    """RFC 5724, 2.2: `sms:` with the number and a `body`."""
    assert sms_url(phone, "a & b") == url
