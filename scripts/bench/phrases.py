"""Torque talk for synthetic voices: values in every spoken form, commands, and talk that is no part of the job."""

from __future__ import annotations

import random

ONES = "zero one two three four five six seven eight nine".split()
TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
UNITS = ("newton metres", "newton metres", "foot pounds", "inch pounds", "pound feet", "newton meters")
COMMANDS = (
    "stop|pause|resume|say again|status|help|why|go back|correction|hand over|done|clicked|next|"
    "next bolt|yes|no|ready|snug|same|figures|repeat|continue|cancel|it clicked|that is correct|keep it|"
    "moved|did not move|no movement|go on|tight|all good"
).split("|")
NOTES = (
    "washer damaged|nut replaced|thread looks dirty|tool slipped|no lubricant on this one|gasket moved|"
    "stud is short|gauge was reading low|leaking a little|paint under the nut|rust on the nut face|"
    "second try|rain started"
).split("|")
TALK = (
    "the weather is nice today|can you pass me the hammer|i will be back after lunch|"
    "did you see the game last night|please close the door behind you|we need two more people over here|"
    "the truck is waiting outside|turn the radio down|she said it would rain tomorrow|"
    "where did you put the paper|be careful with the ladder|it is getting late|let us go home|"
    "the meeting starts at ten|i have to call my brother|this machine is really loud|look out behind you|"
    "what time is it now|bring the other box too|i do not think so|maybe next week|"
    "there is water on the floor|give me a minute please|the light over there is broken|"
    "put it on the table|how was your holiday|we ran out of gloves|nobody told me about that|"
    "the crane is coming over|mind your head|is the kettle on|three of them went to the canteen|"
    "it was about five years ago|the bus leaves at half past four|call the control room on channel nine|"
    "that cost me fifty quid|he is twenty one now"
).split("|")


def cardinal(n: int, r: random.Random) -> str:
    """The number in words, 0..9999, with or without 'and'."""
    if n < 20:
        return ONES[n] if n < 10 else TEENS[n - 10]
    if n < 100:
        return TENS[n // 10 - 2] + (f" {ONES[n % 10]}" if n % 10 else "")
    unit, name = (1000, "thousand") if n >= 1000 else (100, "hundred")
    head, rest = divmod(n, unit)
    text = f"{cardinal(head, r)} {name}"
    if rest:
        join = " and " if (rest < 100 and r.random() < 0.5) else " "
        text += join + cardinal(rest, r)
    return text


def grouped(n: int, r: random.Random) -> str:
    """100..1999 as two groups: three ten, four oh five, twelve fifty; round hundreds as 'twelve hundred'."""
    head, rest = divmod(n, 100)
    if rest == 0:
        return f"{cardinal(head, r)} hundred"
    return f"{cardinal(head, r)} " + (f"oh {ONES[rest]}" if rest < 10 else cardinal(rest, r))


def figures(n: int, r: random.Random) -> str:
    """Figure by figure, now and then with 'oh' or 'double'."""
    words: list[str] = []
    text = str(n)
    i = 0
    nought = r.choice(["zero", "zero", "oh"])
    while i < len(text):
        word = nought if text[i] == "0" else ONES[int(text[i])]
        if i + 1 < len(text) and text[i] == text[i + 1] and r.random() < 0.3 and i:
            words += ["double", word]
            i += 2
        else:
            words.append(word)
            i += 1
    return " ".join(words)


def value(r: random.Random) -> str:
    """A value in one of its forms, with a unit or without."""
    two = [r.randint(10, 99)]
    three = [r.randint(100, 999), r.randint(100, 999), 10 * r.randint(2, 99), 5 * r.randint(4, 199)]
    four = [r.randint(1000, 1999), 50 * r.randint(20, 60)]
    n = r.choice([*two, *three, *four, r.randint(13, 19), 10 * r.randint(2, 9), 100 * r.randint(1, 24)])
    forms = [cardinal]
    if 100 <= n < 2000:
        forms += [grouped, grouped]
    if n >= 100:
        forms += [figures]
    text = r.choice(forms)(n, r)
    if n < 600 and r.random() < 0.15:
        text += f" point {ONES[r.randint(1, 9)]}"
    return text + (f" {r.choice(UNITS)}" if r.random() < 0.3 else "")


def utterance(r: random.Random) -> str:
    """What a technician may say: mostly a value, else a command, a bolt with its value, a note, or talk to others."""
    k = r.random()
    if k < 0.55:
        return value(r)
    if k < 0.63:
        return f"bolt {cardinal(r.randint(1, 24), r)} {value(r)}"
    if k < 0.66:
        return f"correction {value(r)}"
    if k < 0.82:
        return r.choice(COMMANDS)
    if k < 0.86:
        return f"note {r.choice(NOTES)}"
    return r.choice(TALK)
