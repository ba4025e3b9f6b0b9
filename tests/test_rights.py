"""Every address × every sort of reader × GET and POST, against one table.

Readers: K keeper; I instructor of O's class, J of another one; O a student whose own the things
are, M who sits in O's class, S in another one; A an artist; D a studio device on which nobody said
who they are; and nobody. A row gives who may read and who may send; None is a method that the
address doesn't have. What a device may send is answered by asking who that is. An address without a
row fails, and so does a row without an address.
"""

from collections.abc import Callable, Iterator
from datetime import timedelta
from io import BytesIO
from typing import Any

import pytest
from django.conf import settings
from django.contrib.auth.tokens import default_token_generator
from django.db import transaction
from django.http import HttpResponse
from django.test import Client
from django.urls import NoReverseMatch, reverse
from django.utils import timezone
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from PIL import Image

from firings.actions.glass_use import glass_take
from firings.actions.logger import logger_token_make
from firings.actions.photographs import photographs_add
from firings.actions.spots import spot_put
from firings.models import (
    CalendarFeed,
    Comment,
    Fault,
    FiringEvent,
    Label,
    Piece,
    PieceStep,
    PriceList,
    RunawayAlarm,
    SpotReading,
    StoredPiece,
    UnknownFiring,
    WaitingPiece,
)
from schedules.models import SilencedRemark
from studio.models import Invitation, KilnFurniture, LotLabel, Person, ServiceEntry
from studio.pictures import prepare_picture
from studio.services.stock import Rectangle
from tests.browser.pages import SIGNED_OUT, url_names
from tests.devices import device_browser, make_device
from tests.factories import (
    load_piece,
    make_card,
    make_class,
    make_firing,
    make_glass,
    make_kiln,
    make_ladder,
    make_lot,
    make_measurement,
    make_person,
    make_revision,
    make_schedule,
)
from tests.firings.logger_files import recorded
from tests.reading_client import ReadingClient
from tests.studio.lists.bringing import csv_file, previewed

pytestmark = pytest.mark.django_db

ALL, OWN = "KIJOMSA", "KIO"
ALL_D, OWN_D = ALL + "D", OWN + "D"

# What stands after “|” is another thing at the same address.
RIGHTS: dict[str, tuple[str | None, str | None]] = {
    "firings:advice_record": (ALL_D, None),
    "firings:calendar": (ALL_D, None),
    "firings:calendar_feeds": (ALL, ALL),
    "firings:calendar_feed_remove": (None, "O"),
    "firings:calendar_feed_renew": (None, "O"),
    "firings:comment_take_back": (None, "O"),
    "firings:comments": ("KIO", "KIO"),
    "firings:comments|kept": ("KIO", "KIO"),
    "firings:comments_read": (None, "KIO"),
    "firings:comparison_csv": (ALL, None),
    "firings:conversation_list": (ALL, None),
    "firings:comparison_json": (ALL, None),
    "firings:event_add": (OWN_D, OWN_D),
    "firings:event_remove": (None, OWN_D),
    "firings:fault_add": (OWN_D, OWN_D),
    "firings:fault_remove": (None, OWN_D),
    "firings:furniture_add": ("KIJA", "KIJA"),
    "firings:furniture_change": ("KIJA", "KIJA"),
    "firings:furniture_coat": (None, ALL_D),
    "firings:furniture_detail": (ALL_D, None),
    "firings:furniture_list": (ALL_D, None),
    "firings:furniture_put_away": (None, "KIJA"),
    "firings:glass_give_back": (None, OWN_D),
    "firings:firing_afterwards": (ALL_D, ALL_D),
    "firings:firing_call_off": (OWN_D, OWN_D),
    "firings:firing_card": (ALL_D, None),
    "firings:firing_card_keyed": (None, OWN_D),
    "firings:firing_chart_data": (ALL_D, None),
    "firings:firing_clearing": ("KI", "KI"),
    "firings:firing_cost": ("KIO", None),
    "firings:piece_store": ("KIJOD", "KIJOD"),
    "firings:stay_end": ("KIJAD", "KIJAD"),
    "firings:storage_list": (ALL_D, None),
    "firings:price_list": (ALL, None),
    "firings:price_list_add": ("K", "K"),
    "firings:price_list_change": ("K", "K"),
    "firings:person_statement": ("KIO", None),
    "firings:person_statement_csv": ("KIO", None),
    "firings:statement_list": ("K", None),
    "firings:statement_list_csv": ("K", None),
    "firings:class_statement_list": ("KI", None),
    "firings:class_statement_list_csv": ("KI", None),
    "firings:firing_detail": (ALL_D, None),
    "firings:firing_detail|kept": (ALL_D, None),
    "firings:firing_edit": (OWN_D, OWN_D),
    "firings:firing_let_go": ("K", "K"),
    "firings:firing_mend": (None, OWN),
    "firings:firing_now": (ALL_D, ALL_D),
    "firings:firing_open": ("KIJOAD", "KIJOAD"),
    "firings:firing_plan": (ALL_D, ALL_D),
    "firings:firing_plan_mend": (None, ALL),
    "firings:firing_remark_silence": ("KIJO", "KIJO"),
    "firings:firing_start": (OWN_D, OWN_D),
    "firings:firing_take_newest": (None, "KI"),
    "firings:keyed_edit": (OWN_D, OWN_D),
    "firings:kiln_history": (ALL_D, None),
    "firings:kiln_code": (ALL_D, ALL_D),
    "firings:kiln_label": (ALL_D, None),
    "firings:kiln_learn": (None, "K"),
    "firings:kiln_measured": (ALL_D, None),
    "firings:kiln_measured_csv": (ALL, None),
    "firings:measurement_add": ("KIJAD", "KIJAD"),
    "firings:measurement_change": ("KIJ", "KIJ"),
    "firings:measurement_change|of the artist": ("KIJA", "KIJA"),
    "firings:measurement_remove": (None, "KIJ"),
    "firings:offset_adopt": (None, "K"),
    "firings:kilns_now": (ALL_D, None),
    "firings:ladder_close": (None, "KIJO"),
    "firings:ladder_detail": (ALL_D, None),
    "firings:ladder_labels": (ALL_D, None),
    "firings:ladder_list": (ALL_D, None),
    "firings:ladder_make": ("KIJO", "KIJO"),
    "firings:ladder_plan": (None, "KIJO"),
    "firings:ladder_reopen": (None, "KIJO"),
    "firings:load_edit": (ALL_D, None),
    "firings:load_labels": (ALL_D, None),
    "firings:load_together": (ALL_D, ALL_D),
    "firings:load_together|opened": (ALL_D, OWN_D),
    "firings:load_place": (None, ALL_D),
    "firings:load_place|opened": (None, OWN_D),
    "firings:load_labels|kept": ("KIO", None),
    "firings:help_logger": (ALL, None),
    "firings:logbook": (ALL_D, None),
    "firings:logbook_csv": (ALL, None),
    "firings:logger_list": (ALL, "K"),
    "firings:logger_take_back": (None, "K"),
    "firings:message_list": (ALL, None),
    "firings:message_wishes": (ALL, ALL),
    "firings:messages_seen": (None, ALL),
    "firings:note_take": (None, "KIJO"),
    "firings:class_pieces_csv": ("KI", None),
    "firings:class_progress": ("KI", None),
    "firings:class_progress_csv": ("KI", None),
    "firings:person_portfolio": ("KIO", None),
    "firings:person_progress": ("KIO", None),
    "firings:person_progress_csv": ("KIO", None),
    "firings:photograph_add": (ALL_D, ALL_D),
    "firings:photograph_add|opened": (OWN_D, OWN_D),
    "firings:photograph_file": (ALL_D, None),
    "firings:photograph_file|of a comment": ("KIO", None),
    "firings:photograph_file|kept": ("KIO", None),
    "firings:photograph_remove": (None, OWN_D),
    "firings:photograph_spots": ("KIJOAD", "KIJOAD"),
    "firings:photograph_spots|loaded": (ALL_D, ALL_D),
    "firings:photograph_spots|kept": ("KIO", "KIOD"),
    "firings:spot_crop": (ALL_D, None),
    "firings:spot_crop|kept": ("KIO", None),
    "firings:spot_remove": (None, "KIJOAD"),
    "firings:spots_fit": (None, "KIJOAD"),
    "firings:piece_add": (ALL_D, ALL_D),
    "firings:piece_add|opened": (OWN_D, OWN_D),
    "firings:waiting_put_in": (None, ALL_D),
    "firings:waiting_put_in|opened": (None, OWN_D),
    "firings:piece_code": (ALL_D, None),
    "firings:piece_detail": (ALL_D, None),
    "firings:piece_detail|kept": ("KIO", None),
    "firings:piece_edit": (OWN_D, OWN_D),
    "firings:piece_edit|of the artist": ("KIJOAD", "KIJOAD"),
    "firings:piece_glass": (OWN_D, OWN_D),
    "firings:piece_judge": (OWN_D, OWN_D),
    "firings:piece_judge|of the artist": ("KIJAD", "KIJAD"),
    "firings:piece_label": (ALL_D, None),
    "firings:piece_label|kept": ("KIO", None),
    "firings:piece_remove": (None, OWN_D),
    "firings:piece_review": ("KI", "KI"),
    "firings:power_cut": (OWN_D, OWN_D),
    "firings:review_desk": ("KIJ", None),
    "firings:recording_add": (OWN_D, OWN_D),
    "firings:recording_add|running": (ALL_D, ALL_D),
    "firings:recording_csv": (ALL, None),
    "firings:recording_import": (OWN_D, OWN_D),
    "firings:recording_original": (ALL, None),
    "firings:recording_original|kept": ("KIO", None),
    "firings:recording_remove": (None, OWN_D),
    "firings:recording_take_back": (None, OWN_D),
    "firings:runaway_answer": (None, ALL_D),
    "firings:side_by_side": (ALL_D, None),
    "firings:side_by_side_csv": (ALL, None),
    "firings:schedule_forecasts": (ALL_D, None),
    "firings:revision_to_kiln": ("KIJO", "KIJO"),
    "firings:rung_code": (ALL_D, None),
    "firings:rung_judge": (OWN_D, OWN_D),
    "firings:rung_take": (None, "KIJO"),
    "firings:schedule_tuning": (ALL_D, None),
    "firings:spot_reading_add": (OWN_D, OWN_D),
    "firings:spot_reading_add|running": (ALL_D, ALL_D),
    "firings:spot_reading_remove": (None, OWN_D),
    "firings:today": (ALL_D, None),
    "firings:waiting_add": (ALL_D, ALL_D),
    "firings:waiting_change": (OWN_D, OWN_D),
    "firings:waiting_list": (ALL_D, None),
    "firings:waiting_load": ("KIJAD", "KIJAD"),
    "firings:waiting_withdraw": (None, OWN_D),
    "firings:piece_begin": (ALL_D, ALL_D),
    "firings:step_add": (OWN_D, OWN_D),
    "firings:step_again": (None, OWN_D),
    "firings:step_change": (OWN_D, OWN_D),
    "firings:step_change|of the artist": ("KIJAD", "KIJAD"),
    "firings:step_change|kept": ("KIO", "KIOD"),
    "firings:step_done": (OWN_D, OWN_D),
    "firings:step_list": (ALL_D, None),
    "firings:step_move": (None, OWN_D),
    "firings:step_reopen": (None, OWN_D),
    "firings:step_skip": (OWN_D, OWN_D),
    "firings:step_wait": (None, OWN_D),
    "firings:steps_begin": (OWN_D, OWN_D),
    "firings:year": (ALL, None),
    "firings:year_csv": (ALL, None),
    "firings:year_costs": ("K", None),
    "firings:year_costs_csv": ("K", None),
    "firings:year_faults_csv": (ALL, None),
    "firings:unknown_firing": (ALL_D, ALL_D),
    "firings:unknown_firing_close": (None, ALL_D),
    "schedules:keying_card": (ALL_D, None),
    "schedules:kiln_memory": (ALL_D, ALL_D),
    "schedules:remark_hear": (None, "KIJO"),
    "schedules:remark_silence": ("KIJO", "KIJO"),
    "schedules:revision_carry": ("KIJO", "KIJO"),
    "schedules:revision_copy": ("KIJO", "KIJO"),
    "schedules:revision_curve_data": (ALL_D, None),
    "schedules:revision_detail": (ALL_D, None),
    "schedules:revision_difference": (ALL_D, None),
    "schedules:schedule_add": (ALL, ALL),
    "schedules:schedule_card_add": (ALL, ALL),
    "schedules:schedule_card_file": (ALL_D, None),
    "schedules:schedule_archive": (None, "KIJO"),
    "schedules:schedule_detail": (ALL_D, None),
    "schedules:schedule_draft": (ALL, ALL),
    "schedules:schedule_edit": ("KIJO", "KIJO"),
    "schedules:schedule_list": (ALL_D, None),
    "schedules:schedule_restore": (None, "KIJO"),
    "studio:account": (ALL, ALL),
    "schedules:class_schedules": ("KI", "KI"),
    "studio:class_add": ("KIJ", "KIJ"),
    "studio:class_change": ("KI", "KI"),
    "studio:class_change|of the keeper": ("K", "K"),
    "studio:class_code_renew": (None, "KI"),
    "studio:class_detail": ("KIOM", None),
    "studio:class_join": ("OMSA", "OMSA"),
    "studio:class_join_by": ("OMSA", None),
    "studio:class_list": (ALL, None),
    "studio:class_member_take_out": (None, "KI"),
    "studio:class_rubric": ("KI", "KI"),
    "studio:studio_rubric": ("K", "K"),
    "studio:device_here": ("D", "D"),
    "studio:device_list": ("K", None),
    "studio:device_set_up": ("K", "K"),
    "studio:device_take_away": (None, "K"),
    "studio:family_add": ("KIJA", "KIJA"),
    "studio:family_change": ("KIJA", "KIJA"),
    "studio:family_list": (ALL_D, None),
    "studio:first_steps": (ALL, None),
    "studio:glass_add": ("KIJA", "KIJA"),
    "studio:glass_archive": (None, "KIJA"),
    "studio:glass_change": ("KIJA", "KIJA"),
    "studio:glass_detail": (ALL_D, None),
    "studio:glass_list": (ALL_D, None),
    "studio:glass_level": ("KIJA", "KIJA"),
    "studio:glass_receive": ("KIJA", "KIJA"),
    "studio:glass_take": (ALL_D, ALL_D),
    "studio:glass_unarchive": (None, "KIJA"),
    "studio:list_csv": (ALL, None),
    "studio:list_csv|of people": ("K", None),
    "studio:list_import_add": ("KIJA", "KIJA"),
    "studio:list_import_add|of firings": ("KIJ", "KIJ"),
    "studio:list_import_cancel": (None, "A"),
    "studio:list_import_columns": ("A", "A"),
    "studio:list_import_detail": ("A", None),
    "studio:list_import_look_again": (None, "A"),
    "studio:list_import_refused": ("A", None),
    "studio:list_import_run": (None, "A"),
    "studio:list_index": (ALL, None),
    "studio:lot_count": ("KIJAD", "KIJAD"),
    "studio:lot_code": (ALL_D, None),
    "studio:lot_cut": (ALL_D, ALL_D),
    "studio:lot_detail": (ALL_D, None),
    "studio:lot_labels": (ALL_D, None),
    "studio:lot_return": (ALL_D, ALL_D),
    "studio:lot_take": ("KIJAD", "KIJAD"),
    "studio:movement_take_back": (None, "KIJOAD"),
    "studio:shelf_list": (ALL_D, None),
    "studio:shelf_low": (ALL_D, None),
    "studio:help_cautions": (ALL_D, None),
    "studio:help_index": (ALL_D, None),
    "studio:help_rights": (ALL_D, None),
    "studio:help_words": (ALL_D, None),
    "studio:invitation_detail": ("K", None),
    "studio:invitation_detail|of the instructor": ("KI", None),
    "studio:invitation_make": ("KIJ", "KIJ"),
    "studio:invitation_withdraw": (None, "K"),
    "studio:invitation_withdraw|of the instructor": (None, "KI"),
    "studio:kiln_add": ("K", "K"),
    "studio:kiln_change": ("K", "K"),
    "studio:kiln_detail": (ALL_D, None),
    "studio:kiln_list": (ALL_D, None),
    "studio:password_change": (ALL, ALL),
    "studio:person_activate": (None, "K"),
    "studio:person_deactivate": (None, "K"),
    "studio:person_detail": (ALL, None),
    "studio:person_list": (ALL, None),
    "studio:person_make_anonymous": ("K", "K"),
    "studio:person_set_role": (None, "K"),
    "studio:place_list_change": ("K", "K"),
    "studio:reset_link_make": (None, "K"),
    "studio:safety_lines": ("K", "K"),
    "studio:service_diary": (ALL_D, None),
    "studio:service_entry_add": ("KIJD", "KIJD"),
    "studio:service_entry_change": ("KIJ", "KIJ"),
    "studio:service_entry_remove": (None, "KIJ"),
    "studio:service_intervals": ("K", "K"),
    "studio:short_code": (ALL, ALL),
    "studio:short_code_locks_known": (None, ALL),
    "studio:short_code_take_away": (None, "KO"),
    "studio:sign_out": (None, ALL),
    "studio:studio_change": ("K", "K"),
    "studio:style": (ALL, None),
    "studio:trail_detail": (ALL, None),
    "studio:trail_detail|of a class": ("KIOM", None),
    "studio:trail_detail|of a kept piece": ("KIO", None),
    "studio:trail_detail|of the studio": ("K", None),
}


@pytest.fixture(scope="module")
def readers(django_db_setup: None, django_db_blocker: Any) -> Iterator[dict[str, Person]]:
    """Made once with all that they look at: each request is taken back, and at the end all."""
    roles = {"K": "keeper", "I": "instructor", "J": "instructor", "A": "artist"}
    with django_db_blocker.unblock(), transaction.atomic():
        yield {
            letter: make_person(f"reader-{letter}", role=roles.get(letter, "student"))
            for letter in ALL
        }
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def browsers(readers: dict[str, Person], arguments: object) -> dict[str, Callable[[], Client]]:
    """A fresh browser of each reader, with the session that they began once."""
    _, cookie = make_device(readers["K"])
    of_people = {letter: _browser_of(person) for letter, person in readers.items()}
    return of_people | {"D": lambda: device_browser(cookie)}


def _browser_of(person: Person) -> Callable[[], Client]:
    first = ReadingClient()
    first.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    session = first.cookies[settings.SESSION_COOKIE_NAME].value

    def browser() -> Client:
        client = ReadingClient()
        client.cookies[settings.SESSION_COOKIE_NAME] = session
        return client

    return browser


@pytest.fixture(scope="module")
def arguments(readers: dict[str, Person]) -> dict[str, dict[str, Any]]:
    """What stands in each address: things of O, where they can be somebody's own."""
    owner, keeper = readers["O"], readers["K"]
    kiln, glass = make_kiln(), make_glass()
    lot = make_lot(owner, glass)
    brought = previewed(readers["A"], csv_file(("lot", "pieces"), (lot.pk, "many")))
    schedule = make_schedule(owner)
    revision = make_revision(schedule, written_for=kiln)
    make_revision(schedule, written_for=kiln)
    of_owner = {"kiln": kiln, "revision": revision}
    opened = make_firing(
        owner,
        **of_owner,
        state="opened",
        started_at=timezone.now() - timedelta(days=3),
        opened_at=timezone.now() - timedelta(days=2),
    )
    running = make_firing(owner, **of_owner, state="firing")
    planned = make_firing(owner, **of_owner)
    loaded, of_artist = load_piece(opened), load_piece(opened, maker=readers["A"])
    rung = make_ladder(loaded).rungs.get()
    amber = make_lot(owner, make_glass(colour="amber"))
    use = glass_take(loaded=loaded, kind=amber.kind, by=owner, size=Rectangle(100, 100))
    fault = Fault.objects.create(loaded_piece=loaded, kind="stuck", noted_by=owner)
    event = FiringEvent.objects.create(firing=opened, kind="vented", noted_by=owner)
    reading = SpotReading.objects.create(
        firing=opened, at=timezone.now(), temperature_c=620.0, noted_by=owner
    )
    alarm = RunawayAlarm.objects.create(
        firing=running, shown_at=timezone.now(), shown_c=860.0, ceiling_c=804.0
    )
    token, _ = logger_token_make(kiln=kiln, by=keeper, name="Bench logger")
    recording = recorded(opened, by=owner)
    measured = make_measurement(kiln, keeper)
    entry = ServiceEntry.objects.create(kiln=kiln, kind="relay", written_by=keeper)
    file = BytesIO()
    Image.new("RGB", (64, 48), "teal").save(file, "JPEG")
    file.seek(0)
    (photograph,) = photographs_add(firing=opened, by=owner, pictures=[prepare_picture(file)])
    file.seek(0)
    (of_comment,) = photographs_add(
        firing=opened, by=keeper, pictures=[prepare_picture(file)], in_conversation=True
    )
    kept = make_firing(owner, **of_owner, state="opened", is_private=True)
    kept_piece, kept_recording = load_piece(kept), recorded(kept, by=owner)
    file.seek(0)
    (kept_photograph,) = photographs_add(
        firing=kept, by=owner, pictures=[prepare_picture(file)], loaded_piece=kept_piece
    )
    other_file = BytesIO()
    Image.new("RGB", (64, 48), "white").save(other_file, "JPEG")
    shelves = []
    for each in (planned, kept):
        other_file.seek(0)
        pictures = [prepare_picture(other_file)]
        shelves += photographs_add(firing=each, by=owner, pictures=pictures, moment="loaded")
    of_planned, of_kept = shelves
    spot, kept_spot = (
        spot_put(photograph=shelf, loaded=lies, by=owner, x=0.5, y=0.5)
        for shelf, lies in ((photograph, loaded), (of_kept, kept_piece))
    )
    comment = Comment.objects.create(firing=opened, said_by=owner, words="Edges sharp.")
    invitation, of_instructor = (
        Invitation.objects.create(invited_for="Somebody new", invited_by=readers[role])
        for role in "KI"
    )
    taught = make_class(readers["I"], students=[owner, readers["M"]])
    make_class(readers["J"], students=[readers["S"]], name="The other class")
    of_keeper = make_class(keeper)
    waits = WaitingPiece.objects.create(
        piece=Piece.objects.create(title="Waits", maker=owner),
        process="full_fuse",
        glass=glass,
        thickest_mm=6.0,
    )
    step, artists_step, kept_step = (
        PieceStep.objects.create(piece=each.piece, position=1, kind="cut")
        for each in (loaded, of_artist, kept_piece)
    )
    numbered = {"pk": schedule.pk, "number": 1}
    silenced = SilencedRemark.objects.create(
        schedule=schedule, code="soak_short", severity="warn", reason="Tiles", silenced_by=owner
    )
    feed = CalendarFeed.objects.create(made_by=owner)
    unknown = UnknownFiring.objects.create(kiln=make_kiln("Wren"), seen_c=300, noted_by=owner)
    things: dict[str, Any] = {
        "firings:calendar_feed_remove": feed,
        "firings:calendar_feed_renew": feed,
        "firings:comment_take_back": comment,
        "firings:comments": opened,
        "firings:comments_read": opened,
        "firings:event_remove": event,
        "firings:fault_add": loaded,
        "firings:fault_remove": fault,
        "firings:firing_call_off": planned,
        "firings:firing_clearing": planned,
        "firings:firing_let_go": planned,
        "firings:firing_now": running,
        "firings:firing_open": running,
        "firings:firing_start": planned,
        "firings:firing_take_newest": planned,
        "firings:kiln_history": kiln,
        "firings:logger_list": kiln,
        "firings:measurement_add": kiln,
        "firings:measurement_change": measured,
        "firings:measurement_change|of the artist": make_measurement(kiln, readers["A"]),
        "firings:measurement_remove": measured,
        "firings:offset_adopt": kiln,
        "firings:logger_take_back": token,
        "firings:readings_take": kiln,
        "firings:photograph_add": planned,
        "firings:photograph_remove": photograph,
        "firings:piece_add": planned,
        "firings:load_together": planned,
        "firings:load_place": planned,
        "firings:load_place|opened": opened,
        "firings:photograph_spots": photograph,
        "firings:photograph_spots|loaded": of_planned,
        "firings:photograph_spots|kept": of_kept,
        "firings:spot_remove": spot,
        "firings:spots_fit": photograph,
        "firings:load_together|opened": opened,
        "firings:waiting_put_in": planned,
        "firings:waiting_put_in|opened": opened,
        "firings:piece_detail": loaded.piece,
        "firings:piece_label": loaded.piece,
        "firings:firing_detail|kept": kept,
        "firings:comments|kept": kept,
        "firings:load_labels|kept": kept,
        "firings:piece_detail|kept": kept_piece.piece,
        "firings:piece_label|kept": kept_piece.piece,
        "firings:recording_original|kept": kept_recording,
        "firings:piece_edit": loaded,
        "firings:piece_edit|of the artist": of_artist,
        "firings:glass_give_back": use,
        "firings:piece_glass": loaded,
        "firings:ladder_make": schedule,
        "firings:rung_judge": rung,
        "firings:rung_take": rung,
        "firings:piece_store": loaded.piece,
        "firings:stay_end": StoredPiece.objects.create(
            piece=of_artist.piece, place="shelf C", stored_by=owner
        ),
        "firings:price_list_change": PriceList.objects.create(currency="EUR"),
        "firings:piece_judge": loaded,
        "firings:piece_judge|of the artist": of_artist,
        "firings:piece_remove": loaded,
        "firings:piece_review": loaded,
        "firings:recording_add|running": running,
        "firings:recording_import": recording,
        "firings:recording_original": recording,
        "firings:recording_remove": recording,
        "firings:recording_take_back": recording,
        "firings:power_cut": running,
        "firings:runaway_answer": alarm,
        "firings:spot_reading_add": opened,
        "firings:spot_reading_add|running": running,
        "firings:spot_reading_remove": reading,
        "firings:step_add": loaded.piece,
        "firings:step_change|of the artist": artists_step,
        "firings:step_change|kept": kept_step,
        "firings:steps_begin": loaded.piece,
        "firings:waiting_change": waits,
        "firings:waiting_withdraw": waits,
        "firings:unknown_firing": unknown,
        "firings:unknown_firing_close": unknown,
        "schedules:class_schedules": taught,
        "studio:device_take_away": make_device(keeper, name="bench computer")[0],
        "studio:short_code_take_away": owner,
        "studio:movement_take_back": lot.movements.get(),
        "studio:class_change|of the keeper": of_keeper,
        "studio:class_member_take_out": taught.members.get(person=owner),
        "studio:family_change": glass.family,
        "studio:invitation_detail": invitation,
        "studio:invitation_detail|of the instructor": of_instructor,
        "studio:invitation_withdraw": invitation,
        "studio:invitation_withdraw|of the instructor": of_instructor,
        "studio:place_list_change": kiln,
        "studio:reset_link_make": owner,
        "studio:service_diary": kiln,
        "studio:service_entry_add": kiln,
        "studio:service_intervals": kiln,
    }
    by_first_word = {
        "firing": opened,
        "comparison": opened,
        "recording": opened,
        "event": opened,
        "keyed": opened,
        "load": opened,
        "ladder": rung.ladder,
        "note": opened,
        "photograph": opened,
        "piece": opened,
        "schedule": schedule,
        "class": taught,
        "glass": glass,
        "kiln": kiln,
        "list": brought,
        "lot": lot,
        "furniture": KilnFurniture.objects.create(name="Shallow bowl"),
        "person": owner,
        "service": entry,
        "step": step,
    }
    uid = urlsafe_base64_encode(force_bytes(owner.pk))
    others: dict[str, dict[str, Any]] = {
        "firings:calendar_feed": {"token": feed.token},
        "firings:rung_code": {"code": rung.code},
        "firings:kiln_code": {"code": Label.objects.create(kiln=kiln).code},
        "studio:lot_code": {"code": LotLabel.objects.create(lot=lot).code},
        "firings:piece_code": {"code": Label.objects.create(piece=loaded.piece).code},
        "firings:firing_mend": {"pk": planned.pk, "key": "soak_short-4"},
        "firings:firing_remark_silence": {"pk": planned.pk, "key": "soak_short-4"},
        "schedules:schedule_card_file": {"pk": make_card(owner).pk, "size": "small"},
        "firings:photograph_file|kept": {"pk": kept_photograph.pk, "size": "large"},
        "firings:photograph_file": {"pk": photograph.pk, "size": "small"},
        "firings:photograph_file|of a comment": {"pk": of_comment.pk, "size": "small"},
        "firings:spot_crop": {"pk": spot.pk, "cut": spot.cut},
        "firings:spot_crop|kept": {"pk": kept_spot.pk, "cut": kept_spot.cut},
        "firings:revision_to_kiln": numbered,
        "schedules:keying_card": numbered,
        "schedules:remark_hear": {"pk": silenced.pk},
        "schedules:remark_silence": numbered | {"key": "heating_fast-1"},
        "schedules:revision_carry": numbered,
        "schedules:revision_copy": numbered,
        "schedules:revision_curve_data": numbered,
        "schedules:revision_detail": numbered,
        "schedules:revision_difference": {"pk": schedule.pk},
        "studio:invitation_accept": {"token": invitation.token},
        "studio:trail_detail": {"kind": "firing", "pk": opened.pk},
        "studio:trail_detail|of a class": {"kind": "class", "pk": taught.pk},
        "studio:trail_detail|of a kept piece": {"kind": "piece", "pk": kept_piece.piece_id},
        "studio:trail_detail|of the studio": {"kind": "studio", "pk": 1},
        "studio:list_csv": {"key": "shelf"},
        "studio:list_import_add": {"key": "shelf"},
        "studio:list_import_add|of firings": {"key": "firings"},
        "studio:list_csv|of people": {"key": "people"},
        "studio:class_join_by": {"code": taught.joining_code},
        "studio:password_set": {
            "uidb64": uid,
            "token": default_token_generator.make_token(owner),
        },
    }
    found = {name: {"pk": thing.pk} for name, thing in things.items()} | others
    for name in {*RIGHTS, *url_names()} - found.keys():
        first_word = name.partition(":")[2].partition("_")[0]
        if first_word in by_first_word:
            found[name] = {"pk": by_first_word[first_word].pk}
    return found


@pytest.fixture(scope="module")
def address_of(arguments: dict[str, dict[str, Any]]) -> Callable[[str], str]:
    def address(name: str) -> str:
        path = name.partition("|")[0]
        try:
            return reverse(path)
        except NoReverseMatch:
            return reverse(path, kwargs=arguments[name])

    return address


def test_every_address_has_a_row() -> None:
    assert {name.partition("|")[0] for name in RIGHTS} | SIGNED_OUT == set(url_names())


@pytest.mark.parametrize("name", RIGHTS)
def test_only_those_who_may(
    name: str,
    address_of: Callable[[str], str],
    browsers: dict[str, Callable[[], Client]],
) -> None:
    address = address_of(name)
    for method, allowed in zip(("get", "post"), RIGHTS[name], strict=True):
        for letter, browser in browsers.items():
            wanted = 405 if allowed is None else 200 if letter in allowed else 403
            if letter == "D" and allowed is None:
                wanted = 403  # closed before it is asked for
            with transaction.atomic():
                answer = getattr(browser(), method)(address)
                transaction.set_rollback(True)
            told = _may(answer)
            assert told == wanted, f"{letter} {method} {address}: {answer.status_code}"
            if (letter, method, wanted) == ("D", "post", 200):
                assert "Who is this?" in answer.text, address


def _may(answer: HttpResponse) -> int:
    """200 for whatever is an answer: a page, a refused form, the way to another page."""
    return 200 if answer.status_code in (200, 302, 400) else answer.status_code


def test_outsider_is_led_to_sign_in(address_of: Callable[[str], str], outsider: Client) -> None:
    for name in RIGHTS:
        for method in ("get", "post"):
            with transaction.atomic():
                answer = getattr(outsider, method)(address_of(name))
                transaction.set_rollback(True)
            assert answer.status_code == 302, name
            assert answer.headers["Location"].startswith(f"{reverse('studio:sign_in')}?next=")


@pytest.mark.parametrize("name", sorted(SIGNED_OUT))
def test_outsider_may_come_in_by_these_doors(
    name: str, address_of: Callable[[str], str], outsider: Client
) -> None:
    with transaction.atomic():
        answer = outsider.get(address_of(name))
        transaction.set_rollback(True)

    assert "?next=" not in answer.headers.get("Location", "")


@pytest.mark.parametrize("name", sorted(SIGNED_OUT - {"studio:signed_in_now", "studio:worker"}))
def test_nobody_signs_in_on_a_studio_device(
    name: str,
    address_of: Callable[[str], str],
    browsers: dict[str, Callable[[], Client]],
) -> None:
    for method in ("get", "post"):
        with transaction.atomic():
            answer = getattr(browsers["D"](), method)(address_of(name))
            transaction.set_rollback(True)
        assert answer.status_code == 403, method
