import uuid
from collections.abc import Callable

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from schedules.actions.silence import remark_silence
from schedules.models import Revision, SilencedRemark
from schedules.services.checks import Remark
from studio.models import Person
from tests.factories import make_kiln, make_revision
from tests.schedules.hasty import HASTY, make_hasty

SignIn = Callable[[Person], Client]
SOAK = "soak_short-4"


@pytest.fixture
def hasty(artist: Person) -> Revision:
    return make_hasty(artist)


def url(revision: Revision, key: str = SOAK) -> str:
    return reverse("schedules:remark_silence", args=[revision.schedule_id, revision.number, key])


def page(revision: Revision) -> str:
    return reverse("schedules:schedule_detail", args=[revision.schedule_id])


def heard(browser: Client, revision: Revision) -> list[str]:
    remarks = browser.get(page(revision)).context["shown"].remarks
    return [each.line.key for each in remarks.heard]


def test_remark_is_out_of_the_way_with_who_when_and_why(
    hasty: Revision, artist: Person, signed_in: SignIn
) -> None:
    browser = signed_in(artist)
    assert SOAK in heard(browser, hasty)
    response = browser.post(url(hasty), {"reason": "Tiles, looked at between crossed filters."})
    assert response.headers["Location"] == page(hasty)
    row = SilencedRemark.objects.get()
    assert (row.code, row.position, row.severity) == ("soak_short", 4, "warn")
    assert (row.figure, row.silenced_by) == (1200.0, artist)
    assert SOAK not in heard(browser, hasty)
    text = browser.get(page(hasty)).content.decode()
    assert "1 silenced" in text
    assert "Silenced by Inka" in text
    assert "Tiles, looked at between crossed filters." in text


def test_page_shows_the_remark_and_its_caution(
    hasty: Revision, artist: Person, signed_in: SignIn
) -> None:
    text = signed_in(artist).get(url(hasty)).content.decode()
    assert "The anneal soak is 20 min" in text
    assert "A calculation, not a guarantee" in text


def test_reason_is_wanted(hasty: Revision, artist: Person, signed_in: SignIn) -> None:
    response = signed_in(artist).post(url(hasty), {"reason": "  "})
    assert response.context["form"].errors["reason"] == ["This field is required."]
    assert not SilencedRemark.objects.exists()


def test_too_long_a_reason_is_kept_to_be_cut(
    hasty: Revision, artist: Person, signed_in: SignIn
) -> None:
    response = signed_in(artist).post(url(hasty), {"reason": "x" * 401})
    assert response.context["form"].errors["reason"]
    assert "x" * 401 in response.content.decode()


def test_it_is_heard_again_when_it_is_clearly_worse(
    hasty: Revision, artist: Person, signed_in: SignIn
) -> None:
    browser = signed_in(artist)
    browser.post(url(hasty), {"reason": "Tiles."})
    for minutes, is_heard in ((18, False), (10, True)):
        make_revision(
            hasty.schedule,
            [*HASTY[:3], (None, "482", minutes), HASTY[4]],
            written_for=hasty.written_for,
        )
        assert (SOAK in heard(browser, hasty)) is is_heard


def test_it_is_silent_in_the_editor_too(hasty: Revision, artist: Person, signed_in: SignIn) -> None:
    browser = signed_in(artist)
    browser.post(url(hasty), {"reason": "Tiles."})
    address = reverse("schedules:revision_copy", args=[hasty.schedule_id, 1])
    remarks = browser.get(address).context["preview"].remarks
    assert [each.line.key for each in remarks.silenced] == [SOAK]


def test_silenced_anew_the_earlier_stays_on_record(
    hasty: Revision, artist: Person, instructor: Person
) -> None:
    remark = Remark("soak_short", "warn", 3, 1200.0, 3400.0)
    silence = {"schedule": hasty.schedule, "remark": remark}
    remark_silence(**silence, reason="Tiles.", by=artist)
    remark_silence(**silence, reason="Thin tiles.", by=instructor)
    newer, older = SilencedRemark.objects.all()
    assert (newer.reason, newer.heard_again_at) == ("Thin tiles.", None)
    assert (older.reason, older.heard_again_by) == ("Tiles.", instructor)


def test_what_blocks_is_never_silenced(hasty: Revision, artist: Person, signed_in: SignIn) -> None:
    small = make_kiln("Pocket", max_temperature_c=700)
    blocks = f"{url(hasty, 'target_above_kiln_limit-3')}?kiln={small.pk}"
    browser = signed_in(artist)
    assert browser.get(blocks).status_code == 302
    assert browser.post(blocks, {"reason": "It will hold."}).status_code == 302
    assert not SilencedRemark.objects.exists()
    with pytest.raises(ValidationError, match="never silenced"):
        remark_silence(
            schedule=hasty.schedule,
            remark=Remark("target_above_kiln_limit", "block", 2, 880.0, 700.0),
            reason="It will hold.",
            by=artist,
        )


def test_remark_that_is_not_there_leads_back(
    hasty: Revision, artist: Person, signed_in: SignIn
) -> None:
    response = signed_in(artist).get(url(hasty, "no_soak-0"), follow=True)
    assert response.redirect_chain[0][0] == page(hasty)
    assert "not there any more" in response.content.decode()


def test_form_sent_twice_silences_once(hasty: Revision, artist: Person, signed_in: SignIn) -> None:
    browser, sent = signed_in(artist), {"reason": "Tiles.", "form_key": str(uuid.uuid4())}
    browser.post(url(hasty), sent)
    assert browser.post(url(hasty), sent).status_code == 302
    assert SilencedRemark.objects.count() == 1


def test_only_who_may_revise_may_silence(
    hasty: Revision, student: Person, instructor: Person, signed_in: SignIn
) -> None:
    assert signed_in(student).post(url(hasty), {"reason": "No."}).status_code == 403
    assert "Silence it" not in signed_in(student).get(page(hasty)).content.decode()
    assert signed_in(instructor).post(url(hasty), {"reason": "Yes."}).status_code == 302
    assert SilencedRemark.objects.get().silenced_by == instructor


def test_outsider_is_led_to_sign_in(hasty: Revision, outsider: Client) -> None:
    assert outsider.post(url(hasty), {"reason": "No."}).status_code == 302
    assert not SilencedRemark.objects.exists()


def test_other_methods_are_refused(hasty: Revision, artist: Person, signed_in: SignIn) -> None:
    assert signed_in(artist).delete(url(hasty)).status_code == 405
