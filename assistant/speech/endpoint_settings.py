"""Thresholds of the endpointer, all in one place, with what chose them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class EndpointSettings:
    """Thresholds, chosen on streams of real and synthetic phrases in 17 kinds of noise, as `scripts/bench/endpoint
    SPEECH --split train` builds them, never on the dev split. A share is of a frame's speech probability.

    Beginning:
        on, on_sum, on_frames: a frame of at least `on`, and `on_sum` in the last `on_frames` together; or, for speech
            half drowned ...
        faint_sum, faint_most, faint_frames, faint_db: ... `faint_sum` in the last `faint_frames` together (no frame
            counting more than `faint_most`, so that a click is not enough), standing `faint_db` and the background's
            own swing above the ground. Without it 14 of 256 phrases at 0 dB were missed, with it 2; none more an hour
            in noise alone, but 30 more, a sixth of a second long, where people breathe and things are hit.
        back_ms, rise_db: the beginning is then moved back, by at most `back_ms`, over sound that is `rise_db` above
            the ground (first fricatives have hardly any probability: 13 clipped beginnings of 256 at 15 dB without it,
            8 with it).
        pre_roll_ms: sound kept before the beginning.

    Within:
        off: below this a frame counts as silence ...
        hush_db, hush_off: ... and below `hush_off` where it stands less than `hush_db` above the ground (in quiet the
            end is told 75 ms sooner).
        within_db: fainter than three quarters of the utterance by so much is somebody else, or the room.
        pause_ms: silence after which the utterance so far is offered for reading ahead.

    End:
        patience_ms: silence that ends an utterance, until the session sets another.
        tail_ms: sound kept after the last frame that has speech.
        longest_s: an utterance is cut here.

    Where the ground itself is talk (radio, people near by), speech must stand above it by `over_talk_on_db` to begin
    and by `over_talk_off_db` to go on.

    Other:
        dead_s: all-zero sound for so long is reported.
        gap_s: lost sound of this length ends an utterance.
        gate_ms: speech so soon after `skip` was under way before.
    """

    on: float = 0.5
    on_sum: float = 1.4
    on_frames: int = 4
    faint_sum: float = 0.5
    faint_most: float = 0.25
    faint_frames: int = 6
    faint_db: float = 2.5
    back_ms: int = 400
    rise_db: float = 4.0
    pre_roll_ms: int = 288
    off: float = 0.2
    hush_db: float = 2.0
    hush_off: float = 0.7
    within_db: float = 15.0
    pause_ms: int = 128
    patience_ms: int = 600
    tail_ms: int = 224
    longest_s: float = 12.0
    over_talk_on_db: float = 7.0
    over_talk_off_db: float = 5.0
    dead_s: float = 3.0
    gap_s: float = 0.5
    gate_ms: int = 160
