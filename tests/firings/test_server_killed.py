"""Twenty loggers send at once, some readings twice and out of order, and the server is killed
half-way: each reading that was acknowledged is there, once.

The site is served as it always is, by gunicorn on 127.0.0.1, with a database of its own.
"""

import json
import os
import random
import signal
import socket
import sqlite3
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime, timedelta
from http.client import HTTPException
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
LOGGERS, KILNS = 20, 4
LARGEST_BATCH = 40
SENT_TWICE = 0.2
LONGEST_S = 240.0

PREPARE = """
import django
django.setup()
from datetime import timedelta
from django.core.management import call_command
from django.utils import timezone
call_command("migrate", verbosity=0)
from firings.actions.logger import logger_token_make
from tests.factories import make_firing, make_kiln, make_person
keeper = make_person("mads", role="keeper")
kilns = [make_kiln(f"Kiln {number}") for number in range(KILNS)]
make_firing(keeper, kiln=kilns[0], state="firing", started_at=timezone.now() - timedelta(days=2))
for number in range(LOGGERS):
    kiln = kilns[number % KILNS]
    _, given = logger_token_make(kiln=kiln, by=keeper, name=f"Logger {number}")
    print(kiln.pk, given)
"""
SERVE = """
import sys, django
django.setup()
from studio import serving
serving.serve(sys.argv[1], 2)
"""
OPEN = """
import django
django.setup()
from firings.actions.record import firing_open
from firings.models import Firing, LoggedReading, RecordingSeries
firing = Firing.objects.get()
firing_open(firing=firing, opened_by=firing.fired_by)
left = LoggedReading.objects.filter(kiln=firing.kiln).count()
print(RecordingSeries.objects.get().count, left)
"""

Reading = tuple[str, float]
Kept = set[tuple[int, str, float]]


class Studio:
    """The site in a folder of its own, served, killed and served again."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        with socket.socket() as listener:
            listener.bind(("127.0.0.1", 0))
            self.port = int(listener.getsockname()[1])
        kept = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
        self.environment = kept | {
            "STUDIO_DATA": str(folder),
            "STUDIO_DEBUG": "0",
            "DJANGO_SETTINGS_MODULE": "studio.settings",
        }

    def run(self, program: str) -> list[list[str]]:
        told = subprocess.run(  # noqa: S603 - our own program
            [sys.executable, "-c", program],
            env=self.environment, cwd=PROJECT, check=True, capture_output=True, text=True,
        ).stdout  # fmt: skip
        return [line.split() for line in told.splitlines()]

    def serve(self) -> subprocess.Popen[bytes]:
        server = subprocess.Popen(  # noqa: S603 - our own program
            [sys.executable, "-c", SERVE, f"127.0.0.1:{self.port}"],
            env=self.environment, cwd=PROJECT, start_new_session=True,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        for _ in range(300):
            with socket.socket() as knock:
                if knock.connect_ex(("127.0.0.1", self.port)) == 0:
                    return server
            time.sleep(0.2)
        kill(server)
        raise AssertionError("the server did not start")

    @contextmanager
    def served(self) -> Iterator[subprocess.Popen[bytes]]:
        server = self.serve()
        try:
            yield server
        finally:
            kill(server)

    def kept(self) -> list[tuple[int, str, float]]:
        """The rows as they lie on the disk."""
        with closing(sqlite3.connect(self.folder / "logbook.sqlite3")) as database:
            rows = database.execute("SELECT kiln_id, at, temperature_c FROM firings_loggedreading")
            return [
                (kiln, datetime.fromisoformat(at).replace(tzinfo=UTC).isoformat(), celsius)
                for kiln, at, celsius in rows
            ]


def kill(server: subprocess.Popen[bytes]) -> None:
    """The one that was started here, with the processes that it started: they are its group."""
    if server.poll() is None:
        os.killpg(server.pid, signal.SIGKILL)
        server.wait(30)


class Sender(threading.Thread):
    """A logger that sends each batch until it is acknowledged."""

    def __init__(self, studio: Studio, number: int, kiln: int, given: str, count: int) -> None:
        super().__init__(daemon=True)
        self.address = f"http://127.0.0.1:{studio.port}/api/kilns/{kiln}/readings/"
        self.given, self.kiln = given, kiln
        self.chance = random.Random(number)
        begin = datetime.now(UTC).replace(microsecond=0) - timedelta(hours=30)
        moments = [
            begin + timedelta(seconds=10 * each, milliseconds=number) for each in range(count)
        ]
        self.readings: list[Reading] = [
            (at.isoformat(), round(20.0 + self.chance.random() * 780.0, 1)) for at in moments
        ]
        self.acknowledged: Kept = set()
        self.wrong: list[str] = []
        self.ends = time.monotonic() + LONGEST_S

    def run(self) -> None:
        left = list(self.readings)
        self.chance.shuffle(left)
        while left and time.monotonic() < self.ends:
            size = self.chance.randint(1, LARGEST_BATCH)
            batch, left = left[:size], left[size:]
            self.send(batch)
            if self.chance.random() < SENT_TWICE:
                self.send(batch[::-1])

    def send(self, batch: list[Reading]) -> None:
        told = {"unit": "C", "readings": [{"at": at, "temperature": each} for at, each in batch]}
        headers = {"Authorization": f"Bearer {self.given}", "Content-Type": "application/json"}
        request = urllib.request.Request(  # noqa: S310 - 127.0.0.1
            self.address, json.dumps(told).encode(), headers
        )
        while time.monotonic() < self.ends:
            try:
                with urllib.request.urlopen(request, timeout=30) as answer:  # noqa: S310
                    taken = json.load(answer)
            except urllib.error.HTTPError as error:
                if error.code != 429:
                    self.wrong.append(str(error))
                    return
                time.sleep(1.0)
                continue
            except (OSError, HTTPException, ValueError):  # killed, cut off, or not up again yet
                time.sleep(0.2)
                continue
            if taken["accepted"] + taken["known"] != len(batch):
                self.wrong.append(str(taken))
            self.acknowledged |= {(self.kiln, at, each) for at, each in batch}
            return


@pytest.mark.parametrize("count", [500, pytest.param(10_000, marks=pytest.mark.slow)])
def test_each_acknowledged_reading_is_there_once(tmp_path: Path, count: int) -> None:
    studio = Studio(tmp_path)
    prepare = PREPARE.replace("LOGGERS", str(LOGGERS)).replace("KILNS", str(KILNS))
    senders = [
        Sender(studio, number, int(kiln), given, count // LOGGERS)
        for number, (kiln, given) in enumerate(studio.run(prepare))
    ]

    def acknowledged() -> Kept:
        return set().union(*(set(each.acknowledged) for each in senders))

    with studio.served() as server:
        for each in senders:
            each.start()
        while len(acknowledged()) < count // 2 and any(each.is_alive() for each in senders):
            time.sleep(0.01)
        before = acknowledged()
        kill(server)
    assert count // 2 <= len(before) < count
    assert before <= set(studio.kept())

    with studio.served():
        for each in senders:
            each.join(LONGEST_S)

    sent = {(each.kiln, *reading) for each in senders for reading in each.readings}
    kept = studio.kept()
    assert [each.wrong for each in senders if each.wrong] == []
    assert acknowledged() == sent
    assert len(kept) == len(sent) == count
    assert set(kept) == sent
    [[packed, left]] = studio.run(OPEN)
    assert (int(packed), int(left)) == (count // KILNS, 0)
