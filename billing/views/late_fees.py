"""Late fees and interest: charged on a press, from the page of what is owed."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from billing.actions.late_fees import charge_late_fees
from practice.lib.errors import RuleBroken
from practice.lib.formats import counted
from practice.lib.today import today


@require_POST
def late_fees_charge(request: HttpRequest) -> HttpResponse:
    """Charge what is checked."""
    try:
        charges = charge_late_fees(request.POST.getlist("fee"), today())
    except RuleBroken as error:
        messages.error(request, str(error))
        return redirect("billing:owed")
    if charges:
        told = f"{counted(len(charges), 'line')} added. Each goes on its client's next invoice."
    else:
        told = "Nothing was checked, so nothing was charged."
    messages.success(request, told)
    return redirect("billing:owed")
