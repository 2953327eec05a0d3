"""Receipts: told by their content, made anew without what a telephone writes into a photo."""

from io import BytesIO

import pytest
from PIL import Image, ImageFile

from billing.actions.receipts import clean_receipt, keep_receipt, receipt_file
from practice.lib import pictures
from practice.lib.pictures import LARGEST, MOST_PIXELS
from tests.pictures import PDF, opened, photo, telephone_photo


def test_nothing_of_the_telephone_stays_in_a_photo():
    content = clean_receipt(telephone_photo())

    kept = opened(content)
    assert (kept.format, dict(kept.getexif()), set(kept.info)) == (
        "JPEG",
        {},
        {"jfif", "jfif_version", "jfif_unit", "jfif_density"},
    )
    assert b"Invented" not in content and b"41.2" not in content


def test_a_photo_taken_sideways_stands_upright():
    assert opened(clean_receipt(telephone_photo((60, 40)))).size == (40, 60)


def test_a_large_photo_is_made_smaller_and_keeps_its_shape():
    assert opened(clean_receipt(photo((4000, 3000), exif=Image.Exif()))).size == (2000, 1500)


def test_a_picture_with_glass_in_it_stands_on_white():
    out = BytesIO()
    Image.new("RGBA", (8, 8), (0, 0, 0, 0)).save(out, "PNG")

    kept = opened(clean_receipt(out.getvalue()))

    assert (kept.format, kept.getpixel((4, 4))) == ("JPEG", (255, 255, 255))


@pytest.mark.parametrize("mode", ["L", "1", "P", "CMYK"])
def test_pictures_of_other_colour_spaces_are_photos_too(mode):
    out = BytesIO()
    Image.new(mode, (8, 8)).save(out, "JPEG" if mode == "CMYK" else "PNG")

    assert opened(clean_receipt(out.getvalue())).mode == "RGB"


@pytest.mark.parametrize("content", [telephone_photo(), photo(format="PNG"), photo((2400, 90)), PDF])
def test_what_is_clean_already_comes_back_as_it_is(content):
    clean = clean_receipt(content)

    assert clean_receipt(clean) == clean


def test_what_stands_behind_a_picture_is_left_out():
    for content in (photo() + b"secret", photo() + b"secret\xff\xd9", photo(format="PNG") + b"secret"):
        assert b"secret" not in clean_receipt(content)


@pytest.mark.parametrize(
    "content", [photo(format="PNG"), photo(), telephone_photo(), photo(progressive=True)]
)
def test_a_photo_that_is_cut_off_is_refused_where_papers_were_made_before(monkeypatch, content):
    # WeasyPrint sets this for the whole process when it is imported.
    monkeypatch.setattr(ImageFile, "LOAD_TRUNCATED_IMAGES", True)

    assert opened(clean_receipt(content)).format == "JPEG"
    with pytest.raises(ValueError, match="neither a photo"):
        clean_receipt(content[:-3])


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "neither a photo"),
        (b"<html><script>alert(1)</script>", "neither a photo"),
        (b"GIF89a\x01\x00\x01\x00\x00\x00\x00;", "neither a photo"),
        (photo()[:200], "neither a photo"),
        (photo(format="PNG")[:60], "neither a photo"),
        (PDF[:-7], "incomplete"),
        (PDF.replace(b"/Catalog", b"/Catalog /JS (x)"), "contains a script"),
        (b"%PDF-1.7" + b" " * LARGEST, "larger than 10 MB"),
    ],
)
def test_anything_else_is_refused(content, message):
    with pytest.raises(ValueError, match=message):
        clean_receipt(content)


def test_a_picture_of_too_many_points_is_refused_before_it_is_unpacked(monkeypatch):
    monkeypatch.setattr(pictures, "MOST_PIXELS", 100)

    with pytest.raises(ValueError, match="40 megapixels"):
        clean_receipt(photo((20, 20), exif=Image.Exif()))
    assert MOST_PIXELS == 40_000_000


def test_the_same_receipt_is_kept_once_and_for_its_owner_alone(db, settings, tmp_path):
    settings.DATA_DIR = tmp_path

    names = [keep_receipt(photo()), keep_receipt(photo()), keep_receipt(PDF)]

    assert names[0] == names[1] and [name[-4:] for name in names[1:]] == [".jpg", ".pdf"]
    assert sorted(path.name for path in (tmp_path / "receipts").iterdir()) == sorted(names[1:])
    assert receipt_file(names[2]).read_bytes() == PDF
    assert receipt_file(names[2]).stat().st_mode & 0o777 == 0o600


@pytest.mark.parametrize("name", ["", "../secret_key", "x.jpg", "/etc/passwd", "0" * 32 + ".svg"])
def test_only_names_of_receipts_are_looked_up(name):
    with pytest.raises(ValueError, match="not a receipt"):
        receipt_file(name)
