"""Finding anything by one word: what is found, in which order, and that every way to write a row is seen."""

from datetime import UTC, date, datetime, time
from decimal import Decimal

import pytest
from django.db import OperationalError, connection
from django.db.models import Model
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from billing.actions.merging import merge, undo_merge
from billing.models import CreditNote
from practice.lib.profile import Profile
from practice.models import Horse
from practice.models.find import FindEntry, FindNote
from practice.project.find import index
from practice.project.find.folding import digits_of, folded, likeness
from practice.project.find.found import FoundThings, find_all
from practice.project.furnish import furnish
from tests.factories.billing import InvoiceFactory
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    OwnerFactory,
    PlaceFactory,
)
from tests.factories.stock import ItemFactory, OrderFactory

NOON = datetime.combine(DAY, time(12), UTC)


def found(words: str, most: int = 20) -> FoundThings:
    return find_all(words, DAY, Profile(), most)


def names(words: str) -> list[str]:
    return [row.name for row in found(words).rows]


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("  Brämble  of-the Hill ", "bramble of the hill"),
        ("O'Brien, Seán", "obrien sean"),
        ("Łukasz Ørsted-Þór", "lukasz orsted thor"),
        ("STRAẞE İzmir", "strasse izmir"),
        ("ﬁlly № 2", "filly no 2"),
        ("!?", ""),
    ],
)
def test_a_name_is_compared_without_case_accents_and_marks(text, plain):
    assert folded(text) == plain


@pytest.mark.parametrize("phone", ["0151 555-0123", "(0151) 555 0123", "0151/5550123", "0151.555.0123"])
def test_a_phone_number_is_its_digits(phone):
    assert digits_of(phone) == "1515550123"


@pytest.mark.parametrize(
    ("typed", "name", "is_alike"),
    [
        ("brambel", "bramble", True),  # two letters changed places
        ("brmble", "bramble", True),  # one is missing
        ("brambble", "bramble", True),  # one twice
        ("bremble", "bramble", True),  # another one
        ("jumo", "juno grey", True),
        ("grey jumo", "juno grey", True),
        ("brembl", "bramble of the hill", True),  # still typing
        ("sorrel", "bramble", False),
        ("juno sorrel", "juno grey", False),
    ],
)
def test_a_slip_of_the_pen_is_forgiven(typed, name, is_alike):
    assert (likeness(typed, name) > 0) == is_alike


@pytest.mark.django_db
def test_everything_is_found_with_the_kind_of_thing_that_it_is():
    barn = PlaceFactory(name="Marsh Farm", address="2 Fen Lane\nQuillby")
    client = ClientFactory(name="Ann Marsh", phone="555-0100")
    OwnerFactory(horse=HorseFactory(name="Marshal", place=barn), client=client)
    ItemFactory(name="Marsh clip", kind="shoe", size="2")

    rows = [(row.name, row.more, row.fact) for row in found("marsh").rows]

    assert rows == [
        ("Marsh clip", "Shoe, No 2", "Item"),
        ("Marsh Farm", "Quillby", "Place"),
        ("Marshal", "Marsh Farm, Ann Marsh", "Horse"),
        ("Ann Marsh", "555-0100", "Client"),
    ]


@pytest.mark.django_db
def test_what_is_called_so_comes_first_then_beginnings_then_parts_then_what_is_alike():
    for name in ("Rejuno", "Old Juno", "Juna", "Junos", "Juno"):
        HorseFactory(name=name)

    assert names("JUNO") == ["Juno", "Junos", "Old Juno", "Rejuno"]
    assert names("Junoo") == ["Juno", "Old Juno", "Junos", "Rejuno"]


@pytest.mark.django_db
def test_what_is_in_use_comes_before_the_archive_and_says_so():
    HorseFactory(name="Juno", status="sold")
    ClientFactory(name="Juno", archived=True)
    HorseFactory(name="Juno")
    HorseFactory(name="Juno Grey")

    rows = [(row.name, row.fact, row.note) for row in found("juno").rows]

    assert rows == [
        ("Juno", "Horse", ""),
        ("Juno", "Client", "archived"),
        ("Juno", "Horse", "sold"),
        ("Juno Grey", "Horse", ""),
    ]


@pytest.mark.django_db
@pytest.mark.parametrize(
    "typed", ["5550123", "555-0123", "(0151) 555 01", "+44 151 555-0123", "0151", "15 15 55", "555.01"]
)
def test_a_phone_number_is_found_whatever_stands_between_its_digits(typed):
    ClientFactory(name="Ann", phone="0151 / 555 0123")
    ClientFactory(name="Ben", phone="0208 999 4444")
    PlaceFactory(name="Fen Barn", phone="0208 999 4445")

    assert names(typed) == ["Ann"]
    assert names("020 8999 4445") == ["Fen Barn"]


@pytest.mark.django_db
@pytest.mark.parametrize("typed", ["GF-2026-0187", "gf-2026-01", "gf20260187", "GF 2026 0187", "0187", "187"])
def test_an_invoice_is_found_by_its_number_or_a_part_of_it(typed):
    client = ClientFactory(name="Ann")
    for number in ("GF-2025-1870", "GF-2026-0187"):
        InvoiceFactory(client=client, number=number, issued=date(2026, 5, 4))

    row = found(typed).rows[0]

    assert (row.name, row.more, row.fact) == ("GF-2026-0187", "Ann, May 4, 2026", "Invoice")


@pytest.mark.django_db
def test_credit_notes_and_orders_are_found_by_number_the_latest_invoice_first():
    InvoiceFactory(number="GF-2026-0187")
    invoice = InvoiceFactory(number="GF-2026-0188", net=Decimal(9))
    note = {"issued": DAY, "net": Decimal(4), "tax": Decimal(0), "total": Decimal(4)}
    CreditNote.objects.create(number="CR-2026-0003", invoice=invoice, **note)
    OrderFactory(ref="O-2026-0001")

    assert names("2026") == ["GF-2026-0188", "GF-2026-0187", "CR-2026-0003", "O-2026-0001"]
    assert [row.fact for row in found("o-2026").rows] == ["Order"]


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("words", "answer"),
    [
        ("", "Find anything by its name, number, or phone."),
        ("Zorn", "Nothing matches 'Zorn'."),
        ("junno", "Nothing is called 'junno'. Did you mean one of these?"),
        ("juno", "2 matches for 'juno'."),
        ("?", "Nothing matches '?'."),
    ],
)
def test_the_page_answers_in_a_sentence(words, answer):
    HorseFactory(name="Juno"), HorseFactory(name="Juno Grey")

    assert found(words).answer == answer


@pytest.mark.django_db
def test_more_than_fit_says_so():
    for number in range(4):
        HorseFactory(name=f"Juno {number}")

    some = found("juno", most=3)

    assert (some.answer, len(some.rows)) == ("Many matches for 'juno'. Type more of it.", 3)


def renamed(row: Model, **fields) -> None:
    """Change a row as no model or form sees it."""
    type(row)._base_manager.filter(pk=row.pk).update(**fields)


@pytest.mark.django_db
def test_a_row_that_is_renamed_archived_or_deleted_is_found_as_it_is_now():
    juno, ann = HorseFactory(name="Juno"), ClientFactory(name="Ann", phone="555-0100")
    before = names("juno"), names("555-0100")

    renamed(juno, name="Sorrel")
    renamed(ann, phone="", archived=True)
    after = names("juno"), names("sorrel"), names("555-0100"), found("ann").rows[0].note
    juno.delete()

    assert before == (["Juno"], ["Ann"])
    assert after == ([], ["Sorrel"], [], "archived")
    assert names("sorrel") == []


@pytest.mark.django_db
def test_a_change_that_no_search_asks_for_is_not_noted():
    horse = HorseFactory(name="Juno")
    found("juno")

    renamed(horse, notes="Likes mints.", name="Juno")

    assert FindNote.objects.count() == 0


@pytest.mark.django_db
def test_two_entries_that_became_one_are_found_as_one_until_that_is_undone():
    kept, taken = ClientFactory(name="Ann Marsh"), ClientFactory(name="Ann Marsch", phone="555-0100")
    before = names("marsch")

    record = merge(kept, taken, by="farrier", at=NOON, today=DAY)
    merged = names("marsch"), names("5550100")
    undo_merge(record, at=NOON, today=DAY)

    assert before == ["Ann Marsch", "Ann Marsh"]
    assert merged == (["Ann Marsh"], ["Ann Marsh"])
    assert (names("marsch"), names("5550100")) == (["Ann Marsch", "Ann Marsh"], ["Ann Marsch"])


@pytest.mark.django_db
@pytest.mark.parametrize("lost", ["triggers", "older"])
def test_an_index_that_is_missing_or_older_is_made_anew(lost, monkeypatch):
    HorseFactory(name="Juno")
    if lost == "triggers":
        FindNote.objects.all().delete()
        drop_triggers_of_horses()
        renamed(Horse.objects.get(), name="Sorrel")
    else:
        found("juno")
        FindEntry.objects.update(text="as it was folded before")
        monkeypatch.setattr("practice.project.find.watching.FOLDING", 0)

    furnish()
    again = names("sorrel" if lost == "triggers" else "juno")
    monkeypatch.undo()
    furnish()

    assert len(again) == 1
    HorseFactory(name="Bramble")
    assert names("bramble") == ["Bramble"]


def drop_triggers_of_horses() -> None:
    ends = {"sqlite": ["_insert", "_update", "_delete"], "postgresql": [" ON practice_horse"]}
    with connection.cursor() as cursor:
        for end in ends[connection.vendor]:
            cursor.execute(f"DROP TRIGGER practice_horse_find{end}")


@pytest.mark.django_db
def test_a_database_that_compares_no_pieces_finds_the_same(monkeypatch):
    for name in ("Bramble", "Juno Grey", "Sorrel"):
        HorseFactory(name=name)
    with_pieces = [names(word) for word in ("brambel", "jumo", "soral")]

    monkeypatch.setattr(index, "has_pieces", lambda: False)

    assert [names(word) for word in ("brambel", "jumo", "soral")] == with_pieces
    assert with_pieces == [["Bramble"], ["Juno Grey"], ["Sorrel"]]


@pytest.mark.django_db
def test_a_database_that_may_compare_no_pieces_is_furnished_all_the_same(monkeypatch):
    HorseFactory(name="Juno")
    monkeypatch.setattr(index, "has_pieces", lambda: False)
    monkeypatch.setitem(index.MAKE_PIECES, connection.vendor, "CREATE EXTENSION nobody_has_this_one")

    furnish()

    assert names("jumo") == ["Juno"]


@pytest.mark.django_db
def test_a_book_that_takes_no_writes_answers_as_it_was_indexed(monkeypatch):
    HorseFactory(name="Juno")
    found("juno")
    HorseFactory(name="Junos")

    def locked():
        raise OperationalError("database is locked")

    monkeypatch.setattr(index, "index_noted", locked)

    assert names("juno") == ["Juno"]


@pytest.mark.django_db
def test_a_search_takes_as_many_queries_for_one_of_each_as_for_three():
    counts = []
    for _ in range(2):
        for _ in range(1 + len(counts)):
            OwnerFactory(horse=HorseFactory(name="Juno 2026"))
            InvoiceFactory(number=f"2026-{InvoiceFactory().pk}")
            OrderFactory(ref=f"O-2026-{InvoiceFactory().pk}")
        names("2026")
        with CaptureQueriesContext(connection) as queries:
            found("2026")
        counts.append(len(queries))

    assert counts[0] == counts[1]


@pytest.mark.django_db
def test_htmx_gets_the_list_or_what_opens_below_the_field(browser):
    for number in range(12):
        HorseFactory(name=f"Juno {number:02}")
    address = reverse("find")

    answers = [
        browser.get(address, {"q": "juno"}, headers={"HX-Request": "true", "HX-Target": target})
        for target in ("list", "hits")
    ]

    marks = ("<html", 'class="row"', 'role="option"')
    pages = [answer.content.decode() for answer in answers]
    assert [[page.count(mark) for mark in marks] for page in pages] == [[0, 12, 0], [0, 8, 8]]
