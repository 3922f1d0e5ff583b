"""What pages, records and lists say, in the language of the session. English is what the code says itself."""

from __future__ import annotations

import functools
from collections.abc import Iterable

from assistant.report.wording.catalogue import Words
from assistant.report.wording.german_findings import FINDINGS
from assistant.report.wording.german_lists import LISTS
from assistant.report.wording.german_page import PAGE, SCRIPTS
from assistant.report.wording.german_plan import PLAN
from assistant.report.wording.german_record import RECORD
from assistant.report.wording.german_steps import STEPS
from assistant.report.wording.german_work import WORK

__all__ = ["ENGLISH", "GERMAN", "Words", "words_in", "words_shared"]

GERMAN = {
    english: german if "„" in german else german.replace("“", "„").replace("”", "“")
    for english, german in {**PLAN, **LISTS, **WORK, **RECORD, **PAGE, **FINDINGS}.items()
}
"""English sentence -> German sentence, with German quotes; see `catalogue` for what the fields mean."""
ENGLISH = Words("en", {})
"""Says everything as it is."""


@functools.cache
def words_in(language: str) -> Words:
    """The words of a session's language; English for every language that has no table."""
    return Words("de", GERMAN, steps=STEPS, scripts=SCRIPTS) if language == "de" else ENGLISH


def words_shared(languages: Iterable[str], *, otherwise: str) -> Words:
    """The words of what is told of several sessions: their language where they have one, else that of the reader."""
    found = set(languages)
    return words_in(found.pop() if len(found) == 1 else otherwise)
