"""The commands by canonical name, with the ways to say each. Our own wording; common practice of the trade, no source.

Wordings that sound like a command of more consequence are left out ('same again' for 'say again', 'not moved' for 'it
moved'), so that the harmless one is heard. Opposites that people do say ('incorrect', 'that's not correct') are in:
left out, they would be bent into their opposite. 'okay' means nothing: it is said to oneself too often to confirm
anything.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

COMMANDS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        # understood in every state
        "stop": ("stop", "stop stop", "stop stop stop", "stop now", "no stop", "hey stop"),
        "pause": ("pause", "hold on", "one moment", "take a break"),
        "resume": ("resume", "carry on", "continue"),
        "say again": ("say again", "say that again", "repeat", "repeat that", "what was that"),
        "status": ("status", "where are we", "where am i", "where was i", "how many left"),
        "help": ("help", "help me", "what can i say"),
        "why": ("why", "why is that", "why that", "tell me why"),
        "go back": ("go back", "go back one", "previous bolt", "back one bolt"),
        "correction": ("correction", "scratch that", "undo that", "take that back"),
        "hand over": ("hand over", "handover", "shift change"),
        "leave it open": ("leave it open", "leave the joint open", "we come back later"),
        "off the record": ("off the record", "go off the record"),
        "on the record": ("on the record", "back on the record"),
        # reports and answers
        "done": ("done", "finished", "that's done", "that is done"),
        "clicked": ("clicked", "click", "it clicked", "i got a click", "got the click"),
        "snug": ("snug", "it's snug", "snug now"),
        "moved": ("moved", "it moved", "the nut moved", "it turned", "the nut turned"),
        "did not move": (
            *("did not move", "didn't move", "it did not move", "it didn't move", "the nut did not move"),
            *("no movement", "did not turn", "didn't turn", "held", "it held"),
        ),
        "same": ("same", "the same", "same as before"),  # 'same again' would be one sound away from 'say again'
        "keep": ("keep", "keep it", "keep that"),  # 'leave it' would be half of 'leave it open'
        "ready": ("ready", "i'm ready", "i am ready", "ready now"),
        "figures": ("figures", "figure by figure", "digits", "digit by digit"),
        "next": ("next", "next bolt", "next one"),
        "replaced": ("replaced", "has been replaced", "is a new bolt", "was replaced"),
        "restart pass": ("restart the pass", "start the pass again", "begin the pass again"),
        "gasket disturbed": ("gasket disturbed", "the gasket is disturbed", "gasket damaged", "the gasket is damaged"),
        "target": ("target", "what's the target", "what is the target", "target value", "what torque"),
        # how the assistant speaks; of each the wording that the listeners hear best comes first (10 dB, 12 voices:
        # 'not so loud' 10, 'speak up' 8, 'faster' 7 of 12 taken at once; 'louder' and 'slower' 1)
        "louder": ("speak up", "louder", "speak louder"),
        "quieter": ("not so loud", "quieter", "speak quieter"),
        "slower": ("slower", "speak slower", "talk slower"),
        "faster": ("faster", "speak faster"),
        "say less": ("say less", "talk less", "short answers"),
        "say more": ("say more", "talk more", "tell me more"),
        "all": (
            *("all good", "all at value", "all done", "all the same", "all of them", "all bolts done", "all finished"),
            *("all clicked", "all snug", "all tight", "the rest are done", "everything done"),
        ),
        # fails whatever check or hold point is due
        "not yet": ("not yet", "not ready", "not ready yet", "not done", "it is not", "something is missing"),
    }
)

TROUBLES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "somebody is hurt": (
            *("a man is hurt", "a person is hurt", "he is hurt", "she is hurt", "i am hurt", "i'm hurt"),
            *("we have a man hurt", "get a medic", "get help"),
        ),
        "alarm": ("alarm", "the alarm", "alarm is going", "the alarm is going", "gas alarm", "evacuate"),
        "there is a leak": ("there is a leak", "we have a leak", "it is leaking", "it's leaking"),
        "bolt broke": (
            *("bolt is broken", "the bolt is broken", "bolt broken", "broken bolt"),
            *("stud is broken", "the stud is broken", "broken stud"),
        ),
        "nut turns free": (
            *("nut turns free", "the nut turns free", "the nut is turning free", "no load on the nut"),
            *("the nut is stripped", "nut is stripped"),
        ),
        "thread damaged": (
            *("thread damaged", "thread is damaged", "the thread is damaged", "damaged thread"),
            *("thread is stripped", "the thread is stripped"),
        ),
        "wrench dropped": (
            *("wrench damaged", "wrench is damaged", "the wrench is damaged", "the wrench is broken"),
            *("wrench on the floor", "the wrench is on the floor"),
        ),
        "socket slipped": (
            *("socket slipped", "the socket slipped", "wrench slipped", "the wrench slipped", "it slipped"),
            "slipped off",
        ),
    }
)
"""What goes wrong at the wrench, understood in every state; of words that both listeners know."""

WRONG = ("wrong", "that's wrong", "that is wrong")
"""To a question a no; otherwise a correction of the last entry."""

YES = (
    *("affirmative", "correct", "that's correct", "that is correct", "that's right", "that is right", "confirmed"),
    *("yes correct", "yes confirmed", "yes it is", "yes that's correct", "yes that's right", "yes that is right"),
)
NO = (
    *("negative", "no no", "no it's not", "no it is not", "no that's wrong", "no wrong", "incorrect", "not correct"),
    *("that's not correct", "that is not correct", "that's not right", "that is not right"),
)
SHORT_YES = ("yes", "yes yes", "yeah", "yep")
SHORT_NO = ("no", "nope")
"""The shortest words attract noise: taken only where a question waits."""

CHOICES: Mapping[int, tuple[str, ...]] = MappingProxyType(
    {
        1: ("first", "the first", "first one", "the first one", "number one", "option one", "choice one"),
        2: ("second", "the second", "second one", "the second one", "number two", "option two", "choice two"),
    }
)
"""Of two numbered choices; 'one' and 'two' alone are values like any other. Both mean the value 1 or 2."""
NEITHER = ("neither", "neither one", "none of them")

OPENINGS: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "note": ("note", "take a note", "make a note", "note that"),
        "skip": ("skip", "skip it", "skip this", "skip this bolt", "skip this one", "skip because"),
    }
)
"""Words behind which free speech may follow."""
