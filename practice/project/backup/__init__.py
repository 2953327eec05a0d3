"""Backing up the book and its documents to one verified file, and restoring them.

The file is a ZIP: the database (a copy of the SQLite file, or what `pg_dump` writes), the documents of
the data folder, and a list of all of them with their SHA-256. It holds no way in: the secret key is left
out, and so are sessions, lock-outs and what else serves once.
"""
