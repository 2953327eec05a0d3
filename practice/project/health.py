"""`GET /health/`: whether the database is available and PDFs can be made."""

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import Error, connection
from django.http import JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET

from practice.project.system import pdf_problem


@never_cache
@login_not_required
@require_GET
def health(request):
    """Answer 200, or 503 if the database fails; each part is `ok` or the reason."""
    database = _database_problem()
    state = {
        "status": database or "ok",
        "version": settings.VERSION,
        "database": database or "ok",
        "pdf": pdf_problem() or "ok",
    }
    return JsonResponse(state, status=503 if database else 200)


def _database_problem() -> str:
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1 FROM practice_profile LIMIT 1")
    except Error as error:
        return f"The database is not available: {' '.join(str(error).split())}"
    return ""
