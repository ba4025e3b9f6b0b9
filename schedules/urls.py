from django.http import HttpRequest, HttpResponse
from django.urls import path
from django.views.defaults import page_not_found

app_name = "schedules"


def _soon(request: HttpRequest, **kwargs: object) -> HttpResponse:
    return page_not_found(request, Exception())


urlpatterns = [
    path("", _soon, name="schedule_list"),
    path("<int:pk>/", _soon, name="schedule_detail"),
    path("<int:pk>/revisions/<int:number>/", _soon, name="revision_detail"),
    path("<int:pk>/revisions/<int:number>/copy/", _soon, name="revision_copy"),
    path("<int:pk>/difference/", _soon, name="revision_difference"),
]
