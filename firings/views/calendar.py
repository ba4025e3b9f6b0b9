"""Who has which kiln when: on a page, and for calendar programs."""

from datetime import date

from django.contrib import messages
from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import (
    conditional_page,
    require_GET,
    require_http_methods,
    require_POST,
    require_safe,
)

from firings.actions import booking
from firings.calendar_export import calendar_file
from firings.forms.booking import FeedForm
from firings.models import CalendarFeed, Firing, Piece
from firings.queries.calendar import week_of
from firings.queries.calendar_feeds import bookings_of, feed_at, feeds_of, wanted_in
from firings.views.fetch import number_in
from studio import access
from studio.models import Kiln, Person, Studio
from studio.receipts import once
from studio.requests import StudioRequest

PAGES = {Firing: "firings:firing_detail", Piece: "firings:piece_detail"}


@require_GET
def calendar(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "firing.see")
    asked = number_in(request.GET.get("kiln"))
    kiln = get_object_or_404(Kiln, pk=asked) if asked else None
    week = week_of(_day(request.GET.get("day")), timezone.now(), kiln)
    page = {"week": week, "kiln": kiln, "kilns": Kiln.objects.all(), "section": "calendar"}
    return render(request, "firings/calendar.html", page)


def _day(text: str | None) -> date:
    if not text:
        return timezone.localdate()
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise Http404 from None


@require_http_methods(["GET", "POST"])
@once
def calendar_feeds(request: StudioRequest) -> HttpResponse:
    access.require(request.user, "feed.change")
    form = FeedForm(request.POST if request.method == "POST" else None, reader=request.user)
    if form.is_valid():
        booking.feed_make(by=request.user, **form.facts())
        messages.success(request, "Here is its address.")
        return redirect("firings:calendar_feeds")
    feeds = [
        (feed, request.build_absolute_uri(reverse("firings:calendar_feed", args=[feed.token])))
        for feed in feeds_of(request.user)
    ]
    page = {"form": form, "feeds": feeds, "section": "calendar"}
    return render(request, "firings/calendar_feeds.html", page)


@require_POST
def calendar_feed_renew(request: StudioRequest, pk: int) -> HttpResponse:
    booking.feed_renew(feed=_feed_to_change(request.user, pk))
    messages.success(request, "It has a new address; the old one leads nowhere now.")
    return redirect("firings:calendar_feeds")


@require_POST
def calendar_feed_remove(request: StudioRequest, pk: int) -> HttpResponse:
    _feed_to_change(request.user, pk).delete()
    messages.success(request, "Removed; its address leads nowhere now.")
    return redirect("firings:calendar_feeds")


def _feed_to_change(person: Person, pk: int) -> CalendarFeed:
    feed = get_object_or_404(CalendarFeed, pk=pk)
    access.require(person, "feed.change", feed)
    return feed


@login_not_required
@require_safe
@conditional_page
def calendar_feed(request: HttpRequest, token: str) -> HttpResponse:
    """For whoever knows the address; calendar programs do not sign in."""
    feed = feed_at(token)
    if feed is None:
        raise Http404
    content = calendar_file(
        feed,
        Studio.current().name,
        bookings_of(feed, timezone.now()),
        wanted_in(feed),
        lambda thing: request.build_absolute_uri(reverse(PAGES[type(thing)], args=[thing.pk])),
    )
    answer = HttpResponse(content, content_type="text/calendar; charset=utf-8")
    answer["Content-Disposition"] = 'inline; filename="kilns.ics"'
    answer["Cache-Control"] = "private, max-age=300"
    answer["X-Robots-Tag"] = "noindex"
    return answer
