"""What people are told of firings that run, and what they want to be told."""

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from firings.actions import telling as actions
from firings.forms.telling import MessageWishForm
from firings.models import MessageWish
from firings.queries.telling import messages_for, told_before
from studio import access
from studio.requests import StudioRequest


@require_GET
def message_list(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "firing.see")
    page = {
        "told": messages_for(request.user, timezone.now()),
        "before": told_before(request.user),
        "section": "today",
    }
    return render(request, "firings/message_list.html", page)


@require_http_methods(["GET", "POST"])
def message_wishes(request: StudioRequest) -> HttpResponse:
    """Each for themselves."""
    access.require(request.user, "person.change", request.user)
    standing = MessageWish.objects.filter(person=request.user).first()
    form = MessageWishForm(request.POST or None, instance=standing)
    if request.method == "POST" and form.is_valid():
        actions.wish_keep(person=request.user, **form.cleaned_data)
        messages.success(request, "Saved.")
        return redirect("studio:account")
    page = {"form": form, "mail_works": settings.MAIL_WORKS, "section": "people"}
    return render(request, "firings/message_wishes.html", page)


@require_POST
def messages_seen(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "firing.see")
    numbers = [int(each) for each in request.POST.getlist("message") if each.isdecimal()]
    actions.messages_see(person=request.user, messages=numbers)
    return redirect("firings:message_list" if "list" in request.POST else "firings:today")
