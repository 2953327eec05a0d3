"""A horse's record on paper: one page whatever there is, what it says, and what it leaves out."""

from datetime import timedelta
from decimal import Decimal
from io import BytesIO

import pytest
from pypdf import PdfReader

from practice.actions.photos import add_photos, photo_file
from practice.actions.shoeing import prescribe, save_feet
from practice.lib.pdf import find_asset, render_html
from practice.lib.profile import Profile
from practice.papers.horse_record import TEMPLATE, horse_record_paper, horse_record_pdf
from practice.rules.horse_work import FEET
from practice.rules.one_page import ENDING, ROOMS, Room, cut, left_out
from tests.factories.practice import (
    DAY,
    ClientFactory,
    FindingFactory,
    MaterialUseFactory,
    OwnerFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
)
from tests.factories.stock import ItemFactory
from tests.pictures import photo

D = Decimal
LONG = "as long as the lane to the far barn behind the mill, and then some more of it " * 4


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA_DIR, settings.TODAY = tmp_path, DAY


@pytest.fixture
def horse(db):
    ProfileFactory(phone="555-0100")
    return owned_horse(ClientFactory(name="Ann Lee"), name="Juniper", breed="Morgan", born=2015)


def shoeing(horse, on, **said):
    """A shoeing of all four feet on a day, with a record of each."""
    visit = VisitFactory(date=on, status="done", place=horse.place)
    WorkFactory(horse=horse, visit=visit, service=ServiceFactory(name="Full set"))
    shoe, nail = ItemFactory(name="Plain 2", kind="shoe"), ItemFactory(name="Slim No 4", kind="nail")
    for foot in FEET:
        MaterialUseFactory(visit=visit, horse=horse, item=shoe, foot=foot)
        MaterialUseFactory(visit=visit, horse=horse, item=nail, foot=foot, quantity=D(6))
    save_feet(visit, horse, dict.fromkeys(FEET, said))
    return visit


def words_of(content: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(content)).pages).split())


def a_long_history(horse) -> list:
    """More of everything than a page holds, in words as long as they may be; return the photos."""
    for weeks in range(12):
        angle = D(50) + weeks
        visit = shoeing(
            horse,
            DAY - timedelta(weeks=6 * weeks),
            shoe=(f"{weeks} " + LONG)[:200],
            fit=(f"{weeks} " + LONG)[:200],
            pad=(f"{weeks} " + LONG)[:200],
            packing=(f"{weeks} " + LONG)[:200],
            note=LONG,
            clips="toe and side" if weeks % 2 else "side",
            fitted="hot" if weeks % 2 else "cold",
            nails_outside=weeks % 5,
            nails_inside=3,
            angle=angle,
            toe_length=D("3.125"),
            toe_unit="in",
        )
        FindingFactory(visit=visit, horse=horse, note=LONG, marked="moderate", refer_to_vet=True)
        prescribe(
            horse, ["LF"], shoe=(f"{weeks} " + LONG)[:200], note=LONG, by="Dr. Quill", valid_from=visit.date
        )
    OwnerFactory.create_batch(5, horse=horse, client__name="A client with a very long name", share=D(1))
    return add_photos(
        horse, [photo((600, 800), colour=c) for c in ("red", "blue", "green", "gray")], DAY, note=LONG
    )


# --- rules


def test_words_are_cut_to_their_room_on_one_line():
    assert cut("Wears\nthe toe", 20) == "Wears the toe"
    assert cut("abcdefghij", 5) == f"abcd{ENDING}"


@pytest.mark.parametrize(
    ("count", "words"),
    [(2, ""), (3, "1 earlier finding is left out."), (5, "3 earlier findings are left out.")],
)
def test_what_is_left_out_is_said(count, words):
    assert left_out(count, Room(2, 20), "finding") == words


# --- the paper


def test_the_record_says_what_the_horse_wears_and_what_was_seen_on_it(horse):
    shoeing(horse, DAY - timedelta(weeks=6), angle=D(52))
    said = {"angle": D(53), "toe_length": D("3.25"), "toe_unit": "in", "nails_outside": 3, "nails_inside": 3}
    visit = shoeing(horse, DAY, **said)
    FindingFactory(visit=visit, horse=horse, note="Since the last rain.", marked="slight", told_who="Ann.")
    prescribe(horse, ["LF"], shoe="egg bar", by="Dr. Quill", valid_from=DAY)
    pictures = add_photos(horse, [photo()], DAY, what="x-ray", note="From the side")

    content = horse_record_pdf(horse, DAY, Profile.current(), pictures)
    words = words_of(content)

    for phrase in (
        "Garrow Farriery",
        "Juniper",
        "Morgan, born 2015",
        "What each foot wears. As shod Oct 14, 2026. ▲ changed since Sep 2, 2026.",
        "Nails 6 × Slim No 4 (3 outside, 3 inside)",
        "Angle 53° ▲ was 52°",
        "From Dr. Quill, Oct 14, 2026 egg bar, left fore",
        "Oct 14, 2026 red sole; slight; left fore, sole; Since the last rain; told Ann",
        "Oct 14, 2026 LF 53°, 3.25 in; RF 53°, 3.25 in",
        "Sep 2, 2026 LF 52°",
        "Full set",
        "X-ray, Oct 14, 2026: From the side",
        "Signs are recorded as they were seen and are not a diagnosis.",
        "call the veterinarian",
    ):
        assert phrase in words, phrase
    assert "Ann Lee" not in words
    assert len(PdfReader(BytesIO(content)).pages[0].images) == 1


def test_the_owners_are_named_only_where_that_is_asked_for(horse):
    paper = horse_record_paper(horse, DAY, Profile.current(), with_owners=True)

    assert ("Owner", "Ann Lee") in paper.facts
    assert [label for label, _ in horse_record_paper(horse, DAY, Profile.current()).facts] == [
        "Place",
        "Date",
    ]


@pytest.mark.parametrize("country", ["US", "GB"])
def test_a_long_history_stays_on_one_page_and_says_what_is_left_out(horse, country):
    Profile.objects.update(
        country=country, address="12 Alder Lane\nQuillby\nNorth Fen", email="a@example.com"
    )
    pictures = a_long_history(horse)

    content = horse_record_pdf(horse, DAY, Profile.current(), pictures, with_owners=True)

    pdf = PdfReader(BytesIO(content))
    words = words_of(content)
    assert len(pdf.pages) == 1 and len(pdf.pages[0].images) == 4
    assert "earlier findings are left out." in words and "earlier prescriptions are left out." in words
    assert "call the veterinarian" in words


def test_a_horse_of_which_nothing_is_known_has_a_record_too(horse):
    content = horse_record_pdf(horse, DAY, Profile.current())

    assert "What each foot wears" not in words_of(content)
    assert content == horse_record_pdf(horse, DAY, Profile.current())


def test_the_record_is_tagged_and_its_pictures_have_words(horse):
    pictures = add_photos(horse, [photo()], DAY)
    paper = horse_record_paper(horse, DAY, Profile.current(), photos=pictures)

    pdf = PdfReader(BytesIO(horse_record_pdf(horse, DAY, Profile.current(), pictures)))
    assert pdf.trailer["/Root"]["/MarkInfo"]["/Marked"] and pdf.metadata.title.startswith("Record of Juniper")
    assert 'alt="Hoof, Oct 14, 2026"' in render_html(TEMPLATE, {"paper": paper})


def test_a_photo_whose_file_is_gone_is_left_out(horse):
    pictures = add_photos(horse, [photo()], DAY)
    photo_file(pictures[0].file).unlink()

    assert horse_record_paper(horse, DAY, Profile.current(), photos=pictures).photos == []


def test_papers_reach_photos_and_nothing_beside_them(horse, settings):
    [one] = add_photos(horse, [photo()], DAY)
    (settings.DATA_DIR / "secret.jpg").write_bytes(b"secret")

    assert find_asset(f"asset:///photos/{one.file}") == photo_file(one.file).resolve()
    assert find_asset("asset:///photos/../secret.jpg") is None


# --- the page


def test_the_page_offers_the_photos_and_leads_to_the_pdf(browser, horse):
    pictures = add_photos(horse, [photo((9, size)) for size in range(9, 15)], DAY)
    url = f"/horses/{horse.pk}/record/"

    page = browser.get(url).content.decode()
    chosen = [each.pk for each in pictures]
    made = browser.get(url, {"make": "1", "photos": chosen[:2], "with_owners": "on"})
    many = browser.get(url, {"make": "1", "photos": chosen})

    assert page.count("/small/") == 6
    assert made.headers["Content-Type"] == "application/pdf"
    assert "Ann Lee" in words_of(made.content)
    assert many.context["form"].errors == {"photos": ["Choose at most 4."]}


def test_photos_of_another_horse_are_none_of_this_one(browser, horse):
    [other] = add_photos(owned_horse(name="Moss"), [photo()], DAY)
    add_photos(horse, [photo()], DAY)

    answer = browser.get(f"/horses/{horse.pk}/record/", {"make": "1", "photos": other.pk})

    assert list(answer.context["form"].errors) == ["photos"]


def test_the_rooms_get_smaller():
    assert sorted(ROOMS, key=lambda room: (-room.rows, -room.letters)) == list(ROOMS)
