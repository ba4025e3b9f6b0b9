from datetime import timedelta
from uuid import uuid4

import pytest
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.test import RequestFactory
from django.utils import timezone

from studio.models import FormReceipt, GlassFamily, Person
from studio.receipts import KEPT_FOR, forget_old, once

pytestmark = pytest.mark.django_db


@once
def family_add(request: HttpRequest) -> HttpResponse:
    if request.POST["name"] == "wrong":
        GlassFamily.objects.create(name="half done")
        return HttpResponse("please mend the name")
    family = GlassFamily.objects.create(name=request.POST["name"])
    return HttpResponseRedirect(f"/families/{family.pk}/")


def send(person: Person, **data: object) -> HttpResponse:
    request = RequestFactory().post("/families/", data)
    request.user = person
    return family_add(request)


def test_a_form_sent_twice_makes_one_record(artist: Person) -> None:
    key = uuid4()
    first = send(artist, name="soft", form_key=key)
    second = send(artist, name="soft again", form_key=key)
    assert GlassFamily.objects.count() == 1
    assert second.headers["Location"] == first.headers["Location"]


def test_a_form_that_came_back_with_errors_can_be_sent_again(artist: Person) -> None:
    key = uuid4()
    assert send(artist, name="wrong", form_key=key).status_code == 200
    assert not GlassFamily.objects.exists()
    assert send(artist, name="right", form_key=key).status_code == 302
    assert GlassFamily.objects.get().name == "right"


def test_another_persons_key_is_not_answered_with_their_record(
    artist: Person, student: Person
) -> None:
    key = uuid4()
    send(artist, name="hers", form_key=key)
    with pytest.raises(Exception):  # noqa: B017, PT011 — the key is unique, so the row is refused
        send(student, name="his", form_key=key)
    assert FormReceipt.objects.get().person == artist


def test_a_form_without_a_key_is_taken_each_time(artist: Person) -> None:
    send(artist, name="one", form_key="no key")
    send(artist, name="two")
    assert GlassFamily.objects.count() == 2


def test_old_receipts_are_forgotten_and_young_ones_kept(artist: Person) -> None:
    old, young = (FormReceipt.objects.create(key=uuid4(), person=artist) for _ in range(2))
    long_ago = timezone.now() - KEPT_FOR - timedelta(minutes=1)
    FormReceipt.objects.filter(pk=old.pk).update(taken_at=long_ago)

    forget_old()

    assert FormReceipt.objects.get() == young
