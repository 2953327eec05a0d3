"""The logo: the picture alone, of a moderate size, with glass where it had any."""

from io import BytesIO

import pytest
from PIL import Image, PngImagePlugin

from practice.lib import pictures
from practice.lib.logo import LARGEST, clean_logo, keep_logo, logo_file
from tests.pictures import opened, photo, telephone_photo


def png(size=(60, 40), mode="RGBA", colour=(200, 0, 0, 0), **save) -> bytes:
    out = BytesIO()
    Image.new(mode, size, colour).save(out, "PNG", **save)
    return out.getvalue()


def with_words() -> bytes:
    words = PngImagePlugin.PngInfo()
    words.add_text("Author", "Invented Person")
    exif = Image.Exif()
    exif[0x010F] = "Invented Telephones"
    return png(pnginfo=words, exif=exif)


@pytest.mark.parametrize("content", [telephone_photo(), with_words()])
def test_nothing_but_the_picture_is_kept(content):
    clean = clean_logo(content)

    assert b"Invented" in content
    assert b"Invented" not in clean
    assert dict(opened(clean).getexif()) == {}


@pytest.mark.parametrize("content", [png() + b"secret", photo() + b"secret", photo() + b"secret\xff\xd9"])
def test_what_stands_behind_the_picture_is_left_out(content):
    clean = clean_logo(content)

    assert b"secret" not in clean
    assert opened(clean).size == (60, 40)


@pytest.mark.parametrize(
    ("content", "kind", "size"),
    [
        (photo((3000, 1500)), "JPEG", (1200, 600)),
        (png((1500, 3000)), "PNG", (600, 1200)),
        (telephone_photo((60, 40)), "JPEG", (40, 60)),
    ],
)
def test_it_is_upright_and_of_a_moderate_size(content, kind, size):
    kept = opened(clean_logo(content))

    assert (kept.format, kept.size) == (kind, size)


def test_paper_still_shows_through_it():
    assert opened(clean_logo(with_words())).convert("RGBA").getpixel((5, 5)) == (200, 0, 0, 0)


@pytest.mark.parametrize(
    "content", [photo(), png(), telephone_photo(), with_words(), png((3000, 90)), png(mode="P", colour=3)]
)
def test_what_is_clean_already_comes_back_as_it_is(content):
    clean = clean_logo(content)

    assert clean_logo(clean) == clean


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"GIF89a\x01\x00\x01\x00\x00\x00\x00;", "not a PNG or JPEG"),
        (photo()[:-3], "not a PNG or JPEG"),
        (png()[:-9], "not a PNG or JPEG"),
        (b"\xff" * (LARGEST + 1), "larger than 2 MB"),
    ],
)
def test_anything_else_is_refused(content, message):
    with pytest.raises(ValueError, match=message):
        clean_logo(content)


def test_a_picture_of_too_many_points_is_refused_before_it_is_unpacked(monkeypatch):
    monkeypatch.setattr(pictures, "MOST_PIXELS", 100)

    with pytest.raises(ValueError, match="more than 40 megapixels"):
        clean_logo(png((20, 20)))


def test_it_is_kept_clean_whoever_brings_it(settings, tmp_path):
    settings.DATA_DIR = tmp_path

    keep_logo(with_words())

    assert (logo_file().name, logo_file().read_bytes()) == ("logo.png", clean_logo(with_words()))
