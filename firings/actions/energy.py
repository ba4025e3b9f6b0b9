"""Keeps what was computed of the energy of opened firings whose meter nobody read."""

from django.db import transaction

from firings.models import ComputedEnergy, Firing, FiringState
from firings.queries.energy import computed_energy, firings_for_energy


@transaction.atomic
def energy_keep(*, firing_pk: int) -> ComputedEnergy | None:
    """None, and nothing kept, where a meter was read, it is not opened, or nothing can be told."""
    firing = firings_for_energy().filter(pk=firing_pk, state=FiringState.OPENED).first()
    energy = None if firing is None else computed_energy(firing)
    if energy is None:
        ComputedEnergy.objects.filter(pk=firing_pk).delete()
        return None
    use = energy.use
    kept, _ = ComputedEnergy.objects.update_or_create(
        firing_id=firing_pk,
        defaults={
            "kwh": use.kwh,
            "least_kwh": min(use.least, use.kwh),
            "most_kwh": max(use.most, use.kwh),
            "relative_error": use.relative_error,
            "by": energy.by,
            "metered": energy.metered,
        },
    )
    return kept


def energy_keep_soon(firing_pk: int) -> None:
    """Once what is being saved is sure; what goes wrong there is logged, and spoils no saving."""

    def keep() -> None:  # not a partial: a robust callback is logged by its name
        energy_keep(firing_pk=firing_pk)

    transaction.on_commit(keep, robust=True)


def energies_keep_missing() -> int:
    """Of all opened firings without a meter of which nothing was computed yet; how many now are."""
    missing = Firing.objects.filter(
        state=FiringState.OPENED,
        energy_kwh=None,
        kiln__power_kw__isnull=False,
        computed_energy=None,
    )
    kept = [energy_keep(firing_pk=pk) for pk in missing.values_list("pk", flat=True)]
    return len([each for each in kept if each is not None])
