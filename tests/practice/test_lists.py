"""Lists: searched, ordered and paged, as pages and by htmx."""

import pytest
from django.urls import reverse

from practice.lib import formats
from practice.lib.things import PER_PAGE
from tests.conftest import DESK, PHONE
from tests.factories.practice import ClientFactory, HorseFactory, PlaceFactory
from tests.factories.stock import ItemFactory, receipt

HTMX = {"HTTP_HX_REQUEST": "true", "HTTP_HX_TARGET": "list"}


def names_on(answer) -> list[str]:
    return [row.name for _, rows in answer.context["table"].groups() for row in rows]


@pytest.mark.django_db
def test_a_search_shows_the_clients_whose_name_holds_it(browser):
    for name in ("Ann Marsh", "Bo Harper", "Cy Marshall"):
        ClientFactory(name=name)

    answer = browser.get(reverse("practice:client-list"), {"q": " marsh "})

    assert names_on(answer) == ["Ann Marsh", "Cy Marshall"]


@pytest.mark.django_db
def test_a_search_without_result_says_what_was_searched(browser):
    ClientFactory(name="Ann Marsh")

    answer = browser.get(reverse("practice:client-list"), {"q": "Zorn"})

    assert answer.context["table"].empty_text == "No client is called 'Zorn'."
    assert "No client is called &#x27;Zorn&#x27;." in answer.content.decode()


@pytest.mark.django_db
def test_htmx_gets_the_list_alone(browser):
    ClientFactory(name="Ann Marsh")
    address = reverse("practice:client-list")

    page, part = browser.get(address), browser.get(address, **HTMX)

    assert [page.headers["Vary"], part.headers["Vary"]] == ["HX-Request, HX-Target, Cookie"] * 2
    assert [answer.content.decode().count("<html") for answer in (page, part)] == [1, 0]
    assert part.content.decode().strip() in page.content.decode()


@pytest.mark.django_db
def test_a_list_of_horses_by_place_is_grouped_by_place(browser):
    mill, ridge = PlaceFactory(name="Mill Farm"), PlaceFactory(name="Ridge Barn")
    for name, place in (("Juno", ridge), ("Bramble", mill), ("Alder", ridge)):
        HorseFactory(name=name, place=place)

    table = browser.get(reverse("practice:horse-all"), {"sort": "place"}).context["table"]

    assert [(heading, [row.name for row in rows]) for heading, rows in table.groups()] == [
        ("Mill Farm", ["Bramble"]),
        ("Ridge Barn", ["Alder", "Juno"]),
    ]


@pytest.mark.django_db
@pytest.mark.parametrize(
    "bad", [{"sort": "place__notes"}, {"page": "0"}, {"page": "x"}, {"per_page": "9999"}, {"per_page": "-1"}]
)
def test_an_address_that_asks_for_nonsense_gets_the_list(browser, bad):
    HorseFactory(name="Juno")

    answer = browser.get(reverse("practice:horse-all"), bad)

    assert (names_on(answer), answer.context["table"].paginator.per_page) == (["Juno"], PER_PAGE)


@pytest.mark.django_db(transaction=True)
def test_typing_searches_within_the_archive_and_stays_in_the_field(own_page):
    for name, archived in (("Ann Marsh", True), ("Bo Harper", True), ("Cy Marshall", False)):
        ClientFactory(name=name, archived=archived)
    own_page.goto(reverse("practice:client-list") + "?archived")

    with own_page.expect_response(lambda answer: "q=marsh" in answer.url):
        own_page.get_by_role("main").get_by_role("searchbox").press_sequentially("marsh")
    own_page.locator("#list").get_by_text("1 client", exact=True).wait_for()

    assert own_page.locator("#list .row-name").all_inner_texts() == ["Ann Marsh"]
    assert own_page.evaluate("document.activeElement.value") == "marsh"
    assert own_page.url.endswith("/clients/?q=marsh&archived=")
    assert own_page.problems == []


@pytest.mark.django_db(transaction=True)
def test_the_next_page_keeps_search_and_order_and_back_goes_back(own_page):
    for number in range(PER_PAGE + 1):
        ClientFactory(name=f"Marsh {number:02}")
    own_page.goto(reverse("practice:client-list") + "?q=marsh")

    own_page.get_by_role("link", name="Most horses first").click()
    own_page.locator("[aria-current]", has_text="Most horses first").wait_for()
    own_page.get_by_role("link", name="Next").click()
    own_page.get_by_text("Page 2 of 2").wait_for()
    names = own_page.locator("#list .row-name").all_inner_texts()
    address = own_page.url
    own_page.go_back()
    own_page.get_by_text("Page 1 of 2").wait_for()

    assert names == [f"Marsh {PER_PAGE:02}"]
    assert address.endswith("/clients/?q=marsh&sort=-horse_count&page=2")
    assert own_page.problems == []


@pytest.mark.parametrize(
    ("number", "said"), [(0, "0 horses"), (1, "1 horse"), (3, "3 horses"), (1200, "1,200 horses")]
)
def test_things_are_counted_in_words(number, said):
    assert formats.counted(number, "horse") == said


def test_a_plural_may_be_its_own_word():
    assert [formats.counted(n, "foot", "feet") for n in (1, 4)] == ["1 foot", "4 feet"]


@pytest.mark.django_db(transaction=True)
def test_a_phone_finds_from_the_top_of_every_page(open_page, user):
    page = open_page(*PHONE, user=user)

    for name in ("home", "practice:client-add", "billing:invoice-list"):
        page.goto(reverse(name))
        page.get_by_role("banner").get_by_role("link", name="Find").click()
        page.get_by_role("heading", level=1).wait_for()
        assert page.url.endswith(reverse("find"))


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(
    ("size", "columns"),
    [
        (PHONE, ["Date", "Entry", "Quantity", "On hand"]),
        (DESK, ["Date", "Entry", "Location", "Quantity", "Cost", "On hand", "Value"]),
    ],
    ids=["phone", "desk"],
)
def test_a_phone_shows_a_line_an_entry_of_a_ledger(open_page, user, size, columns):
    item = ItemFactory()
    receipt(item, "5")
    page = open_page(*size, user=user)

    page.goto(item.get_absolute_url())

    heads = [head.inner_text() for head in page.locator(".entries th").all() if head.is_visible()]
    assert heads == columns
    assert page.locator(".entries tbody tr").bounding_box()["height"] < 60
    assert page.get_by_role("link", name="Undo").is_visible()
