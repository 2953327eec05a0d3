"""A template for each kind of sheet: its columns with examples, and a word about each on a second sheet."""

from practice.lib.profile import Profile
from practice.lib.sheet_tables import Table, columns
from practice.lib.workbook import workbook
from practice.project.bring_in.meanings import SheetKind

ABOUT = "What goes where"


def template_of(kind: SheetKind, profile: Profile) -> bytes:
    """Return the template as XLSX. All of its cells are text, so that a phone number keeps its zeros."""
    codes = [meaning.code for meaning in kind.meanings]
    labels = [meaning.label for meaning in kind.meanings]
    examples = tuple(tuple(row) for row in kind.examples(codes, profile.locale))
    about = tuple((meaning.label, meaning.about) for meaning in kind.meanings)
    sheets = [
        Table(kind.code.capitalize(), "", columns(*labels), examples),
        Table(ABOUT, "", columns("Column", "What goes in it"), about),
    ]
    return workbook(sheets, profile.currency)
