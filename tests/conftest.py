"""What all tests share. The book of a test run lies in a temporary data folder of its own."""

import os
import tempfile

os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")  # Playwright's event loop runs beside the ORM

_data = tempfile.TemporaryDirectory(prefix="roundbook-test-", ignore_cleanup_errors=True)
os.environ["ROUNDBOOK_DATA"] = _data.name
for name in ("ROUNDBOOK_TODAY", "ROUNDBOOK_USER", "ROUNDBOOK_PASSWORD", "ROUNDBOOK_HTTPS", "ROUNDBOOK_PORT"):
    os.environ.pop(name, None)
