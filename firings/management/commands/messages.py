import logging
import os
import time
from collections.abc import Callable
from typing import Any

from django.core.management.base import BaseCommand
from django.db import close_old_connections

from firings.actions.digests import digests_send
from firings.actions.energy import energies_keep_missing
from firings.actions.telling import messages_tell

SHORTEST_S = 5
log = logging.getLogger(__name__)


class Command(BaseCommand):
    help = (
        "Looks at the firings that run and tells whoever wants it: the top is near, it falls "
        "behind, it is cool enough to open. Mails once a day what was said about firings. Runs "
        "beside the served site; --once for a cron."
    )

    def add_arguments(self, parser: Any) -> None:
        parser.add_argument("--every", type=int, default=60, help="seconds between two looks")
        parser.add_argument("--once", action="store_true", help="look once, then stop")

    def handle(self, *, every: int, once: bool, **options: Any) -> None:
        if once:
            told, mailed = messages_tell(), digests_send()
            self.stdout.write(f"{len(told)} told. {len(mailed)} mailed what was said.")
            return
        serving = os.getppid()
        self._do(energies_keep_missing)  # of what was opened before they were kept
        try:
            while os.getppid() == serving:  # not longer than whoever started it, however that ended
                self._look()
                time.sleep(max(every, SHORTEST_S))
        except KeyboardInterrupt:
            return

    def _look(self) -> None:
        """A look that fails is logged; the next one tries again."""
        close_old_connections()
        for look in (messages_tell, digests_send):
            self._do(look)

    def _do(self, look: Callable[[], object]) -> None:
        try:
            look()
        except Exception:
            log.exception("Could not do %s.", getattr(look, "__name__", look))
