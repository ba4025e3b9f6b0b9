"""Why the advice says what it says: data, for templates to put into words."""

from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field

from firings.services.fault_table import Try


@dataclass(frozen=True)
class Reason:
    """One reason behind a next-time note.

    Attributes
    ----------
    code : what it is about; the words for it stand in a template.
    figures : the numbers of the sentence by name, °C and s unless the name says otherwise.
    firings : the firings that it speaks of, as `PastFiring.firing` names them.
    details : names that belong into the sentence (what changed, what to note, which fault).
    tries : what the fault table would try first, in its order.
    leave_alone : what the fault table says to leave as it is.

    Examples
    --------
    >>> Reason("gain_within_noise", figures={"gain": 0.01}).code
    'gain_within_noise'
    """

    code: str
    figures: Mapping[str, float] = field(default_factory=dict)
    firings: tuple[Hashable, ...] = ()
    details: tuple[str, ...] = ()
    tries: tuple[Try, ...] = ()
    leave_alone: tuple[str, ...] = ()
