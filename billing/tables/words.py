"""The words of a row."""


def in_words(*words: str) -> str:
    """Return what is known of a row as its second line; blank words are left out."""
    return ", ".join(filter(None, words))
