"""Classes are made, joined by link and code, and left; what was made in them stays."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from firings.models import FiringState
from schedules.models import ClassSchedule
from studio.actions.classes import MOST_WRONG_CODES
from studio.models import ClassMember, Invitation, Person, TeachingClass
from tests.factories import make_class, make_firing, make_kiln, make_person, make_schedule

SignIn = Callable[[Person], Client]
pytestmark = pytest.mark.django_db


def answers(*instructors: Person, **given: Any) -> dict[str, Any]:
    return {
        "name": "Monday kiln-forming",
        "starts_on": f"{timezone.localdate():%Y-%m-%d}",
        "instructors": [person.pk for person in instructors],
        "asks_clearing": "on",
        "joining_is_open": "on",
    } | given


def join(client: Client, code: str) -> Any:
    return client.post(reverse("studio:class_join"), {"code": code}, follow=True)


def test_an_instructor_makes_a_class_and_is_told_its_code(
    instructor: Person, signed_in: SignIn
) -> None:
    kiln = make_kiln("Wren")
    page = signed_in(instructor).post(
        reverse("studio:class_add"),
        answers(instructor, kilns=[kiln.pk], highest_temperature_c="810"),
        follow=True,
    )
    made = TeachingClass.objects.get()
    assert (made.name, made.made_by) == ("Monday kiln-forming", instructor)
    assert list(made.instructors.all()) == [instructor]
    assert list(made.kilns.all()) == [kiln]
    assert made.highest_temperature_c == 810
    assert made.joining_code in page.text
    assert "810 °C" in page.text


def test_what_is_wrong_is_told_and_what_was_typed_is_kept(
    instructor: Person, keeper: Person, signed_in: SignIn
) -> None:
    wrong = answers(keeper, ends_on="2020-01-01", highest_temperature_c="9000")
    page = signed_in(instructor).post(reverse("studio:class_add"), wrong)
    assert "You can’t take yourself out" in page.text
    assert "Monday kiln-forming" in page.text
    assert page.context["form"].errors["highest_temperature_c"]
    page = signed_in(instructor).post(
        reverse("studio:class_add"), answers(instructor, ends_on="2020-01-01")
    )
    assert "can&#x27;t end before it starts" in page.text
    assert TeachingClass.objects.count() == 0


def test_two_change_one_class_and_each_saves_their_part(
    instructor: Person, keeper: Person, signed_in: SignIn
) -> None:
    taught = make_class(instructor, name="Mondays")
    change = reverse("studio:class_change", args=[taught.pk])
    shown = signed_in(keeper).get(change).context["form"]
    seen = {
        shown[name].html_initial_name: shown[name].value() or ""
        for name in ("name", "note", "starts_on", "ends_on", "highest_temperature_c")
    }
    base = answers(instructor, name="Mondays") | seen
    signed_in(instructor).post(change, base | {"note": "Bring cutters."})
    signed_in(keeper).post(change, base | {"name": "Monday evenings"})
    taught.refresh_from_db()
    assert (taught.name, taught.note) == ("Monday evenings", "Bring cutters.")


@pytest.mark.parametrize("spoken", ["{0}", " {1}-{2} "])
def test_a_student_joins_by_its_code_however_it_is_read_out(
    spoken: str, instructor: Person, student: Person, signed_in: SignIn
) -> None:
    taught = make_class(instructor)
    code = taught.joining_code
    page = join(signed_in(student), spoken.format(code, code[:4].lower(), code[4:]))
    assert f"You are in “{taught.name}”." in page.text
    assert taught.members.get().person == student


def test_joining_twice_changes_nothing(
    instructor: Person, student: Person, signed_in: SignIn
) -> None:
    taught = make_class(instructor)
    for _ in range(2):
        join(signed_in(student), taught.joining_code)
    assert taught.members.count() == 1


def test_a_link_fills_the_code_in(instructor: Person, student: Person, signed_in: SignIn) -> None:
    taught = make_class(instructor)
    client = signed_in(student)
    page = client.get(reverse("studio:class_join_by", args=[taught.joining_code]))
    assert page.context["form"]["code"].value() == taught.joining_code
    assert taught.members.count() == 0, "looking at a link joins nothing"


def test_altered_renewed_closed_and_ended_codes_are_refused(
    instructor: Person, student: Person, signed_in: SignIn
) -> None:
    taught = make_class(instructor)
    client = signed_in(student)
    first = taught.joining_code
    altered = first[:-1] + ("2" if first[-1] != "2" else "3")
    assert "No class has this code." in join(client, altered).text
    signed_in(instructor).post(reverse("studio:class_code_renew", args=[taught.pk]))
    assert "No class has this code." in join(client, first).text
    taught.refresh_from_db()
    taught.joining_is_open = False
    taught.save()
    assert "“Beginners” is closed." in join(client, taught.joining_code).text
    taught.joining_is_open = True
    taught.ends_on = timezone.localdate() - timedelta(days=1)
    taught.save()
    assert "“Beginners” is over." in join(client, taught.joining_code).text
    assert ClassMember.objects.count() == 0


def test_guessing_codes_is_throttled(
    instructor: Person, student: Person, signed_in: SignIn
) -> None:
    taught = make_class(instructor)
    client = signed_in(student)
    for _ in range(MOST_WRONG_CODES):
        assert "No class has this code." in join(client, "AAAAAAAA").text
    assert "Too many wrong codes." in join(client, taught.joining_code).text
    other = make_person("tove", role="student")
    assert "You are in" in join(signed_in(other), taught.joining_code).text


def test_whoever_teaches_joins_nothing(instructor: Person, signed_in: SignIn) -> None:
    taught = make_class(instructor)
    address = reverse("studio:class_join")
    assert signed_in(instructor).post(address, {"code": taught.joining_code}).status_code == 403


def test_who_left_can_come_back_and_their_row_stays(
    instructor: Person, student: Person, signed_in: SignIn
) -> None:
    taught = make_class(instructor, students=[student])
    member = taught.members.get()
    page = signed_in(instructor).post(
        reverse("studio:class_member_take_out", args=[member.pk]), follow=True
    )
    assert "Left (1)" in page.text
    detail = reverse("studio:class_detail", args=[taught.pk])
    assert signed_in(student).get(detail).status_code == 403
    join(signed_in(student), taught.joining_code)
    assert taught.members.get().left_at is None


def test_an_invitation_brings_into_the_class(
    instructor: Person, outsider: Client, signed_in: SignIn
) -> None:
    taught, other = make_class(instructor), make_class(make_person("petr", role="instructor"))
    given = {"invited_for": "Tove", "role": "student", "email": ""}
    client = signed_in(instructor)
    refused = client.post(reverse("studio:invitation_make"), given | {"teaching_class": other.pk})
    assert refused.context["form"].errors["teaching_class"]
    client.post(reverse("studio:invitation_make"), given | {"teaching_class": taught.pk})
    accept = reverse("studio:invitation_accept", args=[Invitation.objects.get().token])
    new = {
        "name": "Tove", "sign_in_name": "tove", "email": "", "unit": "C",
        "password1": "millpond-and-reeds", "password2": "millpond-and-reeds",
    }  # fmt: skip
    outsider.post(accept, new)
    assert taught.members.get().person.name == "Tove"
    assert outsider.get(accept).status_code in (302, 410), "used once"


def test_its_schedules_are_chosen(instructor: Person, student: Person, signed_in: SignIn) -> None:
    taught, schedule = make_class(instructor, students=[student]), make_schedule(instructor)
    address = reverse("schedules:class_schedules", args=[taught.pk])
    client = signed_in(instructor)
    client.post(address, {"schedules": [schedule.pk]})
    assert ClassSchedule.objects.get().schedule == schedule
    assert schedule.name in signed_in(student).get(
        reverse("studio:class_detail", args=[taught.pk])
    ).text  # fmt: skip
    client.post(address, {})
    assert not ClassSchedule.objects.exists()


def test_a_student_plans_within_what_a_class_allows(
    instructor: Person, student: Person, signed_in: SignIn
) -> None:
    wren, heron = make_kiln("Wren"), make_kiln("Heron")
    firing = make_firing(student, kiln=heron)
    revision = firing.revision
    make_class(instructor, students=[student], kilns=[wren], highest_temperature_c=800.0)
    plan = reverse("firings:firing_plan")
    given = {"kiln": heron.pk, "revision": revision.pk, "fired_by": student.pk, "title": "Tide"}
    page = signed_in(student).post(plan, given)
    errors = page.context["form"].errors
    assert errors["kiln"] == ["The class “Beginners” doesn’t use this kiln."]
    assert errors["revision"] == [
        "It goes above 800\N{NO-BREAK SPACE}°C, the most that the class “Beginners” may fire."
    ]
    assert page.context["form"]["title"].value() == "Tide"
    make_class(instructor, students=[student], name="Advanced")
    assert signed_in(student).post(plan, given).status_code == 302


def test_a_start_that_no_class_allows_is_refused_too(
    instructor: Person, student: Person, signed_in: SignIn
) -> None:
    firing = make_firing(student)
    other = make_kiln("Wren")
    make_class(instructor, students=[student], kilns=[other], asks_clearing=False)
    start = reverse("firings:firing_start", args=[firing.pk])
    page = signed_in(student).post(start, {}, follow=True)
    assert "doesn’t use this kiln" in page.text
    firing.refresh_from_db()
    assert firing.state == FiringState.PLANNED


def test_what_a_student_made_stays_theirs_when_the_class_ends(
    instructor: Person, student: Person, signed_in: SignIn
) -> None:
    taught = make_class(instructor, students=[student])
    firing = make_firing(student, state="opened")
    taught.starts_on = timezone.localdate() - timedelta(days=99)
    taught.ends_on = timezone.localdate() - timedelta(days=90)
    taught.save()
    edit = reverse("firings:firing_edit", args=[firing.pk])
    assert signed_in(student).get(edit).status_code == 200


def test_list_asks_as_often_for_one_as_for_many(keeper: Person, signed_in: SignIn) -> None:
    client = signed_in(keeper)

    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            assert "Beginners" in client.get(reverse("studio:class_list")).text
        return len(queries)

    make_class(keeper)
    asked()
    few = asked()
    for number in range(4):
        make_class(keeper, students=[make_person(f"s{number}", role="student")])
    assert asked() == few
