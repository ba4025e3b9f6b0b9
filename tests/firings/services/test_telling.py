import pytest

from firings.services.telling import BEFORE_THE_TOP, TOLD_UNTIL, Course, what_to_tell


@pytest.mark.parametrize(
    ("course", "told"),
    [
        (Course(), ()),
        (Course(top=BEFORE_THE_TOP + 1), ()),
        (Course(top=BEFORE_THE_TOP), ("peak_near",)),
        (Course(top=1.0), ("peak_near",)),
        (Course(top=-1.0), ()),
        (Course(standing="falling_behind", read=60.0), ("falls_behind",)),
        (Course(standing="fell", read=60.0), ("falls_behind",)),
        (Course(standing="behind_usual", read=60.0), ()),
        (Course(standing="runaway", read=60.0), ()),
        (Course(standing="falling_behind", read=TOLD_UNTIL + 1), ()),
        (Course(opening=1.0), ()),
        (Course(opening=0.0), ("cool_enough",)),
        (Course(opening=-TOLD_UNTIL), ("cool_enough",)),
        (Course(opening=-TOLD_UNTIL - 1), ()),
        (Course(top=60.0, standing="fell", read=1.0), ("peak_near", "falls_behind")),
    ],
)
def test_what_is_news(course: Course, told: tuple[str, ...]) -> None:
    assert what_to_tell(course) == told
