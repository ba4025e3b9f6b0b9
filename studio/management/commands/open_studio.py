from typing import Any

from django.core.management.base import BaseCommand

from studio import serving
from studio.actions.first_visit import code_make
from studio.models import Person


class Command(BaseCommand):
    help = "Opens a real studio: readies the database, and serves it. Data that is there is kept."

    def add_arguments(self, parser: Any) -> None:
        serving.add_arguments(parser)

    def handle(self, *, address: str, workers: int, no_serve: bool, **options: Any) -> None:
        self.stdout.write("Making the studio ready. A moment …")
        self.stdout.flush()
        serving.prepare()
        self.stdout.write(f"\nThe studio is open at http://{address}/")
        if not Person.objects.exists():
            self.stdout.write(
                "Nobody has an account yet. The first visitor makes the keeper’s account with\n"
                f"this code, which works once:\n\n    {code_make()}\n"
            )
        self.stdout.write("Stop it with Ctrl-C; what was saved stays.\n")
        self.stdout.flush()
        if not no_serve:
            serving.serve(address, workers)
