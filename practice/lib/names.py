"""Names, as people compare them, and towns in addresses."""


def plain_name(name: str) -> str:
    """Return a name without what people do not hear: capitals, and blanks around it or doubled."""
    return " ".join(name.split()).casefold()


def is_same_name(one: str, other: str) -> bool:
    """Whether two names are the same to a reader."""
    return plain_name(one) == plain_name(other)


def town_of(address: str) -> str:
    """Return the town of an address: its last line, or what follows the first comma of its only one."""
    first, *more = [line.strip() for line in address.splitlines() if line.strip()] or [""]
    return more[-1] if more else first.partition(",")[2].strip()
