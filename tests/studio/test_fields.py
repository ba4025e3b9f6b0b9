import pytest
from django import forms
from django.core.exceptions import ValidationError

from studio.formats import plain
from studio.forms.fields import (
    DurationField,
    TemperatureDifferenceField,
    TemperatureField,
    UnitForm,
)


class PeakForm(UnitForm, forms.Form):
    peak = TemperatureField(lowest_c=20, highest_c=950)
    step = TemperatureDifferenceField(highest_c=25)


@pytest.mark.parametrize(
    ("unit", "typed", "expected_c"),
    [
        ("C", "804", 804.0),
        ("F", "1480", 804.44),
        ("C", "804,5 °C", 804.5),
        ("F", " 1480°F ", 804.44),
    ],
)
def test_a_temperature_is_read_in_the_readers_unit(
    unit: str, typed: str, expected_c: float
) -> None:
    form = PeakForm({"peak": typed, "step": "1"}, unit=unit)
    assert form.is_valid()
    assert form.cleaned_data["peak"] == pytest.approx(expected_c, abs=0.01)


@pytest.mark.parametrize(("unit", "peak", "step"), [("C", "804", "5"), ("F", "1480", "9")])
def test_letters_for_a_number_are_answered_with_one_of_its_kind(
    unit: str, peak: str, step: str
) -> None:
    form = PeakForm({"peak": "hot", "step": "little"}, unit=unit)
    assert form.errors["peak"] == [f"Enter a number, such as {peak}."]
    assert form.errors["step"] == [f"Enter a number, such as {step}."]


def test_a_field_says_what_it_takes_unless_it_has_words_of_its_own() -> None:
    class WordsForm(PeakForm):
        told = TemperatureField(help_text="By the display.")

    fields = WordsForm(unit="F").fields
    assert plain(str(fields["peak"].help_text)) == "68 °F to 1742 °F."
    assert fields["told"].help_text == "By the display."


def test_twenty_degrees_fahrenheit_hotter_are_eleven_celsius() -> None:
    form = PeakForm({"peak": "1480", "step": "20"}, unit="F")
    assert form.is_valid()
    assert form.cleaned_data["step"] == pytest.approx(11.11, abs=0.01)


def test_what_is_out_of_range_is_said_in_the_readers_unit_and_kept() -> None:
    form = PeakForm({"peak": "2500", "step": "1"}, unit="F")
    assert [plain(each) for each in form.errors["peak"]] == ["Between 68 °F and 1742 °F, please."]
    assert 'value="2500"' in str(form["peak"])


def test_letters_for_a_temperature_are_told() -> None:
    assert PeakForm({"peak": "hot", "step": "1"}).errors["peak"] == ["Enter a number, such as 804."]


def test_a_stored_value_is_shown_in_the_readers_unit() -> None:
    form = PeakForm(initial={"peak": 804.4444444, "step": 8.0}, unit="F")
    assert 'value="1480"' in str(form["peak"])
    assert 'value="14.4"' in str(form["step"])
    assert form.fields["peak"].label == "Peak, °F"


@pytest.mark.parametrize("unit", ["C", "F"])
def test_a_value_that_comes_back_as_it_was_shown_does_not_drift(unit: str) -> None:
    kept = {"peak": 804.333, "step": 7.777}
    shown = PeakForm(initial=kept, unit=unit)
    sent = {name: shown[name].value() for name in kept}

    form = PeakForm(sent, initial=kept, unit=unit)

    assert form.is_valid()
    assert form.cleaned_data == kept
    assert not form.has_changed()


def test_what_an_address_filled_in_is_still_read() -> None:
    form = PeakForm({"peak": "804", "step": "1"}, initial={"peak": "804"}, unit="F")

    assert form.is_valid()
    assert form.cleaned_data["peak"] == pytest.approx(428.9, abs=0.1)


@pytest.mark.parametrize(
    ("typed", "seconds"),
    [("90", 5400), ("1:30", 5400), ("1 h 30", 5400), ("0", 0), ("16h", 57600), ("10 min", 600)],
)
def test_durations_are_read_as_people_write_them(typed: str, seconds: int) -> None:
    assert DurationField().clean(typed) == seconds


@pytest.mark.parametrize("typed", ["-10", "1:75", "ten", "1.30", "300:00"])
def test_what_is_no_duration_is_told(typed: str) -> None:
    with pytest.raises(ValidationError):
        DurationField().clean(typed)


@pytest.mark.parametrize("seconds", [0, 600, 3540, 5400, 86400])
def test_a_duration_is_shown_as_it_is_read(seconds: int) -> None:
    field = DurationField()
    assert field.clean(field.prepare_value(seconds)) == seconds
