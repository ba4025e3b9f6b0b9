from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from schedules.queries.controller_memory import memory_of_revision
from schedules.queries.keying import keying_card as card_of
from schedules.queries.revision_page import chosen_kiln, kilns_for
from schedules.views.revision import revision_of


@require_GET
def keying_card(request: HttpRequest, pk: int, number: int) -> HttpResponse:
    revision = revision_of(request, pk, number)
    kilns = kilns_for(revision)
    kiln = chosen_kiln(kilns, request.GET.get("kiln"))
    if kiln is None:
        raise Http404("No kiln whose controller it could be keyed into.")
    context = {
        "section": "schedules",
        "schedule": revision.schedule,
        "revision": revision,
        "kilns": kilns,
        "page": card_of(revision, kiln),
        "memory": memory_of_revision(revision, kiln),
    }
    return render(request, "schedules/keying_card.html", context)
