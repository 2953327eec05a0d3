"""What a phone recorded and the book could not take: the list, and each with what can become of it."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from practice.lib import formats
from practice.lib.list_rows import ListRow
from practice.lib.profile import Profile
from practice.models import PhoneEntry


@require_GET
def settle_list(request: HttpRequest) -> HttpResponse:
    """The same list whoever looks, what was recorded first on top."""
    locale = Profile.for_request(request).locale
    entries = PhoneEntry.objects.to_settle()
    rows = [ListRow("", str(each), recorded_in_words(each, locale), note=each.message) for each in entries]
    answer = f"{formats.counted(len(rows), 'entry', 'entries')} to settle" if rows else "Nothing to settle"
    return render(request, "phone/settle.html", {"rows": rows, "answer": f"{answer}."})


def recorded_in_words(entry: PhoneEntry, locale: str) -> str:
    return f"Recorded {formats.stamp(timezone.localtime(entry.at), locale)} by {entry.login}"
