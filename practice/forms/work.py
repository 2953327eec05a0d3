"""The short form of a horse at a visit: what it holds, how it is filled, and what it keeps.

The form is a draft of plain values. It is filled from what is kept, from the last time, or from a work
that was tapped; a tap that posts comes back filled in, with and without JavaScript.
"""

from dataclasses import dataclass, field
from decimal import Decimal

from django.db.models import Count, QuerySet

from practice.actions.work import MaterialRow, WorkRow
from practice.lib import formats
from practice.lib.millionths import PLACES
from practice.lib.profile import Profile
from practice.models import Foot, Horse, MaterialUse, Service, Visit
from practice.reports.history import PastVisit, at_visit, last_time
from stock.models import Item, ItemKind

FEET = tuple(Foot.values)
FORE = ("LF", "RF")
# Nails in one shoe: common practice, no source.
NAILS_A_SHOE = Decimal(6)
BY_FOOT = (ItemKind.SHOE, ItemKind.NAIL)
LARGEST = Decimal(10**9)


@dataclass
class Also:
    """A further service on the horse, as it stands."""

    service: Service
    quantity: Decimal
    price: Decimal | None
    note: str
    key: str


@dataclass
class Draft:
    """What the form holds. `nails` is the count on all feet together; `others` counts by item."""

    service: Service | None = None
    quantity: str = "1"
    price: str = ""
    note: str = ""
    also: list[Also] = field(default_factory=list)
    feet: list[str] = field(default_factory=list)
    shoes: dict[str, Item | None] = field(default_factory=lambda: dict.fromkeys(FEET))
    nail: Item | None = None
    nails: str = "0"
    others: dict[Item, str] = field(default_factory=dict)
    filled: str = ""
    errors: dict[str, str] = field(default_factory=dict)


class Bench:
    """Fills and reads drafts for one horse at one visit."""

    def __init__(self, visit: Visit, horse: Horse, profile: Profile):
        self.visit, self.horse, self.profile = visit, horse, profile
        self.kept = at_visit(visit, horse)
        self.last = last_time(horse, visit)
        used = [use.item_id for use in self.kept.materials]
        used += [use.item_id for use in self.last.materials] if self.last else []
        items = Item.objects.current() | Item.objects.filter(pk__in=used)
        self.items = list(items.distinct().order_by("pk"))
        self.by_key = {str(item.pk): item for item in self.items}
        done = [row.service_id for row in self.kept.work]
        services = Service.objects.current() | Service.objects.filter(pk__in=done)
        self.services = list(services.distinct().order_by("pk"))

    def of(self, *kinds: str) -> list[Item]:
        return [item for item in self.items if item.kind in kinds]

    # Filling

    def from_book(self) -> Draft:
        """Return what is kept of the horse at the visit."""
        return self._from(self.kept, money=True)

    def from_last_time(self) -> Draft:
        """Return services, items, quantities and feet of the last cycle work; never its price or note."""
        if self.last is None:
            return Draft()
        draft = self._from(self.last, money=False)
        draft.filled = f"As last time, {formats.day_and_month(self.last.date, self.profile.locale)}."
        return draft

    def _from(self, past: PastVisit, money: bool) -> Draft:
        draft = Draft()
        for number, row in enumerate(past.work):
            price, note = (row.price, row.note) if money else (None, "")
            if number == 0:
                draft.service, draft.note = row.service, note
                draft.quantity = self.figure(row.quantity)
                draft.price = "" if price is None else self.figure(price)
            else:
                draft.also.append(Also(row.service, row.quantity, price, note, str(row.pk)))
        nails = Decimal(0)
        for use in past.materials:
            if use.item.kind == ItemKind.SHOE and use.foot:
                draft.shoes[use.foot] = use.item
            elif use.item.kind == ItemKind.NAIL and draft.nail in (None, use.item):
                draft.nail = use.item
                nails += use.quantity
            else:
                before = self.number(draft.others.get(use.item, "0"))
                draft.others[use.item] = self.figure(before + use.quantity)
            if use.foot and use.item.kind in BY_FOOT and use.foot not in draft.feet:
                draft.feet.append(use.foot)
        draft.nails = self.figure(nails)
        return draft

    def pick(self, draft: Draft, service: Service) -> None:
        """Fill the form for a work that was tapped: feet, the horse's sizes, six nails a shoe."""
        draft.service, draft.quantity = service, "1"
        nailed = max(service.feet_nailed or 0, service.new_shoes or 0)
        draft.feet = list(FEET if nailed >= 3 else FORE if nailed == 2 else [])
        wanted = draft.feet if service.new_shoes else []
        draft.shoes = {foot: self.usual_shoe(foot) if foot in wanted else None for foot in FEET}
        draft.nail = self.usual_nail() if nailed else None
        draft.nails = self.figure(NAILS_A_SHOE * (len(draft.feet) or nailed)) if draft.nail else "0"
        draft.filled = ""

    def usual_shoe(self, foot: str) -> Item | None:
        """Return the shoe that this foot, or its like, had before; else what the practice uses most."""
        fits = "front" if foot in FORE else "hind"
        uses = MaterialUse.objects.filter(item__kind=ItemKind.SHOE, horse=self.horse, item__archived=False)
        before = uses.filter(foot__in=FORE if foot in FORE else ("LH", "RH"))
        row = before.filter(foot=foot).order_by("-visit__date", "-pk").first()
        row = row or before.order_by("-visit__date", "-pk").first()
        if row:
            return row.item
        return self._most_used(Item.objects.current().filter(kind=ItemKind.SHOE, fits__in=[fits, "any"]))

    def usual_nail(self) -> Item | None:
        row = (
            MaterialUse.objects.filter(item__kind=ItemKind.NAIL, horse=self.horse, item__archived=False)
            .order_by("-visit__date", "-pk")
            .first()
        )
        return row.item if row else self._most_used(Item.objects.current().filter(kind=ItemKind.NAIL))

    def _most_used(self, items: QuerySet) -> Item | None:
        return items.annotate(uses=Count("movements")).order_by("-uses", "pk").first()

    # Reading what was posted

    def figure(self, value: Decimal) -> str:
        return formats.for_a_field(value, self.profile.locale)

    def number(self, text: str) -> Decimal:
        """Return a number that was typed, 0 for a blank. Raises ValueError, also for what no row can hold."""
        value = formats.parse_number(text, self.profile.locale) if text.strip() else Decimal(0)
        if abs(value) >= LARGEST or value.as_tuple().exponent < -PLACES:
            raise ValueError(f"too large or too fine: {text}")
        return value

    def from_post(self, post) -> Draft:
        """Return the draft that was posted, as typed."""
        services = {str(service.pk): service for service in self.services}
        draft = Draft(
            service=services.get(post.get("service", "")),
            quantity=post.get("quantity", "1"),
            price=post.get("price", ""),
            note=post.get("note", "").strip(),
            feet=[foot for foot in FEET if foot in post.getlist("foot")],
            shoes={foot: self.by_key.get(post.get(f"shoe_{foot}", "")) for foot in FEET},
            nail=self.by_key.get(post.get("nail", "")),
            nails=post.get("nails", "0"),
            filled=post.get("filled", "")[:100],
        )
        self._read_also(post, draft)
        self._follow_feet(draft, post.get("feet_were", "").split())
        for item in self.items:
            text = post.get(f"item_{item.pk}", "").strip()
            if text and text != "0":
                draft.others[item] = text
        return draft

    def _read_also(self, post, draft: Draft) -> None:
        """Take over the further services that are ticked; from the last time without price and note."""
        ticked = {value for name, value in post.items() if name.startswith("also_")}
        for row in self.kept.work[1:]:
            if str(row.pk) in ticked:
                draft.also.append(Also(row.service, row.quantity, row.price, row.note, str(row.pk)))
        for row in self.last.work[1:] if self.last else ():
            if str(row.pk) in ticked:
                draft.also.append(Also(row.service, row.quantity, None, "", str(row.pk)))

    def _follow_feet(self, draft: Draft, before: list[str]) -> None:
        """Where feet were tapped since the form was filled, let shoes and nails follow them."""
        if draft.feet == before or not draft.service:
            return
        for foot in draft.feet:
            if foot not in before and draft.service.new_shoes and draft.shoes[foot] is None:
                draft.shoes[foot] = self.usual_shoe(foot)
        counted = NAILS_A_SHOE * (len(before) or draft.service.feet_nailed or 0)
        if draft.nail and draft.nails == self.figure(counted):
            draft.nails = self.figure(NAILS_A_SHOE * len(draft.feet))

    def change(self, draft: Draft, field_name: str, by: int) -> None:
        """Change a count by a step of its stepper; never below 0."""
        if field_name == "nails":
            draft.nails = self._stepped(draft.nails, by)
        elif item := self.by_key.get(field_name.removeprefix("item_")):
            draft.others[item] = self._stepped(draft.others.get(item, "0"), by)

    def _stepped(self, text: str, by: int) -> str:
        try:
            return self.figure(max(self.number(text) + by, Decimal(0)))
        except ValueError:
            return text

    # What is kept

    def rows(self, draft: Draft) -> tuple[list[WorkRow], list[MaterialRow]]:
        """Return the rows to keep; what does not fit stands in `draft.errors` by field."""
        work = []
        quantity = self._typed(draft, "quantity", draft.quantity)
        price = self._typed(draft, "price", draft.price) if draft.price.strip() else None
        if price is not None and price < 0:
            draft.errors["price"] = "Type a price of at least 0."
        if draft.service:
            if not quantity or quantity <= 0:
                draft.errors.setdefault("quantity", "Type how many, such as 1.")
            else:
                work.append(WorkRow(draft.service, quantity, price, draft.note))
        work += [WorkRow(row.service, row.quantity, row.price, row.note) for row in draft.also]
        materials = self._shoe_rows(draft) + self._nail_rows(draft) + self._other_rows(draft)
        if not work and (materials or draft.price or draft.note):
            draft.errors["service"] = "Tap what was done first."
        return work, materials

    def _typed(self, draft: Draft, name: str, text: str) -> Decimal | None:
        try:
            return self.number(text)
        except ValueError:
            draft.errors[name] = "Type a number such as 12."
            return None

    def _shoe_rows(self, draft: Draft) -> list[MaterialRow]:
        rows = []
        kept = {use.foot: use for use in self.kept.materials if use.item.kind == ItemKind.SHOE and use.foot}
        for foot in FEET:
            shoe = draft.shoes[foot]
            if shoe and foot in draft.feet:
                use = kept.get(foot)
                same = use is not None and use.item == shoe
                rows.append(
                    MaterialRow(shoe, use.quantity if same else Decimal(1), foot, use.price if same else None)
                )
        return rows

    def _nail_rows(self, draft: Draft) -> list[MaterialRow]:
        """Nails by foot, split evenly; kept as they were where neither count nor feet changed."""
        count = self._typed(draft, "nails", draft.nails)
        if not draft.nail or not count:
            return []
        kept = [use for use in self.kept.materials if use.item == draft.nail]
        on_feet = {use.foot for use in kept if use.foot}
        if sum(use.quantity for use in kept) == count and on_feet <= set(draft.feet):
            return [MaterialRow(use.item, use.quantity, use.foot, use.price) for use in kept]
        if count != int(count) or count < 0:
            draft.errors["nails"] = "Nails are counted: type a whole number, such as 12."
            return []
        feet = draft.feet or [""]
        each, left = divmod(int(count), len(feet))
        counts = [each + (number < left) for number in range(len(feet))]
        return [MaterialRow(draft.nail, Decimal(n), foot) for foot, n in zip(feet, counts, strict=True) if n]

    def _other_rows(self, draft: Draft) -> list[MaterialRow]:
        rows = []
        for item, text in draft.others.items():
            count = self._typed(draft, f"item_{item.pk}", text)
            if count is not None and count < 0:
                draft.errors[f"item_{item.pk}"] = "Type a number above 0, or 0 for none."
            if not count or count < 0:
                continue
            shown_elsewhere = self._by_foot(item, draft)
            kept = [use for use in self.kept.materials if use.item == item and use not in shown_elsewhere]
            if sum(use.quantity for use in kept) == count:
                rows += [MaterialRow(use.item, use.quantity, use.foot, use.price) for use in kept]
            else:
                rows.append(MaterialRow(item, count, "", kept[0].price if kept else None))
        return rows

    def _by_foot(self, item: Item, draft: Draft) -> list[MaterialUse]:
        """Return the uses of an item that the feet and the nails of the form already show."""
        if item.kind == ItemKind.SHOE:
            return [use for use in self.kept.materials if use.item == item and use.foot]
        if item == draft.nail:
            return [use for use in self.kept.materials if use.item == item]
        return []
