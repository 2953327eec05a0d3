"""Photos in Chromium: made smaller and upright before they are sent, shown, and sent as they then are."""

from base64 import b64decode
from io import BytesIO

import pytest
from PIL import Image

from practice.actions.photos import photo_file
from practice.models import Photo
from tests.factories.practice import HorseFactory, ProfileFactory
from tests.pictures import opened

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.looks]
# What the field holds, as the server would get it.
HELD = """async () => {
  const read = (file) => new Promise((done) => {
    const reader = new FileReader();
    reader.onload = () => done([file.name, reader.result.split(",")[1] ?? ""]);
    reader.readAsDataURL(file);
  });
  return Promise.all([...document.querySelector("[data-photos]").files].map(read));
}"""
# Note how large the files of a form are that is sent.
NOTE_SIZES = """addEventListener("formdata", ({ formData }) => {
  sessionStorage.sent = formData.getAll("photos").map((file) => file.size).join(" ");
}, true)"""


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA_DIR = tmp_path
    ProfileFactory()


def photo_on_its_side() -> bytes:
    """A photo of 12 megapixels as a telephone held upright takes it: red above blue, lying on its side."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[1] = "N"
    picture = Image.new("RGB", (4000, 3000), "blue")
    picture.paste("red", (0, 0, 2000, 3000))
    out = BytesIO()
    picture.save(out, "JPEG", exif=exif)
    return out.getvalue()


def chosen(page, horse, *files: tuple[str, bytes]) -> None:
    page.goto(f"/horses/{horse.pk}/photos/add/")
    payloads = [{"name": name, "mimeType": "image/jpeg", "buffer": content} for name, content in files]
    page.get_by_label("Photos").set_input_files(payloads)


def test_a_large_photo_is_made_smaller_and_upright_before_it_is_sent(own_page):
    horse = HorseFactory()

    chosen(own_page, horse, ("IMG_1.JPG", photo_on_its_side()))
    row = own_page.locator("ul.photos li")
    row.wait_for()

    [[name, content]] = own_page.evaluate(HELD)
    picture = opened(b64decode(content))
    assert (name, picture.size, dict(picture.getexif())) == ("IMG_1.jpg", (1500, 2000), {})
    above, below = picture.getpixel((750, 100)), picture.getpixel((750, 1900))
    assert above[0] > 200 > 50 > above[2] and below[2] > 200 > 50 > below[0]
    size = -(-len(b64decode(content)) // 1000)
    assert row.inner_text().strip() == f"IMG_1.jpg, {size} KB"
    assert row.locator("canvas").evaluate("canvas => [canvas.width, canvas.height]") == [120, 160]

    own_page.get_by_role("button", name="Save").click()
    own_page.wait_for_url(f"**/horses/{horse.pk}/")
    assert opened(photo_file(Photo.objects.get().file).read_bytes()).size == (1500, 2000)
    assert own_page.problems == []


def test_a_form_sent_at_once_waits_for_its_photos(own_page):
    horse = HorseFactory()
    own_page.add_init_script(NOTE_SIZES)

    chosen(own_page, horse, *[(f"{number}.jpg", photo_on_its_side()) for number in range(3)])
    own_page.get_by_role("button", name="Save").click()
    own_page.wait_for_url(f"**/horses/{horse.pk}/")

    assert Photo.objects.count() == 3
    sizes = own_page.evaluate("sessionStorage.sent.split(' ').map(Number)")
    assert [size for size in sizes if not 0 < size < len(photo_on_its_side())] == []


def test_what_the_browser_cannot_draw_is_left_to_the_server(own_page):
    horse = HorseFactory()

    chosen(own_page, horse, ("notes.jpg", b"not a picture"))
    own_page.locator("ul.photos li").wait_for()
    assert own_page.locator("ul.photos li").inner_text() == "notes.jpg, 1 KB"

    own_page.get_by_role("button", name="Save").click()
    error = own_page.locator(".field .error")
    assert error.inner_text().strip() == "notes.jpg: This is not a photo. Choose a JPEG or PNG."


def test_photos_chosen_anew_take_the_place_of_those_before(own_page):
    chosen(own_page, HorseFactory(), ("first.jpg", photo_on_its_side()))
    own_page.locator("ul.photos li").wait_for()
    own_page.get_by_label("Photos").set_input_files([])
    own_page.locator("ul.photos li").wait_for(state="detached")

    assert own_page.evaluate(HELD) == []
