"""Expense categories that are costs of a vehicle."""

# What the actual-cost method takes; parking and tolls come on top of either method.
VEHICLE_COSTS = (
    "vehicle fuel",
    "vehicle repairs",
    "vehicle insurance",
    "vehicle registration",
    "vehicle lease",
)
PARKING_AND_TOLLS = "parking and tolls"
OF_A_VEHICLE = (*VEHICLE_COSTS, PARKING_AND_TOLLS)
