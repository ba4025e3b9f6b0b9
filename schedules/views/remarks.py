"""Silencing a remark for a schedule, and hearing it again."""

from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_http_methods, require_POST

from schedules.actions.silence import remark_hear as hear
from schedules.actions.silence import remark_silence as silence
from schedules.forms.silence import SilenceForm
from schedules.models import Revision, SilencedRemark
from schedules.queries.remarks import HeardRemark
from schedules.queries.revision_page import revision_page
from schedules.views.revision import revision_of
from studio import access
from studio.receipts import once


@require_http_methods(["GET", "POST"])
@once
def remark_silence(request: HttpRequest, pk: int, number: int, key: str) -> HttpResponse:
    revision = revision_of(request, pk, number, "schedule.revise")
    shown = revision_page(revision, unit=None, kiln_pk=request.GET.get("kiln"))
    heard = None if shown.remarks is None else shown.remarks.named(key)
    back = _page_of(pk, request.GET.get("kiln", ""))
    return silence_heard(request, heard, revision, back=back, back_name=str(revision.schedule))


def silence_heard(
    request: HttpRequest,
    heard: HeardRemark | None,
    revision: Revision,
    *,
    back: str,
    back_name: str,
) -> HttpResponse:
    """Asks why a remark is to be silent on a revision's schedule, and leads back to its page."""
    if heard is None or not heard.may_be_silenced:
        messages.warning(request, "That remark is not there any more, or is never silenced.")
        return redirect(back)
    form = SilenceForm(request.POST or None)
    if form.is_valid():
        silence(
            schedule=revision.schedule,
            remark=heard.remark,
            reason=form.cleaned_data["reason"],
            by=request.user,  # type: ignore[arg-type]
        )
        messages.success(request, "Silenced. It is heard again when it becomes clearly worse.")
        return redirect(back)
    context = {
        "section": "schedules",
        "schedule": revision.schedule,
        "revision": revision,
        "heard": heard,
        "form": form,
        "back": back,
        "back_name": back_name,
    }
    return render(request, "schedules/remark_silence.html", context)


@require_POST
def remark_hear(request: HttpRequest, pk: int) -> HttpResponse:
    silenced = get_object_or_404(SilencedRemark.objects.select_related("schedule"), pk=pk)
    access.require(request.user, "schedule.revise", silenced.schedule)
    hear(silenced=silenced, by=request.user)  # type: ignore[arg-type]
    messages.success(request, "The remark is heard again.")
    back = request.POST.get("back", "")
    if not url_has_allowed_host_and_scheme(back, allowed_hosts=None):
        back = _page_of(silenced.schedule_id, request.POST.get("kiln", ""))
    return redirect(back)


def _page_of(schedule_pk: int, kiln_pk: str) -> str:
    page = reverse("schedules:schedule_detail", args=[schedule_pk])
    return f"{page}?{urlencode({'kiln': kiln_pk})}" if kiln_pk else page
