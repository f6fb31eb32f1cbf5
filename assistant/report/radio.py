"""The hand-over for a radio: short groups of words with numbers digit by digit, and the place in reading them out.

Numbers as ICAO Annex 10 volume II, 5.2.1.4 has them: every digit by itself, the point "decimal", zero never "oh"; and
in their radio forms where the measured read-out is heard best with them (tests/benchmarks/radio.py chooses). After each
group the reader waits for "go ahead"; "say again all after …" goes back to the group that holds the word.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import floor

from assistant.dialogue.readback import AVPU_SAID, DEVICE_SAID, UNIT_SAID
from assistant.oxygen.supply import spoken_minutes
from assistant.report.summary import CylinderSummary, PatientSummary, Summary

ICAO_DIGITS = ("zero", "one", "two", "tree", "fower", "fife", "six", "seven", "eight", "niner")
# The same with "four" and "five" as in plain speech: our voice's "fower" and "fife" are taken for other figures.
ICAO_BUT_FOUR = ("zero", "one", "two", "tree", "four", "fife", "six", "seven", "eight", "niner")
ICAO_BUT_FOUR_AND_FIVE = ("zero", "one", "two", "tree", "four", "five", "six", "seven", "eight", "niner")
PLAIN_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


@dataclass(frozen=True, slots=True, kw_only=True)
class RadioStyle:
    """How groups are worded and paced.

    `lead` opens each group, so that a key pressed late cuts off nothing that matters; then the digits' forms, what
    stands between digits and after a phrase, the voice (espeak-ng's name) and its rate in words a minute.
    """

    lead: str = "Break, "
    voice: str = "en-us"
    digits: tuple[str, ...] = ICAO_BUT_FOUR_AND_FIVE
    between_digits: str = " "
    after_phrase: str = ". "
    rate_words_per_min: int = 160


# Every kind of number has a fixed count of figures, as headings have (ICAO Doc 4444, 12.3: "zero niner zero"), so that
# one that was lost is missed; a unit or another word follows, because a last figure is the first to be lost.
# Chosen by the figure: see tests/benchmarks/radio.py. The rate is the voice's usual one, at which this style is heard
# as well as at 140; slower or with pauses between figures it is heard less well.
CHOSEN = RadioStyle()

# The words that "say again all after …" may name, and the group that each is in.
_PLACES = {
    "hand over": "hand over",
    "time": "time",
    "patient": "patient",
    "saturation": "saturation",
    "sats": "saturation",
    "signs": "saturation",
    "vitals": "saturation",
    "pulse": "pulse",
    "breathing": "pulse",
    "device": "device",
    "mask": "device",
    "flow": "device",
    "treatment": "treatment",
    "cylinder": "bottle",
    "bottle": "bottle",
    "pressure": "bottle",
    "reserve": "reserve",
    "target": "target",
    "alerts": "alerts",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class RadioGroup:
    """What is said in one breath, as a few short phrases; `key` names it for "say again all after"."""

    key: str
    phrases: tuple[str, ...]

    def text(self, style: RadioStyle = CHOSEN) -> str:
        """The words for the voice, with its pauses."""
        said = "".join(f"{_paced(phrase, style)}{style.after_phrase}" for phrase in self.phrases)
        return f"{style.lead}{said}".strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadOut:
    """The place in a read-out. It is over when the last group was said and the other station said to go ahead."""

    groups: tuple[RadioGroup, ...]
    at: int = 0

    @property
    def over(self) -> bool:
        """Whether everything was read."""
        return self.at >= len(self.groups)

    def text(self, style: RadioStyle = CHOSEN) -> str:
        """What to say now; "" when it is over."""
        return "" if self.over else self.groups[self.at].text(style)

    def gone_ahead(self) -> ReadOut:
        """The place after "go ahead"."""
        return replace(self, at=min(self.at + 1, len(self.groups)))

    def all_after(self, word: str) -> ReadOut | None:
        """The place for "say again all after `word`": the last group already begun that holds it; None if none does."""
        key = _PLACES.get(word, word)
        said = [index for index, group in enumerate(self.groups[: self.at + 1]) if group.key == key]
        return replace(self, at=said[-1]) if said else None


def read_out(summary: Summary) -> ReadOut:
    """The read-out at its beginning."""
    return ReadOut(groups=radio_groups(summary))


def radio_groups(summary: Summary) -> tuple[RadioGroup, ...]:
    """The groups in the order of reading; what was not recorded is left out, or said to be so where it matters."""
    count = len(summary.patients)
    # Radio practice, from memory: traffic of an exercise begins with the word, three times.
    exercise = [RadioGroup(key="hand over", phrases=("exercise exercise exercise",))] if summary.drill else []
    patients = f"{count} patient{'' if count == 1 else 's'}"
    groups = [*exercise, RadioGroup(key="hand over", phrases=("oxygen hand over", patients))]
    if summary.began is not None:
        now = summary.clock(summary.until_s).replace(":", "")
        groups.append(RadioGroup(key="time", phrases=(f"time {now} local",)))
    for patient in summary.patients:
        groups += _patient(patient, several=count > 1)
    for cylinder in summary.cylinders:
        if cylinder.patient is not None:
            groups += _cylinder(cylinder)
    if summary.handover_s is not None and summary.began is not None:
        expected = summary.clock(summary.handover_s).replace(":", "")
        groups.append(RadioGroup(key="hand over", phrases=(f"hand over at {expected} local",)))
    groups.append(RadioGroup(key="alerts", phrases=(f"alerts {len(summary.alerts):03d}", "end of report")))
    return tuple(groups)


def _patient(patient: PatientSummary, *, several: bool) -> list[RadioGroup]:
    made = [RadioGroup(key="patient", phrases=(f"patient {patient.name}",))] if several else []
    made.append(RadioGroup(key="saturation", phrases=_saturation(patient)))
    made += [group for group in (_signs(patient), _pressure(patient), _awake(patient)) if group is not None]
    if patient.target is not None:
        low, high = patient.target
        made.append(RadioGroup(key="target", phrases=(f"target low {_three(low)} high {_three(high)} percent",)))
    return [*made, *_treatment(patient)]


def _saturation(patient: PatientSummary) -> tuple[str, ...]:
    points = patient.of("oxygen_saturation")
    if not points:
        return ("saturation not recorded",)
    if len(points) == 1:
        return (f"saturation {_three(points[-1].value)} percent",)
    return (
        f"saturation {_three(points[-1].value)} percent",
        f"first saturation {_three(points[0].value)} percent",
    )


def _signs(patient: PatientSummary) -> RadioGroup | None:
    names = (("heart_rate", "pulse"), ("respiratory_rate", "breathing"))
    points = [(name, patient.latest(sign)) for sign, name in names]
    phrases = tuple(f"{name} {_three(point.value)} a minute" for name, point in points if point is not None)
    return RadioGroup(key="pulse", phrases=phrases) if phrases else None


def _pressure(patient: PatientSummary) -> RadioGroup | None:
    upper, lower = patient.latest("systolic"), patient.latest("diastolic")
    if upper is None or lower is None:
        return None
    figures = f"{_three(upper.value)} over {_three(lower.value)}"
    return RadioGroup(key="signs", phrases=(f"blood pressure {figures} millimetres",))


def _awake(patient: PatientSummary) -> RadioGroup | None:
    point = patient.latest("consciousness")
    return None if point is None else RadioGroup(key="signs", phrases=(f"patient {AVPU_SAID[str(point.value)]}",))


def _treatment(patient: PatientSummary) -> list[RadioGroup]:
    now = patient.now
    if now is None:
        return [RadioGroup(key="device", phrases=("oxygen not recorded",))]
    device = DEVICE_SAID[now.device].replace("-", " ").lower() if now.device else "not recorded"
    percent = f" {now.oxygen_percent} percent" if now.oxygen_percent else ""
    flow = "flow not recorded" if now.flow_l_min is None else f"flow {_flow(now.flow_l_min)} litres"
    made = [RadioGroup(key="device", phrases=(f"device {device}{percent}", flow))]
    if patient.litres >= 1:
        made.append(RadioGroup(key="treatment", phrases=(f"oxygen given {floor(patient.litres):04d} litres",)))
    return made


def _three(value: int | str) -> str:
    return f"{int(value):03d}"


def _flow(flow_l_min: float) -> str:
    """Two figures, and one after the point where there is one: "04", "02.5"."""
    return f"{flow_l_min:04.1f}" if flow_l_min % 1 else f"{flow_l_min:02.0f}"


def _cylinder(cylinder: CylinderSummary) -> list[RadioGroup]:
    phrases = [f"bottle {cylinder.name}"]
    if cylinder.pressure is not None:
        step = 10 if cylinder.pressure.unit == "psi" else 1
        value = floor(cylinder.pressure.value / step) * step
        figures = f"{value:04d}" if cylinder.pressure.unit in ("psi", "kPa") else f"{value:03d}"
        phrases.append(f"pressure {figures} {UNIT_SAID[cylinder.pressure.unit]}")
    made = [RadioGroup(key="bottle", phrases=tuple(phrases))]
    if cylinder.minutes is not None:
        minutes = spoken_minutes(cylinder.minutes)
        made.append(RadioGroup(key="reserve", phrases=(f"reserve in {minutes:03d} minutes",)))
    return made


def _paced(phrase: str, style: RadioStyle) -> str:
    """The phrase with its figures as words, digit by digit."""
    return " ".join(_figures(word, style) if word[0].isdigit() else word for word in phrase.split())


def _figures(numeral: str, style: RadioStyle) -> str:
    return style.between_digits.join("decimal" if mark == "." else style.digits[int(mark)] for mark in numeral)
