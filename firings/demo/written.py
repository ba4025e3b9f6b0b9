"""The demo studio's ten schedules, and the truth that its people have to find out by firing."""

from dataclasses import dataclass, field
from decimal import Decimal

from schedules.services.writing import WrittenSegment


@dataclass(frozen=True)
class DemoSchedule:
    """A schedule as first written, and the hidden rule by which its pieces come out.

    `wanted_shift` is ln(heat work wanted) − ln(heat work of revision 1 in a kiln that reads true);
    a verdict is `slope` × (what the piece got − what it wanted) plus a judge's noise.
    """

    name: str
    process: str
    family: str
    thinnest_mm: float
    thickest_mm: float
    owner: str
    kilns: tuple[str, ...]
    segments: tuple[tuple[float | None, float, int], ...]
    titles: tuple[str, ...]
    shape: str
    colours: tuple[str, ...]
    wanted: str
    size_mm: tuple[float, float] = (200.0, 200.0)
    layers: int = 2
    unit: str = "C"
    firings: int = 8
    wanted_shift: float = 0.0
    slope: float = 2.0
    relief: bool = False
    reason: str = "First writing, from the glass maker's sheet."
    faults: tuple[str, ...] = field(default=())
    last_fault: str = ""
    """What went wrong in its last firing, so that the note has to look elsewhere."""

    @property
    def mould(self) -> str:
        """What its pieces lie on or in."""
        return MOULDS.get(self.process, "")

    def written(self) -> list[WrittenSegment]:
        return [
            WrittenSegment(
                rate=None if rate is None else Decimal(str(rate)),
                target=Decimal(str(target)),
                hold_minutes=Decimal(hold),
            )
            for rate, target, hold in self.segments
        ]


MOULDS = {
    "full_fuse": "shelf",
    "contour_fuse": "shelf",
    "tack_fuse": "shelf",
    "fire_polish": "shelf",
    "slump": "ceramic",
    "drape": "steel",
    "cast": "plaster_silica",
    "bead_anneal": "fibre",
}
ANNEAL_6_MM = ((None, 482.0, 60), (83.0, 427.0, 0), (150.0, 371.0, 0))

SCHEDULES = (
    DemoSchedule(
        name="Full fuse, two layers",
        process="full_fuse",
        family="Millrace 90",
        thinnest_mm=5.0,
        thickest_mm=7.0,
        owner="inka",
        kilns=("Heron", "Heron", "Wren", "Heron"),
        segments=((150.0, 540.0, 0), (100.0, 670.0, 30), (330.0, 796.0, 10), *ANNEAL_6_MM),
        titles=("Tide blank", "Harbour tile", "Ebb panel"),
        shape="square",
        colours=("sea green", "white", "deep blue"),
        wanted="flat, edges just rounded",
        firings=12,
        wanted_shift=0.55,
        slope=2.2,
        faults=("small_bubbles",),
    ),
    DemoSchedule(
        name="Contour fuse, bars on a sheet",
        process="contour_fuse",
        family="Millrace 90",
        thinnest_mm=6.0,
        thickest_mm=9.0,
        owner="inka",
        kilns=("Heron", "Bittern"),
        segments=((110.0, 540.0, 0), (90.0, 670.0, 20), (300.0, 772.0, 10), *ANNEAL_6_MM),
        titles=("Reed panel", "Sedge panel"),
        shape="strip",
        colours=("clear", "turquoise", "smoke"),
        wanted="bars soft, their outlines kept",
        size_mm=(320.0, 110.0),
        layers=3,
        last_fault="crack_rounded",
        wanted_shift=-0.35,
        slope=2.4,
        relief=True,
    ),
    DemoSchedule(
        name="Tack fuse, relief tiles",
        process="tack_fuse",
        family="Millrace 90",
        thinnest_mm=6.0,
        thickest_mm=9.0,
        owner="oona",
        kilns=("Heron", "Wren", "Heron"),
        segments=((100.0, 540.0, 0), (90.0, 660.0, 15), (250.0, 740.0, 10), *ANNEAL_6_MM),
        titles=("Relief tile", "Shoal tile"),
        shape="square",
        colours=("clear", "amber", "turquoise"),
        wanted="relief plain to the finger, no sharp edge",
        layers=3,
        firings=10,
        wanted_shift=0.4,
        slope=2.0,
        relief=True,
    ),
    DemoSchedule(
        name="Slump, shallow bowl",
        process="slump",
        family="Millrace 90",
        thinnest_mm=5.0,
        thickest_mm=7.0,
        owner="ravi",
        kilns=("Heron", "Wren"),
        segments=((120.0, 540.0, 0), (100.0, 668.0, 10), *ANNEAL_6_MM),
        titles=("Mill bowl", "Weir bowl"),
        shape="bowl",
        colours=("turquoise", "white"),
        wanted="down to the mould, rim level",
        size_mm=(220.0, 220.0),
        layers=1,
        firings=10,
        wanted_shift=0.7,
        slope=1.7,
        faults=("uneven_slump",),
    ),
    DemoSchedule(
        name="Drape over the dome",
        process="drape",
        family="Millrace 96",
        thinnest_mm=3.0,
        thickest_mm=6.0,
        owner="wilf",
        kilns=("Wren",),
        unit="F",
        segments=(
            (250.0, 1000.0, 0),
            (200.0, 1225.0, 8),
            (None, 950.0, 60),
            (150.0, 800.0, 0),
            (250.0, 700.0, 0),
        ),
        titles=("Lamp shade", "Bell shade"),
        shape="bowl",
        colours=("lilac",),
        wanted="folds even, 90 mm deep",
        size_mm=(260.0, 260.0),
        layers=1,
        firings=6,
        wanted_shift=0.3,
        slope=1.9,
    ),
    DemoSchedule(
        name="Full fuse, iridised jewellery",
        process="full_fuse",
        family="Millrace 96",
        thinnest_mm=4.0,
        thickest_mm=7.0,
        owner="wilf",
        kilns=("Wren",),
        unit="F",
        segments=(
            (300.0, 1000.0, 0),
            (400.0, 1460.0, 10),
            (None, 950.0, 45),
            (150.0, 800.0, 0),
            (300.0, 700.0, 0),
        ),
        titles=("Pendants, a dozen", "Cufflinks"),
        shape="square",
        colours=("turquoise", "lilac"),
        wanted="domed, no sharp corner",
        size_mm=(40.0, 25.0),
        firings=9,
        wanted_shift=-0.5,
        slope=2.3,
        faults=("devitrification",),
    ),
    DemoSchedule(
        name="Fire polish after sawing",
        process="fire_polish",
        family="Millrace 90",
        thinnest_mm=6.0,
        thickest_mm=10.0,
        owner="oona",
        kilns=("Heron", "Bittern"),
        segments=((100.0, 540.0, 0), (250.0, 704.0, 8), *ANNEAL_6_MM),
        titles=("Sawn edge strip", "Lens"),
        shape="strip",
        colours=("deep blue",),
        wanted="shine back, edge still straight",
        size_mm=(240.0, 60.0),
        layers=1,
        firings=7,
        wanted_shift=0.2,
        slope=1.8,
    ),
    DemoSchedule(
        name="Open cast block, 25 mm",
        process="cast",
        family="Casting crystal",
        thinnest_mm=20.0,
        thickest_mm=28.0,
        owner="inka",
        kilns=("Bittern",),
        segments=(
            (45.0, 200.0, 120),
            (60.0, 560.0, 30),
            (120.0, 792.0, 90),
            (None, 430.0, 240),
            (15.0, 360.0, 0),
            (30.0, 310.0, 0),
            (90.0, 60.0, 0),
        ),
        titles=("Millstone", "Sluice block"),
        shape="block",
        colours=("amber",),
        wanted="mould filled to the corners, no folds",
        size_mm=(160.0, 120.0),
        layers=1,
        firings=5,
        wanted_shift=0.25,
        slope=1.6,
        last_fault="crack_sharp",
    ),
    DemoSchedule(
        name="Bead anneal, batch",
        process="bead_anneal",
        family="Millrace 96",
        thinnest_mm=6.0,
        thickest_mm=14.0,
        owner="wilf",
        kilns=("Wren",),
        unit="F",
        segments=((500.0, 950.0, 60), (120.0, 750.0, 0)),
        titles=("Beads of the week",),
        shape="beads",
        colours=("lilac", "rust red", "turquoise"),
        wanted="no stress under crossed polarisers",
        size_mm=(18.0, 14.0),
        layers=1,
        firings=6,
        slope=0.4,
    ),
    DemoSchedule(
        name="Float panel, full fuse",
        process="full_fuse",
        family="Float",
        thinnest_mm=8.0,
        thickest_mm=8.0,
        owner="mads",
        kilns=("Bittern", "Heron"),
        segments=(
            (120.0, 560.0, 0),
            (90.0, 690.0, 30),
            (250.0, 828.0, 15),
            (None, 548.0, 60),
            (60.0, 480.0, 0),
            (120.0, 370.0, 0),
        ),
        titles=("Window panel", "Door light"),
        shape="square",
        colours=("float", "smoke"),
        wanted="one sheet, bubbles let go",
        size_mm=(300.0, 300.0),
        firings=7,
        wanted_shift=0.35,
        slope=2.0,
        reason="First writing, from what other float panels here got.",
    ),
)
