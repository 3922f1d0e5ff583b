"""Answers that are not understood because of their sound: said once, in plain words, with the figure on record."""

from __future__ import annotations

import numpy as np
import pytest

from assistant.session.hearing import Hearing
from assistant.session.sound_watch import SoundWatch, why_unheard
from assistant.speech.meaning import Command
from assistant.speech.utterance import Utterance
from assistant.speech.wording import LANGUAGES, catalogue
from tests.procedure.talk import work
from tests.session.house import OPENED, events_of, nothing, session
from tests.session.test_loop import Hears, Script, quiet


def utterance(
    level_dbfs: float, snr_db: float | None = 20.0, clipped: float = 0.0, *, at_s: float = 0.0, seconds: float = 1.0
) -> Utterance:
    flags = {"cut": False, "continued": False, "holed": False, "from_gate": False}
    return Utterance(
        samples=np.zeros(10, np.int16),
        at_sample=0,
        speech_start=round(at_s * 16_000),
        speech_end=round((at_s + seconds) * 16_000),
        snr_db=snr_db,
        level_dbfs=level_dbfs,
        clipped=clipped,
        **flags,
    )


@pytest.mark.parametrize(
    ("figures", "what"),
    [
        ((-44.0, 20.0, 0.0), ""),
        ((-54.0, 20.0, 0.0), "hardly-heard"),
        ((-60.0, None, 0.0), "hardly-heard"),
        ((-5.0, 20.0, 0.1), "overdriven"),
        ((-25.0, 3.0, 0.0), "too-noisy"),
        ((-25.0, None, 0.0), ""),
    ],
)
def test_the_reason_is_what_the_sound_tells(figures, what):
    assert why_unheard(*figures) == what
    assert all(what in catalogue(language).equipment for language in LANGUAGES) or not what


def test_three_in_a_row_are_told_once_with_their_figures():
    watch, faint = SoundWatch(), [utterance(-56.0, at_s=6.0 * n) for n in range(8)]
    assert [bool(watch.take(each, understood=False)) for each in faint] == [False, False, True, *[False] * 5]
    watch = SoundWatch()
    (trouble,) = [t for each in faint[:3] for t in watch.take(each, understood=False)]
    assert trouble.what == "hardly-heard" and "-56 dBFS, 20 dB over the noise" in trouble.detail


def test_one_that_was_understood_between_breaks_the_row_and_good_sound_is_no_trouble():
    watch = SoundWatch()
    told = [watch.take(utterance(-56.0, at_s=6.0 * n), understood=n == 2) for n in range(5)]
    assert not any(told)
    watch = SoundWatch()
    assert not any(watch.take(utterance(-30.0, at_s=6.0 * n), understood=False) for n in range(9))


def test_faint_talk_among_others_is_no_row_of_answers():
    """Long sentences, pieces that follow each other at once, and single words minutes apart."""
    for apart_s, seconds in ((8.0, 5.0), (2.0, 1.0), (60.0, 1.0), (6.0, 0.1)):
        watch, talk = SoundWatch(), [utterance(-56.0, at_s=apart_s * n, seconds=seconds) for n in range(9)]
        assert not any(watch.take(each, understood=False) for each in talk), (apart_s, seconds)


def test_talk_that_follows_no_prompt_is_a_row_only_where_it_is_as_loud_as_the_answers():
    def told(level_dbfs: float, *, soon: bool) -> list[str]:
        watch = SoundWatch()
        watch.take(utterance(-25.0), understood=True)
        row = [utterance(level_dbfs, 3.0, at_s=20 + 6.0 * n) for n in range(3)]
        return [t.what for n, u in enumerate(row) for t in watch.take(u, understood=False, soon=soon and not n)]

    assert told(-30.0, soon=False) == told(-40.0, soon=True) == ["too-noisy"]
    assert told(-40.0, soon=False) == []


def test_in_a_session_it_is_said_and_recorded():
    faint = (np.random.default_rng(2).standard_normal(16_000) * 60).astype(np.int16)

    class Sensitive:
        frame_samples = 512

        def probability(self, frame):
            return 1.0 if np.abs(frame.astype(np.int32)).mean() > 20 else 0.0

        def reset(self):
            pass

    pieces = [part for _ in range(3) for part in (quiet(1.5), faint, quiet(1.5))]
    made = session(Script(*pieces), hearing=Hearing([Hears(Command("stop"))], nothing), activity=Sensitive())
    made.run((OPENED, work()))
    (trouble,) = [e for e in events_of(made) if e.kind == "trouble-found"]
    assert trouble.what == "hardly-heard"
    assert any("I can hardly hear you" in e.text for e in events_of(made) if e.kind == "prompt-spoken")


def test_a_level_that_falls_for_good_is_told_once_and_one_faint_answer_is_not():
    watch = SoundWatch()
    levels = [-25.0] * 5 + [-25, -42, -25, -42, -42, -42, -42]
    told = [t for level in levels for t in watch.take(utterance(level), understood=True)]
    assert [t.what for t in told] == ["fainter"] and "-42 dBFS, at first -25 dBFS" in told[0].detail
    assert all(word in catalogue(language).equipment for language in LANGUAGES for word in ("fainter", "noisier"))


def test_noise_that_rises_is_told_once_where_it_comes_near_the_speech():
    far, near = [utterance(-25.0, snr) for snr in (25.0, 9.0)]
    watch = SoundWatch()
    told = [t for each in [far] * 5 + [near] * 6 for t in watch.take(each, understood=True)]
    assert [t.what for t in told] == ["noisier"] and "noise at -34 dBFS, at first -50 dBFS" in told[0].detail
    watch = SoundWatch()
    still_clear = [utterance(-25.0, 40.0)] * 5 + [utterance(-25.0, 20.0)] * 6
    assert not [t for each in still_clear for t in watch.take(each, understood=True)]
