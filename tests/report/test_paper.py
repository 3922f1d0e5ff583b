"""German words are broken where a reader would."""

from __future__ import annotations

import pytest

from assistant.report.paper import syllable_breaks


@pytest.mark.parametrize(
    # divided as the official spelling of 2006 divides them (from memory)
    "divided",
    "Schrau-be Ge-fragt Ver-su-che zu-rück-ge-nom-men Dreh-mo-ment-schlüs-sel Kon-troll-run-de Stre-cke Auf-nah-me "
    "Be-we-gung Nach-prü-fung ge-schmiert. 2026-11-25 record.json hielt".split(),
)
def test_where_a_word_may_be_broken(divided):
    plain = divided[:10] if divided[:1].isdigit() else divided.replace("-", "")
    shown = plain
    for at in reversed(syllable_breaks(plain)):
        shown = f"{shown[:at]}-{shown[at:]}"
    assert shown == divided
