"""The loggers that may send a kiln's readings: their tokens are made and taken back here."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_variables
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from firings.actions.logged_readings import KEPT_FOR
from firings.actions.logger import logger_token_make, logger_token_take_back
from firings.forms.logger import LoggerForm
from firings.forms.sent_readings import MOST_READINGS
from firings.models import LoggerToken
from firings.queries.logger import loggers_of, waiting_of
from studio import access
from studio.models import Kiln
from studio.receipts import once
from studio.requests import StudioRequest

LOGGERS_A_PAGE = 25
SHOWN_ONCE = "logger_token"
"""Of the session: the token just made, until its page was shown."""


def _fetch_kiln(request: StudioRequest, pk: int, act: str) -> Kiln:
    kiln = get_object_or_404(Kiln, pk=pk)
    access.require(request.user, act, kiln)
    return kiln


@never_cache
@require_http_methods(["GET", "POST"])
@once
def logger_list(request: StudioRequest, pk: int) -> HttpResponse:
    """A kiln's loggers; its keeper makes a token, which is shown on the next page and then never
    again."""
    if request.method == "POST":
        return _made(request, _fetch_kiln(request, pk, "kiln.change"))
    return _page(request, _fetch_kiln(request, pk, "kiln.see"), LoggerForm())


@sensitive_variables("given")
def _made(request: StudioRequest, kiln: Kiln) -> HttpResponse:
    form = LoggerForm(request.POST)
    if form.is_valid():
        try:
            token, given = logger_token_make(kiln=kiln, by=request.user, **form.cleaned_data)
        except ValidationError as error:
            form.add_error("name", error.messages)  # all that was keyed
        else:
            request.session[SHOWN_ONCE] = {"kiln": kiln.pk, "name": token.name, "given": given}
            return redirect("firings:logger_list", kiln.pk)
    return _page(request, kiln, form)


@sensitive_variables("shown")
def _page(request: StudioRequest, kiln: Kiln, form: LoggerForm) -> HttpResponse:
    shown = request.session.get(SHOWN_ONCE)
    if shown is not None:
        del request.session[SHOWN_ONCE]
    address = reverse("firings:readings_take", args=[kiln.pk])
    context = {
        "section": "kilns",
        "kiln": kiln,
        "form": form,
        "shown": shown if shown and shown["kiln"] == kiln.pk else None,
        "address": request.build_absolute_uri(address),
        "page": Paginator(loggers_of(kiln), LOGGERS_A_PAGE).get_page(request.GET.get("page")),
        "waiting": waiting_of(kiln),
        "kept_days": KEPT_FOR.days,
    }
    return render(request, "firings/logger_list.html", context)


@require_POST
def logger_take_back(request: StudioRequest, pk: int) -> HttpResponse:
    token = get_object_or_404(LoggerToken.objects.select_related("kiln"), pk=pk)
    access.require(request.user, "kiln.change", token.kiln)
    logger_token_take_back(token=token)
    messages.success(request, f"{token.name} can send nothing any more. What it sent stays.")
    return redirect("firings:logger_list", token.kiln_id)


@require_GET
def help_logger(request: StudioRequest) -> HttpResponse:
    page = {"most_readings": MOST_READINGS, "kept_days": KEPT_FOR.days}
    return render(request, "help/help_logger.html", page)
