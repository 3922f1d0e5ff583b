"""The plan's cautions: each is spoken once, to its end, before its work; what was broken off comes again."""

from __future__ import annotations

from dataclasses import replace

from assistant.events import Lesson, Pass, PromptSpoken, Stopped
from assistant.ports import Spoken
from assistant.replay.around import cautions_said
from assistant.replay.facts import read_facts
from tests.procedure.talk import CLOSE, a_pass, stages, work
from tests.session.house import OPENED, events_of, typed

WARNED = ("The wrench is coarse.", "The gasket is not checked.", "The arm presses.")


def warned_work(*, caution: str = ""):
    snug = Pass(group="flange bolts", kind="snug", number=0, bolts=(1, 2, 3))
    snug = replace(snug, lesson=Lesson(warned=WARNED, caution=caution))
    return replace(work(), stages=stages(snug, a_pass(1, "90", "85", "95"), CLOSE))


class Interrupted:
    """ports.Speaker that is cut short in the prompts that hold one of these words, each once."""

    name = "interrupted"

    def __init__(self, *at: str, whole: bool = True) -> None:
        self.at, self.whole = list(at), whole

    def prepare(self, texts):
        pass

    def adjust(self, what):
        pass

    def say(self, text: str, at_sample: int) -> Spoken:
        hit = next((each for each in self.at if each in text), None)
        if hit is None:
            return Spoken(at_sample, at_sample)
        self.at.remove(hit)
        return Spoken(at_sample, at_sample, cut_short=self.whole, whole=self.whole)

    def close(self):
        pass


def said(made) -> list[str]:
    return [event.text for event in events_of(made) if isinstance(event, PromptSpoken)]


def told_whole(made) -> list[str]:
    prompts = [e for e in events_of(made) if isinstance(e, PromptSpoken) and not e.cut_short and e.whole]
    return [text for prompt in prompts for text in WARNED if text in prompt.text]


def test_each_caution_is_a_breath_of_its_own_before_the_first_bolt_and_is_said_once():
    made = typed(["snug"] * 3 + ["90"] * 4, first=(OPENED, warned_work(caution="Fingers out.")))
    first = said(made)
    at = next(n for n, text in enumerate(first) if "Fingers out." in text)
    assert first[at + 1 : at + 5] == ["The plan warns.", *WARNED] and "bolt one" in first[at + 5].casefold()
    assert told_whole(made) == list(WARNED)


def test_what_was_broken_off_and_what_was_behind_it_comes_before_the_next_bolt():
    made = typed(["snug"] * 3, first=(OPENED, warned_work()), speaker=Interrupted("gasket"))
    assert told_whole(made) == list(WARNED)


def test_what_a_loudspeaker_broke_off_comes_again_alone():
    made = typed(["snug"] * 3, first=(OPENED, warned_work()), speaker=Interrupted("gasket", whole=False))
    assert told_whole(made) == [WARNED[0], WARNED[2], WARNED[1]]


def test_stop_and_go_on_skip_no_caution():
    made = typed(["stop", "resume", "snug", "snug"], first=(OPENED, warned_work()), speaker=Interrupted("wrench"))
    assert any(isinstance(event, Stopped) for event in events_of(made))
    assert told_whole(made) == list(WARNED)


def test_a_stages_own_caution_that_was_broken_off_comes_again():
    first = warned_work(caution="Fingers out.")
    made = typed(["snug", "snug"], first=(OPENED, first), speaker=Interrupted("Fingers"))
    whole = [e.text for e in events_of(made) if isinstance(e, PromptSpoken) and not e.cut_short]
    assert sum("Fingers out." in text for text in whole) == 1 and told_whole(made) == list(WARNED)


def test_the_record_tells_when_each_was_spoken_cut_short_or_never():
    speaker = Interrupted("wrench", "wrench", "gasket", "gasket", "gasket", "gasket")
    aloud = replace(OPENED, speaker="voice")
    made = typed(["snug", "snug", "snug"], first=(aloud, warned_work()), speaker=speaker)
    found = cautions_said(read_facts(made.recording.entries))
    assert [each.how for each in found if "wrench" in each.text] == ["cut short", "cut short", "spoken"]
    assert {each.how for each in found if "gasket" in each.text} == {"cut short", "not spoken"}
    assert [each.how for each in found if "arm" in each.text] == ["not spoken"]
    entries = made.recording.entries
    assert all(each.utc == entries[each.line - 1].utc for each in found)
