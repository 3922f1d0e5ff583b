"""Everything the assistant says, in English: short sentences, number last, the same shape each time.

Written for the ear: units and numbers as words, so that what a voice says does not depend on its reading of "N*m".
A routine prompt has at most nine words (tested). Every method is pure and returns whole sentences.
"""

from __future__ import annotations

from assistant.speech.wording.english_course import EnglishCourse
from assistant.speech.wording.english_findings import EnglishFindings
from assistant.speech.wording.english_guiding import EnglishGuiding
from assistant.speech.wording.english_methods import EnglishMethods
from assistant.speech.wording.english_repair import EnglishRepair


class English(EnglishGuiding, EnglishCourse, EnglishMethods, EnglishFindings, EnglishRepair):
    """The English catalogue; the other languages have the same methods."""

    language = "en"
