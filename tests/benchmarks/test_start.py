"""A second start up to its first page, beside a bare Django with one page."""

import contextlib
import subprocess
import sys
import urllib.request

import pytest

from tests.processes import started, surroundings

pytestmark = pytest.mark.benchmark
BARE = """
from django.conf import settings
settings.configure(ROOT_URLCONF="__main__", ALLOWED_HOSTS=["127.0.0.1"], SECRET_KEY="bare")
from django.core.wsgi import get_wsgi_application
from django.http import HttpResponse
from django.urls import path
from waitress.server import create_server
urlpatterns = [path("", lambda request: HttpResponse("a bare page"))]
server = create_server(get_wsgi_application(), host="127.0.0.1", port=0)
print(server.effective_port, flush=True)
server.run()
"""


def page_at(url: str) -> str:
    direct = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    with direct.open(url, timeout=30) as answer:
        return answer.read().decode()


@contextlib.contextmanager
def bare_django():
    """Run a Django with one page behind the same server; yield its address."""
    process = subprocess.Popen(
        [sys.executable, "-c", BARE],
        env=surroundings(DJANGO_SETTINGS_MODULE=None),
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        yield f"http://127.0.0.1:{process.stdout.readline().strip()}/"
    finally:
        process.kill()
        process.wait()
        process.stdout.close()


def test_a_second_start(kept_book, compare):
    def start():
        with started("--empty", **kept_book) as book:
            assert 'name="username"' in page_at(f"{book.url}login/")

    def start_bare():
        with bare_django() as url:
            assert page_at(url) == "a bare page"

    compare("second start to the first page", start, "bare Django to its one page", start_bare)
