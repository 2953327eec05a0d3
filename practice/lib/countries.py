"""What differs from country to country, each country in one value. Pure; nothing else compares country codes.

Pages, papers and rules ask a `Country` for a word, a date or a flag. To add one, describe it here and put
it into `COUNTRIES`; rates of its mileage scheme go into `billing/data/mileage_rates.csv`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, kw_only=True)
class MileageScheme:
    """How a tax authority turns business distance into an amount, as far as the program has to know.

    `name` is what `practice.csv` says, `unit` what rates and tiers count in, blank where there is no
    rate. `per_vehicle`: each vehicle fills the tiers by itself, else all of them together.
    `most_at_once`: with more vehicles in use on one day the scheme is not offered; None: no limit.
    `parking_on_top`: parking and tolls come on top of the rate; False: it covers all that the car costs.
    `conditions` are asked of the reader, as the book cannot see them. `jurisdiction` is what
    `mileage_rates.csv` calls it, blank where the program brings no rates.
    """

    name: str
    label: str
    unit: str = ""
    per_vehicle: bool = False
    most_at_once: int | None = None
    parking_on_top: bool = True
    conditions: tuple[str, ...] = ()
    jurisdiction: str = ""


@dataclass(frozen=True, kw_only=True)
class TaxForm:
    """The form that a business files, and on which line it asks for each expense category.

    The notes stand below the lines; `miles_heading` after "By vehicle", and the three lines before the
    kinds of distance on paper. `other_distance` is what the form calls personal distance.
    """

    name: str
    line_heading: str
    lines: Mapping[str, str]
    lines_note: str
    amounts_note: str = ""
    miles_heading: str = ""
    business_line: str = ""
    commuting_line: str = ""
    other_line: str = ""
    other_distance: str = "personal"


ACTUAL_ONLY = MileageScheme(
    name="actual_only",
    label="Actual costs only",
    conditions=("No standard rate is known for this country: only the actual costs are worked out.",),
)


@dataclass(frozen=True, kw_only=True)
class Country:
    """One country. `code` is ISO 3166-1 alpha-2.

    `tax_year_begins` is a month and a day; its months follow from it. `months_a_quarter` are the tax
    authority's quarters, for which estimated tax is paid, in such months. `paper` is `Letter` or
    `A4`, which the papers' stylesheets know. `distance_unit` and `mileage_scheme` are what a practice
    there starts with; it may choose others. `sales_tax` is what the tax on sales is called within a
    sentence, `taxed_differently` where what it is charged on differs. `home_law` is what tells drives from
    and to home that are business from commuting.
    """

    code: str
    tax_year_begins: tuple[int, int] = (1, 1)
    months_a_quarter: tuple[int, ...] = (3, 3, 3, 3)
    paper: str = "A4"
    distance_unit: str = "km"
    mileage_scheme: MileageScheme = ACTUAL_ONLY
    sales_tax: str = "sales tax"
    taxed_differently: str = "from place to place"
    tax_form: TaxForm | None = None
    home_law: str = ""

    @property
    def home_cited(self) -> str:
        """The law about drives from and to home, in parentheses; blank where none is known."""
        return f" ({self.home_law})" if self.home_law else ""

    def line_of(self, category: str) -> str:
        """Return the line of the tax form for an expense category; blank where no form is known."""
        return self.tax_form.lines.get(category, "") if self.tax_form else ""

    def named_category(self, category: str) -> str:
        """Return an expense category with its line of the tax form: `Vehicle fuel (Schedule C: 9)`."""
        line = self.line_of(category)
        return category.capitalize() + (f" ({self.tax_form.name}: {line})" if line else "")

    def schedule_c_line(self, category: str) -> str:
        """Return what `year_end --json` has under that key: blank where the form is another one."""
        return self.line_of(category) if self.tax_form is SCHEDULE_C else ""

    @property
    def personal_distance(self) -> str:
        """What tax pages call the distance that is neither business nor commuting."""
        return self.tax_form.other_distance if self.tax_form else "personal"


# The book's contract, after the current layout of Schedule C (Form 1040); lines move between editions of
# the form, so a preparer decides.
SCHEDULE_C = TaxForm(
    name="Schedule C",
    line_heading="Schedule C line",
    lines=MappingProxyType(
        {
            "advertising": "8",
            "commissions": "10",
            "contract labor": "11",
            "insurance": "15",
            "interest": "16b",
            "legal and professional": "17",
            "office": "18",
            "rent": "20b",
            "repairs and maintenance": "21",
            "supplies": "22",
            "tools and equipment": "22 ask: may be depreciated",
            "taxes and licenses": "23",
            "travel": "24a",
            "meals": "24b",
            "utilities": "25",
            "education": "Part V",
            "card fees": "Part V",
            "vehicle fuel": "9 actual method only",
            "vehicle repairs": "9 actual method only",
            "vehicle insurance": "9 actual method only",
            "vehicle registration": "9 actual method only",
            "vehicle lease": "20a actual method only",
            "parking and tolls": "9",
            "other": "Part V",
        }
    ),
    lines_note="Line numbers are from the current Schedule C. Forms change.",
    amounts_note="Meals are shown in full. Vehicle costs count only under the actual-cost method.",
    miles_heading="as Part IV of Schedule C asks: business, commuting, other",
    business_line="44a",
    commuting_line="44b",
    other_line="44c",
    other_distance="other",
)

# IRS Publication 463.
US_STANDARD = MileageScheme(
    name="us_standard",
    label="United States, standard rate",
    unit="mi",
    most_at_once=4,
    conditions=(
        "Did you choose the standard rate in the vehicle's first year in business? It cannot begin later.",
        "Was the vehicle only ever depreciated by the straight-line method? After faster depreciation the"
        " standard rate is not allowed.",
        "A leased vehicle stays with the method it started with for the whole lease.",
        "Not for five or more vehicles in use at the same time.",
        "Parking and tolls come on top; fuel, repairs and insurance do not.",
    ),
    jurisdiction="US",
)

# gov.uk, Simplified expenses: vehicles; HMRC BIM75005, BIM47701 (from memory).
UK_SIMPLIFIED = MileageScheme(
    name="uk_simplified",
    label="United Kingdom, simplified expenses",
    unit="mi",
    conditions=(
        "Once you choose the flat rate for a vehicle, it stays for as long as the vehicle is in business.",
        "Not for a vehicle whose cost has already been claimed.",
        "All cars and vans together share one band of 10,000 miles in a tax year.",
        "Parking and tolls come on top.",
    ),
    jurisdiction="UK-car-van",
)

# Australian Taxation Office, cents per kilometre method (QC33712).
AU_CENTS_PER_KM = MileageScheme(
    name="au_cents_per_km",
    label="Australia, cents per kilometer",
    unit="km",
    per_vehicle=True,
    parking_on_top=False,
    conditions=(
        "Not for vehicles built to carry a metric ton or more, or nine or more passengers.",
        "At most 5,000 business kilometers for each car in an income year.",
        "It covers everything the car costs, including its loss of value.",
    ),
    jurisdiction="AU",
)

# Papers of a country whose code is not here are A4; these use US Letter (CLDR's paperSize, from memory).
LETTER = ("BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "VE")

# Tax years: Income Tax Act 2007, s. 4 (April 6); Australia: income year, July 1 (both from memory).
COUNTRIES = {
    country.code: country
    for country in (
        # Where the practice has not said where it is.
        Country(code="", paper="Letter", distance_unit="mi"),
        Country(
            code="US",
            # Form 1040-ES, payment periods: to March 31, May 31, August 31 and December 31.
            months_a_quarter=(3, 2, 3, 4),
            paper="Letter",
            distance_unit="mi",
            mileage_scheme=US_STANDARD,
            taxed_differently="from state to state",
            tax_form=SCHEDULE_C,
            home_law="Rev. Rul. 99-7",
        ),
        Country(
            code="GB",
            tax_year_begins=(4, 6),
            distance_unit="mi",
            mileage_scheme=UK_SIMPLIFIED,
            sales_tax="VAT",
        ),
        Country(
            code="AU",
            tax_year_begins=(7, 1),
            mileage_scheme=AU_CENTS_PER_KM,
            sales_tax="GST",
        ),
        *(Country(code=code, paper="Letter") for code in LETTER),
    )
}


def country_of(code: str) -> Country:
    """Return the country of a code; one that is not described has a calendar year, A4 and no rates."""
    return COUNTRIES.get(code) or Country(code=code)


def described_countries() -> list[Country]:
    """Return the countries that are described here, in this order."""
    return [country for country in COUNTRIES.values() if country.code]


def mileage_schemes() -> dict[str, MileageScheme]:
    """Return the schemes of all countries by name, in the countries' order; actual costs come last."""
    schemes = [country.mileage_scheme for country in COUNTRIES.values()]
    rated = {scheme.name: scheme for scheme in schemes if scheme != ACTUAL_ONLY}
    return rated | {ACTUAL_ONLY.name: ACTUAL_ONLY}


def rated_schemes() -> dict[str, MileageScheme]:
    """Return the schemes that have rates, by name."""
    return {name: scheme for name, scheme in mileage_schemes().items() if scheme.unit}
