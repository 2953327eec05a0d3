"""The form of a horse at a visit: each tap comes back filled in, Save writes it down."""

from datetime import timedelta
from decimal import Decimal
from html.parser import HTMLParser

import pytest
from django.contrib.messages import get_messages

from billing.models import Price
from billing.reports.billable import Biller
from practice.lib.profile import Profile
from practice.models import Finding, MaterialUse, Visit, Work
from practice.reports.horse_at_visit import HorseAtVisit
from tests.factories.practice import (
    DAY,
    HorseFactory,
    MaterialUseFactory,
    OwnerFactory,
    ProfileFactory,
    ServiceFactory,
    VisitFactory,
    WorkFactory,
)
from tests.factories.stock import ItemFactory

pytestmark = pytest.mark.django_db
D = Decimal
SIX_WEEKS_AGO = DAY - timedelta(weeks=6)


class Fields(HTMLParser):
    """The fields of a form as a browser would post them."""

    def __init__(self, html: str):
        super().__init__()
        self.values, self.area = {}, None
        form = html.index('id="horse"')
        self.feed(html[form : html.index("</form>", form)])

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        if tag == "input" and (attrs.get("type") != "checkbox" or "checked" in attrs):
            self.values.setdefault(attrs["name"], []).append(attrs.get("value", ""))
        elif tag == "textarea":
            self.area = attrs["name"]

    def handle_data(self, data):
        if self.area:
            self.values[self.area], self.area = [data.strip()], None


class Stop:
    """A horse at a visit with fronts and a pad on the price list, and its page."""

    def __init__(self, browser):
        ProfileFactory()
        self.browser = browser
        self.fronts = ServiceFactory(name="Fronts", new_shoes=2, feet_nailed=2, fitted="hot")
        self.trim = ServiceFactory(name="Trim")
        self.lost = ServiceFactory(name="Lost shoe", new_shoes=1, feet_nailed=1, resets_cycle=False)
        self.shoe = ItemFactory(name="Plain front, No 2", size="2", pattern="plain", fits="front")
        self.wide = ItemFactory(name="Plain front, No 3", size="3", pattern="plain", fits="front")
        self.nail = ItemFactory(name="Nails, slim No 5", kind="nail")
        self.pad = ItemFactory(name="Pad", kind="pad", sale_price=D("14"))
        for service, price in ((self.fronts, 175), (self.trim, 55), (self.lost, 45)):
            Price.objects.create(service=service, valid_from=SIX_WEEKS_AGO, price=price)
        self.visit = VisitFactory()
        self.horse = HorseFactory(name="Juniper", place=self.visit.place)
        OwnerFactory(horse=self.horse)
        self.url = self.visit.horse_url(self.horse)

    def last_time(self):
        past = VisitFactory(place=self.visit.place, status="done", date=SIX_WEEKS_AGO, billed=True)
        WorkFactory(visit=past, horse=self.horse, service=self.fronts, price=D(99), note="never copied")
        for foot in ("LF", "RF"):
            MaterialUseFactory(visit=past, horse=self.horse, item=self.wide, foot=foot)
            MaterialUseFactory(visit=past, horse=self.horse, item=self.nail, foot=foot, quantity=D(6))

    def post(self, typed=None, answer=None, **tap):
        """Post the form as it stands on a page, with what was typed over, and the button that was tapped."""
        page = answer or self.browser.get(self.url)
        fields = Fields(page.content.decode()).values
        return self.browser.post(self.url, fields | (typed or {}) | tap)

    @property
    def work(self) -> list[tuple]:
        return list(Work.objects.filter(visit=self.visit).values_list("service__name", "price", "note"))

    @property
    def uses(self) -> list[tuple]:
        rows = MaterialUse.objects.filter(visit=self.visit).order_by("pk")
        return list(rows.values_list("item__name", "foot", "quantity"))


@pytest.fixture
def stop(browser):
    return Stop(browser)


CHANGED = "The work on this horse changed in the meantime. Open the horse again."
SHOES_AND_NAILS = [
    ("Plain front, No 2", "LF", 1),
    ("Plain front, No 2", "RF", 1),
    ("Nails, slim No 5", "LF", 6),
    ("Nails, slim No 5", "RF", 6),
]


def test_a_service_that_is_tapped_comes_back_filled_in_and_is_saved_as_it_stands(stop):
    tapped = stop.post(pick=stop.fronts.pk)
    before = (stop.work, stop.uses)
    stop.post(answer=tapped, save="1")

    assert before == ([], [])
    assert tapped.context["sheet"].is_hot and tapped.context["sheet"].total == 175
    assert (stop.work, stop.uses) == ([("Fronts", None, "")], SHOES_AND_NAILS)


def test_a_foot_tapped_off_takes_its_shoe_and_nails_with_it(stop):
    tapped = stop.post(answer=stop.post(pick=stop.fronts.pk), off="RF")

    stop.post(answer=tapped, save="1")

    assert stop.uses == [("Plain front, No 2", "LF", 1), ("Nails, slim No 5", "LF", 6)]


def test_a_foot_that_is_tapped_gets_its_usual_shoe_where_the_work_puts_new_ones_on(stop):
    tapped = stop.post(answer=stop.post(pick=stop.trim.pk), pick=stop.lost.pk)

    stop.post(answer=stop.post(answer=tapped, on="RF"), save="1")

    assert stop.uses == [("Plain front, No 2", "RF", 1), ("Nails, slim No 5", "RF", 6)]


def test_nails_that_were_typed_after_a_foot_was_tapped_stand(stop):
    tapped = stop.post(answer=stop.post(pick=stop.fronts.pk), off="RF")

    stop.post({"nails": "8"}, answer=tapped, save="1")

    assert stop.uses[1] == ("Nails, slim No 5", "LF", 8)


def test_a_size_a_step_and_another_item_are_taps_as_well(stop):
    answer = stop.post(pick=stop.fronts.pk)
    answer = stop.post(answer=answer, size=f"front:{stop.wide.pk}")
    answer = stop.post(answer=answer, step="nails:-1")
    answer = stop.post(answer=answer, step=f"item_{stop.pad.pk}:1")

    assert answer.context["sheet"].total == 189
    stop.post(answer=answer, save="1")
    assert stop.uses == [
        ("Plain front, No 3", "LF", 1),
        ("Plain front, No 3", "RF", 1),
        ("Nails, slim No 5", "LF", 6),
        ("Nails, slim No 5", "RF", 5),
        ("Pad", "", 1),
    ]


def test_as_last_time_copies_everything_but_price_and_note_and_can_be_cleared(stop):
    stop.last_time()

    filled = stop.post(last="1")
    cleared = stop.post(answer=filled, clear="1")
    stop.post(answer=filled, save="1")

    assert "As last time, September 2." in filled.content.decode()
    assert cleared.context["form"].state == HorseAtVisit(VisitFactory(), stop.horse, Profile()).recorded.state
    assert stop.work == [("Fronts", None, "")]
    wide = [(name.replace("No 2", "No 3"), foot, count) for name, foot, count in SHOES_AND_NAILS]
    assert stop.uses == wide


def test_saving_twice_changes_nothing(stop):
    stop.post(answer=stop.post(pick=stop.fronts.pk), save="1")
    keys = list(MaterialUse.objects.values_list("pk", flat=True))

    stop.post(save="1")

    assert list(MaterialUse.objects.values_list("pk", flat=True)) == keys


def test_two_works_are_tapped_and_one_is_tapped_off_again(stop):
    tapped = stop.post(answer=stop.post(pick=stop.trim.pk), pick=stop.lost.pk)
    stop.post(answer=tapped, save="1")
    both = stop.work
    less = stop.post(pick=stop.trim.pk)
    stop.post(answer=less, save="1")

    assert (tapped.context["sheet"].say, tapped.context["sheet"].total) == ("Trim, Lost shoe", 100)
    assert both == [("Trim", None, ""), ("Lost shoe", None, "")]
    assert (less.context["sheet"].total, stop.work) == (45, [("Lost shoe", None, "")])


def test_work_that_is_not_tapped_keeps_its_price_and_note(stop):
    for service in (stop.fronts, stop.trim):
        WorkFactory(visit=stop.visit, horse=stop.horse, service=service, price=D(20), note="as agreed")

    stop.post(save="1")
    both = stop.work
    stop.post(answer=stop.post(pick=stop.trim.pk), save="1")

    assert both == [("Fronts", 20, "as agreed"), ("Trim", 20, "as agreed")]
    assert stop.work == [("Fronts", 20, "as agreed")]


def test_a_foot_that_gets_a_shoe_opens_its_sizes_and_left_and_right_may_differ(stop):
    tapped = stop.post(pick=stop.fronts.pk)

    opened = stop.post(answer=tapped, open="RF")
    sized = stop.post(answer=opened, size=f"RF:{stop.wide.pk}")
    stop.post(answer=sized, save="1")

    asked = [answer.context["sheet"].opened for answer in (tapped, opened, sized)]
    assert [foot and foot.question for foot in asked] == [None, "Which shoe for the right fore?", None]
    assert stop.uses[:2] == [("Plain front, No 2", "LF", 1), ("Plain front, No 3", "RF", 1)]


def test_the_sizes_of_a_foot_leave_out_shoes_of_the_other_side(stop):
    sided = {"pattern": "sided", "size": "2", "fits": "front"}
    left, right = (ItemFactory(side=side, **sided) for side in ("left", "right"))
    answer = stop.post(answer=stop.post(pick=stop.fronts.pk), open="RF")

    cells = [cell.item for row in answer.context["sheet"].foot_picker.grid.rows for cell in row.cells]

    assert (right in cells, stop.shoe in cells, left in cells) == (True, True, False)


def test_a_foot_is_taken_off_where_its_sizes_are_and_the_sheet_follows(stop):
    opened = stop.post(answer=stop.post(pick=stop.fronts.pk), open="RF")

    answer = stop.post(answer=opened, off="RF")

    shown = [(foot.foot, foot.is_on) for foot in answer.context["sheet"].feet]
    assert shown == [("LF", True), ("RF", False), ("LH", False), ("RH", False)]
    assert answer.context["form"]["nails"].value() == "6"


def test_what_was_typed_is_added_up_without_saving(stop):
    tapped = stop.post(pick=stop.fronts.pk)

    answer = stop.post({f"item_{stop.pad.pk}": "2"}, answer=tapped, changed="1")

    assert (answer.context["sheet"].total, stop.work) == (203, [])


@pytest.mark.parametrize(
    ("typed", "errors"),
    [
        ({"price_{}": "abc"}, {"price_{}": ["Type a number such as 45.00."]}),
        ({"price_{}": "-1"}, {"price_{}": ["Type a number of at least 0, such as 45.00."]}),
        ({"quantity_{}": ""}, {"quantity_{}": ["Type how many, such as 1."]}),
        ({"nails": "2.5"}, {"nails": ["Nails are counted. Type a whole number, such as 12."]}),
        ({"work": []}, {"__all__": ["Tap what was done first."]}),
        ({"work": ["9999"]}, {"work": [CHANGED], "__all__": ["Tap what was done first."]}),
    ],
)
def test_what_cannot_be_saved_is_said_beside_the_field_and_nothing_is_saved(stop, typed, errors):
    tapped = stop.post(pick=stop.fronts.pk)
    typed, errors = (
        {name.format(stop.fronts.pk): value for name, value in each.items()} for each in (typed, errors)
    )

    answer = stop.post(typed, answer=tapped, save="1")

    assert (answer.context["form"].errors, stop.work, stop.uses) == (errors, [], [])
    assert answer.context["sheet"].total is None


def test_what_cannot_be_read_stays_as_it_was_typed_while_others_are_tapped(stop):
    tapped, price = stop.post(pick=stop.fronts.pk), f"price_{stop.fronts.pk}"

    answer = stop.post({price: "abc", f"item_{stop.pad.pk}": "two"}, answer=tapped, step="nails:1")

    form, sheet = answer.context["form"], answer.context["sheet"]
    assert (form[price].value(), form["nails"].value(), sheet.total) == ("abc", "13", None)
    assert [(row.item, field.value()) for row, field in answer.context["used"]] == [(stop.pad, "two")]
    assert sheet.say == "A number cannot be read."


def test_only_the_form_is_swapped_where_htmx_asks(stop):
    answer = stop.browser.post(stop.url, {"pick": stop.trim.pk}, headers={"HX-Request": "true"})

    page = " ".join(answer.content.decode().split())
    assert page.startswith('<form class="horse-sheet" id="horse"') and page.endswith("</form>")
    assert "HX-Request" in answer.headers["Vary"]


def test_after_saving_the_next_horse_is_open(stop):
    other = HorseFactory(name="Bramble", place=stop.visit.place)
    page = stop.browser.get(stop.url).content.decode()

    answer = stop.post(answer=stop.post(pick=stop.trim.pk), save="1")

    assert "Save, then Bramble" in page
    assert answer.headers["Location"] == stop.visit.horse_url(other)
    assert [str(message) for message in get_messages(answer.wsgi_request)] == ["Saved. Bramble is next."]


def test_what_was_billed_stands_and_the_form_says_so(stop):
    stop.post(answer=stop.post(pick=stop.fronts.pk), save="1")
    Visit.objects.update(status="done", locked=True)

    answer = stop.post(answer=stop.post(pick=stop.trim.pk), save="1")

    told = ["This visit is already billed. Only materials that are not billed can change."]
    assert answer.context["form"].non_field_errors() == told
    assert stop.work == [("Fronts", None, "")]


def test_the_form_says_what_the_invoice_will_bill(stop):
    answer = stop.post(answer=stop.post(pick=stop.fronts.pk), step=f"item_{stop.pad.pk}:1")
    fronts = stop.fronts.pk
    typed = {f"price_{fronts}": "33.33", f"quantity_{fronts}": "1.5", f"item_{stop.pad.pk}": "3"}
    answer = stop.post(typed, answer, step="nails:1")
    stop.post(answer=answer, save="1")
    Visit.objects.update(status="done")

    [billed] = Biller(Visit.objects.filter(pk=stop.visit.pk).select_related("place"), Profile.current()).all()

    # Worked by hand: 1.5 × 33.33 = 49.995, rounded half up, and 3 × 14 = 42.
    assert sum(part.net for part in billed.parts) == answer.context["sheet"].total == D("92.00")


@pytest.mark.parametrize(
    ("field", "typed", "error"),
    [
        ("quantity", "1.25", "Type a number in steps of 0.5, such as 1.5."),
        ("price", "33.335", "Type a number with at most 2 decimals, such as 45.00."),
        ("item", "2.25", "Type a whole number, such as 12."),
    ],
)
def test_work_is_typed_in_halves_its_price_in_cents_and_materials_whole(stop, field, typed, error):
    name = f"item_{stop.pad.pk}" if field == "item" else f"{field}_{stop.fronts.pk}"
    answer = stop.post({name: typed}, stop.post(pick=stop.fronts.pk), save="1")

    assert answer.context["form"].errors == {name: [error]}


def test_a_finding_is_saved_as_it_was_seen(stop):
    seen = {"foot": "LF", "zone": "sole", "kind": "red sole", "note": "", "refer_to_vet": "on"}

    blank = stop.browser.post(f"{stop.url}finding/", seen | {"kind": ""})
    stop.browser.post(f"{stop.url}finding/", seen)

    assert blank.context["form"].errors == {"kind": ["Choose what you saw, or write it below the list."]}
    [finding] = Finding.objects.all()
    assert (finding.horse, finding.detail) == (stop.horse, "Left fore, sole. Call the veterinarian.")


def test_saving_with_nothing_chosen_is_refused_until_something_was_saved(stop):
    refused = stop.post(save="1")
    stop.post(answer=stop.post(pick=stop.trim.pk), save="1")
    cleared = stop.post(answer=stop.post(clear="1"), save="1")

    assert refused.context["form"].errors == {"__all__": ["Tap what was done first."]}
    assert refused.context["sheet"].say == "Nothing chosen yet"
    assert (cleared.status_code, stop.work) == (302, [])


@pytest.mark.parametrize(("days", "price"), [(42, D(0)), (41, None)])
def test_a_shoe_lost_within_the_practices_days_is_proposed_at_nothing(stop, days, price):
    """The fronts were nailed on six weeks ago."""
    Profile.objects.update(free_renail_days=days)
    stop.last_time()

    page = stop.post(pick=stop.lost.pk)
    stop.post(answer=page, save="1")

    why = "Lost shoe: free. You last nailed a shoe on Juniper 42 days ago. To charge, change the unit price."
    assert (why in page.content.decode()) == (price == 0)
    assert stop.work == [("Lost shoe", price, "")]


def test_a_price_typed_for_a_free_lost_shoe_is_kept(stop):
    Profile.objects.update(free_renail_days=42)
    stop.last_time()

    page = stop.post(pick=stop.lost.pk)
    stop.post({f"price_{stop.lost.pk}": "20"}, page, save="1")

    assert stop.work == [("Lost shoe", D(20), "")]
