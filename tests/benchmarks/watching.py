"""200 phones watch a kiln on two processes: `python -m tests.benchmarks.watching`.

The demo studio is served by gunicorn on 127.0.0.1, as `manage.py demo` does it. Each phone asks
every ten seconds with the ETag that it has; somebody notes readings meanwhile, so that some answers
are whole. Sizes are of what crosses the network. Ends with 1 where a figure misses its limit.
"""

import http.client
import os
import re
import socket
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse
from pathlib import Path

import numpy as np

PHONES, EVERY_S, LASTS_S = 200, 10.0, 40.0
LONGEST_P95_MS = 150.0
LARGEST_PAGE_KB, LARGEST_UPDATE_KB = 60.0, 3.0
READINGS_EVERY_S = 20.0
PROJECT = Path(__file__).resolve().parents[2]

PREPARE = """
import django
django.setup()
from datetime import timedelta
from django.test import Client
from django.utils import timezone
from firings.models import Firing
from studio.models import Person
for person in [Person.objects.get(sign_in_name="inka")] * {phones}:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    print("session", client.cookies["sessionid"].value)
print("firing", Firing.objects.get(state="firing").pk)
"""


def free_port() -> int:
    with socket.socket() as listener:
        listener.bind(("127.0.0.1", 0))
        return int(listener.getsockname()[1])


class Phone:
    """A browser that keeps its connection for a while, as phones do."""

    def __init__(self, port: int, session: str) -> None:
        self.port = port
        self.cookies = {"sessionid": session}
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=30)

    def ask(self, address: str, **headers: str) -> tuple[int, bytes, dict[str, str]]:
        cookies = "; ".join(f"{name}={value}" for name, value in self.cookies.items())
        sent = {"Cookie": cookies, "Accept-Encoding": "gzip, br"} | headers
        try:
            self.connection.request("GET", address, headers=sent)
            answer = self.connection.getresponse()
        except (http.client.HTTPException, ConnectionError):
            self.connection.close()
            self.connection.request("GET", address, headers=sent)
            answer = self.connection.getresponse()
        return answer.status, answer.read(), dict(answer.headers)


def first_load(phone: Phone, page: str) -> float:
    """KB of the page with everything that it brings along."""
    _, body, _ = phone.ask(page)
    plain = Phone(phone.port, phone.cookies["sessionid"])
    text = plain.ask(page, **{"Accept-Encoding": "identity"})[1].decode()
    brought = set(re.findall(r'(?:src|href)="(/static/[^"]+)"', text))
    return (len(body) + sum(len(phone.ask(each)[1]) for each in brought)) / 1024


def watch(phone: Phone, page: str, begins: float, ends: float, seen: list[float], codes: list[int]):
    """Poll until the end; each answer's s and status go into the lists."""
    tag, due = "", begins
    while due < ends:
        time.sleep(max(due - time.monotonic(), 0.0))
        asked = time.monotonic()
        headers = {"HX-Request": "true"} | ({"If-None-Match": tag} if tag else {})
        status, _, told = phone.ask(page, **headers)
        seen.append(time.monotonic() - asked)
        codes.append(status)
        tag = told.get("ETag", tag)
        due += EVERY_S


def note(phone: Phone, page: str) -> None:
    """Somebody notes what the display ought to show."""
    text = phone.ask(page, **{"Accept-Encoding": "identity"})
    token = re.findall(r'name="csrfmiddlewaretoken" value="([^"]+)"', text[1].decode())[0]
    cookie = re.findall(r"csrftoken=([^;]+)", text[2].get("Set-Cookie", ""))
    phone.cookies["csrftoken"] = cookie[0]
    shown = re.findall(r'class="ought" data-part="shown">(\d+)', text[1].decode())[0]
    cookies = "; ".join(f"{name}={value}" for name, value in phone.cookies.items())
    form = urllib.parse.urlencode({"csrfmiddlewaretoken": token, "temperature_c": shown})
    headers = {"Cookie": cookies, "Content-Type": "application/x-www-form-urlencoded"}
    phone.connection.request("POST", page, form, headers)
    answer = phone.connection.getresponse()
    answer.read()
    assert answer.status == 302, answer.status


def measure(port: int, sessions: list[str], firing: int) -> int:
    page = f"/firings/{firing}/now/"
    phones = [Phone(port, session) for session in sessions]
    for _ in range(3):  # each process is warm
        for phone in phones[:8]:
            assert phone.ask(page)[0] == 200
    whole = first_load(phones[0], page)
    unpacked = {"HX-Request": "true", "Accept-Encoding": "identity"}
    update = len(phones[0].ask(page, **unpacked)[1]) / 1024
    begins = time.monotonic() + 1.0
    ends = begins + LASTS_S
    seen: list[float] = []
    codes: list[int] = []
    chance = np.random.default_rng(3)
    threads = [
        threading.Thread(target=watch, args=(phone, page, begins + float(late), ends, seen, codes))
        for phone, late in zip(phones, chance.uniform(0.0, EVERY_S, PHONES), strict=True)
    ]
    for thread in threads:
        thread.start()
    while time.monotonic() < ends - READINGS_EVERY_S:
        time.sleep(READINGS_EVERY_S)
        note(Phone(port, sessions[0]), page)
    for thread in threads:
        thread.join()
    p50, p95, p99 = np.percentile(np.array(seen) * 1e3, [50, 95, 99])
    unchanged = codes.count(304) / len(codes)
    print(f"{PHONES} phones, {len(seen)} looks in {LASTS_S:.0f} s, {unchanged:.0%} unchanged (304)")
    print(
        f"p50 {p50:.0f} ms, p95 {p95:.0f} ms, p99 {p99:.0f} ms    p95 at most {LONGEST_P95_MS:.0f}"
    )
    print(f"first load {whole:.1f} KB    at most {LARGEST_PAGE_KB:.0f}")
    print(f"an update {update:.2f} KB, unpacked    under {LARGEST_UPDATE_KB:.0f}")
    failed = [code for code in codes if code not in (200, 304)]
    if failed:
        print(f"{len(failed)} looks failed: {sorted(set(failed))}")
    missed = p95 > LONGEST_P95_MS or whole > LARGEST_PAGE_KB or update > LARGEST_UPDATE_KB
    return int(missed or bool(failed))


def main() -> int:
    with tempfile.TemporaryDirectory() as folder:
        environment = os.environ | {
            "STUDIO_DATA": folder,
            "STUDIO_DEBUG": "0",
            "DJANGO_SETTINGS_MODULE": "studio.settings",
        }
        port = free_port()
        manage = [sys.executable, "manage.py", "demo", "--address", f"127.0.0.1:{port}"]
        subprocess.run(  # noqa: S603 - our own program
            [*manage, "--no-serve"],
            env=environment, cwd=PROJECT, check=True, stdout=subprocess.DEVNULL,
        )  # fmt: skip
        told = subprocess.run(  # noqa: S603 - our own program
            [sys.executable, "-c", PREPARE.format(phones=PHONES)],
            env=environment, cwd=PROJECT, check=True, capture_output=True, text=True,
        ).stdout  # fmt: skip
        sessions = re.findall(r"^session (\S+)$", told, re.MULTILINE)
        firing = int(re.findall(r"^firing (\d+)$", told, re.MULTILINE)[0])
        server = subprocess.Popen(  # noqa: S603 - our own program
            manage, env=environment, cwd=PROJECT,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        try:
            for _ in range(150):
                with socket.socket() as knock:
                    if knock.connect_ex(("127.0.0.1", port)) == 0:
                        break
                time.sleep(0.2)
            return measure(port, sessions, firing)
        finally:
            server.terminate()
            server.wait(30)


if __name__ == "__main__":
    sys.exit(main())
