"""Words for the codes that the core emits in a next-time note; sentences stand in templates."""

from django.utils.timezone import localtime

from firings.models import AlsoChanged, FaultKind, Message, MessageKind
from firings.services.recording import Recording
from schedules.services.curve import Curve
from studio import formats

CAUSES = {
    "annealing": "the annealing",
    "dirt": "dirt on the glass",
    "element": "an element",
    "families_do_not_fit": "glasses that don’t fit each other",
    "cold_spot": "a cold spot",
    "heated_too_fast": "heated too fast",
    "hollow_shelf": "a hollow under the glass",
    "long_and_hot": "long and hot",
    "not_centred": "not centred",
    "not_level": "not level",
    "opalescent_glass": "opalescent glass",
    "opened_early": "opened early",
    "reaction_of_colours": "a reaction between colours",
    "relay": "a relay",
    "reused_wash": "wash used once too often",
    "rough_separator": "a rough separator",
    "slow_through_devitrification_range": "slow through the devitrification range",
    "striker": "a striking glass",
    "stuck_to_the_shelf": "it stuck to the shelf",
    "supply": "the supply",
    "thermocouple_pulled_back": "the thermocouple pulled back",
    "thermocouple_reads_high": "the thermocouple reading high",
    "thermocouple_reads_low": "the thermocouple reading low",
    "thick_blank": "a thick blank",
    "thin_glass": "thin glass",
    "thinner_than_6_mm": "a lay-up under 6 mm",
    "too_fast": "too fast",
    "too_hot": "too hot",
    "too_little_heat_work": "too little heat work",
    "too_much_heat_work": "too much heat work",
    "top_heated_faster_than_bottom": "the top heated faster than the bottom",
    "trapped_air": "trapped air",
    "unclear": "unclear: a slump is too cool to round an edge, so a sharp one dates nothing",
    "uneven_weight": "uneven weight",
    "worn_separator": "a worn separator",
}

LEFT_ALONE = {
    "anneal": "the anneal",
    "cooling": "the cooling",
    "everything": "the whole schedule",
    "firing_again_alone": "firing again alone won’t clear it",
    "first_ramp": "the first ramp",
    "hold": "the hold",
    "jumps_of_peak": "no jumps of the peak",
    "peak": "the peak",
    "peak_up": "not hotter",
    "rates": "the rates",
    "schedules": "the schedules",
}

PIECE_NOW = {
    "would_spread": "Glass that is free to flow goes to about 6 to 7\u00a0mm: measure it.",
    "would_draw_in": "Glass under 6\u00a0mm draws in and thickens: measure it.",
    "uneven_before": "It was laid up unevenly; how far it levelled nobody measured.",
    "more_than_laid": "That is more glass than was laid up: look at the sizes.",
    "larger_than_before": "It was cut to more than it was: look at the sizes.",
    "stretched": "A drop-out stretches the glass: measure its thinnest point.",
    "shrunk": "Metal clay shrinks: measure it.",
}

WORTH_NOTING = {
    "verdict": "a verdict for each piece",
    "recorded_peak": "the peak that the display reached",
    "recorded_duration": "how long the firing took",
}

SEEN = {
    **dict(FaultKind.choices),
    "bubble": "bubble",
    "crack": "crack",
    "relief_left": "relief left",
    "slump_incomplete": "slump incomplete",
    "spread": "spread too far",
    "tack_flat": "tack too flat",
    "tack_loose": "tack too loose",
}

FIGURES = {
    "verdict": "came out",
    "faults": "faults",
    "other_verdicts": "other pieces",
    "peak_planned": "planned peak",
    "peak_recorded": "recorded peak",
    "hold_planned": "planned hold there",
    "hold_recorded": "recorded hold there",
    "heat_work": "heat work",
    "duration_planned": "planned duration",
    "duration_recorded": "recorded duration",
    "soak_planned": "planned anneal soak",
    "soak_recorded": "recorded anneal soak",
    "cooling_planned": "planned fastest cooling",
    "cooling_recorded": "recorded fastest cooling",
    "opened": "opened at",
    "also_changed": "what else changed",
    "events": "on the way",
    "place": "place on the shelf",
    "piece": "piece",
    "glass": "glass",
    "thickness": "thickest",
    "mould": "lies on or in",
    "kiln": "kiln",
    "schedule": "schedule",
    "revision": "revision",
    "fired_by": "fired by",
}
"""Of firings that lie side by side, each as it is named in a table."""

DATE_ORDERS = {
    "day first": "day, month, year",
    "month first": "month, day, year",
    "year first": "year, month, day",
}
TIME_UNITS = {"ms": "milliseconds", "s": "seconds", "min": "minutes", "h": "hours"}
TIME_FORMS = {
    "time of day": "the time of day",
    "h:mm": "hours and minutes since the start",
    "m:ss": "minutes and seconds since the start",
}

CLEARED_PARTS = {
    "schedule": "the schedule",
    "keyed": "what is keyed otherwise",
    "kiln": "the kiln",
    "load": "the load",
}

WORDS: dict[str, dict[str, str]] = {
    "cause": CAUSES,
    "left_alone": LEFT_ALONE,
    "note": WORTH_NOTING,
    "seen": SEEN,
    "changed": dict(AlsoChanged.choices),
    "figure": FIGURES,
    "date_order": DATE_ORDERS,
    "time_unit": TIME_UNITS,
    "time_form": TIME_FORMS,
    "cleared_part": CLEARED_PARTS,
    "piece": PIECE_NOW,
}


def chart_says(curve: Curve, recording: Recording, unit: str) -> str:
    """The sentence that says what a firing's chart shows."""
    says = f"Planned: up to {formats.temperature(curve.peak, unit)}"
    if curve.duration is not None:
        says += f", {formats.duration(curve.duration)} in all"
    if recording.is_series:
        return f"{says}. {recording_says(recording, unit)}"
    if recording.highest is not None:
        says += f". Recorded peak: {formats.temperature(recording.highest, unit)}"
    return f"{says}."


def recording_says(recording: Recording, unit: str) -> str:
    """The sentence that says what a series of readings comes to."""
    lasted = float(recording.times[-1] - recording.times[0])
    highest = formats.temperature(recording.highest or 0.0, unit)
    return (
        f"Recorded: {recording.times.size:,} readings over {formats.duration(lasted)}, "
        f"up to {highest}."
    )


MESSAGE_WORDS = {
    MessageKind.PEAK_NEAR: "The top, %(temperature)s, is reached at %(time)s.",
    MessageKind.FALLS_BEHIND: "It falls behind its plan: %(temperature)s was read at %(time)s. "
    "Let it run or end it, and have the cold kiln checked by a qualified person with its supply "
    "isolated.",
    MessageKind.COOL_ENOUGH: "By its readings and plan it was down to %(temperature)s at %(time)s. "
    "Read the display before you open.",
    MessageKind.TO_JUDGE: "Opened at %(time)s. What of yours lay in it waits for your verdict.",
}


def message_words(message: Message, unit: str) -> str:
    """What somebody is told, in the reader's unit and the studio's zone."""
    spoken_of = message.temperature_c
    params = {
        "temperature": "" if spoken_of is None else formats.temperature(spoken_of, unit),
        "time": f"{localtime(message.about_at):%H:%M}",
    }
    return MESSAGE_WORDS[MessageKind(message.kind)] % params
