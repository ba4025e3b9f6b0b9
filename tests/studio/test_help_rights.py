"""The table of rights, in words: every act, every relation."""

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from studio import access
from studio.models import Person
from studio.rights_words import ACTS, RELATIONS, SUBJECTS, rights_in_words


def test_every_act_and_relation_has_words() -> None:
    assert set(access.TABLE) <= set(ACTS), set(access.TABLE) - set(ACTS)
    assert set(RELATIONS) == access.EVERY
    assert {act.partition(".")[0] for act in access.TABLE} <= set(SUBJECTS)


def test_words_say_what_the_table_says() -> None:
    lines = {line.act: dict(line.roles) for _, found in rights_in_words() for line in found}
    judge = lines[ACTS["piece.judge"]]
    assert judge["keeper"] == []
    assert judge["student"] == ["one’s own"]
    assert judge["instructor"] == ["one’s own", "of a student whom one teaches", "of anybody else"]
    assert lines[ACTS["kiln.change"]]["artist"] is None


@pytest.mark.django_db
def test_its_page_is_found_from_help(
    student: Person, signed_in: Callable[[Person], Client]
) -> None:
    client = signed_in(student)
    assert "/help/rights/" in client.get("/help/").text
    page = client.get("/help/rights/").text
    for said in ("change a kiln’s record", "of a student whom one teaches"):
        assert said in page


@pytest.mark.django_db
def test_help_tells_of_conversations_and_of_keeping_to_oneself(
    student: Person, signed_in: Callable[[Person], Client]
) -> None:
    client = signed_in(student)
    page = client.get("/help/").text
    for said in ("write @ and the name", "once a day", "Keeping a firing to yourself"):
        assert said in page
    for address in ("firings:conversation_list", "firings:message_wishes"):
        assert f'href="{reverse(address)}"' in page
        assert client.get(reverse(address)).status_code == 200
