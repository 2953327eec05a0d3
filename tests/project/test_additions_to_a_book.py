"""What is added to a book contradicts nothing that stands there, and is not dated into closed years."""

import pytest

from practice.lib.profile import Profile
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from tests.project.test_book_errors import complaints, put

pytestmark = pytest.mark.django_db

KNOWN = {
    "another visit under a known ref": (
        {"visits_csv": "ref,date,place,status\nv1,2026-10-13,barn,done\n"},
        ["visits.csv:2: date: the book has '2026-10-14' here, which an import cannot change"],
    ),
    "another payment under a known ref": (
        {"payments_csv": "ref,date,client,amount,method\np1,2026-10-20,ann,31,cash\n"},
        ["payments.csv:2: amount: the book has '30.00' here, which an import cannot change"],
    ),
    "an invoice that is issued": (
        {
            "invoices_csv": "number,client,issued,due,net,tax,total\n"
            "A1,ann,2026-10-14,2026-10-29,30.00,0,30.00\n"
        },
        ["invoices.csv:2: due: the book has '2026-10-28' here, which an import cannot change"],
    ),
    "another currency": (
        {
            "practice_csv": "name,locale,currency,distance_unit\nGarrow,en-US,EUR,mi\n",
        },
        ["practice.csv:2: currency: the book already uses USD; this cannot be changed"],
    ),
    "another distance unit": (
        {"practice_csv": "name,locale,currency,distance_unit\nGarrow,en-US,USD,km\n"},
        ["practice.csv:2: distance_unit: the book already uses mi; this cannot be changed"],
    ),
    "another unit of an item": (
        {"items_csv": "ref,name,kind,unit\nshoe,Shoe,shoe,pair\n"},
        ["items.csv:2: unit: Shoe is counted in each; this cannot be changed once it has been used"],
    ),
}


@pytest.mark.parametrize("case", KNOWN.values(), ids=KNOWN.keys())
def test_what_stands_in_the_book_is_not_contradicted(case, tmp_path):
    import_book(put(tmp_path / "book"))
    export_book(tmp_path / "before")
    changed, expected = case

    assert complaints(put(tmp_path / "again", **changed)) == expected

    export_book(tmp_path / "after")
    assert [path.read_bytes() for path in sorted((tmp_path / "after").iterdir())] == [
        path.read_bytes() for path in sorted((tmp_path / "before").iterdir())
    ]


def test_nothing_new_is_dated_into_closed_years(tmp_path):
    import_book(put(tmp_path / "book"))
    Profile.objects.update(closed_through="2026-12-31")

    late = put(tmp_path / "late", payments_csv="+p2,2026-12-31,ann,1,cash\n", work_csv="+v2,juniper,trim\n")

    assert complaints(late) == [
        "work.csv:3: visit: 2026-10-15 is closed for good (through 2026-12-31)",
        "payments.csv:3: date: 2026-12-31 is closed for good (through 2026-12-31)",
    ]


@pytest.mark.parametrize(
    ("file", "rows"),
    [
        ("prices.csv", "service,item,from,price,horse\ntrim,,{},60,\ntrim,,{},60,juniper\n"),
        ("tax_rates.csv", "name,from,rate\nState,{},5\nCounty,{},1\n"),
        ("owners.csv", "horse,client,share,from\nmoss,ann,60,{}\nmoss,ben,40,{}\n"),
    ],
    ids=["prices", "tax rates", "owners"],
)
def test_no_price_rate_or_share_begins_on_a_closed_day(tmp_path, file, rows):
    import_book(put(tmp_path / "book", horses_csv="+moss,Moss,barn\n"))
    Profile.objects.update(closed_through="2026-12-31")
    files = {file: rows.format("2026-12-31", "2026-12-31")}

    late = put(tmp_path / "late", **{name.replace(".", "_"): text for name, text in files.items()})

    closed = "from: 2026-12-31 is closed for good (through 2026-12-31)"
    assert complaints(late) == [f"{file}:{line}: {closed}" for line in (2, 3)]
    files = {file: rows.format("2027-01-01", "2027-01-01")}
    again = put(tmp_path / "again", **{name.replace(".", "_"): text for name, text in files.items()})
    assert complaints(again) == []
