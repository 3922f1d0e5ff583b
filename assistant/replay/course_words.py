"""What names and agreements are for, in words for people."""

from __future__ import annotations

PURPOSES = {
    "witness": "released by",
    "measured": "measured by",
    "takes-over": "takes over",
    "competent": "competent person who looked for the cause",
}
"""What a name was asked for, in words."""
AGREED_TO = {
    "skip": "to skip a bolt",
    "keep": "to keep a reading outside its window",
    "cut-short": "to cut a wait short",
}
"""What a supervisor agreed to, in words."""
MISHEARD = "Names are written as they were heard and are often misheard: hear them."
