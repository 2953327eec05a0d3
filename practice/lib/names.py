"""Names, as people compare them."""


def plain_name(name: str) -> str:
    """Return a name without what people do not hear: capitals, and blanks around it or doubled."""
    return " ".join(name.split()).casefold()


def is_same_name(one: str, other: str) -> bool:
    """Whether two names are the same to a reader."""
    return plain_name(one) == plain_name(other)
