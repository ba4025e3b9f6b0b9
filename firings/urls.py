from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.views.defaults import page_not_found

app_name = "firings"


def _soon(request: HttpRequest, **kwargs: object) -> HttpResponse:
    return page_not_found(request, Exception())


urlpatterns = [
    path("", _soon, name="today"),
    path("logbook/", _soon, name="logbook"),
    path("firings/<int:pk>/", _soon, name="firing_detail"),
]
