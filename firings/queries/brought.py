"""Firings that were brought in with a list, and never logged here."""

from typing import cast

from django.db.models import Q

from firings.models import BroughtFiring, Firing


def brought_of(firing: Firing) -> BroughtFiring | None:
    """Select `brought` where many firings are looked at."""
    return cast(BroughtFiring | None, getattr(firing, "brought", None))


def logged_here(firing: str = "") -> Q:
    """Firings of which the studio knew at the time; `firing` is the way to them, as “firing__”.

    What is brought in waits for nobody: no verdict or review is asked for it, and nobody is
    charged.
    """
    return Q(**{f"{firing}brought__isnull": True})
