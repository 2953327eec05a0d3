"""Files that are broken or hostile: each is read or refused in words, and nothing of it changes the book."""

import io
import random
import zipfile
from collections.abc import Callable

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from practice.lib.errors import RuleBroken
from practice.project.bring_in import sheets
from practice.project.bring_in.kinds import KINDS
from practice.project.bring_in.outlook import look_ahead
from practice.project.bring_in.sheets import SheetOfText, read_sheets
from practice.project.bring_in.uploads import new_upload
from practice.project.bring_in.zips import keep_folder
from tests.factories.practice import DAY, OwnerFactory, ProfileFactory
from tests.hostile import VALUES, content_of_book
from tests.project.bring_in.sheets_to_bring import MESSY_HORSES, csv_of, workbook_of, zip_of

SEED, FILES, SENT = 20261127, 300, 30
LAUGHS = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 12))
# In place of a part of a workbook, or of its first element.
HOSTILE_XML = [
    b"",
    b"<",
    b"\xff\xfe<a/>",
    b"<a/>",
    b'<!DOCTYPE a [<!ENTITY x SYSTEM "file:///etc/passwd">]><a>&x;</a>',
    b'<!DOCTYPE a SYSTEM "http://127.0.0.1:9/a.dtd"><a/>',
    f'<!DOCTYPE a [<!ENTITY l0 "ha">{LAUGHS}]><a>&l11;</a>'.encode(),
]
HOSTILE_CELLS = [
    '<c r="A4"><v>1e999</v></c>',
    '<c r="A4"><v>-1e308</v></c>',
    '<c r="A4"><v>NaN</v></c>',
    '<c r="A4" t="s"><v>999999</v></c>',
    '<c r="A4" t="s"><v>-1</v></c>',
    '<c r="A4" t="e"><v>#REF!</v></c>',
    '<c r="A4" t="d"><v>2026-99-99</v></c>',
    '<c r="A4" s="99999"><v>1</v></c>',
    '<c r="A4" t="str"><f>HYPERLINK("http://127.0.0.1:9")</f><v>=1+1</v></c>',
    '<c r="ZZZZZZ4"><v>1</v></c>',
    '<c r="XFD1048577"><v>1</v></c>',
    '<c r=""><v>1</v></c>',
    '<c t="inlineStr"><is><t>_x0007_&#9;x</t></is></c>',
    "<c/>",
]
HOSTILE_ROWS = [
    '<row r="1048577"/>',
    '<row r="-1"/>',
    '<row r="x"/>',
    '<row r="99999999999999"><c r="A1"/></row>',
]


def cut(content: bytes, chance: random.Random) -> bytes:
    return content[: chance.randrange(len(content))]


def altered(content: bytes, chance: random.Random) -> bytes:
    changed = bytearray(content)
    for _ in range(chance.randrange(1, 12)):
        changed[chance.randrange(len(changed))] = chance.randrange(256)
    return bytes(changed)


def with_more(content: bytes, chance: random.Random) -> bytes:
    at = chance.randrange(len(content))
    return content[:at] + chance.randbytes(chance.randrange(1, 400)) + content[at:]


def repeated(content: bytes, chance: random.Random) -> bytes:
    first, last = sorted(chance.randrange(len(content)) for _ in range(2))
    return content[:last] + content[first:]


def with_other_part(content: bytes, chance: random.Random) -> bytes:
    """Change or leave out one part of a workbook; of anything else, some bytes."""
    if not content.startswith(sheets.ZIP):
        return altered(content, chance)
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as source, zipfile.ZipFile(out, "w") as target:
        names = source.namelist()
        chosen = chance.choice([*names, "xl/worksheets/sheet1.xml"])
        for name in names:
            part = source.read(name)
            if name == chosen:
                part = chance.choice([other_xml, other_cells])(part, chance)
            if part is not None:
                target.writestr(name, part)
    return out.getvalue()


def other_xml(part: bytes, chance: random.Random) -> bytes | None:
    return chance.choice([*HOSTILE_XML, None, altered(part, chance), cut(part, chance)])


def other_cells(part: bytes, chance: random.Random) -> bytes:
    more = f"<row r='4'>{''.join(chance.choices(HOSTILE_CELLS, k=4))}</row>{chance.choice(HOSTILE_ROWS)}"
    return part.replace(b"</sheetData>", f"{more}</sheetData>".encode())


CHANGES: list[Callable[[bytes, random.Random], bytes]] = [
    cut,
    altered,
    with_more,
    repeated,
    with_other_part,
    with_other_part,
    with_other_part,
]
WHOLE = [
    workbook_of(Horses=MESSY_HORSES),
    csv_of(MESSY_HORSES),
    csv_of(MESSY_HORSES, ";", "utf-16"),
    zip_of({"clients.csv": "ref,name\r\nann,Ann Lee\r\n", "files/a.png": b"\x89PNG"}),
]


def mutations(number: int) -> list[bytes]:
    chance = random.Random(SEED)
    return [chance.choice(CHANGES)(chance.choice(WHOLE), chance) for _ in range(number)]


@pytest.fixture
def practice(db, settings, tmp_path):
    settings.TODAY, settings.DATA_DIR = DAY, tmp_path
    OwnerFactory(horse__name="Bramble", client__name="Ann Lee")
    return ProfileFactory()


def test_hundreds_of_broken_files_are_read_or_refused_in_words(practice):
    read, refused = 0, set()
    for content in mutations(FILES):
        for reading in (lambda: read_sheets(content, "en-US"), lambda: keep_folder(content)):  # noqa: B023
            try:
                reading()
                read += 1
            except RuleBroken as error:
                refused.add(error.code)

    assert read > FILES // 10
    assert {"damaged_spreadsheet", "unreadable_spreadsheet", "no_text", "damaged_zip"} <= refused


def test_broken_files_that_are_sent_never_change_the_book(browser, practice):
    before, answers = content_of_book(), set()
    for content in mutations(SENT):
        sent = browser.post("/bring-in/horses/", {"file": SimpleUploadedFile("a.xlsx", content)})
        answers.add(sent.status_code)
        if sent.status_code == 302:
            form = browser.get(sent.headers["Location"]).context["form"]
            data = {name: field.initial or "" for name, field in form.fields.items()}
            chosen = browser.post(sent.headers["Location"], data)
            if chosen.status_code == 302:
                answers.add(browser.get(chosen.headers["Location"]).status_code)

    assert answers == {200, 302}
    assert content_of_book() == before


@pytest.mark.parametrize("kind", KINDS.values(), ids=list(KINDS))
def test_no_value_of_a_cell_ends_in_an_error(practice, kind):
    codes = [meaning.code for meaning in kind.meanings]
    [good, *_] = kind.examples(codes, practice.locale)
    values = [value[:5_000] for value in VALUES if "\ud800" not in value]
    rows = [
        [
            f"{text} {number}" if column == 0 else value if column == number % len(codes) else text
            for column, text in enumerate(good)
        ]
        for number, value in enumerate(value for value in values for _ in codes)
    ]
    upload = new_upload(
        kind, "a.csv", [SheetOfText("", [[meaning.label for meaning in kind.meanings], *rows])]
    )
    upload.options = {"day": DAY.isoformat()}
    before = content_of_book()

    outlook = look_ahead(upload, practice, DAY)

    assert len(upload.meanings) == len(codes)
    assert outlook.problems and outlook.general == []
    assert content_of_book() == before
