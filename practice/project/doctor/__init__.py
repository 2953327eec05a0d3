"""`manage.py doctor`: looks a book over and says what to do about what is wrong. It changes nothing.

`checkup.py` runs the checks, `database.py` reads the database as it is at one moment, `numbers.py` and
`sums.py` work out anew what is stored beside the facts, `papers.py` looks at the files, `machine.py` at what
the book runs on.
"""
