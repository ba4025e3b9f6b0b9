from django.http import HttpRequest, HttpResponse
from django.urls import include, path
from django.views.defaults import page_not_found


def _soon(request: HttpRequest, **kwargs: object) -> HttpResponse:
    return page_not_found(request, Exception())


studio_patterns = (
    [
        path("sign-in/", _soon, name="sign_in"),
        path("account/", _soon, name="account"),
        path("people/", _soon, name="person_list"),
        path("people/<int:pk>/", _soon, name="person_detail"),
        path("kilns/", _soon, name="kiln_list"),
        path("kilns/<int:pk>/", _soon, name="kiln_detail"),
        path("glass/", _soon, name="glass_list"),
    ],
    "studio",
)

urlpatterns = [
    path("", include("firings.urls")),
    path("schedules/", include("schedules.urls")),
    path("", include(studio_patterns)),
]
