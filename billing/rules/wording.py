"""Texts with placeholders such as {number}, and what stands in their place."""

import re
from collections.abc import Iterable, Mapping

PLACEHOLDER = re.compile(r"\{\s*(\w+)\s*\}")


def placeholders_in(text: str) -> list[str]:
    """Return the names of a text's placeholders, each once, in their order."""
    return list(dict.fromkeys(PLACEHOLDER.findall(text)))


def unknown_in(text: str, known: Iterable[str]) -> list[str]:
    """Return the placeholders of a text that are not known."""
    known = set(known)
    return [name for name in placeholders_in(text) if name not in known]


def in_braces(names: Iterable[str]) -> str:
    """Return names as a sentence lists placeholders: `{number}, {total}, {due}`."""
    return ", ".join(f"{{{name}}}" for name in names)


def complaint(text: str, known: Iterable[str]) -> str:
    """Say which placeholder of a text is not known, and which are; blank where all are."""
    unknown = unknown_in(text, known := list(known))
    return f"{{{unknown[0]}}} is not filled in here. Use {in_braces(known)}." if unknown else ""


def fill(text: str, values: Mapping[str, str]) -> str:
    """Return a text with its placeholders filled in, those without a value left blank.

    What a value holds is never read as a placeholder. Of several blank lines that this leaves, one stays.
    """
    filled = PLACEHOLDER.sub(lambda found: values.get(found[1], ""), text.replace("\r\n", "\n"))
    return re.sub(r"\n[ \t]*(\n[ \t]*)+\n", "\n\n", filled).strip()
