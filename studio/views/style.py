from typing import NamedTuple

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from studio.actions.kilns import first_places
from studio.forms.shared_devices import WhoForm
from studio.forms.style import ExampleForm, ExampleSizeForm
from studio.models import Kiln, Person
from studio.queries.places import SpotMark, shelf_drawing
from studio.requests import StudioRequest


class Token(NamedTuple):
    name: str
    use: str


TOKENS = [
    Token("paper", "the page’s ground"),
    Token("sheet", "cards and fields"),
    Token("rule", "thin lines"),
    Token("rule-strong", "edges of what can be pressed or filled"),
    Token("ink", "text, and what was recorded"),
    Token("ink-soft", "secondary text"),
    Token("glass", "the accent: links, acts, what is planned"),
    Token("glass-pale", "a calm message"),
    Token("glass-ink", "text on the accent"),
    Token("anneal", "the annealing range in a curve"),
    Token("process", "the process’s range in a curve"),
    Token("warn", "what wants a look"),
    Token("warn-pale", "its ground"),
    Token("fault", "what failed, and grave acts"),
    Token("fault-pale", "its ground"),
]
VERDICTS = [
    (-2, "well short"),
    (-1, "a touch short"),
    (0, "as wanted"),
    (1, "a touch far"),
    (2, "well past"),
]
JUDGED = {
    0: SpotMark("−−", "short"),
    3: SpotMark("−", "short"),
    4: SpotMark("=", "wanted"),
    5: SpotMark("+", "far"),
}
SEGMENTS = [("150", "540", "0"), ("300", "804", "10"), ("", "482", "1:00")]


@require_GET
def style(request: StudioRequest) -> HttpResponse:
    """The living style page: every token and component, drawn by the style sheet itself."""
    kiln = Kiln(chamber_width_mm=500, chamber_depth_mm=420)
    places = first_places(kiln)
    for number, place in enumerate(places):
        place.pk = number
    context = {
        "tokens": TOKENS,
        "verdicts": VERDICTS,
        "segments": SEGMENTS,
        "shelf": shelf_drawing(kiln, places),
        "judged_shelf": shelf_drawing(kiln, places, marks=JUDGED, says="A cold side."),
        "form": ExampleForm({"title": "Tide blank", "peak_c": "hot", "process": "tack"}),
        "short": ExampleSizeForm(),
        "who": WhoForm(people=[Person(pk=1, name="Inka"), Person(pk=2, name="Oona")]),
    }
    return render(request, "help/style.html", context)
