"""The pulses of a set from a sound recording, for the command and the page."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from coldfield.app.drills.files import read_bytes
from coldfield.app.drills.picture_files import write_picture
from coldfield.beacon.pulse_limits import EN_300_718, Judged, Source, Verdict, judge
from coldfield.beacon.pulse_recording import TRACE_STEP_S, Measure, PulseTimes, pulse_times
from coldfield.files.wav import MOST_BYTES, read_wav
from coldfield.message import Message


@dataclass(frozen=True, slots=True, kw_only=True)
class PulseLimits:
    """The limits that the recording is compared with, ms; the values are second-hand."""

    least_period_ms: float
    most_period_ms: float
    least_on_ms: float
    least_off_ms: float
    standing: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedPulse:
    """The pulses of a set in a recording, ms; unknown values are null, with the reason.

    `*_error_ms` are standard errors; `on_low_ms` and `on_high_ms` are the additional bounds due to an echo.
    `jitter_ms` is the standard deviation from one period to the next, with the noise subtracted. `pulses`
    counts the pulses that keep the rhythm, which begin at `starts_s`. `level` is the strength over time,
    `level_step_s` apart, about 1 while the set is heard. `carrier_offset_hz` is always null, because sound
    does not contain it.
    """

    period_ms: float | None
    period_error_ms: float | None
    on_ms: float | None
    on_error_ms: float | None
    on_low_ms: float | None
    on_high_ms: float | None
    off_ms: float | None
    jitter_ms: float | None
    pulses: int
    verdict: Verdict
    period_verdict: Verdict
    on_verdict: Verdict
    off_verdict: Verdict
    recorded_from: Source
    limits: PulseLimits
    carrier_offset_hz: float | None
    pitch_hz: float | None
    signal_to_noise_db: float | None
    seconds: float
    other_period_ms: float | None
    starts_s: tuple[float, ...]
    level_step_s: float
    level: tuple[float, ...]
    reasons: tuple[Message, ...]


def pulse_of(data: bytes, source: str, *, recorded_from: Source) -> RecordedPulse:
    """Return the pulses of a set in a recording.

    Parameters
    ----------
    data : bytes
        A WAV file.
    source : str
        Its name, for faults.
    recorded_from : 'coil', 'receiver' or 'unknown'
        What was recorded; 'receiver' means one known to pass the pulse through.

    Raises
    ------
    BadInput
        If the file is not a readable WAV recording.
    """
    sound = read_wav(data, source)
    times = pulse_times(sound.samples, sound.rate_hz)
    judged = judge(times, recorded_from)
    return _answer(times, judged, recorded_from, sound.notes, len(sound.samples) / sound.rate_hz)


def load_pulse(path: Path | str, *, recorded_from: Source) -> RecordedPulse:
    """Return the pulses in a recorded file; raises as `pulse_of`, and if the file cannot be read."""
    data = read_bytes(path, most_bytes=MOST_BYTES + 1)
    return pulse_of(data, str(path), recorded_from=recorded_from)


def write_pulse_chart(found: RecordedPulse, path: Path | str) -> None:
    """Write the strength over time as SVG or PNG; raises as `write_picture`."""
    from coldfield.pictures.pulse_chart import pulse_chart

    write_picture(
        path,
        lambda: pulse_chart(
            level=found.level,
            step_s=found.level_step_s,
            starts_s=found.starts_s,
            period_ms=found.period_ms,
            on_ms=found.on_ms,
        ),
    )


def _answer(
    times: PulseTimes, judged: Judged, source: Source, notes: tuple[Message, ...], seconds: float
) -> RecordedPulse:
    limits = EN_300_718
    on = times.on
    return RecordedPulse(
        period_ms=_ms(times.period),
        period_error_ms=None if times.period is None else 1e3 * times.period.error_s,
        on_ms=_ms(on),
        on_error_ms=None if on is None else 1e3 * on.error_s,
        on_low_ms=None if on is None else 1e3 * on.low_s,
        on_high_ms=None if on is None else 1e3 * on.high_s,
        off_ms=_ms(judged.off_measure),
        jitter_ms=None if times.jitter_s is None else 1e3 * times.jitter_s,
        pulses=len(times.starts_s),
        verdict=judged.verdict,
        period_verdict=judged.period,
        on_verdict=judged.on,
        off_verdict=judged.off,
        recorded_from=source,
        limits=PulseLimits(
            least_period_ms=1e3 * limits.least_period_s,
            most_period_ms=1e3 * limits.most_period_s,
            least_on_ms=1e3 * limits.least_on_s,
            least_off_ms=1e3 * limits.least_off_s,
            standing="second-hand",
        ),
        carrier_offset_hz=None,
        pitch_hz=times.pitch_hz,
        signal_to_noise_db=times.signal_to_noise_db,
        seconds=seconds,
        other_period_ms=None if times.other_period_s is None else 1e3 * times.other_period_s,
        starts_s=times.starts_s,
        level_step_s=TRACE_STEP_S,
        level=times.level,
        reasons=(*notes, *judged.reasons),
    )


def _ms(found: Measure | None) -> float | None:
    return None if found is None else 1e3 * found.value_s
