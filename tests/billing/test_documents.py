"""The invoice on paper: what it says, that it is tagged, and that nothing is fetched."""

import io
from datetime import timedelta
from decimal import Decimal

import page as page_validation
import pytest
from pypdf import PdfReader

from billing.actions.invoicing import close_days
from billing.actions.payments import record_payment
from billing.models import Invoice, TaxRate
from billing.papers.documents import invoice_pdf, pdf_path, pdf_path_if_made, write_invoice_pdfs
from billing.papers.feet import feet_left
from billing.papers.invoice import file_name, how_to_pay, invoice_paper
from practice.lib.countries import country_of
from practice.lib.letterhead import initials
from practice.lib.pdf import ForbiddenAddress, find_asset, render_html, render_pdf
from practice.lib.profile import Profile
from practice.models import Leg, MaterialUse, Work
from tests.factories.practice import (
    DAY,
    ClientFactory,
    HorseFactory,
    MaterialUseFactory,
    OwnerFactory,
    PlaceFactory,
    ProfileFactory,
    ServiceFactory,
    VehicleFactory,
    VisitFactory,
    WorkFactory,
    owned_horse,
)
from tests.factories.stock import ItemFactory
from tests.papers import plain_paper

pytestmark = pytest.mark.django_db
D = Decimal


@pytest.fixture(autouse=True)
def data_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path


@pytest.fixture
def practice():
    return ProfileFactory(
        name="Garrow Farriery",
        address="18 Sawpit Lane\nPell Crossing",
        registration_number="OC 114",
        travel_rule="per_distance",
        travel_rate=D("0.85"),
    )


def issue(client, horses=("Juniper", "Bramble"), **more):
    """Issue an invoice for fronts on shared horses, with pads that are taxed, a drive and a payment ahead."""
    TaxRate.objects.create(name="State sales tax", valid_from=DAY, rate=5)
    visit = VisitFactory(status="done", place=PlaceFactory(name="Larkspur Barn"))
    fronts = ServiceFactory(name="Fronts, hot-fitted", new_shoes=2, feet_nailed=2, fitted="hot")
    shoe = ItemFactory(name="Plain front", size="2")
    pad = ItemFactory(name="Leather pad", kind="pad", sale_price=D(14), taxable=True)
    other = ClientFactory(name="Anselm Rooke")
    for name in horses:
        horse = HorseFactory(name=name)
        OwnerFactory(horse=horse, client=client, share=D(60))
        OwnerFactory(horse=horse, client=other, share=D(40))
        WorkFactory(visit=visit, horse=horse, service=fronts, price=D(175))
        for foot in ("LF", "RF"):
            MaterialUseFactory(visit=visit, horse=horse, item=shoe, foot=foot)
        MaterialUseFactory(visit=visit, horse=horse, item=pad, quantity=D(2))
    Leg.objects.create(
        date=DAY, vehicle=VehicleFactory(), distance=D("11.2"), purpose="business", visit=visit
    )
    record_payment(client, DAY - timedelta(9), D(50), "check")
    close_days(DAY, DAY, DAY)
    return Invoice.objects.get(client=client)


def test_the_paper_says_everything_that_was_agreed_on(practice):
    paper = invoice_paper(issue(ClientFactory(name="Petra Quill", address="9 Orchard Row")))

    [juniper, _] = paper.blocks
    assert (paper.number, paper.size, paper.initials, paper.registration) == (
        "GF-2026-0001",
        "Letter",
        "GF",
        ["Registered OC 114"],
    )
    assert (paper.issued, paper.due, paper.visits) == (
        "October 14, 2026",
        "October 28, 2026",
        "October 14, Larkspur Barn",
    )
    assert juniper.shares == ["Your share: 60%", "Anselm Rooke: 40%"]
    assert [(foot.foot, foot.words) for foot in juniper.feet] == [
        ("LF", "No 2"),
        ("RF", "No 2"),
        ("LH", "trim"),
        ("RH", "trim"),
    ]
    assert [(line.name, line.detail, line.full, line.amount) for line in juniper.lines] == [
        ("Fronts, hot-fitted", "", "175.00", "105.00"),
        ("Leather pad", "2 × 14.00, taxed", "28.00", "16.80"),
        ("Travel", "11.2\u00a0mi × 0.85 = 9.52, shared by 2 horses", "4.76", "2.86"),
    ]
    assert juniper.included == "Included in the price of the work: 2 × Plain front."
    assert juniper.next_due == "Wed, Nov 25"
    assert [(tax.words, tax.amount) for tax in paper.taxes] == [("State sales tax, 5% of 33.60", "1.68")]
    assert (paper.net, paper.total, paper.credit, paper.amount_due) == (
        "249.32",
        "251.00",
        "−50.00",
        "$201.00",
    )


@pytest.mark.parametrize(
    ("note", "ways"),
    [
        ("By check", [("", "By check")]),
        ("By mail: check\n\nCash at the barn", [("By mail", "check"), ("Or", "Cash at the barn")]),
    ],
)
def test_the_first_way_to_pay_never_begins_with_or(note, ways):
    assert how_to_pay(ProfileFactory.build(pay_note=note)) == ways


def test_figures_and_dates_stand_in_the_clients_language(practice):
    Profile.objects.update(currency="EUR", country="DE")

    paper = invoice_paper(issue(ClientFactory(language="de-DE")))

    assert (paper.size, paper.issued, paper.amount_due) == ("A4", "14. Oktober 2026", "201,00\u00a0€")


def test_the_pdf_is_tagged_whole_and_its_fonts_are_inside(practice, tmp_path):
    content = invoice_pdf(issue(ClientFactory(name="Petra Quill")))

    path = tmp_path / "invoice.pdf"
    path.write_bytes(content)
    assert page_validation.validate_pdf(str(path), profile="ua1").is_compliant
    reader = PdfReader(io.BytesIO(content))
    fonts = {
        str(font.get_object()["/BaseFont"]).split("+")[-1]
        for page in reader.pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert {"Fjalla-One", "Source-Sans-Pro"} <= fonts
    assert reader.trailer["/Root"]["/Lang"] == "en-US"
    assert reader.metadata.title == "Invoice GF-2026-0001, Garrow Farriery"


def test_three_pages_have_running_heads_and_say_which_page_they_are(practice):
    names = [f"Horse {number}" for number in range(9)]

    content = invoice_pdf(issue(ClientFactory(name="Petra Quill"), horses=names))

    texts = [page.extract_text() for page in PdfReader(io.BytesIO(content)).pages]
    assert len(texts) == 3
    assert [f"page {number} of 3" in text for number, text in enumerate(texts, 1)] == [True] * 3
    head = "Garrow Farriery · Invoice GF-2026-0001 · Petra Quill"
    assert [head in text for text in texts] == [False, True, True]


def test_a_pdf_that_was_made_stays_as_it_is_whatever_the_practice_changes(practice, tmp_path):
    invoice = issue(ClientFactory())
    made = invoice_pdf(invoice)
    Profile.objects.update(pay_note="Check: to the new address", phone="555-0100")

    write_invoice_pdfs([invoice.pk])

    assert invoice_pdf(invoice) == made
    assert (tmp_path / pdf_path(invoice)).read_bytes() == made


@pytest.mark.parametrize("cut", [0, 4, 0.5, -20], ids=["empty", "its head", "half of it", "all but its end"])
def test_a_pdf_that_is_not_whole_is_made_anew(practice, tmp_path, cut):
    invoice = issue(ClientFactory())
    made, path = invoice_pdf(invoice, plain_paper), tmp_path / pdf_path(invoice)
    path.write_bytes(made[: int(len(made) * cut) if cut == 0.5 else cut])

    assert pdf_path_if_made(invoice) is None
    assert invoice_pdf(invoice, plain_paper) == made
    assert path.read_bytes() == made


@pytest.mark.parametrize(
    "url",
    [
        "file:///etc/passwd",
        "http://localhost/x.png",
        "//localhost/x.png",
        "../secret_key",
        "asset:///logo/../x",
    ],
)
def test_nothing_is_fetched_whatever_a_document_asks_for(url, tmp_path, settings):
    (tmp_path / "pdf").mkdir()
    for number, tag in enumerate(
        [
            f'<img src="{url}" alt="">',
            f'<link rel="stylesheet" href="{url}">',
            f"<style>@import '{url}';</style>",
        ]
    ):
        name = f"pdf/{number}.html"
        (tmp_path / name).write_text(f'<html lang="en"><title>x</title>{tag}<p>x</p></html>')
        settings.TEMPLATES = [{**settings.TEMPLATES[0], "DIRS": [tmp_path]}]
        with pytest.raises(ForbiddenAddress):
            render_pdf(name, {})


@pytest.mark.parametrize(
    "url",
    ["asset:///fonts/../settings.py", "asset:///logo/secret_key", "asset:///css/%2e%2e/x.css", "asset:///x"],
)
def test_only_fonts_stylesheets_and_the_logo_are_assets(url):
    assert find_asset(url) is None


def test_names_and_notes_cannot_bring_markup_in(practice):
    invoice = issue(ClientFactory(name='<img src="file:///etc/passwd">'))

    html = render_html("pdf/invoice.html", {"paper": invoice_paper(invoice)})

    assert '<img src="file:' not in html and "&lt;img src=" in html


def test_feet_follow_the_nails_and_else_the_service():
    service = ServiceFactory(feet_nailed=4)
    work = [Work(service=service)]
    nail = ItemFactory(kind="nail")

    by_service = [foot.shod for foot in feet_left(work, [])]
    by_nails = [foot.shod for foot in feet_left(work, [MaterialUse(item=nail, foot="LF")])]

    assert (by_service, by_nails) == ([True] * 4, [True, False, False, False])


def test_numbers_of_any_form_have_files_of_their_own():
    names = [file_name(number) for number in ("GF-2026-0001", "A/1", "A:1", "../x", "é")]

    assert names[0] == "GF-2026-0001"
    assert len(set(names)) == 5 and not any(set("/:.") & set(name) for name in names)


def test_touchmark_and_paper():
    assert [initials(name) for name in ("Garrow Farriery", "ann", "")] == ["GF", "A", ""]
    assert [country_of(code).paper for code in ("US", "CA", "DE", "GB", "AU")] == ["Letter"] * 2 + ["A4"] * 3


def test_a_lost_shoe_has_no_next_due_of_its_own(practice):
    client = ClientFactory()
    lost = ServiceFactory(resets_cycle=False)
    visit = VisitFactory(status="done", place=PlaceFactory(travel_rate=0))
    WorkFactory(visit=visit, horse=owned_horse(client), service=lost)
    close_days(DAY, DAY, DAY)

    [block] = invoice_paper(Invoice.objects.get()).blocks

    assert (block.next_due, block.feet) == ("", [])


def test_the_invoices_of_a_day_are_one_pdf_in_order_each_with_its_own_page_numbers(
    practice, browser, settings, tmp_path
):
    settings.TODAY = DAY
    issue(ClientFactory(name="Petra Quill"), horses=[f"Horse {n}" for n in range(8)])
    one_by_one = [PdfReader(io.BytesIO(invoice_pdf(row))) for row in Invoice.objects.order_by("pk")]

    answer = browser.get(f"/close/{DAY}/invoices.pdf")

    path = tmp_path / "all.pdf"
    path.write_bytes(answer.content)
    reader = PdfReader(path)
    assert page_validation.validate_pdf(str(path), profile="ua1").is_compliant
    assert [single.get_num_pages() > 1 for single in one_by_one] == [True, True]
    assert [sheet.extract_text() for sheet in reader.pages] == [
        sheet.extract_text() for single in one_by_one for sheet in single.pages
    ]
    assert reader.metadata.title == "Invoices, Oct 14, 2026"
    assert answer.headers["Content-Disposition"] == 'inline; filename="invoices 2026-10-14.pdf"'


def test_a_day_without_invoices_has_nothing_to_print(practice, browser):
    assert browser.get(f"/close/{DAY}/invoices.pdf").status_code == 404
