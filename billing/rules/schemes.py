"""What each mileage scheme asks for that the program cannot see, and what it comes with."""

from practice.lib.choices import MileageScheme

# IRS Publication 463; gov.uk, Simplified expenses: vehicles, and HMRC BIM75005; ATO, cents per
# kilometre method (QC33712). Conditions from memory where a test does not cite the page.
CONDITIONS = {
    MileageScheme.US_STANDARD: (
        "Was the standard rate chosen for this vehicle in its first year in business? Later it cannot be.",
        "Was the vehicle never written off faster than in even parts? After that there is no standard rate.",
        "A leased vehicle keeps the method that it began with, for the whole lease.",
        "Not for five or more vehicles in use at the same time.",
        "Parking and tolls come on top; fuel, repairs and insurance do not.",
    ),
    MileageScheme.UK_SIMPLIFIED: (
        "Once the flat rate is chosen for a vehicle it stays, for as long as the vehicle is in business.",
        "Not for a vehicle whose cost was claimed already.",
        "All cars and vans together share one band of 10,000 miles in a tax year.",
        "Parking and tolls come on top.",
    ),
    MileageScheme.AU_CENTS_PER_KM: (
        "Not for vehicles built to carry a tonne or more, nor for nine or more people.",
        "At most 5,000 business kilometres for each car in an income year.",
        "It covers all that the car costs, its loss of value too.",
    ),
    MileageScheme.ACTUAL_ONLY: (
        "No standard rate is known for this country: only the actual costs are worked out.",
    ),
}
DEFERS = "Rates and rules change. A licensed tax preparer decides what may be claimed."
LEFT_OUT = "The actual costs leave out depreciation, loan interest and property tax."
