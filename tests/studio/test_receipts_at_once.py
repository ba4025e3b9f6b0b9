"""A form sent twice at the same moment, as a double tap does."""

from collections.abc import Callable
from uuid import uuid4

import pytest
from django.test import Client

from studio.models import GlassFamily
from tests.at_once import at_once
from tests.factories import make_person

SENDINGS = 4


@pytest.mark.django_db(transaction=True)
def test_form_sent_several_times_at_once_makes_one_record(
    signed_in: Callable[..., Client],
) -> None:
    person = make_person("inka")
    browsers = [signed_in(person) for _ in range(SENDINGS)]
    asked = {"name": "soft 104", "form_key": str(uuid4())}

    def send(browser: Client) -> tuple[int, str]:
        answer = browser.post("/glass/families/add/", asked)
        return answer.status_code, answer.headers.get("Location", "")

    answers = set(at_once(send, browsers))
    assert answers == {(302, "/glass/families/")}
    assert GlassFamily.objects.count() == 1
