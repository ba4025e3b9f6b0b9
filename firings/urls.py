from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.views.defaults import page_not_found

from firings.views import logbook

app_name = "firings"


def _soon(request: HttpRequest, **kwargs: object) -> HttpResponse:
    return page_not_found(request, Exception())


# What is planned, put into the kiln, seen and judged.
record_patterns = [
    path("firings/plan/", _soon, name="firing_plan"),
    path("firings/afterwards/", _soon, name="firing_afterwards"),
    path("firings/<int:pk>/edit/", _soon, name="firing_edit"),
    path("firings/<int:pk>/start/", _soon, name="firing_start"),
    path("firings/<int:pk>/open/", _soon, name="firing_open"),
    path("firings/<int:pk>/call-off/", _soon, name="firing_call_off"),
    path("firings/<int:pk>/keyed/", _soon, name="keyed_edit"),
    path("firings/<int:pk>/events/add/", _soon, name="event_add"),
    path("firings/<int:pk>/load/", _soon, name="load_edit"),
    path("firings/<int:pk>/load/add/", _soon, name="piece_add"),
    path("loaded/<int:pk>/edit/", _soon, name="piece_edit"),
    path("loaded/<int:pk>/remove/", _soon, name="piece_remove"),
    path("loaded/<int:pk>/judge/", _soon, name="piece_judge"),
    path("loaded/<int:pk>/faults/add/", _soon, name="fault_add"),
    path("faults/<int:pk>/remove/", _soon, name="fault_remove"),
    path("pieces/<int:pk>/", _soon, name="piece_detail"),
    path("firings/<int:pk>/photographs/add/", _soon, name="photograph_add"),
    path("photographs/<int:pk>/<str:size>.jpg", _soon, name="photograph_file"),
    path("photographs/<int:pk>/remove/", _soon, name="photograph_remove"),
]

# What became of it, and what to do next.
tuning_patterns = [
    path("", _soon, name="today"),
    path("logbook/", logbook.logbook, name="logbook"),
    path("logbook/logbook.csv", logbook.logbook_csv, name="logbook_csv"),
    path("firings/<int:pk>/", _soon, name="firing_detail"),
    path("firings/<int:pk>/curve.json", _soon, name="firing_chart_data"),
    path("firings/<int:pk>/note/take/", _soon, name="note_take"),
    path("kilns/<int:pk>/history/", _soon, name="kiln_history"),
]

urlpatterns = [*record_patterns, *tuning_patterns]
