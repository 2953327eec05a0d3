"""What is possible but odd about the road: asked once on a page, warned about by an import."""

from decimal import Decimal


def is_far_on(reading: Decimal | None, last: Decimal | None, far: Decimal) -> bool:
    """Whether an odometer is more than `far` on since it was last read; not where it never was."""
    return None not in (reading, last) and reading - last > far
