"""All files of the book, in the order of the contract."""

from practice.project.book.columns import BookFile
from practice.project.book.files_days import days, facts
from practice.project.book.files_folder import files_csv
from practice.project.book.files_horses import of_horses
from practice.project.book.files_life import life
from practice.project.book.files_mail import mail
from practice.project.book.files_merges import merges
from practice.project.book.files_money import billing
from practice.project.book.files_orders import orders
from practice.project.book.files_people import people
from practice.project.book.files_things import things
from practice.project.book.files_worked_out import worked_out
from practice.project.book.values import Amount


def files(currency: str = "USD") -> tuple[BookFile, ...]:
    """Return all files in the order of the contract; amounts are read and written in this currency."""
    money = Amount(currency=currency)
    written = (*people(), *things(), *days(), *of_horses(), *orders(), *facts(), *billing(money), *mail())
    return (*written, *merges(), *life(), *worked_out(money), files_csv())
