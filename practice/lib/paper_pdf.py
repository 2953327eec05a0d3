"""PDF files from outside: taken only if they are paper, without scripts, programs or other files in them."""

import re
from collections.abc import Iterator
from io import BytesIO

NOT_PAPER = frozenset({"JS", "JavaScript", "Launch", "EmbeddedFile", "EmbeddedFiles", "RichMedia"})
MOST_OBJECTS = 50_000
NAME = re.compile(rb"/([^\x00\t\n\f\r ()<>\[\]{}/%]{2,60})")
ESCAPED = re.compile(rb"#([0-9A-Fa-f]{2})")
STREAM = re.compile(rb"stream\r?\n.*?endstream", re.DOTALL)


class NotPaper(ValueError):
    """What is wrong with a PDF, and what to do."""


def check_pdf(content: bytes) -> None:
    """Raise NotPaper if a PDF is cut off, locked or damaged, or if it is more than paper.

    It is looked at twice: as text between its streams, which needs no table of contents, and object by
    object, which sees into the streams that hold objects.
    """
    if b"%%EOF" not in content[-2048:]:
        raise NotPaper("This PDF is incomplete. Download or scan it again.")
    if _has_forbidden_name(STREAM.sub(b" ", content)) or any(map(_is_forbidden, _objects_of(content))):
        raise NotPaper("This PDF contains a script or another file. Print it to a plain PDF first.")


def _has_forbidden_name(text: bytes) -> bool:
    """Whether text of a PDF has one of the names, its letters written as themselves or like `#61`."""
    return any(
        ESCAPED.sub(lambda code: bytes([int(code[1], 16)]), name).decode("latin-1") in NOT_PAPER
        for name in NAME.findall(text)
    )


def _objects_of(content: bytes) -> Iterator:
    """Yield the objects that have a place of their own in the file; streams of objects are among them.

    Raises NotPaper if they cannot be read.
    """
    from pypdf import PdfReader
    from pypdf.generic import IndirectObject

    try:
        reader = PdfReader(BytesIO(content))
        if reader.is_encrypted:  # also where nobody is asked for a password
            raise NotPaper("This PDF is locked. Print it to a plain PDF first.")
        places = [(number, generation) for generation, row in reader.xref.items() for number in row]
        if len(places) > MOST_OBJECTS:
            raise NotPaper("This PDF is made of too many parts. Print it to a plain PDF first.")
        yield reader.trailer
        for number, generation in places:
            yield reader.get_object(IndirectObject(number, generation, reader))
    except NotPaper:
        raise
    except Exception:  # pypdf names no end of errors for what a file can be
        raise NotPaper("This PDF is damaged. Print it to a plain PDF first.") from None


def _is_forbidden(thing) -> bool:
    """Whether one of the names stands in an object, or in the objects that it holds as a stream."""
    from pypdf.generic import ArrayObject, DictionaryObject, NameObject, StreamObject

    if isinstance(thing, StreamObject) and thing.get("/Type") == "/ObjStm":
        try:
            return _has_forbidden_name(thing.get_data())
        except Exception:
            raise NotPaper("This PDF is damaged. Print it to a plain PDF first.") from None
    left = [thing]
    while left:
        part = left.pop()
        if isinstance(part, DictionaryObject):
            left += dict.keys(part)
            left += dict.values(part)
        elif isinstance(part, ArrayObject):
            left += list.__iter__(part)
        elif isinstance(part, NameObject) and part[1:] in NOT_PAPER:
            return True
    return False
