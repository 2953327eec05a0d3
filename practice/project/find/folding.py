"""Text as the search compares it: small letters without accents, and how alike two texts are."""

import re
from difflib import SequenceMatcher
from unicodedata import combining, normalize

# What differs here is in every book's index: raise it after a change, and each book is indexed anew.
FOLDING = 1
APOSTROPHES = "'’‘ʼ`´"
# Letters that are no plain one with an accent; what stands for them on a keyboard without them.
SPELLED = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ð": "d", "þ": "th", "æ": "ae", "œ": "oe", "ı": "i"})
# How alike two words have to be: one letter of four may differ, or two neighbors may have changed places.
ALIKE = 0.72
SHORTEST, SHORTEST_BEGUN = 3, 5


def folded(text: str) -> str:
    """Return the words of a text in small letters without accents and marks, a blank between two."""
    spelled = normalize("NFKD", normalize("NFKD", text).casefold()).translate(SPELLED)
    letters = (char for char in spelled if not combining(char) and char not in APOSTROPHES)
    return " ".join("".join(char if char.isalnum() else " " for char in letters).split())


def digits_of(phone: str) -> str:
    """Return the digits of a phone number without zeros in front, which a country's code replaces."""
    return re.sub(r"[^0-9]", "", folded(phone)).lstrip("0")


def padded(text: str) -> str:
    """Return a folded text with blanks around its words, so that short ones have pieces of three, too."""
    return f"  {text.replace(' ', '  ')} "


def pieces(text: str) -> set[str]:
    """Return the pieces of three letters of a folded text: of `juno`, `  j`, ` ju`, `jun`, `uno`, `no `."""
    return {piece for word in text.split() for piece in threes(f"  {word} ")}


def threes(text: str) -> list[str]:
    return [text[at : at + 3] for at in range(len(text) - 2)]


def likeness(words: str, text: str) -> float:
    """Return how alike a text is to what was searched for, 0 to 1, 0 where a word is like none of the text's.

    Both are folded. Each word counts as its most alike one, or its beginning, as one may still be typing.
    """
    total = 0.0
    for word in words.split():
        best = max((alike(word, other) for other in text.split()), default=0.0)
        if best < ALIKE:
            return 0.0
        total += best * len(word)
    return total / max(len(words.replace(" ", "")), 1)


def alike(word: str, other: str) -> float:
    """Return how alike two words are: 1 for the same, less for each letter that differs."""
    if min(len(word), len(other)) < SHORTEST:
        return float(word == other)
    begun = other[: len(word)] if len(word) >= SHORTEST_BEGUN else other
    return max(SequenceMatcher(None, word, each, autojunk=False).ratio() for each in {other, begun})
