from firings.models.step import STEP_KINDS
from firings.services.step_sequences import SEQUENCES


def test_sequences_are_made_of_steps() -> None:
    known = {code for code, _ in STEP_KINDS}
    assert all(set(kinds) <= known for kinds in SEQUENCES.values())
