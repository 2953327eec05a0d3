"""Files of the data folder against the rows that they belong to, and the backups."""

from collections.abc import Iterator

from django.conf import settings

from billing.actions.receipts import NAME, name_of, receipt_file
from billing.models import CreditNote, Expense, Invoice
from billing.papers.documents import credit_note_path, pdf_path
from practice.actions.photos import PHOTOS, photo_name
from practice.lib.pdf import is_paper
from practice.lib.today import today
from practice.models import Photo
from practice.project.backup.page import what_to_look_at
from practice.project.doctor.faults import NamedFault, some_of

FROM_BACKUP = "Take them out of a backup: it is a ZIP with a folder `receipts`. Or add the receipts again."
PHOTOS_FROM_BACKUP = (
    "Take them out of a backup: it is a ZIP with a folder `photos`. Or delete each one on its horse's page."
)


def look_at_receipts() -> Iterator[NamedFault]:
    """Find receipts of expenses that are gone or were changed: a file is named after its content."""
    gone, changed = [], []
    for expense in Expense.objects.exclude(receipt="").order_by("pk"):
        if not NAME.fullmatch(expense.receipt) or not receipt_file(expense.receipt).is_file():
            gone.append(expense)
        elif name_of(receipt_file(expense.receipt).read_bytes()) != expense.receipt:
            changed.append(expense)
    if gone:
        yield NamedFault(
            "receipts_gone", f"The receipts of these expenses are gone: {some_of(gone)}.", FROM_BACKUP
        )
    if changed:
        what = f"The receipts of these expenses are damaged: {some_of(changed)}."
        yield NamedFault("receipts_damaged", what, FROM_BACKUP)


def look_at_photos() -> Iterator[NamedFault]:
    """Find photos whose files are gone or were changed, and files that are no photo's."""
    photos = list(Photo.objects.select_related("horse").order_by("pk"))
    files = {path.name: path for path in (settings.DATA_DIR / PHOTOS).glob("*") if path.name[0] != "."}
    gone = [photo for photo in photos if photo.file not in files]
    changed = [
        photo
        for photo in photos
        if photo.file in files and photo_name(files[photo.file].read_bytes()) != photo.file
    ]
    if gone:
        what = f"The files of these photos are gone: {some_of(gone)}."
        yield NamedFault("photos_gone", what, PHOTOS_FROM_BACKUP)
    if changed:
        what = f"The files of these photos are damaged: {some_of(changed)}."
        yield NamedFault("photos_damaged", what, PHOTOS_FROM_BACKUP)
    if left := sorted(files.keys() - {photo.file for photo in photos}):
        what = f"These files in the folder photos belong to no photo in the book: {some_of(left)}."
        yield NamedFault("photos_left", what, "Move them elsewhere.")


def look_at_papers() -> Iterator[NamedFault]:
    """Find PDFs that are not whole, or are not of the invoice or credit note that has their number now."""
    papers = {pdf_path(invoice): invoice.uuid for invoice in Invoice.objects.only("number", "issued", "uuid")}
    papers |= {
        credit_note_path(note): note.uuid for note in CreditNote.objects.only("number", "issued", "uuid")
    }
    wrong = []
    for folder in ("credit_notes", "invoices"):
        for file in sorted((settings.DATA_DIR / folder).glob("*/*.pdf")):
            path = file.relative_to(settings.DATA_DIR).as_posix()
            if path not in papers or not is_paper(file.read_bytes(), papers[path]):
                wrong.append(path)
    if wrong:
        yield NamedFault(
            "papers",
            f"These PDFs are damaged, or belong to no invoice or credit note in the book: {some_of(wrong)}.",
            "Move them elsewhere. A missing PDF is made again when you open it.",
        )


def look_at_backups() -> Iterator[NamedFault]:
    """Find that the newest backup is old, or that the last one failed; in the words of the first page."""
    if words := what_to_look_at(today()):
        yield NamedFault(
            "backups", words, "Make one on the page Backups, in Settings, or with `backup FILE`."
        )
