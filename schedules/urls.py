from django.urls import path

from schedules.views import (
    card,
    carrying,
    class_schedules,
    controller_memory,
    drafting,
    editor,
    keying,
    remarks,
    revision,
    schedule,
)

app_name = "schedules"

urlpatterns = [
    path("", schedule.schedule_list, name="schedule_list"),
    path("add/", editor.schedule_add, name="schedule_add"),
    path("card/", card.schedule_card_add, name="schedule_card_add"),
    path("draft/", drafting.schedule_draft, name="schedule_draft"),
    path("<int:pk>/", schedule.schedule_detail, name="schedule_detail"),
    path("<int:pk>/card/<slug:size>.jpg", card.schedule_card_file, name="schedule_card_file"),
    path("<int:pk>/edit/", schedule.schedule_edit, name="schedule_edit"),
    path("<int:pk>/archive/", schedule.schedule_archive, name="schedule_archive"),
    path("<int:pk>/restore/", schedule.schedule_restore, name="schedule_restore"),
    path("<int:pk>/difference/", revision.revision_difference, name="revision_difference"),
    path("<int:pk>/revisions/<int:number>/", revision.revision_detail, name="revision_detail"),
    path(
        "<int:pk>/revisions/<int:number>/curve.json",
        revision.revision_curve_data,
        name="revision_curve_data",
    ),
    path("<int:pk>/revisions/<int:number>/card/", keying.keying_card, name="keying_card"),
    path("<int:pk>/revisions/<int:number>/copy/", editor.revision_copy, name="revision_copy"),
    path(
        "<int:pk>/revisions/<int:number>/remarks/<slug:key>/silence/",
        remarks.remark_silence,
        name="remark_silence",
    ),
    path("memory-of/<int:pk>/", controller_memory.kiln_memory, name="kiln_memory"),
    path("for-class/<int:pk>/", class_schedules.class_schedules, name="class_schedules"),
    path("remarks/<int:pk>/hear/", remarks.remark_hear, name="remark_hear"),
    path("<int:pk>/revisions/<int:number>/carry/", carrying.revision_carry, name="revision_carry"),
]
