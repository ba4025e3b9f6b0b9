"""What the demo studio measured in its kilns over the years; all of it invented."""

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from firings.actions.measuring import measurement_save
from firings.models import KilnMeasurement, Means
from studio.models import GlassFamily, Kiln, Person

PROBE = "type N probe, the studio’s"
# kiln, days ago, who, means, display, which, right within, what places showed, more
MEASURED: tuple[tuple[str, int, str, Means, float, str, float | None, dict[str, Any]], ...] = (
    ("Heron", 610, "mads", Means.THERMOMETER, 800.0, PROBE, 4.0, {"centre": 813.0}),
    ("Heron", 470, "mads", Means.TILES, 804.0, "tiles of the spring", 5.0,
     {"centre": 1, "front left": 0, "back": 1}),
    ("Heron", 420, "mads", Means.THERMOMETER, 802.0, PROBE, 4.0,
     {"centre": 803.0, "front left": 797.0, "back right": 805.0}),
    ("Heron", 300, "oona", Means.TILES, 804.0, "tiles of the autumn", 5.0,
     {"centre": 0, "back left": 0, "back": 1, "back right": 0, "left": 0, "right": 0,
      "front left": -1, "front": 0, "front right": 0}),
    ("Heron", 160, "mads", Means.THERMOMETER, 483.0, PROBE, 4.0,
     {"centre": 481.0, "front left": 477.0}),
    ("Heron", 42, "mads", Means.STRIPS, 600.0, "3 mm clear, cut from one sheet", None,
     {"centre": 4.0, "back left": 4.0, "back": 4.5, "back right": 4.0, "left": 3.5, "right": 4.0,
      "front left": 3.0, "front": 3.5, "front right": 4.0}),
    ("Wren", 240, "mads", Means.THERMOMETER, 806.0, PROBE, 4.0, {"centre": 809.0}),
    ("Wren", 80, "mads", Means.TILES, 804.0, "tiles of the autumn", 5.0,
     {"centre": 1, "back": 1, "front": 1}),
    ("Wren", 55, "inka", Means.THERMOMETER, 790.0, PROBE, 4.0, {"centre": 797.0, "front": 794.0}),
    ("Bittern", 210, "mads", Means.TILES, 804.0, "tiles of the autumn", 5.0,
     {"centre": -1, "left": -1, "right": 0}),
)  # fmt: skip
TILES_LOOK_AS_MEANT_AT_C = 804.0


def measuring_make(
    *,
    people: Mapping[str, Person],
    kilns: Mapping[str, Kiln],
    families: Mapping[str, GlassFamily],
    today: date,
) -> None:
    for name, days, who, means, display, which, within, shown in MEASURED:
        kiln = kilns[name]
        places = {place.name: place for place in kiln.places.all()}
        measurement = KilnMeasurement(
            kiln=kiln,
            measured_on=today - timedelta(days=days),
            measured_by=people[who],
            means=means,
            display_c=display,
            instrument=which,
            tolerance_c=within,
        )
        if means != Means.THERMOMETER:
            measurement.family = families["Millrace 90"]
        if means == Means.TILES:
            measurement.wanted_at_c = TILES_LOOK_AS_MEANT_AT_C
        elif means == Means.STRIPS:
            measurement.strip_thickness_mm, measurement.gap_mm = 3.0, 60.0
        measurement_save(
            measurement=measurement,
            readings={places[place]: value for place, value in shown.items()},
        )
