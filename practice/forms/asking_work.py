"""What the form of a horse asks before it saves: whose work is to stay, and whether what is odd is right."""

from collections.abc import Iterable, Iterator

from practice.lib.asking import Clash, Odd, odd_times, seal, unseal
from practice.lib.forms import BookForm
from practice.reports.horse_at_visit import DayPrices, HorseAtVisit
from practice.reports.usual import usual_prices, usual_quantities
from practice.reports.work_in_words import work_in_words
from practice.rules.horse_work import HorseWork
from stock.rules.odd import times_usual

NOTHING = "Nothing"


class AskingWorkForm(BookForm):
    """A form of a horse's work at a visit that never overwrites work saved since it was opened.

    It carries in words what was saved when it was opened, through all taps. `prices` are those of the day;
    without them no price is asked about.
    """

    yours = "You have"
    at: HorseAtVisit
    state: HorseWork
    prices: DayPrices | None = None
    carried = ""

    @property
    def opened(self) -> str:
        """What was saved when the form was opened, for the page to carry."""
        return self._posted_token or self.carried or self.saved_now

    @property
    def saved_now(self) -> str:
        """What is saved now, as *Save mine* says that it was seen."""
        return seal(work_in_words(self.at, self.at.recorded.state))

    @property
    def mine(self) -> tuple[str, str]:
        """The name and value of *Save mine*: any other button asks again."""
        return "mine", self.saved_now

    @property
    def earlier(self) -> str:
        """What the same phone recorded and sent before this, as it was posted: nobody else's change."""
        return self.data.get("earlier", "") if self.is_bound else ""

    def earlier_state(self) -> HorseWork:
        """Return the state that `earlier` holds."""
        raise NotImplementedError

    def typed_in_words(self) -> dict[str, str]:
        return {part: words for part, words in work_in_words(self.at, self.state).items() if words}

    @property
    def _posted_token(self) -> str:
        return self.data.get("mine") or self.data.get(self.opened_name, "") if self.is_bound else ""

    def _find_clashes(self) -> list[Clash]:
        """Find whether what is saved changed since; then each part that differs is shown, none is merged."""
        now, mine = (work_in_words(self.at, state) for state in (self.at.recorded.state, self.state))
        before = unseal(self._posted_token) if self._posted_token else dict.fromkeys(now, "")
        known = [before, work_in_words(self.at, self.earlier_state())] if self.earlier else [before]
        self.clashes = [
            Clash(part, now[part] or NOTHING, mine[part] or NOTHING, is_untouched=False)
            for part in now
            if now not in known and mine[part] != now[part]
        ]
        return self.clashes

    def odd(self) -> Iterable[Odd]:
        yield from self._odd_prices()
        yield from self._odd_quantities()

    def _odd_prices(self) -> Iterator[Odd]:
        saved = {line.key: line.price for line in self.at.recorded.state.work}
        for line in self.state.work:
            if line.price is None or line.price == saved.get(line.key):
                continue
            listed = self.prices.service(line.service) if self.prices else None
            usual = usual_prices(line.service, self.at.visit) if listed is None else [listed]
            times, service = times_usual(line.price, usual), str(self.at.services[line.service])
            yield from odd_times(
                "price_far_above_usual", f"price_{line.key}", times, "the usual price", service
            )

    def _odd_quantities(self) -> Iterator[Odd]:
        saved, state = self.at.recorded.state, self.state
        typed = {
            f"item_{item}": (item, count, saved.counts.get(item)) for item, count in state.counts.items()
        }
        if state.nail is not None:
            typed["nails"] = state.nail, state.nails, saved.nails if saved.nail == state.nail else None
        changed = {name: row[:2] for name, row in typed.items() if row[1] and row[1] != row[2]}
        usual = usual_quantities([item for item, _ in changed.values()], self.at.visit)
        for name, (item, count) in changed.items():
            times, label = times_usual(count, usual[item]), str(self.at.items[item])
            yield from odd_times("quantity_far_above_usual", name, times, "the usual quantity", label)


class TakeOffForm(BookForm):
    """Takes off a visit what the page said of a horse; if something else is saved by then, it asks anew."""

    def __init__(self, *args, at: HorseAtVisit, **kwargs):
        self.at = at
        super().__init__(*args, row=at.visit, **kwargs)

    def state(self) -> dict[str, str]:
        return work_in_words(self.at, self.at.recorded.state)

    def typed(self) -> dict[str, str]:
        """Return what is saved: nothing is typed here, so that nothing clashes with it."""
        return self.state()

    def clean(self):
        opened, now = self.data.get(self.opened_name, ""), self.state()
        if opened and unseal(opened) != now:
            self.data = self.data.copy()
            self.data[self.opened_name] = seal(now)
            self.refuse("The work on this horse changed in the meantime. Read again what will be deleted.")
