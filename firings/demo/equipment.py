"""The demo studio's kilns, glass and people; all of it invented."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from decimal import Decimal

from studio.actions.kilns import kiln_add
from studio.actions.stock import level_set, lot_receive, stock_cut
from studio.models import (
    GlassFamily,
    GlassKind,
    Kiln,
    Person,
    ServiceEntry,
    ServiceInterval,
    Studio,
)
from studio.services.stock import Rectangle


@dataclass(frozen=True)
class DemoPerson:
    sign_in_name: str
    name: str
    role: str
    unit: str = "C"


PEOPLE = (
    DemoPerson("mads", "Mads Ellery", "keeper"),
    DemoPerson("oona", "Oona Tarrant", "instructor"),
    DemoPerson("inka", "Inka Sorrel", "artist"),
    DemoPerson("wilf", "Wilf Ashdown", "artist", "F"),
    DemoPerson("ravi", "Ravi Penhale", "student"),
)
SIGN_IN_PHRASE = "millrace-glass"


def studio_make() -> Studio:
    studio = Studio.current()
    studio.name = "Millrace Glass Studio"
    studio.time_zone = "Europe/Lisbon"
    studio.is_demo = True
    studio.full_clean()
    studio.save()
    return studio


def people_make(joined_at: datetime) -> dict[str, Person]:
    people = {}
    for each in PEOPLE:
        person = Person(
            sign_in_name=each.sign_in_name,
            name=each.name,
            role=each.role,
            unit=each.unit,
            email=f"{each.sign_in_name}@millrace.example",
            joined_at=joined_at,
        )
        person.set_password(SIGN_IN_PHRASE)
        person.full_clean()
        person.save()
        people[each.sign_in_name] = person
    return people


def families_make() -> dict[str, GlassFamily]:
    rows = (
        ("Millrace 90", 493.0, 532.0, 677.0, 482.0, 90.0, "The studio's fusing glass."),
        ("Millrace 96", 476.0, 512.0, 680.0, 510.0, 96.0, "Rods and some sheet."),
        ("Float", 511.0, 548.0, 715.0, 548.0, 83.0, "Window glass; mind the tin side."),
        ("Casting crystal", 408.0, 440.0, 582.0, 430.0, 104.0, "Billets for the open moulds."),
    )
    families = {}
    for name, strain, annealing, softening, soak, expansion, note in rows:
        families[name] = GlassFamily.objects.create(
            name=name,
            strain_point_c=strain,
            annealing_point_c=annealing,
            softening_point_c=softening,
            anneal_soak_c=soak,
            expansion=expansion,
            note=note,
        )
    return families


def glass_make(families: dict[str, GlassFamily]) -> dict[str, GlassKind]:
    """Kinds of glass by colour; the colours are those that the pictures know."""
    rows = (
        ("Millrace 90", "M-001", "clear", "sheet", "transparent", 3.0),
        ("Millrace 90", "M-014", "sea green", "sheet", "transparent", 3.0),
        ("Millrace 90", "M-021", "deep blue", "sheet", "transparent", 3.0),
        ("Millrace 90", "M-033", "white", "sheet", "opalescent", 3.0),
        ("Millrace 90", "M-047", "turquoise", "sheet", "transparent", 3.0),
        ("Millrace 90", "M-052", "amber", "sheet", "striker", 3.0),
        ("Millrace 90", "M-060", "clear", "frit", "transparent", None),
        ("Millrace 90", "M-061", "white", "powder", "opalescent", None),
        ("Millrace 90", "M-070", "smoke", "stringer", "transparent", 1.0),
        ("Millrace 96", "N-003", "lilac", "rod", "transparent", 6.0),
        ("Millrace 96", "N-009", "rust red", "rod", "opalescent", 6.0),
        ("Millrace 96", "N-012", "turquoise", "sheet", "iridised", 3.0),
        ("Float", "", "float", "sheet", "float", 4.0),
        ("Casting crystal", "K-2", "amber", "billet", "transparent", 40.0),
    )
    # As the mill says of them: yellows by sulphur, reds by selenium, blues and greens by copper,
    # lilac by silver.
    carries = {
        "M-014": {"carries_copper": True},
        "M-047": {"carries_copper": True},
        "M-052": {"carries_sulphur": True},
        "N-003": {"carries_silver": True},
        "N-009": {"carries_sulphur": True},
        "N-012": {"carries_copper": True},
        "K-2": {"carries_lead": True},
    }
    kinds: dict[str, GlassKind] = {}
    for family, code, colour, form, look, thickness in rows:
        kind = GlassKind(
            family=families[family],
            maker="Millrace mill",
            code=code,
            colour=colour,
            form=form,
            look=look,
            thickness_mm=thickness,
            **carries.get(code, {}),
        )
        kind.full_clean()
        kind.save()
        kinds.setdefault(f"{family}: {colour}", kind)
    return kinds


def kilns_make(today: date, keeper: Person) -> dict[str, Kiln]:
    heron = Kiln(
        name="Heron",
        place="the long bench, by the window",
        chamber_width_mm=620,
        chamber_depth_mm=520,
        chamber_height_mm=240,
        heat_from="top",
        max_temperature_c=930.0,
        power_kw=4.8,
        serial_number="MR-0417",
        clearance_mm=300,
        controller_segments=8,
        full_power_entry="leave the rate empty",
        hold_format="h.mm",
        memory_slots=12,
        thermocouple_type="K",
        thermocouple_class="iec_2",
        thermocouple_fitted_on=today - timedelta(days=430),
        offset_c=0.0,
        offset_evidence="five witness tiles at 804 °C, within 2 °C",
        offset_measured_on=today - timedelta(days=300),
        full_power_limit_c=1180.0,
        rise_at_700_c_per_h=420.0,
        cooling_constant_h=3.4,
        slow_cooling_constant_h=6.6,
    )
    wren = Kiln(
        name="Wren",
        place="the small room",
        chamber_width_mm=380,
        chamber_depth_mm=380,
        chamber_height_mm=200,
        chamber_shape="many_sided",
        heat_from="both",
        max_temperature_c=1000.0,
        power_kw=2.9,
        serial_number="MR-0533",
        clearance_mm=300,
        controller_segments=6,
        controller_unit="F",
        controller_step=Decimal("1"),
        field_order="target_ramp_hold",
        full_power_entry="FULL",
        closing_entry="a target of 0 closes the schedule",
        thermocouple_type="N",
        thermocouple_class="astm_special",
        thermocouple_fitted_on=today - timedelta(days=90),
        offset_c=9.0,
        offset_evidence="three witness tiles at 804 °C; unproven elsewhere",
        offset_measured_on=today - timedelta(days=80),
        full_power_limit_c=1240.0,
        rise_at_700_c_per_h=610.0,
        cooling_constant_h=2.2,
        slow_cooling_constant_h=4.3,
        repeatability_c=2.0,
    )
    bittern = Kiln(
        name="Bittern",
        place="the yard shed",
        chamber_width_mm=900,
        chamber_depth_mm=600,
        chamber_height_mm=350,
        heat_from="both",
        max_temperature_c=900.0,
        power_kw=7.2,
        serial_number="MR-0098",
        clearance_mm=450,
        controller_segments=20,
        ramp_entry="time",
        hold_format="h:mm",
        full_power_entry="a time of 0:00",
        thermocouple_type="K",
        thermocouple_class="iec_1",
        thermocouple_fitted_on=today - timedelta(days=800),
        offset_c=-5.0,
        offset_evidence="two witness tiles at 804 °C",
        offset_measured_on=today - timedelta(days=210),
        full_power_limit_c=1060.0,
        rise_at_700_c_per_h=240.0,
        cooling_constant_h=5.5,
        slow_cooling_constant_h=11.0,
        note="Its elements are the first ones; it rises more slowly each winter.",
    )
    kilns = {}
    for kiln in (heron, wren, bittern):
        kilns[kiln.name] = kiln_add(kiln=kiln)
    diary = (
        (heron, "thermocouple", 430, "Mads Ellery", "New after it read low for weeks."),
        (heron, "shelf_wash", 33, "Inka Sorrel", "Five coats, dried over night."),
        (heron, "inspection", 150, "an electrician", "Terminals and earth checked."),
        (wren, "thermocouple", 90, "Mads Ellery", "Changed with the relay; offset measured anew."),
        (wren, "relay", 90, "an electrician", "The old one stuck once in the hold."),
        (wren, "shelf_wash", 61, "Ravi Penhale", ""),
        (bittern, "elements", 1900, "an electrician", "Side elements."),
        (bittern, "shelf_wash", 48, "Wilf Ashdown", "Two shelves."),
    )
    for kiln, kind, days_ago, done_by, note in diary:
        ServiceEntry.objects.create(
            kiln=kiln,
            kind=kind,
            done_on=today - timedelta(days=days_ago),
            done_by=done_by,
            note=note,
            written_by=keeper,
        )
    for kiln, kind, firings, hours in (
        (heron, "shelf_wash", 10, None),
        (wren, "shelf_wash", 4, None),
        (bittern, "elements", None, 1500),
    ):
        ServiceInterval.objects.create(
            kiln=kiln, kind=kind, every_firings=firings, every_hours=hours
        )
    return kilns


def shelf_make(kinds: dict[str, GlassKind], keeper: Person, today: date) -> None:
    """A few lots: sheet of which one was cut, frit in two lots, and glass that runs low."""
    sheet = Rectangle(500, 400)
    bought = (
        ("Millrace 90: sea green", 3, sheet, "54.00", 40),
        ("Millrace 90: white", 2, sheet, "41.00", 40),
        ("Millrace 90: turquoise", 2, sheet, "52.00", 12),
        ("Millrace 90: amber", 2, sheet, "63.00", 12),
        ("Millrace 90: deep blue", 1, Rectangle(300, 250), "13.50", 120),
        ("Casting crystal: amber", 5_200_000, None, "88.00", 75),
        ("Millrace 90: smoke", 40, None, "16.00", 75),
    )
    lots = {}
    for name, amount, size, price, days in bought:
        lots[name] = lot_receive(
            kind=kinds[name],
            by=keeper,
            amount=amount,
            size=size,
            price=Decimal(price),
            received_on=today - timedelta(days=days),
            supplier="Millrace mill",
            place="rack B" if size else "drawer 2",
        )
    stock_cut(
        lot=lots["Millrace 90: sea green"],
        by=keeper,
        sheet=sheet,
        wanted=Rectangle(180, 120),
        offcuts=[Rectangle(400, 320)],
        reason="tide bowl",
    )
    level_set(kind=kinds["Millrace 90: deep blue"], low_below=2 * sheet.area)
