"""The rules of the horse's form on the phone (js/horse_work.js) are those of practice/rules/horse_work.py."""

import json
import random
from dataclasses import replace
from decimal import Decimal

import pytest

from practice.rules.horse_work import (
    FEET,
    FORE,
    HIND,
    HorseWork,
    ServiceFacts,
    UsualShoeing,
    WorkLine,
    choose_nail,
    choose_shoe,
    step_count,
    step_nails,
    tap_foot,
    tap_service,
)
from tests.conftest import PHONE

pytestmark = pytest.mark.slow
RUNS, TAPS = 3000, 12
PRICES = {str(key): Decimal(0) if key % 3 == 0 else None for key in range(11, 17)}
SHOES, NAILS, PADS = ("21", "22", "23"), ("31", "32"), ("41", "42")
# Follows the taps of each run in the module, and returns every state on the way.
FOLLOW = """async (text) => {
  const rules = await import("/static/js/horse_work.js");
  const take = (state, [name, ...given], { services, nail }) => {
    if (name === "service") return rules.tapService(state, given[0], services, nail);
    if (name === "foot") return rules.tapFoot(state, given[0], services);
    if (name === "shoe") return rules.chooseShoe(state, rules.PAIRS[given[0]] ?? [given[0]], given[1]);
    if (name === "nail") return rules.chooseNail(state, given[0]);
    return { ...state, [given[0]]: rules.add(state[given[0]] || "0", given[1]) };
  };
  const followed = JSON.parse(text).map(({ first, taps, ...known }) => {
    let state = first;
    return taps.map((tap) => (state = take(state, tap, known)));
  });
  return JSON.stringify(followed);
}"""


def some_services(chance) -> list[ServiceFacts]:
    return [
        ServiceFacts(str(key), chance.randint(0, 4), chance.randint(0, 4), resets_cycle=chance.random() < 0.7)
        for key in range(11, 11 + chance.randint(2, 6))
    ]


def some_usual(chance) -> UsualShoeing:
    shoes = {foot: chance.choice(SHOES) for foot in FEET if chance.random() < 0.7}
    return UsualShoeing(shoes, chance.choice([None, *NAILS]))


def some_state(chance, services) -> HorseWork:
    """A state as something saved or typed may have left it, not only one that taps lead to."""
    if chance.random() < 0.5:
        return HorseWork()
    lines = [WorkLine(service.key, note=chance.choice(["", "thin soles"])) for service in services]
    work = chance.sample(lines, chance.randint(0, 2))
    if work and chance.random() < 0.3:
        work.append(replace(work[0], number=2, quantity=Decimal("1.5"), price=Decimal("19.90")))
    feet = tuple(foot for foot in FEET if chance.random() < 0.5)
    return HorseWork(
        tuple(work),
        feet,
        {foot: chance.choice(SHOES) for foot in FEET if chance.random() < 0.4},
        chance.choice([None, *NAILS]),
        Decimal(chance.choice(["0", "3", "7", "12", "26", "2.5", "0.1"])),
        {pad: Decimal(chance.choice(["0", "1", "0.1", "0.000001", "99.75"])) for pad in PADS[:1]},
    )


def some_tap(chance, services) -> list:
    return chance.choice(
        [
            ["service", chance.choice(services).key],
            ["foot", chance.choice(FEET)],
            ["shoe", chance.choice(["front", "hind", *FEET]), chance.choice(["", *SHOES])],
            ["nail", chance.choice(NAILS)],
            ["step", chance.choice(["nails", *(f"item_{pad}" for pad in PADS)]), chance.choice([-1, 1])],
        ]
    )


def followed(
    state: HorseWork, tap: list, services: dict[str, ServiceFacts], usual: UsualShoeing
) -> HorseWork:
    name, which, *given = tap
    if name == "service":
        others = [services[key] for key in state.services if key != which]
        return tap_service(state, services[which], others, usual, PRICES[which])
    if name == "foot":
        return tap_foot(state, which, [services[key] for key in state.services], usual)
    if name == "shoe":
        feet = {"front": FORE, "hind": HIND}.get(which, (which,))
        return choose_shoe(state, feet, given[0] or None)
    if name == "nail":
        return choose_nail(state, which)
    if which == "nails":
        return step_nails(state, *given)
    return step_count(state, which.removeprefix("item_"), *given)


def typed(price: Decimal | None) -> str:
    return "" if price is None else f"{price:f}"


def in_fields(state: HorseWork) -> dict:
    """A state as the fields of the form hold it."""
    fields = {"work": [line.key for line in state.work], "foot": list(state.feet)}
    for line in state.work:
        fields[f"quantity_{line.key}"] = f"{line.quantity:f}"
        fields[f"price_{line.key}"] = typed(line.price)
        fields[f"note_{line.key}"] = line.note
    fields |= {f"shoe_{foot}": state.shoes.get(foot) or "" for foot in FEET}
    fields |= {f"item_{item}": f"{count:f}" for item, count in state.counts.items()}
    return fields | {"nail": state.nail or "", "nails": f"{state.nails:f}"}


def a_run(chance) -> tuple[dict, list[dict]]:
    """Some taps, and the states they lead to by the rules of the server."""
    services, usual = some_services(chance), some_usual(chance)
    state = first = some_state(chance, services)
    taps = [some_tap(chance, services) for _ in range(TAPS)]
    states = []
    for tap in taps:
        state = followed(state, tap, {service.key: service for service in services}, usual)
        states.append(in_fields(state))
    known = {
        each.key: {
            "nailed": each.nailed,
            "shoes": {foot: usual.shoes.get(foot) for foot in FEET if each.puts_new_shoe_on(foot)},
            "resets": each.resets_cycle,
            "price": typed(PRICES[each.key]),
        }
        for each in services
    }
    return {"services": known, "nail": usual.nail or "", "first": in_fields(first), "taps": taps}, states


def kept(there: dict, here: dict) -> dict:
    """What the phone holds of a state, but for the fields of lines that were tapped off."""
    return {name: value for name, value in there.items() if name in here or "_1" not in name}


@pytest.mark.django_db(transaction=True)
def test_thousands_of_taps_lead_to_the_same_states_on_the_phone_and_on_the_server(open_page):
    page, chance = open_page(*PHONE), random.Random(13)
    page.goto("/login/")
    runs, states = zip(*(a_run(chance) for _ in range(RUNS)), strict=True)

    followed_there = json.loads(page.evaluate(FOLLOW, json.dumps(runs)))

    for run, there, here in zip(runs, followed_there, states, strict=True):
        assert [kept(*each) for each in zip(there, here, strict=True)] == here, run
    assert page.problems == []


@pytest.mark.django_db(transaction=True)
def test_the_phone_adds_to_quantities_exactly(open_page):
    page = open_page(*PHONE)
    page.goto("/login/")
    add = """async (sums) => {
      const { add } = await import("/static/js/horse_work.js");
      return sums.map(([text, by]) => add(text, by));
    }"""

    sums = [["0.1", 1], ["0,000001", 6], ["2.5", -1], ["0.5", -1], ["", 1], ["999999999.1", 1], ["0", -1]]

    assert page.evaluate(add, sums) == ["1.1", "6,000001", "1.5", "0", "1", "1000000000.1", "0"]
