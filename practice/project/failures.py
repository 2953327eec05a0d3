"""The page for what went wrong on the server: a full disk gets its own, with what to do."""

import sys

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from practice.project.room import is_full


def server_error(request: HttpRequest) -> HttpResponse:
    """Answer 507 where the disk is full, else 500. Django calls it while it handles the exception."""
    error = sys.exc_info()[1]
    if error and is_full(error, settings.DATA_DIR):
        return render(None, "disk_full.html", status=507)
    return render(None, "500.html", status=500)
