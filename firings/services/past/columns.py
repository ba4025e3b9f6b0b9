"""The columns of a list of past firings: those of the logbook, and more that sheets have."""

from studio.services.lists.columns import Column

MOST_SEGMENTS = 9
"""Of a schedule in one row."""

_ROW = (
    Column("firing", "firing", ("firing number",)),
    Column("title", "title"),
    Column("state", "state", ("status",)),
    Column("kiln", "kiln", ("fired in", "oven"), required=True),
    Column("schedule", "schedule", ("program", "programme", "schedule name"), required=True),
    Column("revision", "revision", ("rev", "version"), holds="number"),
    Column("process", "process", ("kind of firing",)),
    Column("fired_by", "fired by", ("loaded by", "operator")),
    Column(
        "started",
        "started",
        ("date", "day", "fired on", "fired", "start", "started at", "date fired"),
        required=True,
        holds="date",
    ),
    Column("time", "time", ("start time", "time of start"), saved=False),
    Column("opened", "opened", ("unloaded",), holds="date"),
    Column("opened_c", "opened at (°C)", holds="temperature"),
    Column(
        "peak",
        "recorded peak (°C)",
        ("peak", "top", "top temperature", "top temp", "highest", "peak temperature", "peak temp",
         "max temperature", "max temp", "highest temperature"),
        holds="temperature",
    ),
    Column(
        "hold",
        "recorded hold (min)",
        ("hold", "soak", "hold at the top", "top hold", "hold at peak"),
    ),
    Column("duration", "recorded duration (min)", ("duration", "lasted")),
    Column("energy", "energy (kWh)", ("energy", "kwh", "meter"), holds="number"),
    Column("pieces", "pieces", ("piece", "work", "object", "what")),
    Column("makers", "makers", ("maker", "artist", "made by", "by", "who")),
    Column("verdict", "verdict", ("verdict -2 to 2", "result", "outcome", "came out")),
    Column("faults", "faults", ("fault",)),
    Column("changed", "what else changed", ("also changed",)),
    Column("notes", "notes", ("note", "remarks", "comment", "comments")),
    Column("unit", "unit", ("units", "temperature unit", "degrees in"), saved=False),
    Column("glass", "glass", ("glass code", "colour", "color"), saved=False),
    Column("family", "family", ("glass family",), saved=False),
    Column("layers", "layers", ("layer",), holds="number", saved=False),
    Column("thickness", "thickness (mm)", ("thickness", "thick", "thickest"), holds="number",
           saved=False),
    Column("length", "length (mm)", holds="number", saved=False),
    Column("width", "width (mm)", holds="number", saved=False),
)  # fmt: skip


def part_of(segment: int, part: str) -> str:
    """The name of a segment's column.

    Parameters
    ----------
    segment : from 1
    part : "rate", "target" or "hold"

    Examples
    --------
    >>> part_of(3, "rate")
    'rate_3'
    """
    return f"{part}_{segment}"


def _segment(at: int) -> tuple[Column, ...]:
    return (
        Column(
            part_of(at, "rate"),
            f"segment {at} rate (°C/h)",
            (f"rate {at}", f"ramp {at}", f"segment {at} ramp"),
            holds="rate",
            saved=False,
        ),
        Column(
            part_of(at, "target"),
            f"segment {at} target (°C)",
            (f"target {at}", f"temperature {at}", f"temp {at}", f"segment {at} temperature"),
            holds="temperature",
            saved=False,
        ),
        Column(
            part_of(at, "hold"),
            f"segment {at} hold (min)",
            (f"hold {at}", f"soak {at}", f"segment {at} soak"),
            saved=False,
        ),
    )


COLUMNS = (*_ROW, *(column for at in range(1, MOST_SEGMENTS + 1) for column in _segment(at)))
