"""The record of a session on disk: what happened, in order, kept so that nobody has to be believed.

What this room promises; `tests/journal` holds each sentence to it under the same number.

1. One sequence: lines are numbered 1, 2, 3 ... without a gap, each bound to all before it by their hashes.
2. Append only: no line is changed or removed, ever. A correction is a new event.
3. Synced before acted on: when `append` returns, its events are on the medium; when it cannot promise that, it raises,
   and the store takes nothing more.
4. A cut at any byte loses at most what was being written, which nobody has acted on. The torn rest is moved to
   `journal.torn-N`, and the next record says how many bytes it was.
5. Nothing wrong before the last line is ever skipped: opening such a journal is an error that names the line.
6. A changed byte is found by `verify`, in the journal, the joint file, the plan, the audio and the seal, in a session
   that is sealed or not. (Lines cut off whole at the end are found once it is sealed.)
7. A record never names audio that is not there: audio is stored, synced and compared first, then named.
8. No number of an utterance is used twice, also after a crash between storing audio and naming it.
9. One writer: a second one is refused, and a killed one leaves no stale lock.
10. Events come back equal to what was appended: numbers as said, nothing rounded, nothing guessed. What is not exactly
    an event that we know is refused with line and field.
11. Old records are never edited: a changed event has a new version and one step that lifts the old payload.
12. Nothing follows `session-closed` but the seal, and nothing follows the seal.
13. The wall clock is read here only, and only to stamp lines; nothing is ordered by it.
14. Reading, `verify` included, changes nothing.
15. A lead's review stands beside the session and never in it, chained and signed by itself, and bound to the very
    journal that it was made of; a change of it is found like one of the journal.

Verification is in `assistant.journal.verify`; its name is left free here.
"""

from assistant.journal.audio import AudioKeeper
from assistant.journal.findings import Finding, Report
from assistant.journal.reading import Entry, Loaded, read_session
from assistant.journal.recording import MemoryStore, Recording
from assistant.journal.seal import Seal, installation_key
from assistant.journal.sessions import latest, session_folders, slug_of, status_of
from assistant.journal.store import JournalStore

__all__ = [
    "AudioKeeper",
    "Entry",
    "Finding",
    "JournalStore",
    "Loaded",
    "MemoryStore",
    "Recording",
    "Report",
    "Seal",
    "installation_key",
    "latest",
    "read_session",
    "session_folders",
    "slug_of",
    "status_of",
]
