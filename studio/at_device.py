"""Which addresses a studio device shows, and which it sends to once somebody said who they are.

Each app names its own here (`device_parts.py`), by the name of the view. What is not named is
closed on a device, whatever the table of rights says: its pages and its saves are chosen one by
one, and none of them rests on a short code that ought to ask for a password.
"""

from collections.abc import Iterable, Mapping

_shown: set[str] = set()
_sent_to: set[str] = set()
_only_looks: dict[str, str] = {}


def at_device(
    *,
    shown: Iterable[str] = (),
    sent_to: Iterable[str] = (),
    only_looks: Mapping[str, str] | None = None,
) -> None:
    """`only_looks`: by address, the button with which its form is answered and nothing saved."""
    _shown.update(shown)
    _sent_to.update(sent_to)
    _only_looks.update(only_looks or {})


def is_open(name: str, method: str | None) -> bool:
    """Whether a device may ask for the view of this name by this method."""
    return name in (_shown if method in ("GET", "HEAD") else _sent_to if method == "POST" else ())


def only_looks(name: str, sent: Mapping[str, object]) -> bool:
    """Whether what is sent changes nothing, so that nobody need say who they are."""
    return _only_looks.get(name) in sent
