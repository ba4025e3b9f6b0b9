"""The lists of this app that people save as a file and bring in; read by `studio.lists`."""

from studio.actions.brought_lists import BroughtGlass, BroughtShelf
from studio.lists import Rows, SavedList, list_brought, list_saved
from studio.queries import saved_lists as rows

POINTS = ("strain point (°C)", "annealing point (°C)", "softening point (°C)")
LOTS = (
    *rows.SHELF_COLUMNS[:8], "came", "left", "in", "received", "supplier", "batch", "place",
    "price", "currency",
)  # fmt: skip
MOVEMENTS = (
    "line", "at", "lot", "glass", "what", "length (mm)", "width (mm)", "pieces", "amount", "in",
    "by", "what for", "part of line", "takes back line",
)  # fmt: skip
FAMILIES = ("family", *POINTS, "anneal soak at (°C)", "expansion", "note")
KILNS = (
    "kiln", "place", "in service", "chamber", "width (mm)", "depth (mm)", "height (mm)",
    "heat from", "highest (°C)", "power (kW)", "serial number", "segments", "controller reads",
    "thermocouple", "thermocouple fitted", "offset (°C difference)", "offset measured",
    "evidence for the offset", "note",
)  # fmt: skip
PLACES = ("kiln", "place", "from the left (%)", "from the back (%)", "reference place")
PEOPLE = ("name", "signs in as", "role", "e-mail", "reads temperatures in", "here since", "account")
CLASSES = ("class", "from", "until", "instructors", "students", "note")

GLASS_PAGE, SHELF_PAGE, KILN_PAGE = "studio:glass_list", "studio:shelf_list", "studio:kiln_list"
LEDGER = "What came to the shelf and went from it"
PLACED = "Places on the kilns’ shelves"


def _saved(key: str, title: str, act: str, page: str, columns: tuple[str, ...], of: Rows) -> None:
    list_saved(key, SavedList(title, act, page, columns, of))


_saved("glass", "Glass", "glass.see", GLASS_PAGE, rows.GLASS_COLUMNS, rows.glass_rows)
_saved("shelf", "On the shelf", "glass.see", SHELF_PAGE, rows.SHELF_COLUMNS, rows.shelf_rows)
_saved("lots", "All lots of glass", "glass.see", SHELF_PAGE, LOTS, rows.lot_rows)
_saved("movements", LEDGER, "glass.see", SHELF_PAGE, MOVEMENTS, rows.movement_rows)
_saved("families", "Families", "glass.see", "studio:family_list", FAMILIES, rows.family_rows)
_saved("kilns", "Kilns", "kiln.see", KILN_PAGE, KILNS, rows.kiln_rows)
_saved("places", PLACED, "kiln.see", KILN_PAGE, PLACES, rows.place_rows)
_saved("people", "People", "person.save_list", "studio:person_list", PEOPLE, rows.person_rows)
_saved("classes", "Classes", "person.see", "studio:class_list", CLASSES, rows.class_rows)

list_brought("glass", BroughtGlass())
list_brought("shelf", BroughtShelf())
