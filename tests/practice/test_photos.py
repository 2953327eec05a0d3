"""Photos of horses: cleaned, kept, shown, deleted, and in the book; what is none is refused."""

from datetime import date
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from billing.actions.merging import merge
from billing.actions.receipts import is_of_the_book
from practice.actions.findings import remove_findings
from practice.actions.photos import add_photos, photo_file, photo_name, remove_photos
from practice.actions.work import take_horse_off
from practice.forms.photos import MOST_AT_ONCE
from practice.lib import pictures
from practice.lib.pictures import clean_photo
from practice.lib.presses import new_press
from practice.models import Finding, Photo
from practice.project.backup.contents import documents
from practice.project.book.exporter import export_book
from practice.project.book.importer import import_book
from practice.project.doctor import papers
from practice.reports.taken_off import TakenOff
from tests.factories.mail import NOON
from tests.factories.practice import DAY, FindingFactory, HorseFactory, PhotoFactory, ProfileFactory
from tests.pictures import opened, photo, telephone_photo

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.DATA_DIR, settings.TODAY = tmp_path / "data", DAY
    settings.DATA_DIR.mkdir()


@pytest.fixture
def horse():
    ProfileFactory()
    return HorseFactory(name="Juniper", ref="juniper")


def sent(*contents: bytes, **more) -> dict:
    """What the form of photos sends."""
    files = [SimpleUploadedFile(f"IMG_{number}.jpg", content) for number, content in enumerate(contents)]
    return {"photos": files, "what": "hoof", "taken_on": DAY.isoformat(), "note": "", **more}


def kept_names(settings) -> set[str]:
    return {path.name for path in (settings.DATA_DIR / "photos").iterdir()}


def test_photos_are_kept_upright_without_what_the_telephone_wrote_into_them(browser, horse):
    answer = browser.post(f"/horses/{horse.pk}/photos/add/", sent(telephone_photo(), photo(colour="red")))

    first, second = Photo.objects.order_by("pk")
    picture = photo_file(first.file).read_bytes()
    assert answer.headers["Location"] == f"/horses/{horse.pk}/"
    assert (opened(picture).size, dict(opened(picture).getexif())) == ((40, 60), {})
    assert b"Invented" not in picture and b"41.2" not in picture
    assert (second.horse, second.what, second.taken_on, second.visit) == (horse, "hoof", DAY, None)
    assert browser.get(f"/photos/{first.pk}/file/").content == picture
    assert opened(browser.get(f"/photos/{first.pk}/small/").content).size == (40, 60)


def test_the_same_form_sent_twice_adds_its_photos_once(browser, horse):
    uuid = new_press()
    for _ in range(2):
        browser.post(f"/horses/{horse.pk}/photos/add/", sent(photo(), photo(colour="red"), uuid=uuid))

    assert Photo.objects.count() == 2


def test_another_second_photo_makes_another_form(browser, horse):
    uuid = new_press()
    for second in (photo((9, 9)), photo((500, 500))):
        browser.post(f"/horses/{horse.pk}/photos/add/", sent(photo(), second, uuid=uuid))

    assert Photo.objects.count() == 4


def bomb() -> bytes:
    """A picture of 60 megapixels in some 60 kB."""
    out = BytesIO()
    Image.new("1", (10_000, 6_000)).save(out, "PNG")
    return out.getvalue()


PHP = b"<?php system($_GET['c']); ?>"


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"MZ\x90\x00 a program", "This is not a photo. Choose a JPEG or PNG."),
        (b"GIF89a\x01\x00\x01\x00\x00\x00\x00;", "This is not a photo. Choose a JPEG or PNG."),
        (b"%PDF-1.7 not a photo", "This is not a photo. Choose a JPEG or PNG."),
        (b'<svg xmlns="http://www.w3.org/2000/svg"/>', "This is not a photo. Choose a JPEG or PNG."),
        (photo()[:-5], "This is not a photo. Choose a JPEG or PNG."),
        (bomb(), "This photo has more than 40 megapixels. Take a smaller photo."),
        (photo() + b"\0" * pictures.LARGEST, "This file is larger than 10 MB. Take a smaller photo."),
    ],
)
def test_what_is_no_photo_is_refused_by_name_whatever_it_is_called(browser, horse, content, message):
    answer = browser.post(f"/horses/{horse.pk}/photos/add/", sent(photo(), content))

    assert answer.context["form"].errors == {"photos": [f"IMG_1.jpg: {message}"]}
    assert not Photo.objects.exists()


def test_what_hides_in_or_behind_a_photo_is_gone():
    for content in (photo() + PHP, photo(comment=PHP), photo(exif=b"Exif\0\0II*\0\x08\0\0\0\0\0" + PHP)):
        assert PHP not in clean_photo(content)


def test_no_photo_and_too_many_are_refused(browser, horse):
    none = browser.post(f"/horses/{horse.pk}/photos/add/", sent())
    many = browser.post(f"/horses/{horse.pk}/photos/add/", sent(*[photo()] * (MOST_AT_ONCE + 1)))

    assert none.context["form"].errors == {"photos": ["Take or choose a photo."]}
    assert many.context["form"].errors == {"photos": ["Choose at most 8 photos at once."]}


def test_nobody_sees_a_photo_without_a_login(client, horse):
    [one] = add_photos(horse, [photo()], DAY)

    for part in ("", "file/", "small/"):
        assert client.get(f"/photos/{one.pk}/{part}").headers["Location"].startswith("/login/")


def test_a_horse_shows_its_latest_photos_and_leads_to_all(browser, horse):
    for day in range(1, 9):
        add_photos(horse, [photo((day, 9))], date(2026, 10, day), note="Toe first" if day == 8 else "")

    page = browser.get(f"/horses/{horse.pk}/").content.decode()
    every = browser.get(f"/horses/{horse.pk}/photos/").content.decode()

    assert (page.count("<img"), every.count("<img")) == (6, 8)
    assert 'alt="Hoof, Oct 8, 2026: Toe first"' in page and "All 8 photos" in page
    assert '<p class="small" aria-hidden="true">Toe first</p>' in page


def test_what_is_said_of_a_photo_can_be_changed(browser, horse):
    [one] = add_photos(horse, [photo()], DAY)

    browser.post(f"/photos/{one.pk}/", {"what": "x-ray", "taken_on": "2026-10-01", "note": "From the vet"})

    one.refresh_from_db()
    assert (one.what, one.taken_on, one.note) == ("x-ray", date(2026, 10, 1), "From the vet")


def test_a_photo_is_deleted_with_its_file(browser, horse, settings, django_capture_on_commit_callbacks):
    one, other = add_photos(horse, [photo(), photo(colour="red")], DAY)
    assert "Delete this photo?" in browser.get(f"/photos/{one.pk}/remove/").content.decode()

    with django_capture_on_commit_callbacks(execute=True):
        browser.post(f"/photos/{one.pk}/remove/", {})

    assert list(Photo.objects.all()) == [other]
    assert kept_names(settings) == {other.file}
    assert browser.get(f"/photos/{one.pk}/file/").status_code == 404


def test_a_picture_that_another_photo_is_too_stays(horse, settings, django_capture_on_commit_callbacks):
    one, other = add_photos(horse, [photo(), photo()], DAY)

    with django_capture_on_commit_callbacks(execute=True):
        remove_photos([one])

    assert kept_names(settings) == {other.file}


def test_a_photo_whose_file_is_gone_is_not_found(browser, horse):
    photo_of_nothing = PhotoFactory(horse=horse, file="0" * 32 + ".jpg")

    assert browser.get(f"/photos/{photo_of_nothing.pk}/file/").status_code == 404
    assert browser.get(f"/photos/{photo_of_nothing.pk}/small/").status_code == 404


def test_the_photos_of_a_wrong_finding_go_with_it(horse):
    finding = FindingFactory(horse=horse)
    add_photos(horse, [photo()], DAY, visit=finding.visit, finding=finding)

    said = TakenOff(finding.visit, horse).lead
    take_horse_off(finding.visit, horse)

    assert said == "Its 1 finding from this visit will be deleted, photos included."
    assert (Finding.objects.count(), Photo.objects.count()) == (0, 0)


def test_findings_without_photos_are_deleted_alone(horse):
    kept = PhotoFactory(horse=horse)
    FindingFactory.create_batch(2, horse=horse)

    assert remove_findings(Finding.objects.all()) == 2
    assert list(Photo.objects.all()) == [kept]


def test_photos_come_along_when_a_horse_was_entered_twice(horse):
    [one] = add_photos(HorseFactory(name="Juniper"), [photo()], DAY)

    merge(horse, one.horse, by="farrier", at=NOON, today=DAY)

    one.refresh_from_db()
    assert one.horse == horse


def test_a_file_that_no_photo_names_is_not_of_the_book(horse):
    [one] = add_photos(horse, [photo()], DAY)

    named = [is_of_the_book(photo_file(name)) for name in (one.file, photo_name(b"of a killed process"))]
    assert named == [True, False]


def test_a_backup_and_the_end_of_the_demo_know_the_photos(horse):
    [one] = add_photos(horse, [photo()], DAY)

    assert photo_file(one.file) in documents()


def test_photos_come_back_from_the_book(horse, tmp_path, django_capture_on_commit_callbacks):
    finding = FindingFactory(horse=horse)
    add_photos(horse, [photo()], DAY, visit=finding.visit, finding=finding, note="Toe first")
    add_photos(horse, [photo(), photo(colour="red")], DAY, what="x-ray")
    FindingFactory(horse=horse, kind="crack")
    export_book(tmp_path / "out")

    lines = (tmp_path / "out" / "findings.csv").read_text().splitlines()
    names = (tmp_path / "out" / "files.csv").read_text().splitlines()
    assert [line.rpartition(",")[2] for line in lines] == ["uuid", str(finding.uuid), ""]
    assert [line.split(",")[:2] for line in names] == [
        ["name", "what"],
        *[[each.file, "photo"] for each in Photo.objects.order_by("pk")],
    ]
    again = import_book(tmp_path / "out")
    assert [str(problem) for problem in again.problems] == []
    assert {(row["new"], row["updated"]) for row in again.files} == {(0, 0)}


@pytest.mark.slow
def test_photos_come_back_byte_for_byte(horse, tmp_path, check_it_comes_back):
    finding = FindingFactory(horse=horse)
    add_photos(horse, [photo(), photo(colour="red")], DAY, visit=finding.visit, finding=finding)
    export_book(tmp_path / "out")

    check_it_comes_back(tmp_path / "out")


NOWHERE = "11111111-2222-4333-8444-555555555555"


@pytest.mark.parametrize(
    ("row", "files", "problem"),
    [
        (
            f"f1,juniper,{NOWHERE},hoof,2026-10-14",
            "x.jpg,photo,f1\n",
            f'photos.csv:2: finding: "{NOWHERE}" is not in findings.csv',
        ),
        ("f1,juniper,,hoof,2026-10-14", "x.jpg,photo,\n", "files.csv:2: photo: is required for a photo"),
        (
            "f1,juniper,,hoof,2026-10-14",
            "x.jpg,photo,f1\ny.jpg,photo,f1\n",
            'files.csv:3: photo: "f1" already has a picture',
        ),
        (
            "f1,juniper,,hoof,2026-10-14",
            "z.jpg,photo,f1\n",
            "files.csv:2: name: z.jpg: This is not a photo. Choose a JPEG or PNG.",
        ),
    ],
)
def test_a_folder_with_a_photo_that_cannot_be_says_which(tmp_path, row, files, problem):
    folder = tmp_path / "in"
    (folder / "files").mkdir(parents=True)
    (folder / "horses.csv").write_text("ref,name\njuniper,Juniper\n")
    (folder / "photos.csv").write_text(f"ref,horse,finding,what,taken_on\n{row}\n")
    (folder / "files.csv").write_text("name,what,photo\n" + files)
    for name, content in (("x.jpg", photo()), ("y.jpg", photo(colour="red")), ("z.jpg", b"MZ")):
        if name in files:
            (folder / "files" / name).write_bytes(content)

    report = import_book(folder)

    assert [str(each) for each in report.problems] == [problem]


def test_the_doctor_names_photos_that_are_gone_damaged_or_nobodys(horse, settings):
    one, other = add_photos(horse, [photo(), photo(colour="red")], DAY)
    assert list(papers.look_at_photos()) == []

    photo_file(one.file).unlink()
    photo_file(other.file).write_bytes(b"changed")
    (settings.DATA_DIR / "photos" / "stray.jpg").write_bytes(photo())

    assert [(fault.code, fault.what) for fault in papers.look_at_photos()] == [
        ("photos_gone", "The files of these photos are gone: Hoof, Juniper, 2026-10-14."),
        ("photos_damaged", "The files of these photos are damaged: Hoof, Juniper, 2026-10-14."),
        ("photos_left", "These files in the folder photos belong to no photo in the book: stray.jpg."),
    ]
