"""Every page of the site with an address that shows it filled; used by the tests that visit all."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta
from io import BytesIO

from django.contrib.auth.tokens import default_token_generator
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from PIL import Image

from firings.actions.photographs import photographs_add
from firings.actions.recording_files import recording_files_add
from firings.actions.spot_readings import spot_reading_add
from firings.actions.spots import spot_put
from firings.models import (
    CalendarFeed,
    Comment,
    Fault,
    FiringEvent,
    ForecastScore,
    Label,
    Message,
    Piece,
    PieceStep,
    StoredPiece,
    UnknownFiring,
    WaitingPiece,
)
from schedules.models import SilencedRemark
from studio.models import (
    FurnitureCoat,
    Invitation,
    KilnFurniture,
    Person,
    PersonAtDevice,
    ServiceEntry,
    SharedDevice,
    ShortCode,
    StockLevel,
)
from studio.pictures import prepare_picture
from tests.factories import (
    load_piece,
    make_card,
    make_class,
    make_family,
    make_firing,
    make_forecast,
    make_glass,
    make_kiln,
    make_ladder,
    make_lot,
    make_measurement,
    make_person,
    make_place,
    make_prices,
    make_revision,
    make_schedule,
)
from tests.firings.logger_files import recorded
from tests.studio.lists.bringing import csv_file, previewed

# Names that answer to POST alone, or with something else than a page.
NO_PAGES = {
    "firings:calendar_feed",
    "firings:calendar_feed_remove",
    "firings:calendar_feed_renew",
    "firings:comment_take_back",
    "firings:comments_read",
    "firings:comparison_csv",
    "firings:comparison_json",
    "firings:event_remove",
    "firings:fault_remove",
    "firings:firing_card_keyed",
    "firings:firing_chart_data",
    "firings:firing_mend",
    "firings:firing_plan_mend",
    "firings:firing_take_newest",
    "firings:kiln_learn",
    "firings:kiln_measured_csv",
    "firings:logbook_csv",
    "firings:logger_take_back",
    "firings:measurement_remove",
    "firings:messages_seen",
    "firings:note_take",
    "firings:offset_adopt",
    "firings:openapi",
    "firings:photograph_file",
    "schedules:schedule_card_file",
    "firings:class_pieces_csv",
    "firings:class_progress_csv",
    "firings:person_progress_csv",
    "firings:class_statement_list_csv",
    "firings:person_statement_csv",
    "firings:statement_list_csv",
    "firings:photograph_remove",
    "firings:ladder_close",
    "firings:ladder_plan",
    "firings:ladder_reopen",
    "firings:piece_code",
    "firings:piece_remove",
    "firings:rung_code",
    "firings:rung_take",
    "firings:load_place",
    "firings:spot_crop",
    "firings:spot_remove",
    "firings:spots_fit",
    "firings:furniture_coat",
    "firings:furniture_put_away",
    "firings:glass_give_back",
    "firings:recording_csv",
    "firings:recording_original",
    "firings:recording_remove",
    "firings:readings_take",
    "firings:recording_take_back",
    "firings:runaway_answer",
    "firings:side_by_side_csv",
    "firings:spot_reading_remove",
    "firings:step_again",
    "firings:step_move",
    "firings:step_reopen",
    "firings:step_wait",
    "firings:waiting_withdraw",
    "firings:year_csv",
    "firings:year_costs_csv",
    "firings:year_faults_csv",
    "firings:unknown_firing_close",
    "firings:waiting_put_in",
    "schedules:remark_hear",
    "schedules:revision_curve_data",
    "schedules:schedule_archive",
    "schedules:schedule_restore",
    "studio:class_code_renew",
    "studio:class_join",
    "studio:class_join_by",
    "studio:class_member_take_out",
    "studio:device_here",  # of a device; tests/browser/test_shared_device.py looks at it
    "studio:device_take_away",
    "studio:short_code_locks_known",
    "studio:short_code_take_away",
    "studio:glass_archive",
    "studio:glass_unarchive",
    "studio:invitation_withdraw",
    "studio:list_csv",
    "studio:list_import_cancel",
    "studio:list_import_look_again",
    "studio:list_import_refused",
    "studio:list_import_run",
    "studio:lot_code",
    "studio:movement_take_back",
    "studio:person_activate",
    "studio:person_deactivate",
    "studio:person_set_role",
    "studio:reset_link_make",
    "studio:service_entry_remove",
    "studio:sign_out",
    "studio:signed_in_now",
    "studio:worker",
}
SIGNED_OUT = {
    "firings:calendar_feed",
    "firings:openapi",
    "firings:readings_take",
    "studio:first_visit",
    "studio:invitation_accept",
    "studio:password_forgotten",
    "studio:password_sent",
    "studio:password_set",
    "studio:sign_in",
    "studio:signed_in_now",
    "studio:worker",
}


@dataclass(frozen=True)
class PageAddress:
    name: str
    address: str

    @property
    def signed_out(self) -> bool:
        return self.name in SIGNED_OUT


def url_names() -> Iterator[str]:
    """All names of the site's own addresses, such as "studio:kiln_detail"."""

    def walk(patterns: list[URLPattern | URLResolver], prefix: str) -> Iterator[str]:
        for pattern in patterns:
            if isinstance(pattern, URLResolver):
                inner = f"{pattern.namespace}:" if pattern.namespace else prefix
                yield from walk(pattern.url_patterns, inner)
            else:
                yield f"{prefix}{pattern.name}"

    return walk(get_resolver().url_patterns, "")


def fill_studio(keeper: Person, artist: Person) -> list[PageAddress]:
    """A small studio in which every page has something to show, and those pages' addresses."""
    kiln = make_kiln()
    centre = make_place(kiln, is_reference=True)
    glass = make_glass(family=make_family())
    lot = make_lot(artist, glass)
    past = previewed(
        keeper,
        csv_file(
            ("started", "kiln", "schedule", "revision", "pieces", "recorded peak (°C)", "verdict"),
            ("2024-03-04", "Heron", "Full fuse, two layers", 1, "Moss tile", 804, "as wanted"),
            ("2024-03-05", "Dodo", "Full fuse, two layers", 1, "Moss tile", 804, "as wanted"),
        ),
        "firings",
    )
    brought = previewed(
        keeper,
        csv_file(
            ("lot", "length (mm)", "width (mm)", "pieces"),
            (lot.pk, 500, 400, 1),
            (lot.pk, 500, 400, "a few"),
            (lot.pk + 1, 500, 400, 1),
        ),
    )
    device = SharedDevice.objects.create(name="mill tablet", digest="-", set_up_by=keeper)
    ShortCode.objects.create(person=keeper, code_hash="-")
    PersonAtDevice.objects.create(device=device, person=keeper, untold_lock_at=timezone.now())
    StockLevel.objects.create(kind=glass, low_below=10**6)
    entry = ServiceEntry.objects.create(kiln=kiln, kind="relay", written_by=keeper)
    prices = make_prices(kiln=kiln)
    front = make_place(kiln, "front", y_percent=83)
    measured = make_measurement(kiln, keeper, {centre: 805.0, front: 796.0}, instrument="probe")
    make_measurement(
        kiln,
        keeper,
        {centre: 0, front: -1},
        means="tiles",
        measured_on=timezone.localdate() - timedelta(days=200),
    )
    schedule = make_schedule(artist)
    first = make_revision(schedule, written_for=kiln)
    newest = make_revision(
        schedule,
        [("150", "540", 0), ("300", "677", 30), ("330", "808", 12), (None, "482", 60)],
        reason="Four degrees hotter.",
        written_for=kiln,
        copied_from=first,
    )
    hasty = make_schedule(artist, name="Too much in a hurry")
    make_revision(
        hasty,
        [("400", "540", 0), ("600", "880", 10), (None, "482", 20), ("330", "60", 0)],
        written_for=kiln,
    )
    SilencedRemark.objects.create(
        schedule=hasty,
        code="soak_short",
        position=3,
        severity="warn",
        figure=1200.0,
        limit=3402.0,
        reason="Test tiles, looked at between crossed filters.",
        silenced_by=artist,
    )
    opened = make_firing(
        artist,
        kiln=kiln,
        revision=newest,
        state="opened",
        title="Tide blank",
        recorded_peak_c=806.0,
        recorded_hold_s=600,
        recorded_duration_s=36000,
        started_at=timezone.now() - timedelta(days=3),
        opened_at=timezone.now() - timedelta(days=2),
    )
    loaded = load_piece(opened, glass=glass, place=centre, verdict=-1, judged_by=artist)
    ladder = make_ladder(loaded, kiln=kiln, glass=glass)
    mould = KilnFurniture.objects.create(name="Shallow bowl, 300")
    FurnitureCoat.objects.create(
        furniture=mould, by=keeper, coated_at=opened.made_at - timedelta(days=9)
    )
    loaded.lies_on = mould
    loaded.save()
    day = timezone.localdate()
    PieceStep.objects.create(
        piece=loaded.piece, position=1, kind="full_fuse", loaded=loaded, wanted="flat"
    )
    cut = PieceStep.objects.create(
        piece=loaded.piece, position=2, kind="cut", wanted_by=day - timedelta(days=2)
    )
    PieceStep.objects.create(piece=loaded.piece, position=3, kind="tack_fuse", schedule=hasty)
    PieceStep.objects.create(piece=loaded.piece, position=4, kind="slump", skipped_because="no")
    stay = StoredPiece.objects.create(piece=loaded.piece, place="shelf C", stored_by=keeper)
    Fault.objects.create(loaded_piece=loaded, kind="small_bubbles", noted_by=artist)
    FiringEvent.objects.create(firing=opened, kind="vented", noted_by=artist)
    five = [0.05, 0.15, 0.7, 0.08, 0.02]
    forecast = make_forecast(opened, peak_delta_c=5.0, chances_now=five, chances_then=five)
    ForecastScore.objects.create(firing=opened, forecast=forecast, fired="as_advised", verdict=-1)
    file = BytesIO()
    Image.new("RGB", (640, 480), "teal").save(file, "JPEG")
    file.seek(0)
    (shelf,) = photographs_add(firing=opened, by=artist, pictures=[prepare_picture(file)])
    spot_put(photograph=shelf, loaded=loaded, by=artist, x=0.4, y=0.5)
    Comment.objects.create(firing=opened, said_by=artist, words="Edges softer than last time.")
    recording = recorded(opened, by=artist)
    recording_files_add(firing=opened, by=artist, files=[SimpleUploadedFile("x.csv", b"no table")])
    spot_reading_add(
        firing=opened,
        by=artist,
        at=opened.started_at + timedelta(hours=4),
        temperature_c=705.0,
        note="Edges soft.",
    )
    running = make_firing(artist, kiln=kiln, revision=newest, state="firing", title="Ebb panel")
    load_piece(running, glass=glass)
    planned = make_firing(
        artist,
        kiln=kiln,
        revision=newest,
        title="Harbour tile",
        planned_start=timezone.now() + timedelta(days=2),
    )
    taught = make_class(keeper, students=[make_person("tove", role="student")], kilns=[kiln])
    load_piece(planned, glass=glass, thickest_mm=19.0, thinnest_mm=19.0)
    CalendarFeed.objects.create(made_by=keeper)
    waits = WaitingPiece.objects.create(
        piece=Piece.objects.create(title="Waits", maker=artist),
        process="full_fuse",
        glass=glass,
        thickest_mm=6.0,
        length_mm=200.0,
        width_mm=180.0,
    )
    Message.objects.create(
        person=keeper,
        firing=running,
        kind="peak_near",
        about_at=timezone.now(),
        temperature_c=808.0,
    )
    free = Label.objects.create(kiln=make_kiln("Reed", place="by the north door"))
    unknown = UnknownFiring.objects.create(
        kiln=make_kiln("Wren"), seen_c=612.0, noted_by=artist, note="no slip"
    )
    invitation = Invitation.objects.create(invited_for="Somebody new", invited_by=keeper)
    uid = urlsafe_base64_encode(force_bytes(artist.pk))
    arguments: dict[str, dict[str, object]] = {
        "firings:comments": {"pk": opened.pk},
        "firings:event_add": {"pk": opened.pk},
        "firings:fault_add": {"pk": loaded.pk},
        "firings:firing_call_off": {"pk": planned.pk},
        "firings:firing_card": {"pk": planned.pk},
        "firings:firing_clearing": {"pk": planned.pk},
        "firings:firing_detail": {"pk": opened.pk},
        "firings:firing_let_go": {"pk": planned.pk},
        "firings:firing_edit": {"pk": opened.pk},
        "firings:firing_now": {"pk": running.pk},
        "firings:firing_open": {"pk": running.pk},
        "firings:firing_remark_silence": {"pk": planned.pk, "key": "load-thickness-outside"},
        "firings:firing_start": {"pk": planned.pk},
        "firings:keyed_edit": {"pk": opened.pk},
        "firings:kiln_code": {"code": free.code},
        "firings:kiln_history": {"pk": kiln.pk},
        "firings:kiln_label": {"pk": free.kiln_id},
        "firings:kiln_measured": {"pk": kiln.pk},
        "firings:logger_list": {"pk": kiln.pk},
        "firings:measurement_add": {"pk": kiln.pk},
        "firings:measurement_change": {"pk": measured.pk},
        "firings:load_edit": {"pk": planned.pk},
        "firings:load_labels": {"pk": opened.pk},
        "firings:load_together": {"pk": planned.pk},
        "firings:photograph_spots": {"pk": shelf.pk},
        "firings:class_progress": {"pk": taught.pk},
        "firings:person_portfolio": {"pk": artist.pk},
        "firings:person_progress": {"pk": artist.pk},
        "firings:person_statement": {"pk": artist.pk},
        "firings:class_statement_list": {"pk": taught.pk},
        "firings:firing_cost": {"pk": opened.pk},
        "firings:price_list_change": {"pk": prices.pk},
        "firings:furniture_change": {"pk": mould.pk},
        "firings:furniture_detail": {"pk": mould.pk},
        "firings:ladder_detail": {"pk": ladder.pk},
        "firings:ladder_labels": {"pk": ladder.pk},
        "firings:ladder_make": {"pk": schedule.pk},
        "firings:rung_judge": {"pk": ladder.rungs.get().pk},
        "firings:piece_store": {"pk": loaded.piece_id},
        "firings:step_add": {"pk": loaded.piece_id},
        "firings:step_change": {"pk": cut.pk},
        "firings:step_done": {"pk": cut.pk},
        "firings:step_skip": {"pk": cut.pk},
        "firings:steps_begin": {"pk": waits.piece_id},
        "firings:stay_end": {"pk": stay.pk},
        "firings:photograph_add": {"pk": opened.pk},
        "firings:piece_add": {"pk": opened.pk},
        "firings:piece_detail": {"pk": loaded.piece_id},
        "firings:piece_edit": {"pk": loaded.pk},
        "firings:piece_glass": {"pk": loaded.pk},
        "firings:piece_judge": {"pk": loaded.pk},
        "firings:piece_label": {"pk": loaded.piece_id},
        "firings:piece_review": {"pk": loaded.pk},
        "firings:power_cut": {"pk": running.pk},
        "firings:recording_add": {"pk": opened.pk},
        "firings:recording_import": {"pk": recording.pk},
        "firings:schedule_forecasts": {"pk": schedule.pk},
        "firings:revision_to_kiln": {"pk": schedule.pk, "number": 2},
        "firings:spot_reading_add": {"pk": opened.pk},
        "firings:unknown_firing": {"pk": unknown.pk},
        "firings:schedule_tuning": {"pk": schedule.pk},
        "firings:waiting_change": {"pk": waits.pk},
        "schedules:keying_card": {"pk": schedule.pk, "number": 2},
        "schedules:kiln_memory": {"pk": kiln.pk},
        "schedules:remark_silence": {"pk": hasty.pk, "number": 1, "key": "heating_fast-1"},
        "schedules:revision_carry": {"pk": schedule.pk, "number": 2},
        "schedules:revision_copy": {"pk": schedule.pk, "number": 2},
        "schedules:revision_detail": {"pk": schedule.pk, "number": 1},
        "schedules:revision_difference": {"pk": schedule.pk},
        "schedules:schedule_detail": {"pk": schedule.pk},
        "schedules:schedule_edit": {"pk": schedule.pk},
        "schedules:class_schedules": {"pk": taught.pk},
        "studio:class_change": {"pk": taught.pk},
        "studio:class_detail": {"pk": taught.pk},
        "studio:class_rubric": {"pk": taught.pk},
        "studio:list_import_add": {"key": "shelf"},
        "studio:list_import_columns": {"pk": brought.pk},
        "studio:list_import_detail": {"pk": brought.pk},
        "studio:family_change": {"pk": glass.family_id},
        "studio:glass_change": {"pk": glass.pk},
        "studio:glass_detail": {"pk": glass.pk},
        "studio:glass_level": {"pk": glass.pk},
        "studio:glass_receive": {"pk": glass.pk},
        "studio:glass_take": {"pk": glass.pk},
        "studio:lot_count": {"pk": lot.pk},
        "studio:lot_cut": {"pk": lot.pk},
        "studio:lot_detail": {"pk": lot.pk},
        "studio:lot_return": {"pk": lot.pk},
        "studio:lot_take": {"pk": lot.pk},
        "studio:invitation_accept": {"token": invitation.token},
        "studio:invitation_detail": {"pk": invitation.pk},
        "studio:kiln_change": {"pk": kiln.pk},
        "studio:kiln_detail": {"pk": kiln.pk},
        "studio:password_set": {
            "uidb64": uid,
            "token": default_token_generator.make_token(artist),
        },
        "studio:person_detail": {"pk": artist.pk},
        "studio:person_make_anonymous": {"pk": artist.pk},
        "studio:place_list_change": {"pk": kiln.pk},
        "studio:service_diary": {"pk": kiln.pk},
        "studio:service_entry_add": {"pk": kiln.pk},
        "studio:service_intervals": {"pk": kiln.pk},
        "studio:service_entry_change": {"pk": entry.pk},
        "studio:trail_detail": {"kind": "firing", "pk": opened.pk},
    }
    pages = [
        PageAddress(name, reverse(name, kwargs=arguments.get(name)))
        for name in url_names()
        if name not in NO_PAGES
    ]
    more = [
        ("schedules:schedule_detail", reverse("schedules:schedule_detail", args=[hasty.pk])),
        (
            "schedules:schedule_detail",
            reverse("schedules:schedule_detail", args=[make_card(artist).pk]),
        ),
        (
            "schedules:revision_copy",
            f"{reverse('schedules:revision_copy', args=[hasty.pk, 1])}?mend=heating_fast-1",
        ),
        ("firings:firing_detail", reverse("firings:firing_detail", args=[running.pk])),
        ("firings:firing_detail", reverse("firings:firing_detail", args=[planned.pk])),
        ("firings:logbook", reverse("firings:logbook") + "?words=nothing-like-that"),
        (
            "studio:lot_cut",
            f"{reverse('studio:lot_cut', args=[lot.pk])}?sheet=500x400&wanted=180x120",
        ),
        ("studio:list_import_columns", reverse("studio:list_import_columns", args=[past.pk])),
        ("studio:list_import_detail", reverse("studio:list_import_detail", args=[past.pk])),
        ("studio:lot_labels", f"{reverse('studio:lot_labels')}?kind={glass.pk}"),
        ("studio:shelf_list", f"{reverse('studio:shelf_list')}?goes_with={glass.pk}"),
        (
            "firings:firing_plan",
            f"{reverse('firings:firing_plan')}?kiln={kiln.pk}&revision={newest.pk}"
            f"&planned_start={planned.planned_start:%Y-%m-%dT%H:%M}",
        ),
        ("firings:calendar", f"{reverse('firings:calendar')}?kiln={kiln.pk}"),
        (
            "firings:measurement_add",
            f"{reverse('firings:measurement_add', args=[kiln.pk])}?means=tiles",
        ),
        (
            "firings:measurement_add",
            f"{reverse('firings:measurement_add', args=[kiln.pk])}?means=strips",
        ),
        (
            "firings:side_by_side",
            f"{reverse('firings:side_by_side')}?firing={opened.pk}&firing={planned.pk}",
        ),
        (
            "schedules:schedule_detail",
            f"{reverse('schedules:schedule_detail', args=[schedule.pk])}?unit=F",
        ),
        (
            "schedules:schedule_draft",
            f"{reverse('schedules:schedule_draft')}?schedule={schedule.pk}&width_mm=460",
        ),
        (
            "schedules:schedule_draft",
            f"{reverse('schedules:schedule_draft')}?process=cast&layers=1&width_mm=3000",
        ),
        (
            "firings:ladder_make",
            f"{reverse('firings:ladder_make', args=[schedule.pk])}?varies=hold",
        ),
        (
            "firings:schedule_tuning",
            f"{reverse('firings:schedule_tuning', args=[schedule.pk])}?peak=9&hold=0",
        ),
        ("missing", "/no-such-page/"),
    ]
    return pages + [PageAddress(name, address) for name, address in more]
