"""Who is signed in now, and the worker that keeps the live pages."""

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.test import Client
from django.urls import reverse

from studio.models import Person

pytestmark = pytest.mark.django_db
SignedIn = Callable[[Person], Client]


def worker(client: Client) -> str:
    return client.get(reverse("studio:worker")).content.decode()


def test_it_says_who_is_signed_in(outsider: Client, artist: Person, signed_in: SignedIn) -> None:
    address = reverse("studio:signed_in_now")
    nobody, somebody = outsider.get(address), signed_in(artist).get(address)
    assert nobody.json()["person"] is None
    assert somebody.json()["person"] == artist.pk
    assert "no-store" in somebody.headers["Cache-Control"]


def test_its_token_takes_a_form(artist: Person) -> None:
    client = Client(enforce_csrf_checks=True)
    client.force_login(artist, backend="django.contrib.auth.backends.ModelBackend")
    token = client.get(reverse("studio:signed_in_now")).json()["token"]
    told = {"name": "Inka", "unit": "F"}
    address = reverse("studio:account")
    assert client.post(address, told).status_code == 403
    assert client.post(address, told, headers={"X-CSRFToken": token}).status_code != 403


def test_worker_is_small_and_asked_for_anew(outsider: Client) -> None:
    answer = outsider.get(reverse("studio:worker"))
    assert answer.headers["Content-Type"].startswith("text/javascript")
    assert "no-cache" in answer.headers["Cache-Control"]
    assert "worker-src 'self'" in answer.headers["Content-Security-Policy"]
    assert len(answer.content) < 6 * 1024
    known = {"If-None-Match": answer.headers["ETag"]}
    assert outsider.get(reverse("studio:worker"), headers=known).status_code == 304


def test_worker_stands_where_it_serves_the_whole_site() -> None:
    assert reverse("studio:worker").count("/") == 1


def test_its_version_follows_the_files(outsider: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    before = re.findall(r'"files-(\w+)"', worker(outsider))
    monkeypatch.setattr(staticfiles_storage, "base_url", "/other/")
    after = re.findall(r'"files-(\w+)"', worker(outsider))
    assert before
    assert after
    assert before != after


def test_worker_keeps_the_live_pages_alone(outsider: Client) -> None:
    live = re.search(r"const LIVE = /(.*)/;", worker(outsider))
    assert live
    rule = re.compile(live[1].replace(r"\/", "/"))
    assert rule.match(reverse("firings:kilns_now"))
    assert rule.match(reverse("firings:firing_now", args=[12]))
    for name in ("firings:today", "firings:logbook", "studio:account", "studio:sign_in"):
        assert not rule.match(reverse(name))


def test_it_keeps_all_that_a_live_page_is_drawn_with(
    outsider: Client, artist: Person, signed_in: SignedIn
) -> None:
    page = signed_in(artist).get(reverse("firings:kilns_now")).content.decode()
    needed = set(re.findall(r'(?:src|href)="(/static/[^"]+)"', page))
    kept = set(re.findall(r'"(/static/[^"]+)"', worker(outsider)))
    assert needed
    assert needed <= kept
    for address in kept:
        assert Path(str(finders.find(address.removeprefix("/static/")))).exists()
