"""Our own prompts: their words alone leave nothing open, and our own ear understands them over noise (real engines)."""

from __future__ import annotations

from decimal import Decimal

import pytest

from assistant.devices.constrained_listener import ConstrainedListener
from scripts.bench.heard_back import LIMITS, Voice, hear_back
from scripts.bench.prompt_material import (
    VALUES,
    Prompt,
    Template,
    bare_words,
    grammar,
    prompts,
    templates,
    two_readings,
)
from tests.devices.clips import MODELS

WITH_VALUE = [t for t in templates() if t.has_value]
SAID = {
    "turn": ((5, "180"), (14, "515"), (20, "310")),
    "recorded": ((1, "95"), (8, "60"), (23, "13")),
    "is_it": (("119",), ("57.5",)),
    "low": (("150", "12", "180"),),
    "routine": (("53", 3), ("170", 12)),
    "pass_begins": ((2, 1, "180"),),
}


def numbers(*said: int | str) -> tuple[Decimal, ...]:
    return tuple(Decimal(n) for n in said)


def test_no_prompt_with_a_value_can_be_another_by_its_words_alone():
    assert two_readings(WITH_VALUE, bolts=range(1, 33, 3), values=VALUES[::3]) == {}
    assert two_readings(WITH_VALUE, bolts=(20, 30, 40), values=VALUES) == {}


def test_a_wording_without_a_word_between_bolt_and_value_is_found():
    def say(numbers: tuple[Decimal, ...], _: int) -> str:
        from assistant.speech.wording import catalogue

        words = catalogue("en")
        return f"{words.number(numbers[0]).capitalize()}, {words.number(numbers[1])}."

    bare = Template("bare", ("bolt", "value"), say)
    assert "Twenty, three ten." in two_readings([bare], bolts=(20,), values=[Decimal(310)])["bare"]


def test_every_prompt_means_its_own_numbers():
    whole = grammar(templates(), written=False)
    for prompt in prompts(8):
        assert whole.meaning(bare_words(prompt.text)) == prompt.meaning, prompt.text


def test_an_engine_that_writes_full_stops_and_capitals_finds_them_in_its_grammar():
    turn = next(t for t in templates() if t.name == "turn")
    written = grammar([turn], written=True)
    prompt = Prompt(turn, numbers(5, 180), turn.say(numbers(5, 180), 0))
    assert written.meaning(("bolt", "5", "to", "1", "+8", "+0")) == prompt.meaning
    assert written.meaning(bare_words(prompt.text)) == prompt.meaning


@pytest.fixture(scope="module")
def ear():
    return ConstrainedListener(MODELS / "ear" / "encoder.onnx", limits=LIMITS)


def test_prompts_are_understood_at_5_db(ear, tmp_path):
    """A handful, of which one may fail; scripts/bench/prompts tries hundreds."""
    by_name = {t.name: t for t in templates()}
    spoken = [
        Prompt(by_name[name], numbers(*one), by_name[name].say(numbers(*one), 0))
        for name, ones in SAID.items()
        for one in ones
    ]
    voice = Voice(tmp_path)
    try:
        found = list(hear_back(spoken, voice, ear, snr_db=5.0))
    finally:
        voice.close()
    wrong = [(h.prompt.text, h.noise, h.meaning) for h in found if not h.right]
    assert len(wrong) <= 1, wrong
