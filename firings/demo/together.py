"""Two loads of the demo studio's evening class: one loaded together, one opened and not judged."""

import io
from datetime import datetime, timedelta

from firings.actions.loading import piece_place, piece_scan
from firings.actions.photographs import photographs_add
from firings.actions.spots import spot_put
from firings.actions.waiting import piece_wait
from firings.demo.rendering import Look, render_shelf
from firings.models import Firing, FiringState, LoadedPiece, Moment, Piece
from studio.models import GlassKind, Person
from studio.pictures import prepare_picture

SCHEDULE = "Tack fuse, relief tiles"
# who, shape, colour, accents, and where its middle lies: of the shelf's width and depth
LIES = (
    ("oona", "square", "clear", ("amber",), 0.5, 0.5, "centre"),
    ("ravi", "square", "sea green", ("white",), 0.2, 0.26, "back left"),
    ("inka", "disc", "deep blue", ("turquoise",), 0.8, 0.74, "front right"),
)
TITLES = {"planned": ("Sluice gate tile", "Night water"), "opened": ("Reed tile", "Rain on slate")}
HALF_WIDTH = 0.07


def together_make(people: dict[str, Person], glass: dict[str, GlassKind], now: datetime) -> None:
    class_firings = Firing.objects.filter(revision__schedule__name=SCHEDULE)
    planned = class_firings.get(state=FiringState.PLANNED)
    for (who, _, colour, *_), title in zip(LIES[1:], TITLES["planned"], strict=True):
        piece = _waits(people[who], title, glass[f"Millrace 90: {colour}"], now)
        piece_scan(firing=planned, piece=piece, by=people["oona"])
    opened = class_firings.filter(state=FiringState.OPENED, kiln=planned.kiln).latest("opened_at")
    for (who, _, colour, *_), title in zip(LIES[1:], TITLES["opened"], strict=True):
        LoadedPiece.objects.create(
            firing=opened,
            piece=Piece.objects.create(title=title, maker=people[who]),
            glass=glass[f"Millrace 90: {colour}"],
            layers=3,
            thickest_mm=9.0,
            thinnest_mm=6.0,
            wanted="relief plain to the finger",
        )
    _photograph(planned, Moment.LOADED, people["oona"])
    _photograph(opened, Moment.AFTER, people["oona"])


def _waits(maker: Person, title: str, glass: GlassKind, now: datetime) -> Piece:
    waiting = piece_wait(
        maker=maker,
        title=title,
        process="tack_fuse",
        glass=glass,
        layers=3,
        thickest_mm=9.0,
        thinnest_mm=6.0,
        length_mm=150.0,
        width_mm=150.0,
        since=now - timedelta(days=2),
    )
    return waiting.piece


def _photograph(firing: Firing, moment: Moment, by: Person) -> None:
    heat = None if moment == Moment.LOADED else 0.2
    looks = [
        (Look(shape, colour, accents, heat, relief=True, seed=3 * number), left, top)
        for number, (_, shape, colour, accents, left, top, _) in enumerate(LIES)
    ]
    picture = prepare_picture(io.BytesIO(render_shelf(looks)))
    (shelf,) = photographs_add(firing=firing, by=by, pictures=[picture], moment=moment)
    load = {loaded.piece.maker.sign_in_name: loaded for loaded in firing.load.all()}
    for who, _, _, _, left, top, place in LIES:
        loaded = load[who]
        spot_put(photograph=shelf, loaded=loaded, by=by, x=left, y=top, half_width=HALF_WIDTH)
        piece_place(loaded=loaded, place=firing.kiln.places.get(name=place))
