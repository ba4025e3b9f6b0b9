"""What is said about firings: read, added, taken back."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST
from django.views.decorators.vary import vary_on_headers

from firings.actions import conversation as actions
from firings.forms.conversation import CommentForm
from firings.models import Firing
from firings.queries import conversation as queries
from firings.views.answers import put_at_fields
from firings.views.fetch import comment_to_take_back, firing_to_talk_of, number_in
from studio import access
from studio.receipts import once
from studio.requests import StudioRequest


@require_http_methods(["GET", "POST"])
@vary_on_headers("HX-Request")
def comments(request: StudioRequest, pk: int) -> HttpResponse:
    """The conversation by itself, or its card for a page on which it stands."""
    firing = firing_to_talk_of(request.user, pk)
    sent = request.method == "POST"
    form = CommentForm(
        request.POST if sent else None, request.FILES if sent else None, firing=firing
    )
    if form.is_valid():
        return _add(request, firing, form)
    if sent:
        form.ask_for_pictures_again()
    return _answer(request, firing, form)


@once
def _add(request: StudioRequest, firing: Firing, form: CommentForm) -> HttpResponse:
    """Within the receipt's transaction; the photograph was made ready before it began."""
    try:
        comment = actions.comment_add(firing=firing, by=request.user, **form.facts())
    except ValidationError as error:
        put_at_fields(form, error)
        form.ask_for_pictures_again()
        return _answer(request, firing, form)
    if request.htmx:  # its script follows to the card
        return redirect("firings:comments", firing.pk)
    return redirect(f"{reverse('firings:firing_detail', args=[firing.pk])}#comment-{comment.pk}")


def _answer(request: StudioRequest, firing: Firing, form: CommentForm) -> HttpResponse:
    page = {"firing": firing, "comment_form": form, "section": "logbook"}
    if request.htmx:
        page["conversation"] = queries.conversation_of(firing, request.user)
        return render(request, "firings/_comments.html", page)
    number = request.GET.get("page")
    page["conversation"], page["page"] = queries.conversation_page(firing, request.user, number)
    page["mentionable"] = queries.mentionable(firing, request.user)
    return render(request, "firings/comments.html", page)


@require_POST
def comments_read(request: StudioRequest, pk: int) -> HttpResponse:
    """Up to the latest comment that the page showed; a script swaps the button for nothing."""
    firing = firing_to_talk_of(request.user, pk)
    number = number_in(request.POST.get("until"))
    until = firing.comments.filter(pk=number).first() if number else None
    if until is not None:
        actions.comments_read(until=until, by=request.user)
    return HttpResponse() if request.htmx else redirect("firings:firing_detail", pk)


@require_POST
@once
def comment_take_back(request: StudioRequest, pk: int) -> HttpResponse:
    comment = comment_to_take_back(request.user, pk)
    actions.comment_take_back(comment=comment)
    messages.success(request, "Your comment is taken back.")
    return redirect("firings:firing_detail", comment.firing_id)


@require_GET
def conversation_list(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "comment.read")
    of_all = "all" in request.GET
    page = queries.conversations(request.user, of_all=of_all, number=request.GET.get("page"))
    return render(
        request,
        "firings/conversation_list.html",
        {"page": page, "of_all": of_all, "section": "logbook"},
    )
