"""Numbers as commands write them for other programs: plain decimal text, never a float."""

from decimal import ROUND_HALF_UP, Decimal

SIX_PLACES = Decimal("0.000001")


def plain(number: Decimal) -> str:
    """Return an exact number in plain notation, without trailing zeros: `72.5`."""
    text = f"{number:f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in ("-0", "") else text


def plain_chance(chance: float) -> str:
    """Return a fraction of 1, or another worked-out number, with six decimals: `0.031250`."""
    return f"{Decimal(repr(chance)).quantize(SIX_PLACES, ROUND_HALF_UP):f}"
