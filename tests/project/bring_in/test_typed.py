"""What people type into cells. Orders of dates are CLDR's, by locale."""

from datetime import date
from decimal import Decimal

import pytest

from practice.project.bring_in.headers import find_headings, guess
from practice.project.bring_in.kinds import KINDS
from practice.project.bring_in.near_names import near_names
from practice.project.bring_in.separated import decoded, mark_of, read_separated
from practice.project.bring_in.sheets import number_text
from practice.project.bring_in.typed import (
    NotRead,
    order_of,
    order_of_days,
    read_day,
    read_number,
    read_owners,
    read_whole,
    read_yes_no,
)

D = Decimal
OCTOBER_4 = date(2026, 10, 4)


@pytest.mark.parametrize(
    ("locale", "text"),
    [
        ("en-US", "2026-10-04"),
        ("en-US", "2026/10/4"),
        ("en-US", "10/4/2026"),
        ("en-US", "10-04-26"),
        ("en-US", "10/4/2026 12:00 AM"),
        ("en-US", "2026-10-04 00:00:00"),
        ("en-US", "Oct 4, 2026"),
        ("en-US", "Sun, October 4th, 2026"),
        ("en-US", "4 oct. 2026"),
        ("en-GB", "04/10/2026"),
        ("de-DE", "4.10.26"),
        ("de-DE", "4. Okt. 2026"),
        ("fr-FR", "4 octobre 2026"),
        ("fr-FR", "4 OCT 2026"),
        ("en-CA", "2026-10-04"),
    ],
)
def test_a_day_is_read_as_people_of_the_locale_write_it(locale, text):
    assert read_day(text, locale, order_of(locale)) == OCTOBER_4


@pytest.mark.parametrize(
    "text", ["soon", "10/4", "Oct 4", "13/13/2026", "2026-02-30", "10/4/202", "4444444", "Oct Nov 4 2026"]
)
def test_what_is_no_day_is_told_with_an_example(text):
    with pytest.raises(NotRead, match="Type a date such as Oct 14, 2026, or 2026-10-14."):
        read_day(text, "en-US", "mdy")


@pytest.mark.parametrize(
    ("texts", "order"),
    [
        (["3/4/2026", "10/14/2026"], "mdy"),
        (["3/4/2026", "14/10/2026"], "dmy"),
        (["3/4/2026"], "mdy"),
        (["14/10/2026", "10/14/2026"], "mdy"),
    ],
)
def test_a_column_of_dates_is_read_in_one_order_that_fits_all(texts, order):
    assert order_of_days(texts, "en-US") == order


@pytest.mark.parametrize(
    ("locale", "text", "number"),
    [
        ("en-US", "$1,234.50", "1234.50"),
        ("en-US", "USD 12", "12"),
        ("en-US", "(35.50)", "-35.50"),
        ("en-US", "-3", "-3"),
        ("en-US", "8.25%", "8.25"),
        ("de-DE", "1.234,50 €", "1234.50"),
        ("de-DE", "12,5", "12.5"),
        ("fr-FR", "1 234,50 €", "1234.50"),
        ("en-GB", "£4", "4"),
    ],
)
def test_an_amount_is_read_with_its_signs_and_marks(locale, text, number):
    assert read_number(text, locale) == D(number)


@pytest.mark.parametrize(
    ("locale", "text"),
    [("en-US", "1.234,50"), ("de-DE", "1,234.50"), ("en-US", "12 or 13"), ("en-US", "1e5")],
)
def test_an_amount_that_could_mean_two_things_is_not_guessed(locale, text):
    with pytest.raises(NotRead):
        read_number(text, locale)


@pytest.mark.parametrize(("text", "number"), [("6", 6), ("6 weeks", 6), ("every 8 wks", 8)])
def test_a_whole_number_is_read_with_its_unit(text, number):
    assert read_whole(text, 1, 520) == number


@pytest.mark.parametrize("text", ["six", "0", "521", "6 to 8", "6.5", "-6", "٦٦٦٦"])
def test_what_is_no_one_whole_number_in_range_is_refused(text):
    with pytest.raises(NotRead, match="Type a whole number from 1 to 520."):
        read_whole(text, 1, 520)


@pytest.mark.parametrize(("text", "is_yes"), [("Yes", True), ("x", True), ("no", False), ("FALSE", False)])
def test_yes_and_no_are_read(text, is_yes):
    assert read_yes_no(text) is is_yes


@pytest.mark.parametrize(
    ("text", "owners"),
    [
        ("Ann Lee", [("Ann Lee", D(100))]),
        ("Ann Lee 60%; Bob Ray (40 %)", [("Ann Lee", D(60)), ("Bob Ray", D(40))]),
        ("Ann; Bob; Cy", [("Ann", D("33.34")), ("Bob", D("33.33")), ("Cy", D("33.33"))]),
        ("Ann & Bob Lee", [("Ann & Bob Lee", D(100))]),
    ],
)
def test_owners_are_read_with_their_shares(text, owners):
    assert read_owners(text) == owners


def test_owners_of_whom_only_some_have_a_share_are_refused():
    with pytest.raises(NotRead, match="Give each owner a share, or none"):
        read_owners("Ann Lee 60%; Bob Ray")


@pytest.mark.parametrize("mark", [",", ";", "\t", "|"])
def test_what_stands_between_cells_is_found_though_a_title_and_commas_stand_in_them(mark):
    rows = ["Name/Price/Since", 'Trim/"1,50"/May', 'Reset/"2,50"/May']
    text = "\r\n".join(["Prices of the spring", "", *(row.replace("/", mark) for row in rows)])

    assert mark_of(text) == mark


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_the_encoding_of_a_csv_file_is_found(encoding):
    assert read_separated("Pferd;Hof\r\nÉlan;Mühle\r\n".encode(encoding), 9) == [
        ["Pferd", "Hof"],
        ["Élan", "Mühle"],
    ]


@pytest.mark.parametrize("content", [b"\x89PNG\r\n\x1a\n" + bytes(200), bytes(range(256)) * 4])
def test_what_is_no_text_is_refused(content):
    with pytest.raises(Exception, match="neither an XLSX file nor a CSV file"):
        decoded(content)


@pytest.mark.parametrize(
    ("value", "number_format", "text"),
    [
        (12, "General", "12"),
        (0.1 + 0.2, "General", "0.3"),
        (120.1, "#,##0.00", "120.1"),
        (0.075, "0.0%", "7.5%"),
        (417, "00000", "00417"),
        (10**20, "General", str(10**20)),
    ],
)
def test_a_number_of_a_workbook_is_what_the_spreadsheet_shows(value, number_format, text):
    assert number_text(value, number_format, "en-US") == text


def test_headings_are_found_under_a_title_and_told_by_their_words():
    rows = [
        ["My barns"],
        [],
        ["Client's name", "Client phone", "Zip", "City", "Paid?"],
        ["Ann", "1", "2", "3", "4"],
    ]

    assert find_headings(rows, KINDS["clients"]) == 2
    assert guess(rows[2], KINDS["clients"]) == {0: "name", 1: "phone", 2: "town", 3: "town"}


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_every_heading_of_a_template_is_told_as_what_it_is(kind):
    labels = [meaning.label for meaning in kind.meanings]

    assert guess(labels, kind) == {number: meaning.code for number, meaning in enumerate(kind.meanings)}


def test_a_new_name_is_near_another_one_by_a_letter_or_a_blank_of_one_word():
    known = ["Wren Halloway", "Ann Lee", "Barn 1", "Hill Barn", "Twelve Pines Riding Club"]
    new = ["Wren Haloway", "Wren Marsh", "Barn 2", "Hillbarn", "Hill Farm", "Odell Marsh", "Odel Marsh"]

    assert list(near_names(new, known)) == [
        ("Wren Haloway", "Wren Halloway"),
        ("Hillbarn", "Hill Barn"),
        ("Odel Marsh", "Odell Marsh"),
    ]
