"""What is seen on a piece, its likely cause, and the one thing to try first.

Common practice, no source. The rows are data: what a row names beyond the studio's step limits, or
what touches rates, the anneal or the shelf, is said in words by a template and left to the person.
"""

from dataclasses import dataclass, replace

FUSES = ("full_fuse", "contour_fuse", "fire_polish", "cast")
TACKS = ("tack_fuse",)
SLUMPS = ("slump", "drape")

SHARP_EDGES_DATE_A_CRACK = ("full_fuse", "contour_fuse", "tack_fuse", "fire_polish", "cast")


@dataclass(frozen=True)
class Try:
    """One thing to try, with the range that the trade gives for it.

    `low` and `high` are °C for a temperature or a difference, s for a hold, °C/h for a rate, and a
    bare factor where the act scales something; None where the act has no number. `between` is the
    range of temperatures of the glass, °C, in which a rate is meant.

    Examples
    --------
    >>> Try("lengthen_hold", 600.0, 1200.0).high
    1200.0
    """

    act: str
    low: float | None = None
    high: float | None = None
    between: tuple[float, float] | None = None

    def by_display(self, offset: float) -> "Try":
        """The same where a display tells the temperature; `offset` is glass minus display, °C.

        Examples
        --------
        >>> Try("faster_ramp", between=(700.0, 760.0)).by_display(-7.0).between
        (707.0, 767.0)
        """
        if self.between is None:
            return self
        low, high = self.between
        return replace(self, between=(low - offset, high - offset))


@dataclass(frozen=True)
class FaultRow:
    """A row of the table.

    Attributes
    ----------
    seen : the fault's code, or for heat work a code of its own.
    causes : likely causes.
    tries : first tries, the preferred one first.
    leave_alone : what stays as it is.
    needs : +1 where more heat work is wanted, −1 where less is, 0 where the fault is of another
        kind and the top of the schedule is not what to change.
    processes : the processes for which the row is meant; empty means all.
    """

    seen: str
    causes: tuple[str, ...]
    tries: tuple[Try, ...]
    leave_alone: tuple[str, ...]
    needs: int = 0
    processes: tuple[str, ...] = ()


HEAT_WORK_ROWS: tuple[FaultRow, ...] = (
    FaultRow(
        "relief_left",
        ("too_little_heat_work",),
        (Try("raise_peak", 5.0, 5.0), Try("lengthen_hold", 300.0, 600.0)),
        ("anneal", "first_ramp"),
        +1,
        FUSES,
    ),
    FaultRow(
        "spread",
        ("too_much_heat_work",),
        (Try("lower_peak", 5.0, 10.0), Try("shorten_hold", 300.0, 300.0)),
        ("anneal",),
        -1,
        FUSES,
    ),
    FaultRow(
        "tack_loose",
        ("too_little_heat_work",),
        (Try("lengthen_hold", 300.0, 600.0), Try("raise_peak", 5.0, 5.0)),
        ("cooling",),
        +1,
        TACKS,
    ),
    FaultRow(
        "tack_flat",
        ("too_much_heat_work",),
        (Try("lower_peak", 10.0, 10.0),),
        ("cooling",),
        -1,
        TACKS,
    ),
    FaultRow(
        "slump_incomplete",
        ("too_little_heat_work", "thick_blank"),
        (Try("lengthen_hold", 600.0, 1200.0),),
        ("jumps_of_peak",),
        +1,
        SLUMPS,
    ),
    FaultRow(
        "mould_mark",
        ("too_hot",),
        (Try("lower_peak", 10.0, 15.0), Try("look_in")),
        ("anneal",),
        -1,
        SLUMPS,
    ),
)

FAULT_ROWS: tuple[FaultRow, ...] = (
    FaultRow(
        "uneven_slump",
        ("not_level", "not_centred", "uneven_weight", "too_fast"),
        (Try("level_and_centre"), Try("slow_ramp", None, 100.0, between=(540.0, 680.0))),
        ("peak_up",),
        processes=SLUMPS,
    ),
    FaultRow(
        "split",
        ("top_heated_faster_than_bottom",),
        (Try("scale_first_ramp", 0.5, 0.5),),
        ("hold",),
    ),
    FaultRow(
        "small_bubbles",
        ("trapped_air",),
        (
            Try("lengthen_bubble_hold", 1800.0, 1800.0),
            Try("slow_ramp", 30.0, 55.0, between=(600.0, 670.0)),
        ),
        ("peak",),
    ),
    FaultRow(
        "large_bubble",
        ("hollow_shelf", "thin_glass", "too_fast", "too_hot"),
        (
            Try("level_shelf_and_paper"),
            Try("bubble_hold", 1800.0, None),
            Try("slow_ramp", None, 110.0, between=(670.0, 800.0)),
            Try("lower_peak", 10.0, 10.0),
        ),
        ("peak_up",),
    ),
    FaultRow(
        "bubble",
        ("trapped_air", "hollow_shelf"),
        (Try("lengthen_bubble_hold", 1800.0, 1800.0), Try("level_shelf_and_paper")),
        ("peak_up",),
    ),
    FaultRow(
        "devitrification",
        ("dirt", "slow_through_devitrification_range"),
        (
            Try("clean_glass"),
            Try("faster_ramp", between=(700.0, 760.0)),
            Try("shorten_hold", 300.0, 300.0),
        ),
        ("firing_again_alone",),
    ),
    FaultRow(
        "dog_bone",
        ("thinner_than_6_mm", "rough_separator"),
        (Try("lay_up_thickness"), Try("smoother_separator"), Try("cooler_for_longer")),
        ("anneal",),
    ),
    FaultRow(
        "needles",
        ("thinner_than_6_mm", "rough_separator"),
        (Try("lay_up_thickness"), Try("smoother_separator"), Try("cooler_for_longer")),
        ("anneal",),
    ),
    FaultRow(
        "crack",
        ("heated_too_fast", "annealing", "families_do_not_fit"),
        (Try("look_at_the_edges"), Try("stress_test")),
        ("peak", "hold"),
    ),
    FaultRow(
        "crack_rounded",
        ("heated_too_fast",),
        (Try("scale_first_ramp", 0.5, 0.5, between=(20.0, 540.0)),),
        ("peak", "hold", "anneal"),
    ),
    FaultRow(
        "crack_sharp",
        ("annealing", "opened_early"),
        (Try("next_thickness_row"),),
        ("peak", "hold"),
        processes=SHARP_EDGES_DATE_A_CRACK,
    ),
    # A slump is too cool to round an edge, so that a sharp one can't tell heating from annealing.
    FaultRow(
        "crack_sharp",
        ("unclear",),
        (Try("stress_test"), Try("scale_first_ramp", 0.5, 0.5, between=(20.0, 540.0))),
        ("peak", "hold"),
        processes=SLUMPS,
    ),
    FaultRow(
        "crack_colour",
        ("families_do_not_fit",),
        (Try("stress_test"),),
        ("peak", "hold", "rates", "anneal"),
    ),
    FaultRow("crazing", ("stuck_to_the_shelf",), (Try("new_separator"),), ("anneal",)),
    FaultRow(
        "stuck", ("worn_separator", "long_and_hot"), (Try("new_separator"),), ("anneal", "peak_up")
    ),
    FaultRow(
        "stuck_wash",
        ("reused_wash", "opalescent_glass", "long_and_hot"),
        (Try("coat_again"), Try("lower_peak", 5.0, 5.0)),
        ("anneal",),
    ),
    FaultRow(
        "colour_wrong",
        ("striker", "reaction_of_colours"),
        (Try("test_tile"), Try("lengthen_hold", 300.0, 300.0)),
        ("anneal",),
    ),
)

PATTERN_ROWS: tuple[FaultRow, ...] = (
    FaultRow("same_place_short", ("cold_spot",), (Try("move_turn_or_baffle"),), ("peak",)),
    FaultRow(
        "cooler_month_by_month",
        ("element", "relay", "supply", "thermocouple_reads_high"),
        (Try("have_kiln_inspected"),),
        ("schedules",),
    ),
    FaultRow(
        "hotter_month_by_month",
        ("thermocouple_pulled_back", "thermocouple_reads_low"),
        (Try("inspect_before_next_firing"),),
        ("schedules",),
    ),
)


def row_for_fault(fault: str, process: str | None = None) -> FaultRow | None:
    """The row of a fault, for this process where the table tells processes apart.

    Examples
    --------
    >>> row_for_fault("crack_rounded").leave_alone
    ('peak', 'hold', 'anneal')
    >>> row_for_fault("crack_sharp", "slump").causes
    ('unclear',)
    >>> row_for_fault("a code that the table doesn't know") is None
    True
    """
    rows = [row for row in (*FAULT_ROWS, *HEAT_WORK_ROWS) if row.seen == fault]
    fitting = [row for row in rows if not row.processes or process in row.processes]
    return next(iter(fitting or rows), None)


def row_for_verdict(process: str | None, verdict: int) -> FaultRow | None:
    """The row that says how a process gets more or less heat work; None for "as wanted".

    Examples
    --------
    >>> row_for_verdict("slump", -1).tries[0].act
    'lengthen_hold'
    """
    if verdict == 0:
        return None
    needs = -1 if verdict > 0 else 1
    return next(
        (row for row in HEAT_WORK_ROWS if row.needs == needs and process in row.processes), None
    )
