"""What stands on the form of a horse: its feet, the items with their counts, the grids of sizes."""

from dataclasses import dataclass
from decimal import Decimal

from practice.lib import formats
from practice.lib.profile import Profile
from practice.models import Foot
from stock.models import Item, ItemKind
from stock.reports.sizes import Grid

# What stands under a foot that gets its old shoe again, or none.
RESET, TRIM, BARE = "reset", "trim", "bare"


@dataclass(frozen=True)
class FootOnSheet:
    """A foot of the form.

    `is_worn`: the horse came in with a shoe on it, `worn`, None where it is not known which. `shoe` is the
    new one. `is_trimmed`: a foot that gets no shoe is trimmed by what was chosen. `is_open`: its sizes are.
    """

    foot: str
    is_on: bool
    is_worn: bool
    worn: Item | None
    shoe: Item | None
    is_trimmed: bool
    is_open: bool

    @property
    def label(self) -> str:
        return Foot(self.foot).label

    @property
    def wears(self) -> str:
        """What it came in with, blank where that is no shoe."""
        if not self.is_worn:
            return ""
        return f"wears {in_short(self.worn)}" if self.worn else "wears a shoe"

    @property
    def words(self) -> str:
        """What stands under it: the shoe it gets, that the old one is reset, what it wears, or neither."""
        if self.is_on:
            return in_short(self.shoe) if self.shoe else RESET
        return self.wears or (TRIM if self.is_trimmed else BARE)

    @property
    def tap(self) -> str:
        """The name of its button: a shoe goes on, or the sizes open for one that does, or close."""
        return ("changed" if self.is_open else "open") if self.is_on else "on"

    @property
    def has_new_shoe(self) -> bool:
        return self.is_on and self.shoe is not None

    @property
    def question(self) -> str:
        return f"Which shoe for the {self.label.lower()}?"


def in_short(shoe: Item) -> str:
    """Say a shoe under a foot: `No 2 plain`."""
    words = [f"No {shoe.size}"] if shoe.size else []
    return " ".join([*words, *([shoe.pattern] if shoe.pattern else [])]) or str(shoe)


@dataclass(frozen=True)
class ItemOnSheet:
    """An item with its count: `on_hand` in its unit, `price` of one unit (None: covered by the work)."""

    item: Item
    count: Decimal
    on_hand: Decimal
    price: Decimal | None
    profile: Profile
    where: str

    @property
    def name(self) -> str:
        """The name of its field."""
        return f"item_{self.item.pk}"

    @property
    def is_single(self) -> bool:
        return self.item.unit == "each"

    @property
    def detail(self) -> str:
        """`14.00 each, 12 on the truck`."""
        words = f"{formats.quantity_of(self.on_hand, self.item.unit, self.profile.locale)} {self.where}"
        if self.price is None:
            return words
        price = formats.unit_price(self.price, self.profile.currency, self.profile.locale)
        return f"{price} {'each' if self.is_single else f'per {self.item.unit}'}, {words}"


@dataclass(frozen=True)
class SizePicker:
    """A grid of sizes to choose from: `which` is front, hind, nail, or a foot; `chosen` are on now."""

    which: str
    label: str
    grid: Grid
    chosen: set[Item | None]

    @property
    def is_shoe(self) -> bool:
        return self.which != ItemKind.NAIL
