from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from studio.requests import StudioRequest
from studio.rights_words import rights_in_words


@require_GET
def help_index(request: StudioRequest) -> HttpResponse:
    return render(request, "help/help_index.html")


@require_GET
def help_words(request: StudioRequest) -> HttpResponse:
    return render(request, "help/help_words.html")


@require_GET
def help_cautions(request: StudioRequest) -> HttpResponse:
    return render(request, "help/help_cautions.html")


@require_GET
def help_rights(request: StudioRequest) -> HttpResponse:
    """Made of the table itself."""
    return render(request, "help/help_rights.html", {"subjects": rights_in_words()})
