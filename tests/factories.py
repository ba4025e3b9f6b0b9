"""Small makers of rows for tests: each fills in what a test does not care about."""

from collections.abc import Iterable, Mapping
from datetime import timedelta
from decimal import Decimal
from io import BytesIO
from typing import Any

from django.utils import timezone
from PIL import Image

from firings.models import (
    READING_OF,
    Firing,
    Forecast,
    KilnMeasurement,
    KilnPrice,
    Ladder,
    LoadedPiece,
    Means,
    Piece,
    PlaceReading,
    PriceList,
    Rung,
)
from schedules.actions.card import schedule_card_keep
from schedules.models import Revision, RevisionSegment, Schedule
from schedules.services.writing import WrittenSegment
from studio.actions.stock import lot_receive
from studio.models import (
    ClassMember,
    GlassFamily,
    GlassKind,
    GlassLot,
    Kiln,
    LearntResponse,
    Person,
    ShelfPlace,
    TeachingClass,
)
from studio.pictures import prepare_picture
from studio.services.stock import Rectangle

PASSWORD = "a-long-enough-phrase"


def make_person(sign_in_name: str = "inka", **overrides: Any) -> Person:
    person = Person(
        sign_in_name=sign_in_name, name=overrides.pop("name", sign_in_name.title()), **overrides
    )
    person.set_password(PASSWORD)
    person.save()
    return person


def make_class(
    *instructors: Person, students: Iterable[Person] = (), **overrides: Any
) -> TeachingClass:
    kilns = overrides.pop("kilns", ())
    made = TeachingClass.objects.create(
        **{
            "name": "Beginners",
            "made_by": instructors[0],
            "starts_on": timezone.localdate() - timedelta(days=30),
        }
        | overrides
    )
    made.instructors.set(instructors)
    made.kilns.set(kilns)
    for student in students:
        ClassMember.objects.create(teaching_class=made, person=student)
    return made


def make_family(name: str = "soft 90", **overrides: Any) -> GlassFamily:
    return GlassFamily.objects.get_or_create(
        name=name,
        defaults={
            "strain_point_c": 493.0,
            "annealing_point_c": 532.0,
            "softening_point_c": 677.0,
            "anneal_soak_c": 482.0,
            "expansion": 90.0,
        }
        | overrides,
    )[0]


def make_glass(**overrides: Any) -> GlassKind:
    overrides.setdefault("family", make_family() if "family" not in overrides else None)
    return GlassKind.objects.create(
        **{"colour": "sea green", "code": "", "thickness_mm": 3.0} | overrides
    )


def make_lot(person: Person, kind: GlassKind | None = None, **overrides: Any) -> GlassLot:
    """Two sheets of 500 × 400 mm, unless told otherwise."""
    given: dict[str, Any] = {"amount": 2, "size": Rectangle(500, 400), "price": Decimal(48)}
    return lot_receive(kind=kind or make_glass(), by=person, **given | overrides)


def make_kiln(name: str = "Heron", **overrides: Any) -> Kiln:
    return Kiln.objects.create(
        **{
            "name": name,
            "chamber_width_mm": 500,
            "chamber_depth_mm": 450,
            "chamber_height_mm": 220,
            "max_temperature_c": 950.0,
            "power_kw": 3.6,
            "controller_segments": 8,
            "cooling_constant_h": 3.5,
            "slow_cooling_constant_h": 7.0,
        }
        | overrides
    )


def make_learnt_response(kiln: Kiln, **overrides: Any) -> LearntResponse:
    """What recordings taught of a kiln that heats and cools about as its keyed figures say."""
    covariance = [[64.0, 0, 0, 0], [0, 225.0, 0, 0], [0, 0, 4e5, 0], [0, 0, 0, 1.6e6]]
    return LearntResponse.objects.create(
        **{
            "kiln": kiln,
            "full_power_limit_c": kiln.full_power_limit_c,
            "rise_at_700_c_per_h": kiln.rise_at_700_c_per_h,
            "cooling_constant_h": kiln.cooling_constant_h,
            "slow_cooling_constant_h": kiln.slow_cooling_constant_h,
            "covariance": covariance,
            "recordings": 4,
        }
        | overrides
    )


def make_place(kiln: Kiln, name: str = "centre", **overrides: Any) -> ShelfPlace:
    return ShelfPlace.objects.create(
        kiln=kiln, name=name, **{"x_percent": 50, "y_percent": 50} | overrides
    )


def make_measurement(
    kiln: Kiln, by: Person, shown: Mapping[ShelfPlace, Any] | None = None, **overrides: Any
) -> KilnMeasurement:
    """By a second thermometer at 800 °C, unless told otherwise; `shown` is by place."""
    given = {"means": Means.THERMOMETER, "display_c": 800.0, "tolerance_c": 3.0} | overrides
    measurement = KilnMeasurement.objects.create(kiln=kiln, measured_by=by, **given)
    field = READING_OF[Means(measurement.means)]
    for place, value in (shown or {}).items():
        PlaceReading.objects.create(measurement=measurement, place=place, **{field: value})
    return measurement


FULL_FUSE: list[tuple[str | None, str, int]] = [
    ("150", "540", 0),
    ("300", "677", 30),
    ("330", "804", 10),
    (None, "482", 60),
    ("80", "370", 0),
]


def make_schedule(owner: Person, **overrides: Any) -> Schedule:
    overrides.setdefault("family", make_family() if "family" not in overrides else None)
    return Schedule.objects.create(
        **{
            "name": "Full fuse, two layers",
            "process": "full_fuse",
            "thinnest_mm": 6.0,
            "thickest_mm": 6.0,
            "owner": owner,
        }
        | overrides
    )


def make_revision(
    schedule: Schedule,
    segments: list[tuple[str | None, str, int]] | None = None,
    **overrides: Any,
) -> Revision:
    number = overrides.pop("number", schedule.revisions.count() + 1)
    revision = Revision.objects.create(
        schedule=schedule,
        number=number,
        **{"reason": "first writing", "made_by": schedule.owner, "unit": "C"} | overrides,
    )
    for position, (rate, target, hold) in enumerate(segments or FULL_FUSE, start=1):
        RevisionSegment.objects.create(
            revision=revision,
            position=position,
            rate=None if rate is None else Decimal(rate),
            target=Decimal(target),
            hold_minutes=hold,
        )
    return revision


def make_card(person: Person, **overrides: Any) -> Schedule:
    """A schedule of an old card, with its photograph."""
    file = BytesIO()
    Image.new("RGB", (64, 48), "beige").save(file, "PNG")
    file.seek(0)
    given = {
        "name": "From the tin", "process": "full_fuse", "family": make_family(),
        "thinnest_mm": 6.0, "thickest_mm": 6.0, "unit": "C",
        "segments": [WrittenSegment(Decimal(150), Decimal(804), Decimal(10))],
        "photograph": prepare_picture(file),
    }  # fmt: skip
    return schedule_card_keep(owner=person, **given | overrides)


def make_firing(person: Person, **overrides: Any) -> Firing:
    kiln = overrides.pop("kiln", None) or Kiln.objects.first() or make_kiln()
    revision = overrides.pop("revision", None) or make_revision(make_schedule(person))
    state = overrides.get("state", "planned")
    if state in ("firing", "opened"):
        overrides.setdefault("started_at", timezone.now() - timedelta(hours=20))
    if state == "opened":
        overrides.setdefault("opened_at", timezone.now() - timedelta(hours=1))
    return Firing.objects.create(
        kiln=kiln, revision=revision, fired_by=person, written_by=person, **overrides
    )


def load_piece(firing: Firing, **overrides: Any) -> LoadedPiece:
    maker = overrides.pop("maker", firing.fired_by)
    piece = overrides.pop("piece", None) or Piece.objects.create(
        title=overrides.pop("title", "Tide blank"), maker=maker
    )
    overrides.setdefault("is_served", not firing.load.exists())
    return LoadedPiece.objects.create(
        firing=firing,
        piece=piece,
        **{"layers": 2, "thickest_mm": 6.0, "thinnest_mm": 6.0} | overrides,
    )


def make_ladder(loaded: LoadedPiece, **overrides: Any) -> Ladder:
    """A test series by the maker of this tile, which is its only rung so far."""
    firing = loaded.firing
    ladder = Ladder.objects.create(
        **{
            "schedule": firing.revision.schedule,
            "kiln": firing.kiln,
            "name": "opal tack",
            "reason": "The peak of the new opal",
            "thickest_mm": 6.0,
            "varies": "peak",
            "unit": firing.revision.unit,
            "first": Decimal(794),
            "step": Decimal(7),
            "begun_from": firing.revision,
            "made_by": loaded.piece.maker,
        }
        | overrides
    )
    Rung.objects.create(
        ladder=ladder, number=1, value=Decimal(794), revision=firing.revision, loaded=loaded
    )
    return ladder


def make_forecast(firing: Firing, **overrides: Any) -> Forecast:
    """What the note of a firing said, of a change unless told otherwise."""
    forecast = Forecast.objects.create(
        **{
            "firing": firing,
            "revision": firing.revision,
            "kiln": firing.kiln,
            "action": "change",
            "chance_now": 0.5,
            "chance_then": 0.7,
        }
        | overrides
    )
    forecast.rests_on.add(firing)
    return forecast


def make_prices(kiln: Kiln | None = None, **overrides: Any) -> PriceList:
    """Prices and a fee rule that hold for a year already; of a kiln that is given, its own too."""
    prices = PriceList.objects.create(
        **{
            "valid_from": timezone.localdate() - timedelta(days=365),
            "currency": "EUR",
            "per_kwh": Decimal("0.31"),
            "kiln_hour": Decimal("0.40"),
            "wear_firing": Decimal("1.50"),
            "fee_firing": Decimal(4),
            "fee_shelf": Decimal(20),
            "fee_kwh": Decimal("0.35"),
            "fee_least": Decimal(6),
            "charges_glass": True,
        }
        | overrides
    )
    if kiln is not None:
        KilnPrice.objects.create(price_list=prices, kiln=kiln, fee_shelf=Decimal(26))
    return prices
