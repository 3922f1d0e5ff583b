"""What pages, records and lists say, in the language of the session. English is what the code says itself."""

from __future__ import annotations

import functools

from assistant.report.wording.catalogue import Words
from assistant.report.wording.german_findings import FINDINGS
from assistant.report.wording.german_page import PAGE, SCRIPTS
from assistant.report.wording.german_record import RECORD
from assistant.report.wording.german_steps import STEPS
from assistant.report.wording.german_work import WORK

__all__ = ["ENGLISH", "GERMAN", "Words", "words_in"]

GERMAN = {
    english: german.replace("“", "„").replace("”", "“")
    for english, german in {**WORK, **RECORD, **PAGE, **FINDINGS}.items()
}
"""English sentence -> German sentence, with German quotes; see `catalogue` for what the fields mean."""
ENGLISH = Words("en", {})
"""Says everything as it is."""


@functools.cache
def words_in(language: str) -> Words:
    """The words of a session's language; English for every language that has no table."""
    return Words("de", GERMAN, steps=STEPS, scripts=SCRIPTS) if language == "de" else ENGLISH
