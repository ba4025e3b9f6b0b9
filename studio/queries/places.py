"""The map of a kiln's shelf: seen from above, the front at the bottom."""

from collections.abc import Mapping
from dataclasses import dataclass

from studio.models import ChamberShape, Kiln, ShelfPlace

LONG_SIDE = 300.0  # of the drawing, in its own units
LONGEST_LABEL = 14


@dataclass(frozen=True)
class SpotMark:
    """What a page shows at a place: a sign to be read, and a tone that says the same in colour:
    "short", "wanted" or "far".
    """

    sign: str
    tone: str


@dataclass(frozen=True)
class Spot:
    x: float
    y: float
    label_y: float
    label: str
    is_reference: bool
    mark: SpotMark | None = None

    @property
    def sign_y(self) -> float:
        return self.y + 4


@dataclass(frozen=True)
class ShelfDrawing:
    """What `parts/shelf_map.html` draws; lengths in the drawing's own units."""

    width: float
    height: float
    shape: str
    spots: list[Spot]
    says: str

    @property
    def frame(self) -> tuple[float, float, float, float]:
        """Left, top, width and height of all that is drawn."""
        return -3, -3, self.width + 6, self.height + 24

    @property
    def view_box(self) -> str:
        return " ".join(f"{each:.0f}" for each in self.frame)

    @property
    def ratio(self) -> float:
        _, _, width, height = self.frame
        return height / width

    def point_at(self, left: float, top: float) -> tuple[float, float]:
        """The point of the drawing at these fractions of its width and height."""
        x, y, width, height = self.frame
        return x + left * width, y + top * height

    @property
    def half_width(self) -> float:
        return self.width / 2

    @property
    def half_height(self) -> float:
        return self.height / 2

    @property
    def front_at(self) -> float:
        return self.height + 17

    @property
    def corners(self) -> str:
        """The outline of a many-sided chamber, as the points of a polygon."""
        parts = [(0.3, 0), (0.7, 0), (1, 0.3), (1, 0.7), (0.7, 1), (0.3, 1), (0, 0.7), (0, 0.3)]
        return " ".join(f"{x * self.width:.0f},{y * self.height:.0f}" for x, y in parts)


def shelf_drawing(
    kiln: Kiln,
    places: list[ShelfPlace],
    *,
    marks: Mapping[int, SpotMark] | None = None,
    says: str = "",
) -> ShelfDrawing:
    """The places of a shelf, each with its mark, by its key, where there is one.

    `says` is the sentence that says the same; without one the places are named.
    """
    scale = LONG_SIDE / max(kiln.chamber_width_mm, kiln.chamber_depth_mm)
    width, height = kiln.chamber_width_mm * scale, kiln.chamber_depth_mm * scale
    spots = []
    for place in places:
        # Kept off the edge, so that neither the spot nor its name is cut.
        x = 12 + place.x_percent / 100 * (width - 24)
        y = 12 + place.y_percent / 100 * (height - 38)
        mark = (marks or {}).get(place.pk)
        spots.append(Spot(x, y, y + 23, _label(place.name), place.is_reference, mark))
    return ShelfDrawing(width, height, _outline(kiln), spots, says or _says(places))


def used_places(kiln: Kiln) -> set[int]:
    """The places that some record names: they are renamed or moved, never removed."""
    used: set[int] = set()
    for relation in ShelfPlace._meta.related_objects:
        rows = relation.related_model._default_manager.filter(
            **{f"{relation.field.name}__kiln": kiln}
        )
        used.update(rows.values_list(relation.field.attname, flat=True).distinct())
    return used


def _label(name: str) -> str:
    return name if len(name) <= LONGEST_LABEL else f"{name[: LONGEST_LABEL - 1]}…"


def _outline(kiln: Kiln) -> str:
    if kiln.chamber_shape in (ChamberShape.ROUND, ChamberShape.OVAL):
        return "ellipse"
    return "polygon" if kiln.chamber_shape == ChamberShape.MANY_SIDED else "rect"


def _says(places: list[ShelfPlace]) -> str:
    names = ", ".join(f"{p.name} (reference)" if p.is_reference else p.name for p in places)
    return f"Seen from above, from the back to the front: {names}." if names else "No places yet."
