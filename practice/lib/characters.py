"""Characters that no text of the book may hold: forms, imports and papers go by the same rule.

XML 1.0 (W3C, section 2.2 *Characters*) allows tab, line feed and carriage return of the control characters,
and neither surrogates nor U+FFFE and U+FFFF; DEL and the C1 controls, which it discourages, are refused too.
"""

import re

FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
SHOWN = 60
# Digits and letters that are not taken for one another when they are read aloud or off a screen.
READ_ALOUD = "23456789ABCDEFGHJKMNPQRTUVWXYZ"


def forbidden_in(text: str) -> str:
    """Return the first character of a text that the book cannot hold, as `U+0007`; blank for none."""
    found = FORBIDDEN.search(text)
    return f"U+{ord(found[0]):04X}" if found else ""


def shown(text: str) -> str:
    """Return a text as a message quotes it: one line, not long, no characters that a terminal obeys."""
    cut = text if len(text) <= SHOWN else f"{text[:SHOWN]}…"
    return "".join(
        character if character.isprintable() else character.encode("unicode_escape").decode()
        for character in cut
    )
