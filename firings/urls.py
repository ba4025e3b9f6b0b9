from django.urls import path

from firings.views import (
    afterwards,
    calendar,
    clearing,
    conversation,
    events,
    firing_page,
    forecasts,
    furniture,
    glass_use,
    judging,
    keying,
    kiln_history,
    labels,
    ladders,
    load,
    loading,
    logbook,
    logger,
    measuring,
    mending,
    openapi,
    photographs,
    prices,
    progress,
    record,
    recording,
    recording_export,
    recording_files,
    review,
    sent_readings,
    side_by_side,
    spot_readings,
    spots,
    statements,
    steps,
    storage,
    telling,
    to_kiln,
    today,
    tuning,
    tuning_page,
    unknown_firings,
    waiting,
    watching,
    year,
)

app_name = "firings"


# Test series: a ladder of revisions, its firings, its tiles judged in a row.
ladder_patterns = [
    path("series/", ladders.ladder_list, name="ladder_list"),
    path("schedules/<int:pk>/series/add/", ladders.ladder_make, name="ladder_make"),
    path("series/<int:pk>/", ladders.ladder_detail, name="ladder_detail"),
    path("series/<int:pk>/plan/", ladders.ladder_plan, name="ladder_plan"),
    path("series/<int:pk>/labels/", ladders.ladder_labels, name="ladder_labels"),
    path("series/<int:pk>/close/", ladders.ladder_close, name="ladder_close"),
    path("series/<int:pk>/reopen/", ladders.ladder_reopen, name="ladder_reopen"),
    path("rungs/<int:pk>/judge/", ladders.rung_judge, name="rung_judge"),
    path("rungs/<int:pk>/take/", ladders.rung_take, name="rung_take"),
    path("r/<slug:code>/", ladders.rung_code, name="rung_code"),
]

# What is planned, put into the kiln, seen and judged.
record_patterns = [
    path("firings/plan/", record.firing_plan, name="firing_plan"),
    path("firings/afterwards/", afterwards.firing_afterwards, name="firing_afterwards"),
    path("firings/<int:pk>/edit/", record.firing_edit, name="firing_edit"),
    path("firings/<int:pk>/start/", record.firing_start, name="firing_start"),
    path("firings/<int:pk>/open/", record.firing_open, name="firing_open"),
    path("firings/<int:pk>/call-off/", record.firing_call_off, name="firing_call_off"),
    path("firings/<int:pk>/card/", keying.firing_card, name="firing_card"),
    path("firings/<int:pk>/card/keyed/", keying.firing_card_keyed, name="firing_card_keyed"),
    path("firings/<int:pk>/keyed/", events.keyed_edit, name="keyed_edit"),
    path("firings/<int:pk>/events/add/", events.event_add, name="event_add"),
    path("events/<int:pk>/remove/", events.event_remove, name="event_remove"),
    path("firings/<int:pk>/load/", load.load_edit, name="load_edit"),
    path("firings/<int:pk>/load/add/", load.piece_add, name="piece_add"),
    path("loaded/<int:pk>/edit/", load.piece_edit, name="piece_edit"),
    path("loaded/<int:pk>/remove/", load.piece_remove, name="piece_remove"),
    path("loaded/<int:pk>/glass/", glass_use.piece_glass, name="piece_glass"),
    path("glass-uses/<int:pk>/give-back/", glass_use.glass_give_back, name="glass_give_back"),
    path("loaded/<int:pk>/judge/", judging.piece_judge, name="piece_judge"),
    path("loaded/<int:pk>/faults/add/", judging.fault_add, name="fault_add"),
    path("faults/<int:pk>/remove/", judging.fault_remove, name="fault_remove"),
    path("pieces/<int:pk>/", load.piece_detail, name="piece_detail"),
    path("storage/", storage.storage_list, name="storage_list"),
    path("pieces/<int:pk>/store/", storage.piece_store, name="piece_store"),
    path("storage/<int:pk>/left/", storage.stay_end, name="stay_end"),
    path("firings/<int:pk>/photographs/add/", photographs.photograph_add, name="photograph_add"),
    path(
        "photographs/<int:pk>/<slug:size>.jpg", photographs.photograph_file, name="photograph_file"
    ),
    path("photographs/<int:pk>/remove/", photographs.photograph_remove, name="photograph_remove"),
]

# What is done about a remark before it starts.
mending_patterns = [
    path("firings/plan/change/", mending.firing_plan_mend, name="firing_plan_mend"),
    path("firings/<int:pk>/remarks/<slug:key>/change/", mending.firing_mend, name="firing_mend"),
    path(
        "firings/<int:pk>/remarks/<slug:key>/silence/",
        mending.firing_remark_silence,
        name="firing_remark_silence",
    ),
]

# The steps that a piece is to go.
step_patterns = [
    path("steps/", steps.step_list, name="step_list"),
    path("pieces/begin/", steps.piece_begin, name="piece_begin"),
    path("pieces/<int:pk>/steps/begin/", steps.steps_begin, name="steps_begin"),
    path("pieces/<int:pk>/steps/add/", steps.step_add, name="step_add"),
    path("steps/<int:pk>/change/", steps.step_change, name="step_change"),
    path("steps/<int:pk>/done/", steps.step_done, name="step_done"),
    path("steps/<int:pk>/skip/", steps.step_skip, name="step_skip"),
    path("steps/<int:pk>/again/", steps.step_again, name="step_again"),
    path("steps/<int:pk>/move/", steps.step_move, name="step_move"),
    path("steps/<int:pk>/reopen/", steps.step_reopen, name="step_reopen"),
    path("steps/<int:pk>/wait/", steps.step_wait, name="step_wait"),
]

# While several load it together.
loading_patterns = [
    path("firings/<int:pk>/load/together/", loading.load_together, name="load_together"),
    path("firings/<int:pk>/load/place/", loading.load_place, name="load_place"),
    path("photographs/<int:pk>/pieces/", spots.photograph_spots, name="photograph_spots"),
    path("photographs/<int:pk>/pieces/fit/", spots.spots_fit, name="spots_fit"),
    path("spots/<int:pk>/remove/", spots.spot_remove, name="spot_remove"),
    path("spots/<int:pk>/<slug:cut>.jpg", spots.spot_crop, name="spot_crop"),
]

# What waits for a kiln.
waiting_patterns = [
    path("waiting/", waiting.waiting_list, name="waiting_list"),
    path("waiting/add/", waiting.waiting_add, name="waiting_add"),
    path("waiting/load/", waiting.waiting_load, name="waiting_load"),
    path("firings/<int:pk>/load/waiting/", waiting.waiting_put_in, name="waiting_put_in"),
    path("waiting/<int:pk>/change/", waiting.waiting_change, name="waiting_change"),
    path("waiting/<int:pk>/withdraw/", waiting.waiting_withdraw, name="waiting_withdraw"),
]

# What an instructor says of it before it starts.
clearing_patterns = [
    path("firings/<int:pk>/clearing/", clearing.firing_clearing, name="firing_clearing"),
    path("firings/<int:pk>/clearing/let-go/", clearing.firing_let_go, name="firing_let_go"),
    path(
        "firings/<int:pk>/clearing/newest/",
        clearing.firing_take_newest,
        name="firing_take_newest",
    ),
]

# What is said of it.
conversation_patterns = [
    path("conversations/", conversation.conversation_list, name="conversation_list"),
    path("firings/<int:pk>/comments/", conversation.comments, name="comments"),
    path("firings/<int:pk>/comments/read/", conversation.comments_read, name="comments_read"),
    path("comments/<int:pk>/take-back/", conversation.comment_take_back, name="comment_take_back"),
]

# Who has which kiln when.
calendar_patterns = [
    path("calendar/", calendar.calendar, name="calendar"),
    path("calendar/feeds/", calendar.calendar_feeds, name="calendar_feeds"),
    path(
        "calendar/feeds/<int:pk>/renew/", calendar.calendar_feed_renew, name="calendar_feed_renew"
    ),
    path(
        "calendar/feeds/<int:pk>/remove/",
        calendar.calendar_feed_remove,
        name="calendar_feed_remove",
    ),
    path("calendar/<str:token>.ics", calendar.calendar_feed, name="calendar_feed"),
]

# What an instructor says of it afterwards.
review_patterns = [
    path("people/<int:pk>/progress/", progress.person_progress, name="person_progress"),
    path(
        "people/<int:pk>/progress/progress.csv",
        progress.person_progress_csv,
        name="person_progress_csv",
    ),
    path("people/<int:pk>/portfolio/", progress.person_portfolio, name="person_portfolio"),
    path("classes/<int:pk>/progress/", progress.class_progress, name="class_progress"),
    path(
        "classes/<int:pk>/progress/class.csv",
        progress.class_progress_csv,
        name="class_progress_csv",
    ),
    path(
        "classes/<int:pk>/progress/pieces.csv",
        progress.class_pieces_csv,
        name="class_pieces_csv",
    ),
    path("review/", review.review_desk, name="review_desk"),
    path("review/<int:pk>/", review.piece_review, name="piece_review"),
]

# What was measured of it.
recording_patterns = [
    path("firings/<int:pk>/recordings/add/", recording_files.recording_add, name="recording_add"),
    path("recordings/<int:pk>/", recording.recording_import, name="recording_import"),
    path(
        "recordings/<int:pk>/take-back/", recording.recording_take_back, name="recording_take_back"
    ),
    path("recordings/<int:pk>/remove/", recording_files.recording_remove, name="recording_remove"),
    path(
        "recordings/<int:pk>/original/",
        recording_files.recording_original,
        name="recording_original",
    ),
    path("firings/<int:pk>/recording.csv", recording_export.recording_csv, name="recording_csv"),
    path("firings/<int:pk>/comparison.csv", recording_export.comparison_csv, name="comparison_csv"),
    path(
        "firings/<int:pk>/comparison.json",
        recording_export.comparison_json,
        name="comparison_json",
    ),
    path("firings/<int:pk>/readings/add/", spot_readings.spot_reading_add, name="spot_reading_add"),
    path(
        "readings/<int:pk>/remove/", spot_readings.spot_reading_remove, name="spot_reading_remove"
    ),
]

# What a logger sends of it by itself.
logger_patterns = [
    path("api/kilns/<int:pk>/readings/", sent_readings.readings_take, name="readings_take"),
    path("api/openapi.json", openapi.openapi, name="openapi"),
    path("kilns/<int:pk>/loggers/", logger.logger_list, name="logger_list"),
    path("loggers/<int:pk>/take-back/", logger.logger_take_back, name="logger_take_back"),
    path("help/logger/", logger.help_logger, name="help_logger"),
]

# While it fires.
watching_patterns = [
    path("kilns/now/", watching.kilns_now, name="kilns_now"),
    path("firings/<int:pk>/now/", watching.firing_now, name="firing_now"),
    path("firings/<int:pk>/power-cut/", watching.power_cut, name="power_cut"),
    path("messages/", telling.message_list, name="message_list"),
    path("messages/wishes/", telling.message_wishes, name="message_wishes"),
    path("messages/seen/", telling.messages_seen, name="messages_seen"),
    path("runaways/<int:pk>/answer/", watching.runaway_answer, name="runaway_answer"),
]

# What is printed and stuck on, where it leads, and what runs without a word.
label_patterns = [
    path("kilns/<int:pk>/label/", labels.kiln_label, name="kiln_label"),
    path("pieces/<int:pk>/label/", labels.piece_label, name="piece_label"),
    path("firings/<int:pk>/labels/", labels.load_labels, name="load_labels"),
    path("k/<slug:code>/", labels.kiln_code, name="kiln_code"),
    path("p/<slug:code>/", labels.piece_code, name="piece_code"),
    path("unknown/<int:pk>/", unknown_firings.unknown_firing, name="unknown_firing"),
    path(
        "unknown/<int:pk>/close/",
        unknown_firings.unknown_firing_close,
        name="unknown_firing_close",
    ),
]

# What became of it, and what to do next.
tuning_patterns = [
    path("", today.today, name="today"),
    path("year/", year.year, name="year"),
    path("year/year.csv", year.year_csv, name="year_csv"),
    path("year/costs/", year.year_costs, name="year_costs"),
    path("year/costs.csv", year.year_costs_csv, name="year_costs_csv"),
    path("year/faults.csv", year.year_faults_csv, name="year_faults_csv"),
    path("logbook/", logbook.logbook, name="logbook"),
    path("logbook/logbook.csv", logbook.logbook_csv, name="logbook_csv"),
    path("firings/side-by-side/", side_by_side.side_by_side, name="side_by_side"),
    path(
        "firings/side-by-side/side-by-side.csv",
        side_by_side.side_by_side_csv,
        name="side_by_side_csv",
    ),
    path("firings/<int:pk>/", firing_page.firing_detail, name="firing_detail"),
    path("firings/<int:pk>/curve.json", firing_page.firing_chart_data, name="firing_chart_data"),
    path("firings/<int:pk>/note/take/", tuning.note_take, name="note_take"),
    path("advice/", forecasts.advice_record, name="advice_record"),
    path("schedules/<int:pk>/forecasts/", forecasts.schedule_forecasts, name="schedule_forecasts"),
    path(
        "schedules/<int:pk>/revisions/<int:number>/other-kiln/",
        to_kiln.revision_to_kiln,
        name="revision_to_kiln",
    ),
    path("schedules/<int:pk>/tuning/", tuning_page.schedule_tuning, name="schedule_tuning"),
    path("kilns/<int:pk>/history/", kiln_history.kiln_history, name="kiln_history"),
    path("kilns/<int:pk>/learn/", kiln_history.kiln_learn, name="kiln_learn"),
    path("kilns/<int:pk>/measured/", measuring.kiln_measured, name="kiln_measured"),
    path("kilns/<int:pk>/measured.csv", measuring.kiln_measured_csv, name="kiln_measured_csv"),
    path("kilns/<int:pk>/measured/add/", measuring.measurement_add, name="measurement_add"),
    path("kilns/<int:pk>/measured/take-over/", measuring.offset_adopt, name="offset_adopt"),
    path("measurements/<int:pk>/change/", measuring.measurement_change, name="measurement_change"),
    path("measurements/<int:pk>/remove/", measuring.measurement_remove, name="measurement_remove"),
]

# Moulds and shelves.
furniture_patterns = [
    path("moulds/", furniture.furniture_list, name="furniture_list"),
    path("moulds/add/", furniture.furniture_add, name="furniture_add"),
    path("moulds/<int:pk>/", furniture.furniture_detail, name="furniture_detail"),
    path("moulds/<int:pk>/change/", furniture.furniture_change, name="furniture_change"),
    path("moulds/<int:pk>/coat/", furniture.furniture_coat, name="furniture_coat"),
    path("moulds/<int:pk>/away/", furniture.furniture_put_away, name="furniture_put_away"),
]

# What it costs, and what is charged for it.
money_patterns = [
    path("prices/", prices.price_list, name="price_list"),
    path("prices/add/", prices.price_list_add, name="price_list_add"),
    path("prices/<int:pk>/change/", prices.price_list_change, name="price_list_change"),
    path("firings/<int:pk>/cost/", statements.firing_cost, name="firing_cost"),
    path("people/<int:pk>/statement/", statements.person_statement, name="person_statement"),
    path(
        "people/<int:pk>/statement.csv",
        statements.person_statement_csv,
        name="person_statement_csv",
    ),
    path("statements/", statements.statement_list, name="statement_list"),
    path("statements.csv", statements.statement_list_csv, name="statement_list_csv"),
    path("classes/<int:pk>/statements/", statements.statement_list, name="class_statement_list"),
    path(
        "classes/<int:pk>/statements.csv",
        statements.statement_list_csv,
        name="class_statement_list_csv",
    ),
]

urlpatterns = [
    *record_patterns,
    *ladder_patterns,
    *calendar_patterns,
    *step_patterns,
    *waiting_patterns,
    *loading_patterns,
    *clearing_patterns,
    *conversation_patterns,
    *mending_patterns,
    *review_patterns,
    *recording_patterns,
    *logger_patterns,
    *watching_patterns,
    *label_patterns,
    *tuning_patterns,
    *furniture_patterns,
    *money_patterns,
]
