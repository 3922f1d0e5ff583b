"""How a number ends tells whether people may still be in the middle of it."""

import pytest

from assistant.speech.number_words import ONES, TENS
from assistant.speech.numbers import forms
from assistant.speech.pauses import number_end


@pytest.mark.parametrize(
    ("said", "end"),
    [
        ("three ten", "closed"),
        ("one eighty", "closed"),
        ("one eighty five", "closed"),
        ("bolt five one eighty", "closed"),
        ("bolt twenty three ten", "closed"),
        ("three hundred and ten", "closed"),
        ("twelve fifty", "closed"),
        ("twelve fifteen", "closed"),
        ("ninety five", "closed"),
        ("twenty", "closed"),
        ("fifty seven point five", "closed"),
        ("three", "open"),
        ("one two", "open"),
        ("bolt seven", "open"),
        ("twelve", "open"),
        ("fifteen", "open"),
        ("double five", "open"),
        ("three double", "open"),
        ("one thousand two", "open"),
        ("fifty seven point", "open"),
        ("one two zero", "whole"),
        ("four oh five", "whole"),
        ("twelve oh five", "whole"),
        ("one two five zero", "whole"),
        ("three hundred", "hundreds"),
        ("two thousand", "hundreds"),
        ("three ten newton metres", "none"),
        ("say again", "none"),
        ("3 +1 +0", "none"),
        ("", "none"),
    ],
)
def test_how_a_number_ends(said, end):
    assert number_end(said.split()) == end


def test_no_first_half_of_a_grouped_number_counts_as_closed():
    """'three' of 'three ten', 'twelve' of 'twelve fifty': what people pause behind is never taken for the end."""
    for value in range(110, 2000, 7):
        for words in (form.split() for form in forms(value)):
            for k in range(1, len(words)):
                head, following = words[:k], words[k]
                if number_end(head) == "closed":
                    assert (head[-1] in TENS and following in ONES) or following in ("hundred", "thousand"), (
                        head,
                        words,
                    )
