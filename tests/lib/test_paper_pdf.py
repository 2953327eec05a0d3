"""A PDF is taken if it is paper. Names and their escapes are those of ISO 32000-1, 7.3.5 (from memory)."""

from io import BytesIO

import pikepdf
import pytest

from practice.lib import paper_pdf
from practice.lib.paper_pdf import NotPaper, check_pdf
from tests.pictures import PDF, pdf_of

CATALOG = b"<< /Type /Catalog /Pages 2 0 R %s >>"
PAGES = b"<< /Type /Pages /Kids [] /Count 0 >>"
SCRIPT = b"<< /S /JavaScript /JS (app.alert\\(1\\)) >>"
MORE_THAN_PAPER = "This PDF contains a script or another file. Print it to a plain PDF first."


def written(*, packed=False, encryption=False, **entries) -> bytes:
    """Return a PDF of one page by pikepdf; `entries` go into its catalog, as objects of their own."""
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        for name, value in entries.items():
            pdf.Root[f"/{name}"] = pdf.make_indirect(value)
        out = BytesIO()
        mode = pikepdf.ObjectStreamMode.generate if packed else pikepdf.ObjectStreamMode.disable
        pdf.save(out, object_stream_mode=mode, encryption=encryption)
    return out.getvalue()


def script(kind="/JavaScript", **more):
    return pikepdf.Dictionary(S=pikepdf.Name(kind), **more)


@pytest.mark.parametrize(
    "content",
    [
        PDF,
        written(),
        written(packed=True),
        written(packed=True, OpenAction=pikepdf.Array([0, pikepdf.Name.Fit])),
        pdf_of(CATALOG % b"/JSON /X /Launcher (a) /Note (#4aS)", PAGES),
        # In the points of a picture, letters mean nothing.
        pdf_of(CATALOG % b"", PAGES, b"<< /Length 7 >>\nstream\n\x01/JS \x02 \nendstream"),
    ],
    ids=["by hand", "written", "packed", "opens at a page", "like them", "in a picture"],
)
def test_paper_is_taken(content):
    check_pdf(content)


@pytest.mark.parametrize(
    "content",
    [
        pdf_of(CATALOG % b"/OpenAction 3 0 R", PAGES, SCRIPT),
        pdf_of(CATALOG % b"/OpenAction << /S /J#61vaScript /J#53 (x) >>", PAGES),
        pdf_of(CATALOG % b"/OpenAction<</S/#4aava#53cript/X(x)>>", PAGES),
        pdf_of(CATALOG % b"/OpenAction << /S /Launch /F (a.exe) >>", PAGES),
        pdf_of(CATALOG % b"/Names << /EmbeddedFiles 3 0 R >>", PAGES, b"<<>>"),
        pdf_of(CATALOG % b"", PAGES, b"<< /Type /EmbeddedFile /Length 1 >>\nstream\nx\nendstream"),
        pdf_of(CATALOG % b"", PAGES, b"<< /Subtype /RichMedia >>"),
        # Text that only looks like a stream hides nothing.
        pdf_of(CATALOG % b"/A (stream\n)", PAGES, SCRIPT, b"(endstream)"),
        # Nor does the table, which says nothing of this object: some programs do without a table.
        PDF.replace(b"xref\n0", b"9 0 obj\n" + SCRIPT + b"\nendobj\nxref\n0"),
        written(packed=True, OpenAction=script(JS="app.alert(1)")),
        written(packed=True, OpenAction=script("/Launch", F="a.exe")),
        written(packed=True, OpenAction=script()).replace(b"/ObjStm", b"/Obj#53tm"),
    ],
    ids=[
        *(
            "script",
            "escaped",
            "escaped and tight",
            "launch",
            "files",
            "a file",
            "rich media",
            "behind text",
            "unlisted",
        ),
        *("packed script", "packed launch", "packed, escaped"),
    ],
)
def test_more_than_paper_is_refused(content):
    with pytest.raises(NotPaper) as refused:
        check_pdf(content)

    assert str(refused.value) == MORE_THAN_PAPER


def locked(revision: int, password: str) -> bytes:
    return written(packed=True, encryption=pikepdf.Encryption(owner="a", user=password, R=revision))


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (locked(6, "secret"), "locked"),
        (locked(6, ""), "locked"),
        (PDF[:40] + PDF[-6:], "damaged"),
        (written(packed=True)[:200] + b"\n%%EOF\n", "damaged"),
        (b"%PDF-1.7 %%EOF", "damaged"),
        (PDF[:-7], "incomplete"),
    ],
)
def test_what_cannot_be_looked_into_is_refused(content, message):
    with pytest.raises(NotPaper, match=f"This PDF is {message}"):
        check_pdf(content)


def test_a_pdf_of_too_many_parts_is_refused(monkeypatch):
    monkeypatch.setattr(paper_pdf, "MOST_OBJECTS", 1)

    with pytest.raises(NotPaper, match="too many parts"):
        check_pdf(PDF)
