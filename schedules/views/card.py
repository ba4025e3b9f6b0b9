"""An old card: kept with its photograph as the first revision of a schedule."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from schedules.actions.card import schedule_card_keep
from schedules.forms.card import CardForm
from schedules.forms.editor import CARD_REASON, Editor
from schedules.models import ScheduleCard
from schedules.views.editor import editor_context, one_act
from schedules.views.schedule import schedule_of
from studio import access
from studio.picture_file import picture_file
from studio.receipts import once

PAGE = "schedules/schedule_card_add.html"


@require_http_methods(["GET", "POST"])
def schedule_card_add(request: HttpRequest) -> HttpResponse:
    access.require(request.user, "schedule.write")
    if "do" in request.POST:
        card = CardForm()
        if request.FILES:
            card = CardForm(request.POST, request.FILES)
            card.ask_for_pictures_again()
        return one_act(request, PAGE, _editor(request), card=card)
    return _card_save(request)


@once
def _card_save(request: HttpRequest) -> HttpResponse:
    editor = _editor(request)
    data, files = (request.POST, request.FILES) if request.method == "POST" else (None, None)
    card = CardForm(data, files)
    if request.method == "POST" and editor.is_valid() and editor.facts and card.is_valid():
        try:
            schedule = schedule_card_keep(
                owner=request.user,  # type: ignore[arg-type]
                photograph=card.cleaned_data["photographs"][0],
                **editor.facts.cleaned_data,
                segments=editor.written,
                unit=editor.unit,
                reason=editor.revision.cleaned_data["reason"] or CARD_REASON,
                written_for=editor.revision.cleaned_data["written_for"],
            )
        except ValidationError as error:
            editor.revision.add_error(None, error.messages)
        else:
            messages.success(request, f"{schedule} is on record as its card says, as revision 1.")
            return redirect("schedules:schedule_detail", pk=schedule.pk)
    card.ask_for_pictures_again()
    return render(request, PAGE, editor_context(editor, card=card))


@require_safe
def schedule_card_file(request: HttpRequest, pk: int, size: str) -> HttpResponseBase:
    """The only address of a card's photograph. It never changes: browsers keep it."""
    card = get_object_or_404(ScheduleCard, schedule=schedule_of(request, pk))
    return picture_file({"large": card.picture, "small": card.small}.get(size))


def _editor(request: HttpRequest) -> Editor:
    return Editor(
        reader_unit=request.user.unit,  # type: ignore[union-attr]
        data=request.POST if request.method == "POST" else None,
        asks_unit=True,
    )
