"""The review desk: what waits for an instructor, worked from one to the next."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from firings.actions.review import ReviewedMeanwhileError
from firings.actions.review import piece_review as review
from firings.forms.review import ReviewForm
from firings.models import FiringState
from firings.queries import review as queries
from firings.views.answers import put_at_fields, told_at_firing
from firings.views.fetch import loaded_piece_to_review
from studio import access
from studio.receipts import once
from studio.requests import StudioRequest


@require_GET
def review_desk(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "piece.review")
    desk = queries.review_desk(request.user, request.studio, timezone.now())
    return render(request, "firings/review_desk.html", {"desk": desk, "section": "people"})


@require_http_methods(["GET", "POST"])
@once
def piece_review(request: StudioRequest, pk: int) -> HttpResponse:
    loaded = loaded_piece_to_review(request.user, pk)
    if loaded.firing.state != FiringState.OPENED:
        error = ValidationError("A piece is reviewed once its kiln was opened.")
        return told_at_firing(request, loaded.firing_id, error)
    page = queries.piece_to_review(pk, request.user, request.studio)
    form = ReviewForm(request.POST or None, review=page.review, criteria=page.criteria)
    if form.is_valid():
        try:
            review(loaded=loaded, by=request.user, **form.facts())
        except ReviewedMeanwhileError as error:
            put_at_fields(form, error)
            page = queries.piece_to_review(pk, request.user, request.studio)
            # What was typed stays, and can be sent over what the other wrote once it was read.
            form.show_over(page.review)
        except ValidationError as error:
            put_at_fields(form, error)
        else:
            messages.success(request, f"“{loaded.piece}” is reviewed.")
            following = queries.next_to_review(loaded, request.user)
            if following is not None and "next" in request.POST:
                return redirect("firings:piece_review", following)
            return redirect("firings:review_desk")
    context = {"page": page, "loaded": page.loaded, "form": form, "section": "people"}
    return render(request, "firings/piece_review.html", context)
