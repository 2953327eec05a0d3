"""Words that depend on a number."""


def counted(number: int, one: str, many: str = "") -> str:
    """Return a number with its noun: `1 invoice`, `2 invoices`; `many` where an s is not enough."""
    return f"{number} {one if number == 1 else many or one + 's'}"
