from typing import Any

from django.core.management.base import BaseCommand, CommandError

from studio.models import GlassLot
from studio.queries.stock import lots_that_differ


class Command(BaseCommand):
    help = "Holds what is kept of each lot of glass against the sum of its movements."

    def handle(self, *args: Any, **options: Any) -> None:
        if differ := lots_that_differ():
            named = ", ".join(str(pk) for pk in differ)
            raise CommandError(f"These lots differ from their movements: {named}.")
        self.stdout.write(f"{GlassLot.objects.count()} lots agree with their movements.")
