"""Everything the assistant says, in German: the same sentences, in the trade's own words, to a mate ('du').

Listening stays English. What people must say is therefore never translated: it stands between „ and “, and the voice
says it in English (`devices.pyttsx3_renderer`). A routine prompt has at most nine words, a compound is one (tested).
"""

from __future__ import annotations

from assistant.speech.wording.english import English
from assistant.speech.wording.german_course import GermanCourse
from assistant.speech.wording.german_findings import GermanFindings
from assistant.speech.wording.german_guiding import GermanGuiding
from assistant.speech.wording.german_methods import GermanMethods
from assistant.speech.wording.german_repair import GermanRepair


class German(GermanGuiding, GermanCourse, GermanMethods, GermanFindings, GermanRepair, English):
    """The German catalogue; a test requires that it says everything that the English one says."""

    language = "de"
