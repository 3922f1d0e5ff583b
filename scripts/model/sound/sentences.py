"""Random sentences for the synthetic voices: torque talk in every number form, commands, notes, letters, plain talk.

All wording is ours. Every function takes a `random.Random`, so a seed gives the same sentences again. Sentences are
lower-case words separated by one blank, numbers written out, as `spelling.py` and the decoder's word list expect them.

usage: sentences.py N [SEED]     prints N sentences
"""

from __future__ import annotations

import random
import sys

ONES = "zero one two three four five six seven eight nine".split()
TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
UNITS = (
    "newton metres|newton meters|foot pounds|newton metres|foot pounds|inch pounds|pound feet|kilogram metres".split(
        "|"
    )
)
COMMANDS = (
    "done|clicked|it clicked|next|next bolt|repeat|say again|correction|cancel|stop|pause|resume|continue|yes|"
    "no|ready|go back|"
    "status|help|snug|same|same again|why|figures|figure by figure|keep|keep it|moved|did not move|it moved|"
    "skip|skip bolt|"
    "note|end note|hand over|undo|confirm|confirmed|negative|wrong|hold|finished|all clear|wait|go on|start|"
    "repeat the target|"
    "what is next|how many left|read it back|louder|slower|quieter|locked out|tagged out|first|second|one|two|"
    "seated|leak|no leak|"
    "permit in hand|close the joint|sign off|copy|roger"
).split("|")
NOTES = (
    "rust on the nut face|washer damaged|washer missing|nut replaced|thread looks dirty|tool slipped|"
    "no grease on this one|gasket moved|"
    "stud is short|had to use the long socket|wrench was jumping|turned twice|weeping a little|paint under the nut|"
    "waiting for the crane|apprentice did this one|second try|changed the socket|shift change|the light is bad here|"
    "hand tight only|checked by eye|flange face is scratched|wrong size socket|the fan is noisy|stud galled|"
    "nut runs stiff|"
    "hit by the sling|two threads showing|tag is missing|water in the pit|gap is wider on the left|pump came on"
).split("|")
REASONS = (
    "cannot reach it|socket does not fit|stud is galled|it is blocked by the pipe|"
    "nut is missing|the bracket is in the way"
).split("|")
ALPHABET = (
    (
        "alpha bravo charlie delta echo foxtrot golf hotel india juliet kilo lima mike november oscar papa quebec "
        "romeo sierra tango "
        "uniform victor whiskey x-ray yankee zulu"
    )
    .replace("x-ray", "xray")
    .split()
)
PLAIN = (
    "can you pass me the hammer|i will be back after lunch|did you see the game last night|"
    "please close the door behind you|"
    "we need two more people over here|the truck is waiting outside|turn the radio down|my phone is in the car|"
    "she said it would rain tomorrow|where did you put the paper|coffee is in the kitchen|be careful with the ladder|"
    "it is getting late let us go home|the meeting starts at ten|i have to call my brother|this machine is really loud|"
    "look out behind you|he bought a new house near the river|what time is it now|bring the other box too|"
    "i do not think so|maybe next week|they want to finish before friday|there is water on the floor|"
    "give me a minute please|"
    "the light over there is broken|put it on the table|how was your holiday|we ran out of gloves|"
    "nobody told me about that|"
    "five of us went to the match|nine times out of ten it works|that is not what i said|no problem at all|"
    "note the time please|"
    "stop by the office later|yes but not today|four days until the weekend|i heard you the first time|"
    "the crane is coming over|mind your head|who left this here|is the kettle on|they are short of hands today|"
    "it took us fifty minutes to get here|the ferry was late again|close the valve a quarter turn|"
    "keep clear of the load"
).split("|")
SUBJECT = (
    "the foreman|my neighbour|that old pump|the night shift|"
    "a young engineer|the gauge|our boat|the weather|somebody|the manual"
).split("|")
VERB = "needs|forgot|looks at|never liked|waits for|talks about|carried|painted|asked for|found".split("|")
OBJECT = (
    "the blue crate|another pair of boots|a longer hose|the second gate|his sandwich|the spare key|"
    "three cups of tea|the wrong drawing|"
    "a quiet evening|the broken handle|some clean rags|the river bank|seven empty barrels|the last train"
).split("|")
TAIL = "|||this morning|before noon|in the rain|near the bridge|again|without a word|on sunday|for no reason".split("|")


def cardinal(n: int, r: random.Random, *, british: bool | None = None) -> str:
    """N (0...9999) in words; `british` puts 'and' after hundred, None chooses at random."""
    british = r.random() < 0.5 if british is None else british
    if n < 20:
        return (ONES + TEENS)[n]
    if n < 100:
        return TENS[n // 10 - 2] + ("" if n % 10 == 0 else " " + ONES[n % 10])
    if n < 1000:
        h, t = divmod(n, 100)
        return f"{ONES[h]} hundred" + ("" if not t else (" and " if british else " ") + cardinal(t, r))
    k, t = divmod(n, 1000)
    return f"{ONES[k]} thousand" + ("" if not t else (" and " if t < 100 else " ") + cardinal(t, r, british=british))


def figures(digits: str, r: random.Random) -> str:
    """A string of digits figure by figure: zero or oh, now and then 'double', and the radio forms niner and fife."""
    nought = r.choice(["zero", "oh", "oh", "zero", "nought"])
    radio = r.random() < 0.12
    words, i = [], 0
    while i < len(digits):
        w = nought if digits[i] == "0" else ONES[int(digits[i])]
        if radio:
            w = {"nine": "niner", "five": "fife"}.get(w, w)
        if i + 1 < len(digits) and digits[i + 1] == digits[i] and r.random() < 0.25:
            words += ["double", w]
            i += 2
            continue
        words.append(w)
        i += 1
    return " ".join(words)


def grouped(n: int, r: random.Random) -> str:
    """100...9999 in groups of two: one twenty, four oh five, twelve fifty, three hundred."""
    h, t = divmod(n, 100)
    head = cardinal(h, r)
    if t == 0:
        return head + " hundred"
    if t < 10:
        return f"{head} {r.choice(['oh', 'oh', 'zero'])} {ONES[t]}"
    return f"{head} {cardinal(t, r)}"


def number(r: random.Random) -> int:
    """A plausible reading; figures nine and five and the pairs thirteen/thirty ... come up more often."""
    k = r.random()
    if k < 0.22:
        return int("".join(r.choice("0123456789559919") for _ in range(r.choice([2, 3, 3, 3, 4])))) or 95
    if k < 0.40:
        low = r.choice([13, 14, 15, 16, 17, 18, 19, 30, 40, 50, 60, 70, 80, 90])
        return low if r.random() < 0.4 else 100 * r.randint(1, 9) + low
    return r.choice(
        [
            r.randint(1, 99),
            r.randint(100, 999),
            r.randint(100, 999),
            10 * r.randint(1, 99),
            5 * r.randint(1, 199),
            r.randint(1000, 3000),
            100 * r.randint(1, 40),
        ]
    )


def value(r: random.Random) -> str:
    """One reading, without unit."""
    n, k = number(r), r.random()
    if k < 0.36:
        s = figures(str(n if n > 9 else n + 100), r)
    elif k < 0.66 or n < 100:
        s = cardinal(n, r)
    else:
        s = grouped(n, r)
    if r.random() < 0.16:
        s += " point " + " ".join(r.choice(ONES) for _ in range(r.choice([1, 1, 1, 2])))
    return s


def sentence(r: random.Random) -> str:
    """One sentence: about 60 % readings, 14 % commands, 9 % notes, 3 % letters, 14 % unrelated talk."""
    k, v = r.random(), value(r)
    if k < 0.60:
        unit = r.choice(UNITS)
        bolt = "bolt " + cardinal(r.randint(1, 48), r)
        return r.choice(
            [
                v,
                v,
                v,
                v,
                f"{v} {unit}",
                f"{v} {unit}",
                f"{bolt} {v}",
                f"{bolt} {v} {unit}",
                f"correction {v}",
                f"no {v}",
                f"{bolt} {r.choice(['done', 'clicked', 'snug', 'moved'])}",
                f"clicked at {v}",
                f"torque {v} {unit}",
            ]
        )
    if k < 0.74:
        c = r.choice(COMMANDS)
        return c if r.random() < 0.85 else f"{c} {r.choice(COMMANDS)}"
    if k < 0.83:
        return r.choice(
            [
                f"note {r.choice(NOTES)}",
                f"note {r.choice(NOTES)}",
                f"skip {r.choice(REASONS)}",
                f"skip bolt {cardinal(r.randint(1, 32), r)} {r.choice(REASONS)}",
                f"because {r.choice(REASONS)}",
            ]
        )
    if k < 0.86:
        return " ".join(r.choice(ALPHABET) for _ in range(r.randint(1, 4)))
    if r.random() < 0.6:
        return r.choice(PLAIN)
    return " ".join(f"{r.choice(SUBJECT)} {r.choice(VERB)} {r.choice(OBJECT)} {r.choice(TAIL)}".split())


if __name__ == "__main__":
    rng = random.Random(int(sys.argv[2]) if len(sys.argv) > 2 else 0)
    for _ in range(int(sys.argv[1])):
        print(sentence(rng))
