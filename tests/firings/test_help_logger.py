"""The example on the help page is run as it stands, against the site."""

import html
import os
import re
import subprocess
import sys
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from firings.models import LoggedReading
from studio.models import Person
from tests.factories import make_kiln
from tests.firings.sending import Logger

pytestmark = pytest.mark.django_db(transaction=True)


def example_on(browser: Client) -> str:
    page = browser.get(reverse("firings:help_logger")).content.decode()
    found = re.search(r'<code id="example">(.*?)</code>', page, flags=re.DOTALL)
    assert found is not None
    return html.unescape(found[1])


def test_the_example_sends_what_it_reads(
    live_server: Any, keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    logger = Logger(make_kiln(), keeper)
    address = reverse("firings:readings_take", args=[logger.kiln.pk])
    told = {"LOGBOOK_ADDRESS": live_server.url + address, "LOGBOOK_TOKEN": logger.given}

    ran = subprocess.run(  # noqa: S603 - our own lines
        [sys.executable, "-c", example_on(signed_in(keeper))],
        input="801.5\n802\n803.25\n",
        env={"PATH": os.environ["PATH"], **told},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )

    assert ran.stdout.count("'accepted': 1") == 3, ran.stdout + ran.stderr
    kept = LoggedReading.objects.order_by("at").values_list("temperature_c", flat=True)
    assert list(kept) == [801.5, 802.0, 803.25]


def test_the_example_is_short_and_keeps_what_it_could_not_send(
    keeper: Person, signed_in: Callable[[Person], Client]
) -> None:
    example = example_on(signed_in(keeper))
    assert len(example.splitlines()) <= 21
    told = {"LOGBOOK_ADDRESS": "http://127.0.0.1:9/", "LOGBOOK_TOKEN": "1.x"}

    ran = subprocess.run(  # noqa: S603 - our own lines
        [sys.executable, "-c", example + "\nprint(len(unsent), 'unsent')"],
        input="801.5\n802\n",
        env={"PATH": os.environ["PATH"], **told},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )

    assert ran.stdout.count("not sent yet") == 2
    assert "2 unsent" in ran.stdout
