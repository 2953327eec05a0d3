"""Gives a test run a book of its own before Django reads its settings (`-p` in pyproject.toml).

A `conftest.py` comes too late for that: pytest-django reads the settings first, and the tests would
empty the book of the practice.
"""

import os
import tempfile
from urllib.parse import urlsplit, urlunsplit

DATA = tempfile.TemporaryDirectory(prefix="roundbook-test-", ignore_cleanup_errors=True)

for _name in [name for name in os.environ if name.startswith("ROUNDBOOK_")]:
    del os.environ[_name]
os.environ["ROUNDBOOK_DATA"] = DATA.name
os.environ["ROUNDBOOK_TIMEZONE"] = "UTC"  # wherever the tests run, so that their moments are of the same days
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # Playwright's event loop runs beside the ORM
if os.environ.get("DATABASE_URL"):
    # A database of this run's own on the same server, which child processes reach by the same variable.
    _address = urlsplit(os.environ["DATABASE_URL"])
    os.environ["DATABASE_URL"] = urlunsplit(_address._replace(path=f"/roundbook_test_{os.getpid()}"))
