"""New names that are nearly those of others: a slip of the pen makes a second client of one."""

from collections.abc import Iterable, Iterator

from practice.project.find.folding import alike, folded, pieces

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
    """Whether two names differ in one word alone, and that only a little, or in a blank."""
    if text.replace(" ", "") == other.replace(" ", ""):
        return True
    own, theirs = text.split(), other.split()
    differ = [[word for word in own if word not in theirs], [word for word in theirs if word not in own]]
    if [len(words) for words in differ] != [1, 1]:
        return False
    [one], [two] = differ
    return min(alike(one, two), alike(two, one)) >= ALIKE
