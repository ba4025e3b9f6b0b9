"""The demo studio, made at one stroke. Everything in it is invented."""

from datetime import timedelta

from django.db import transaction
from django.utils import timezone

from firings.demo.conversation import conversation_make
from firings.demo.costs import costs_make
from firings.demo.devices import SHORT_CODES, devices_make
from firings.demo.equipment import (
    PEOPLE,
    SIGN_IN_PHRASE,
    families_make,
    glass_make,
    kilns_make,
    people_make,
    shelf_make,
    studio_make,
)
from firings.demo.furniture import furniture_make
from firings.demo.history import Year
from firings.demo.kept import kept_make
from firings.demo.ladders import ladders_make
from firings.demo.lists import lists_make
from firings.demo.measuring import measuring_make
from firings.demo.memory import memory_make
from firings.demo.past import past_make
from firings.demo.steps import steps_make
from firings.demo.storage import storage_make
from firings.demo.teaching import teaching_make
from firings.demo.together import together_make
from firings.demo.trails import trails_make
from firings.demo.waiting import waiting_make
from studio.models import Kiln
from studio.models.trail import trail_paused

__all__ = ["PEOPLE", "SHORT_CODES", "SIGN_IN_PHRASE", "demo_make"]


@trail_paused()
@transaction.atomic
def demo_make() -> None:
    """Write the demo studio into an empty database."""
    now = timezone.now()
    studio = studio_make()
    people = people_make(now - timedelta(days=370))
    families = families_make()
    glass = glass_make(families)
    kilns = kilns_make(now.date(), people["mads"])
    shelf_make(glass, people["mads"], now.date())
    Year(studio, people, kilns, families, glass, now).live()
    teaching_make(people, now)
    kept_make(people["inka"])
    waiting_make(people, glass, now)
    measuring_make(people=people, kilns=kilns, families=families, today=now.date())
    conversation_make(people, now)
    memory_make(kilns)
    furniture_make(kilns, people["mads"], now)
    costs_make(kilns, people["mads"], now.date())
    lists_make(people["mads"], now.date())
    past_make(people["mads"], Kiln.objects.order_by("pk")[0], families["Millrace 90"], now.date())
    storage_make(people, now)
    ladders_make(people, kilns, now)
    together_make(people, glass, now)
    steps_make(people, now)
    devices_make(people, now)
    trails_make(people=people, kilns=kilns, now=now)
