from typing import Any

from django.core.management.base import BaseCommand

from firings.demo.scenario import PEOPLE, SHORT_CODES, SIGN_IN_PHRASE, demo_make
from studio import serving
from studio.models import Person, Studio


class Command(BaseCommand):
    help = "Opens an invented demo studio: makes it once, keeps what was changed since, serves it."

    def add_arguments(self, parser: Any) -> None:
        serving.add_arguments(parser)

    def handle(self, *, address: str, workers: int, no_serve: bool, **options: Any) -> None:
        serving.prepare()
        if not Person.objects.exists():
            self.stdout.write("Making the demo studio: a year of firings, invented. A moment …")
            self.stdout.flush()
            demo_make()
        self.stdout.write(f"\nThe studio is open at http://{address}/")
        if Studio.current().is_demo:
            self.stdout.write(f"Sign in with the password “{SIGN_IN_PHRASE}” as one of:")
            for person in PEOPLE:
                code = SHORT_CODES.get(person.sign_in_name)
                on_device = f", short code {code}" if code else ""
                self.stdout.write(
                    f"    {person.sign_in_name:<6} {person.name}, {person.role}{on_device}"
                )
        else:
            self.stdout.write("This database holds a real studio already; it is served as it is.")
        self.stdout.write("Stop it with Ctrl-C; what was saved stays.\n")
        self.stdout.flush()
        if not no_serve:
            serving.serve(address, workers)
