from typing import Any

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from studio.actions.first_visit import MOST_WRONG_TRIES, code_make, keeper_make
from studio.models import FirstVisitCode, Person, Studio
from tests.factories import PASSWORD

pytestmark = pytest.mark.django_db
FIRST_VISIT = "/first-visit/"


def answers(code: str, **overrides: Any) -> dict[str, Any]:
    return {
        "code": code,
        "name": "Mads Ellery",
        "sign_in_name": "mads",
        "password1": PASSWORD,
        "password2": PASSWORD,
        "email": "",
        "unit": "F",
        "studio_name": "Millrace Glass Studio",
        "time_zone": "America/Halifax",
    } | overrides


def keeper_by(code: str) -> Person:
    return keeper_make(
        code=code,
        name="Mads",
        sign_in_name="mads",
        password=PASSWORD,
        studio_name="Millrace",
        time_zone="UTC",
    )


def test_first_visitor_with_the_code_becomes_keeper(outsider: Client) -> None:
    code = code_make()
    assert outsider.get(FIRST_VISIT).status_code == 200

    response = outsider.post(FIRST_VISIT, answers(code.lower().replace("-", " ")))

    assert response.headers["Location"] == reverse("studio:first_steps")
    keeper = Person.objects.get()
    assert (keeper.role, keeper.unit) == ("keeper", "F")
    assert keeper.check_password(PASSWORD)
    assert (Studio.current().name, Studio.current().time_zone) == (
        "Millrace Glass Studio",
        "America/Halifax",
    )
    assert "Add a kiln" in outsider.get("/first-steps/").text


def test_wrong_code_is_said_at_its_field_and_all_else_is_kept(outsider: Client) -> None:
    code_make()

    response = outsider.post(FIRST_VISIT, answers("AAAA-AAAA-AAAA"))

    assert response.context["form"].errors["code"]
    assert 'value="Mads Ellery"' in response.text
    assert not Person.objects.exists()


def test_code_is_void_after_five_wrong_tries(outsider: Client) -> None:
    code = code_make()
    for _ in range(MOST_WRONG_TRIES):
        outsider.post(FIRST_VISIT, answers("AAAA-AAAA-AAAA"))

    response = outsider.post(FIRST_VISIT, answers(code))

    assert "Restart the site" in response.text
    assert not Person.objects.exists()
    outsider.post(FIRST_VISIT, answers(code_make()))
    assert Person.objects.count() == 1


def test_new_code_replaces_the_one_before() -> None:
    older, newer = code_make(), code_make()

    assert FirstVisitCode.objects.count() == 1
    with pytest.raises(ValidationError):
        keeper_by(older)
    assert keeper_by(newer).role == "keeper"


def test_code_is_not_kept_in_clear() -> None:
    code = code_make()

    kept = FirstVisitCode.objects.get().code_hash
    assert code not in kept
    assert code.replace("-", "") not in kept


def test_there_is_no_second_first_visit(outsider: Client) -> None:
    outsider.post(FIRST_VISIT, answers(code_make()))
    stranger, code = Client(), code_make()

    assert stranger.get(FIRST_VISIT).headers["Location"] == reverse("studio:sign_in")
    assert stranger.post(FIRST_VISIT, answers(code)).status_code == 302
    with pytest.raises(ValidationError, match="keeper already"):
        keeper_by(code)
    assert Person.objects.count() == 1


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("sign_in_name", "two words"),
        ("password2", "other-than-the-first"),
        ("time_zone", "Atlantis/Middle"),
        ("studio_name", ""),
    ],
)
def test_bad_answer_is_said_at_its_field(field: str, typed: str, outsider: Client) -> None:
    response = outsider.post(FIRST_VISIT, answers(code_make(), **{field: typed}))

    assert response.context["form"].errors[field]
    assert not Person.objects.exists()


def test_weak_password_is_refused(outsider: Client) -> None:
    weak = {"password1": "12345678", "password2": "12345678"}

    response = outsider.post(FIRST_VISIT, answers(code_make(), **weak))

    assert response.context["form"].errors["password2"]
