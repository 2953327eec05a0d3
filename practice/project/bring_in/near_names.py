"""New names that are nearly those of others: a slip of the pen makes a second client of one."""

from collections.abc import Iterable, Iterator

from practice.project.find.folding import folded, likeness, pieces

# How much of their pieces of three letters two names share at least, and how alike they then have to be.
SHARED, ALIKE = 0.4, 0.85
MOST_NEW = 300


def near_names(new: list[str], known: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Yield each new name with the first other one that is nearly the same, known or new before it."""
    others = [(name, folded(name)) for name in known]
    others = [(name, text, pieces(text)) for name, text in others]
    for name in new[:MOST_NEW]:
        text = folded(name)
        own = pieces(text)
        for other, other_text, theirs in others:
            shared = len(own & theirs)
            if shared >= SHARED * len(own | theirs) and text != other_text and _is_alike(text, other_text):
                yield name, other
                break
        others.append((name, text, own))


def _is_alike(text: str, other: str) -> bool:
    return min(likeness(text, other), likeness(other, text)) >= ALIKE
