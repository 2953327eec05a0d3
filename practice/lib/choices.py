"""What a practice chooses once: plain values with their labels, for rules, models and forms alike."""

from enum import StrEnum


class LabeledChoice(StrEnum):
    """A value that is kept and a label that is read: `FIFO = "fifo", "First in, first out"`."""

    label: str

    def __new__(cls, value: str, label: str):
        member = str.__new__(cls, value)
        member._value_, member.label = value, label
        return member

    @classmethod
    def choices(cls) -> list[tuple[str, str]]:
        """Return value and label of each, as fields of models and forms take them."""
        return [(member.value, member.label) for member in cls]

    @classmethod
    def values(cls) -> list[str]:
        return [member.value for member in cls]


class TravelRule(LabeledChoice):
    NONE = "none", "Travel is not charged"
    PER_VISIT = "per_visit", "An amount per visit"
    PER_DISTANCE = "per_distance", "A rate for the distance driven to reach it"
    ROUND_TRIP = "round_trip", "A rate for the distance driven there, and a share of the way back"


class ValuationMethod(LabeledChoice):
    MOVING_AVERAGE = "moving_average", "Moving weighted average"
    FIFO = "fifo", "First in, first out"
