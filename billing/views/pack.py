"""The pack of a year as one ZIP file."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST

from billing.pack import file_name, zipped_pack
from billing.reports.year_end import year_end
from practice.lib.errors import RuleBroken
from practice.lib.pdf import PdfUnavailable
from practice.lib.presses import answers_anew
from practice.lib.profile import Profile
from practice.lib.today import today


@answers_anew
@require_POST
def year_pack(request: HttpRequest, year: int) -> HttpResponse:
    """Make the pack of a year and answer with it; the next pack lists what differs from it."""
    profile = Profile.for_request(request)
    try:
        totals = year_end(year, profile, today())
    except RuleBroken as error:
        raise Http404(str(error)) from error
    try:
        content = zipped_pack(totals, profile, today())
    except PdfUnavailable as error:
        return render(request, "parts/no_pdf.html", {"why": str(error)}, status=503)
    response = HttpResponse(content, content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="year-{file_name(totals)}.zip"'
    return response
