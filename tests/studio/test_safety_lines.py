from collections.abc import Callable

from django.test import Client
from django.urls import reverse

from studio.models import Person, SafetyLine
from studio.models.safety import LONGEST_LINE, USUAL_LINES

SignIn = Callable[[Person], Client]


def address() -> str:
    return reverse("studio:safety_lines")


def test_keeper_writes_the_studios_own_lines(keeper: Person, signed_in: SignIn) -> None:
    client = signed_in(keeper)
    assert USUAL_LINES[0] in client.get(address()).text
    client.post(address(), {"lines": "The gate is shut\n\n  Cord clear \r\nCord clear"})

    assert SafetyLine.current() == ["The gate is shut", "Cord clear"]


def test_an_empty_list_brings_the_usual_lines_back(keeper: Person, signed_in: SignIn) -> None:
    SafetyLine.objects.create(text="The gate is shut", position=1)
    signed_in(keeper).post(address(), {"lines": " \n"})
    assert SafetyLine.current() == USUAL_LINES


def test_what_is_too_long_is_told_and_kept(keeper: Person, signed_in: SignIn) -> None:
    line = "x" * (LONGEST_LINE + 1)
    answer = signed_in(keeper).post(address(), {"lines": line})
    assert "is longer than 200 characters" in answer.text
    assert line in answer.text
    answer = signed_in(keeper).post(address(), {"lines": "\n".join(map(str, range(31)))})
    assert "At most 30 lines; these are 31." in answer.text
    assert not SafetyLine.objects.exists()


def test_others_do_not_change_it(artist: Person, signed_in: SignIn) -> None:
    assert signed_in(artist).get(address()).status_code == 403
