"""What the form of a horse holds, and what follows from a tap on it. Pure, from state to state.

Services and items stand as their keys, which may be anything hashable. Quantities are in the item's unit.
"""

from collections import Counter
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

FORE, HIND = ("LF", "RF"), ("LH", "RH")
FEET = (*FORE, *HIND)
SHOE, NAIL = "shoe", "nail"
# Nails in one shoe: common practice, no source.
NAILS_A_SHOE = Decimal(6)
ZERO = Decimal(0)


@dataclass(frozen=True)
class ServiceFacts:
    """A service as far as it says what goes on: new shoes and feet nailed, 0 to 4 each; hot or not.

    One that resets the cycle is a shoeing or a trim of the whole horse; another one may stand beside it.
    """

    key: Hashable
    new_shoes: int = 0
    feet_nailed: int = 0
    is_hot: bool = False
    resets_cycle: bool = True

    @property
    def nailed(self) -> int:
        """On how many feet a shoe is nailed: a new one, or the old one again."""
        return max(self.feet_nailed, self.new_shoes)

    def puts_new_shoe_on(self, foot: str) -> bool:
        """Whether a foot gets a new shoe: every foot it nails, or the fore ones where it has only two."""
        return foot in FEET[: self.new_shoes] if self.new_shoes < self.nailed else self.new_shoes > 0


@dataclass(frozen=True)
class UsualShoeing:
    """What a horse usually gets: the shoe of each foot and the nail; None where nothing is known."""

    shoes: Mapping[str, Hashable]
    nail: Hashable = None


@dataclass(frozen=True)
class WorkLine:
    """A service on the horse. `price` is per unit, None: the price list.

    `number` counts the lines of one service, from 1 in order of entry.
    """

    service: Hashable
    quantity: Decimal = Decimal(1)
    price: Decimal | None = None
    note: str = ""
    number: int = 1

    @property
    def key(self) -> str:
        """What tells it from the other lines: the service's key, and its number from the second on."""
        return str(self.service) if self.number == 1 else f"{self.service}-{self.number}"


@dataclass(frozen=True)
class UseLine:
    """An item used on the horse; `foot` where it belongs to one. `price` is per unit, None: the list's."""

    item: Hashable
    kind: str
    quantity: Decimal
    foot: str = ""
    price: Decimal | None = None


@dataclass(frozen=True)
class HorseWork:
    """The state of the form.

    `work` are the services that were tapped, in that order. `feet` get a shoe nailed on, in the order of
    FEET; `shoes` has the new shoe of a foot, none where the old one goes back on. `nails` is the count on
    all feet together, `counts` holds every other item.
    """

    work: tuple[WorkLine, ...] = ()
    feet: tuple[str, ...] = ()
    shoes: Mapping[str, Hashable] = field(default_factory=dict)
    nail: Hashable = None
    nails: Decimal = ZERO
    counts: Mapping[Hashable, Decimal] = field(default_factory=dict)

    @property
    def services(self) -> list[Hashable]:
        """The keys of the services, each once."""
        return list(dict.fromkeys(line.service for line in self.work))

    @property
    def nails_by_foot(self) -> dict[str, Decimal]:
        """The nails as evenly over the feet as whole ones go; by `""` where no foot was tapped."""
        feet = self.feet or ("",)
        each, left = divmod(int(self.nails), len(feet))
        return {foot: Decimal(each + (number < left)) for number, foot in enumerate(feet)}


def is_free_renail(service: ServiceFacts, nailed_on: date | None, on: date, days: int | None) -> bool:
    """Whether a service puts back a lost shoe within so many days of the day a shoe was last nailed on.

    `days` is what the practice offers, None: nothing. It has to nail a shoe on and not reset the cycle.
    """
    if days is None or nailed_on is None or service.resets_cycle or not service.nailed:
        return False
    return 0 <= (on - nailed_on).days <= days


def tap_service(
    state: HorseWork,
    service: ServiceFacts,
    others: Sequence[ServiceFacts],
    usual: UsualShoeing,
    price: Decimal | None = None,
) -> HorseWork:
    """Tap a service on or off; `others` are the services chosen beside it, `price` the one proposed for it.

    One that resets the cycle takes the place of another that does, and of that one's note. Where what is
    nailed changes, feet, shoes and nails are what the services chosen now usually take. Other items stay.
    """
    if service.key in state.services:
        rest = tuple(line for line in state.work if line.service != service.key)
        state = replace(state, work=rest)
        return _usually_shod(state, others, usual) if service.nailed else state
    gone = [each for each in others if service.resets_cycle and each.resets_cycle]
    keys = {each.key for each in gone}
    notes = [line.note for line in state.work if line.service in keys and line.note]
    line = WorkLine(service.key, price=price, note=" ".join(notes))
    state = replace(state, work=(*(each for each in state.work if each.service not in keys), line))
    is_beside = not service.resets_cycle and state.feet
    if is_beside or not any(each.nailed for each in (service, *gone)):
        return state
    return _usually_shod(state, [service, *(each for each in others if each not in gone)], usual)


def _usually_shod(state: HorseWork, services: Sequence[ServiceFacts], usual: UsualShoeing) -> HorseWork:
    """Choose the feet that the services nail, their usual shoes, and six nails a shoe."""
    nailed = max((service.nailed for service in services), default=0)
    feet = FEET if nailed >= 3 else FORE if nailed == 2 else ()
    nail = usual.nail if nailed else None
    return replace(
        state,
        feet=feet,
        shoes={foot: shoe for foot in feet if (shoe := _new_shoe(services, foot, usual)) is not None},
        nail=nail,
        nails=NAILS_A_SHOE * (len(feet) or nailed) if nail is not None else ZERO,
    )


def tap_foot(
    state: HorseWork,
    foot: str,
    services: Sequence[ServiceFacts] = (),
    usual: UsualShoeing | None = None,
) -> HorseWork:
    """Tap a foot on or off; `services` are those chosen.

    One that comes on gets six nails, and its usual shoe where a service puts new ones on; one that
    comes off takes its shoe and its nails away. Nails that belong to no foot yet go to the first one.
    """
    if foot in state.feet:
        feet = tuple(each for each in state.feet if each != foot)
        shoes = {each: shoe for each, shoe in state.shoes.items() if each != foot}
        return replace(state, feet=feet, shoes=shoes, nails=state.nails - state.nails_by_foot[foot])
    feet = tuple(each for each in FEET if each in (*state.feet, foot))
    more = NAILS_A_SHOE if state.nail is not None and (state.feet or not state.nails) else ZERO
    shoe = _new_shoe(services, foot, usual) if usual else None
    shoes = state.shoes if shoe is None else {foot: shoe, **state.shoes}
    return replace(state, feet=feet, shoes=shoes, nails=state.nails + more)


def _new_shoe(services: Sequence[ServiceFacts], foot: str, usual: UsualShoeing) -> Hashable:
    is_new = any(service.puts_new_shoe_on(foot) for service in services)
    return usual.shoes.get(foot) if is_new else None


def choose_shoe(state: HorseWork, among: Sequence[str], shoe: Hashable) -> HorseWork:
    """Put a shoe on those of these feet that get one, on all where none does. None: the old one again."""
    feet = [foot for foot in among if foot in state.feet] or list(among)
    for foot in feet:
        if foot not in state.feet:
            state = tap_foot(state, foot)
    others = {foot: worn for foot, worn in state.shoes.items() if foot not in feet}
    return replace(state, shoes=others if shoe is None else others | dict.fromkeys(feet, shoe))


def choose_nail(state: HorseWork, nail: Hashable) -> HorseWork:
    """Take another nail; as many as before, six a shoe where there were none."""
    return replace(state, nail=nail, nails=state.nails or NAILS_A_SHOE * len(state.feet))


def step_nails(state: HorseWork, by: int) -> HorseWork:
    """Count the nails up or down, never below 0."""
    return replace(state, nails=max(state.nails + by, ZERO))


def step_count(state: HorseWork, item: Hashable, by: int) -> HorseWork:
    """Count an item up or down, never below 0."""
    return replace(state, counts={**state.counts, item: max(state.counts.get(item, ZERO) + by, ZERO)})


def again(last: HorseWork) -> HorseWork:
    """Return the same work another time: services, feet and items, never a price or a note."""
    return replace(last, work=tuple(replace(line, price=None, note="") for line in last.work))


def as_recorded(work: Sequence[WorkLine], uses: Sequence[UseLine]) -> HorseWork:
    """Return the state that shows these lines: what was saved at a visit."""
    shoes = {use.foot: use.item for use in uses if use.kind == SHOE and use.foot}
    nail = next((use.item for use in uses if use.kind == NAIL), None)
    counts: dict[Hashable, Decimal] = {}
    for use in uses:
        if not _shown_by_foot(use, nail):
            counts[use.item] = counts.get(use.item, ZERO) + use.quantity
    shod = {use.foot for use in uses if use.kind in (SHOE, NAIL)}
    return HorseWork(
        work=_numbered(work),
        feet=tuple(foot for foot in FEET if foot in shod),
        shoes=shoes,
        nail=nail,
        nails=sum((use.quantity for use in uses if use.item == nail), ZERO) if nail is not None else ZERO,
        counts=counts,
    )


def _numbered(work: Sequence[WorkLine]) -> tuple[WorkLine, ...]:
    numbers: Counter[Hashable] = Counter()
    lines = []
    for line in work:
        numbers[line.service] += 1
        lines.append(replace(line, number=numbers[line.service]))
    return tuple(lines)


def _shown_by_foot(use: UseLine, nail: Hashable) -> bool:
    """Whether feet and nails of the form show a use, so that it is no count of its own."""
    return (use.kind == SHOE and bool(use.foot)) or (use.kind == NAIL and use.item == nail)


def uses_of(state: HorseWork, recorded: Sequence[UseLine], kinds: Mapping[Hashable, str]) -> list[UseLine]:
    """Return the uses that a state stands for; those recorded before stay as they were where nothing changed.

    `kinds` has the kind of each item.
    """
    return [*_shoes_of(state, recorded), *_nails_of(state, recorded), *_counted(state, recorded, kinds)]


def _shoes_of(state: HorseWork, recorded: Sequence[UseLine]) -> list[UseLine]:
    before = {use.foot: use for use in recorded if use.kind == SHOE and use.foot}
    shod = [(foot, state.shoes[foot]) for foot in FEET if foot in state.feet and foot in state.shoes]
    return [
        before[foot]
        if foot in before and before[foot].item == shoe
        else UseLine(shoe, SHOE, Decimal(1), foot)
        for foot, shoe in shod
    ]


def _nails_of(state: HorseWork, recorded: Sequence[UseLine]) -> list[UseLine]:
    if state.nail is None or not state.nails:
        return []
    before = [use for use in recorded if use.kind == NAIL and use.item == state.nail]
    on_feet = {use.foot for use in before if use.foot}
    if sum(use.quantity for use in before) == state.nails and on_feet <= set(state.feet):
        return before
    by_foot = state.nails_by_foot.items()
    return [UseLine(state.nail, NAIL, count, foot) for foot, count in by_foot if count]


def _counted(state: HorseWork, recorded: Sequence[UseLine], kinds: Mapping[Hashable, str]) -> list[UseLine]:
    lines: list[UseLine] = []
    for item, count in state.counts.items():
        before = [use for use in recorded if use.item == item and not _shown_by_foot(use, state.nail)]
        if sum(use.quantity for use in before) == count:
            lines += before
        elif count:
            lines.append(UseLine(item, kinds[item], count, "", before[0].price if before else None))
    return lines
