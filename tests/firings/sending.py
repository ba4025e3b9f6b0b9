"""A logger that sends to the site, as the tests have one."""

import json
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.http import HttpResponse
from django.test import Client
from django.urls import reverse

from firings.actions.logger import logger_token_make
from studio.models import Kiln, Person

Reading = tuple[datetime, float]


class Logger:
    def __init__(self, kiln: Kiln, by: Person, name: str = "Bench logger") -> None:
        self.kiln = kiln
        self.token, self.given = logger_token_make(kiln=kiln, by=by, name=name)
        self.client = Client(enforce_csrf_checks=True)

    def send(self, *readings: Reading, unit: str = "C") -> dict[str, Any]:
        """What became of them; anything but a taken batch fails."""
        answer = self.post(batch_of(readings, unit))
        assert answer.status_code == 200, answer.content
        return answer.json()

    def post(self, body: Any, *, given: str | None = None, **sent: Any) -> HttpResponse:
        content = body if isinstance(body, str | bytes) else json.dumps(body)
        return self.client.post(
            reverse("firings:readings_take", args=[self.kiln.pk]),
            content,
            **{"content_type": "application/json"} | sent,
            headers={"Authorization": f"Bearer {self.given if given is None else given}"},
        )


def batch_of(readings: Sequence[Reading], unit: str = "C") -> dict[str, Any]:
    told = [{"at": at.isoformat(), "temperature": value} for at, value in readings]
    return {"unit": unit, "readings": told}
