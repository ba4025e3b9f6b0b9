from django.urls import include, path

from studio.views import (
    account,
    classes,
    device,
    first_visit,
    glass,
    help,
    kilns,
    labels,
    list_import,
    lists,
    people,
    rubric,
    safety,
    service,
    shared_devices,
    short_codes,
    stock,
    studio_page,
    style,
    trail,
)

account_patterns = [
    path("first-visit/", first_visit.first_visit, name="first_visit"),
    path("first-steps/", first_visit.first_steps, name="first_steps"),
    path("sign-in/", account.sign_in, name="sign_in"),
    path("sign-out/", account.SignOut.as_view(), name="sign_out"),
    path("account/", account.account, name="account"),
    path("account/password/", account.PasswordChange.as_view(), name="password_change"),
    path("password/forgotten/", account.PasswordForgotten.as_view(), name="password_forgotten"),
    path("password/sent/", account.PasswordSent.as_view(), name="password_sent"),
    path("password/<uidb64>/<token>/", account.PasswordSet.as_view(), name="password_set"),
]

short_code_patterns = [
    path("account/short-code/", short_codes.short_code, name="short_code"),
    path(
        "account/short-code/known/",
        short_codes.short_code_locks_known,
        name="short_code_locks_known",
    ),
    path(
        "people/<int:pk>/short-code/take-away/",
        short_codes.short_code_take_away,
        name="short_code_take_away",
    ),
]

device_patterns = [
    path("devices/", shared_devices.device_list, name="device_list"),
    path("devices/set-up/", shared_devices.device_set_up, name="device_set_up"),
    path("devices/<int:pk>/take-away/", shared_devices.device_take_away, name="device_take_away"),
    path("device/", shared_devices.device_here, name="device_here"),
]

people_patterns = [
    path("people/", people.person_list, name="person_list"),
    path("people/<int:pk>/", people.person_detail, name="person_detail"),
    path("people/<int:pk>/role/", people.person_set_role, name="person_set_role"),
    path("people/<int:pk>/deactivate/", people.person_deactivate, name="person_deactivate"),
    path("people/<int:pk>/activate/", people.person_activate, name="person_activate"),
    path(
        "people/<int:pk>/make-anonymous/",
        people.person_make_anonymous,
        name="person_make_anonymous",
    ),
    path("people/<int:pk>/reset-link/", people.reset_link_make, name="reset_link_make"),
    path("people/invite/", people.invitation_make, name="invitation_make"),
    path("people/invitations/<int:pk>/", people.invitation_detail, name="invitation_detail"),
    path(
        "people/invitations/<int:pk>/withdraw/",
        people.invitation_withdraw,
        name="invitation_withdraw",
    ),
    path("invitation/<str:token>/", people.invitation_accept, name="invitation_accept"),
]

class_patterns = [
    path("classes/", classes.class_list, name="class_list"),
    path("classes/add/", classes.class_add, name="class_add"),
    path("classes/join/", classes.class_join, name="class_join"),
    path("classes/join/<str:code>/", classes.class_join_by, name="class_join_by"),
    path("classes/<int:pk>/", classes.class_detail, name="class_detail"),
    path("classes/<int:pk>/change/", classes.class_change, name="class_change"),
    path("classes/rubric/", rubric.studio_rubric, name="studio_rubric"),
    path("classes/<int:pk>/rubric/", rubric.class_rubric, name="class_rubric"),
    path("classes/<int:pk>/code/", classes.class_code_renew, name="class_code_renew"),
    path(
        "classes/members/<int:pk>/take-out/",
        classes.class_member_take_out,
        name="class_member_take_out",
    ),
]

kiln_patterns = [
    path("kilns/", kilns.kiln_list, name="kiln_list"),
    path("kilns/add/", kilns.kiln_add, name="kiln_add"),
    path("kilns/<int:pk>/", kilns.kiln_detail, name="kiln_detail"),
    path("kilns/<int:pk>/change/", kilns.kiln_change, name="kiln_change"),
    path("kilns/<int:pk>/shelf/", kilns.place_list_change, name="place_list_change"),
    path("kilns/<int:pk>/service/", service.service_diary, name="service_diary"),
    path("kilns/<int:pk>/service/add/", service.service_entry_add, name="service_entry_add"),
    path("kilns/<int:pk>/service/due/", service.service_intervals, name="service_intervals"),
    path("service/<int:pk>/change/", service.service_entry_change, name="service_entry_change"),
    path("service/<int:pk>/remove/", service.service_entry_remove, name="service_entry_remove"),
]

glass_patterns = [
    path("glass/", glass.glass_list, name="glass_list"),
    path("glass/add/", glass.glass_add, name="glass_add"),
    path("glass/<int:pk>/", glass.glass_detail, name="glass_detail"),
    path("glass/<int:pk>/change/", glass.glass_change, name="glass_change"),
    path("glass/<int:pk>/archive/", glass.glass_archive, name="glass_archive"),
    path("glass/<int:pk>/unarchive/", glass.glass_unarchive, name="glass_unarchive"),
    path("glass/families/", glass.family_list, name="family_list"),
    path("glass/families/add/", glass.family_add, name="family_add"),
    path("glass/families/<int:pk>/change/", glass.family_change, name="family_change"),
]

shelf_patterns = [
    path("glass/shelf/", stock.shelf_list, name="shelf_list"),
    path("glass/shelf/low/", stock.shelf_low, name="shelf_low"),
    path("glass/shelf/labels/", labels.lot_labels, name="lot_labels"),
    path("g/<slug:code>/", labels.lot_code, name="lot_code"),
    path("glass/<int:pk>/receive/", stock.glass_receive, name="glass_receive"),
    path("glass/<int:pk>/take/", stock.glass_take, name="glass_take"),
    path("glass/<int:pk>/level/", stock.glass_level, name="glass_level"),
    path("glass/shelf/lots/<int:pk>/", stock.lot_detail, name="lot_detail"),
    path("glass/shelf/lots/<int:pk>/cut/", stock.lot_cut, name="lot_cut"),
    path("glass/shelf/lots/<int:pk>/take/", stock.lot_take, name="lot_take"),
    path("glass/shelf/lots/<int:pk>/return/", stock.lot_return, name="lot_return"),
    path("glass/shelf/lots/<int:pk>/count/", stock.lot_count, name="lot_count"),
    path(
        "glass/shelf/movements/<int:pk>/take-back/",
        stock.movement_take_back,
        name="movement_take_back",
    ),
]

list_patterns = [
    path("lists/", lists.list_index, name="list_index"),
    path("lists/<slug:key>.csv", lists.list_csv, name="list_csv"),
    path("lists/<slug:key>/bring/", list_import.list_import_add, name="list_import_add"),
    path("lists/brought/<int:pk>/", list_import.list_import_detail, name="list_import_detail"),
    path(
        "lists/brought/<int:pk>/columns/",
        list_import.list_import_columns,
        name="list_import_columns",
    ),
    path("lists/brought/<int:pk>/run/", list_import.list_import_run, name="list_import_run"),
    path(
        "lists/brought/<int:pk>/again/",
        list_import.list_import_look_again,
        name="list_import_look_again",
    ),
    path(
        "lists/brought/<int:pk>/cancel/", list_import.list_import_cancel, name="list_import_cancel"
    ),
    path(
        "lists/brought/<int:pk>/refused.csv",
        list_import.list_import_refused,
        name="list_import_refused",
    ),
]

page_patterns = [
    path("studio/", studio_page.studio_change, name="studio_change"),
    path("studio/safety-lines/", safety.safety_lines, name="safety_lines"),
    path("help/", help.help_index, name="help_index"),
    path("help/words/", help.help_words, name="help_words"),
    path("help/rights/", help.help_rights, name="help_rights"),
    path("help/cautions/", help.help_cautions, name="help_cautions"),
    path("trail/<slug:kind>/<int:pk>/", trail.trail_detail, name="trail_detail"),
    path("style/", style.style, name="style"),
    path("signed-in/", device.signed_in_now, name="signed_in_now"),
    path("worker.js", device.worker, name="worker"),
]

studio_patterns = (
    account_patterns
    + short_code_patterns
    + device_patterns
    + people_patterns
    + class_patterns
    + kiln_patterns
    + glass_patterns
    + shelf_patterns
    + list_patterns
    + page_patterns,
    "studio",
)

urlpatterns = [
    path("", include("firings.urls")),
    path("schedules/", include("schedules.urls")),
    path("", include(studio_patterns)),
]
