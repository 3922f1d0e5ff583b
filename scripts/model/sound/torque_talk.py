"""Grammars of the development check: values in all spoken forms, units, bolts, commands; plain strings of figures."""

from __future__ import annotations

from scripts.model.sound.word_grammar import Grammar

ONES = "one two three four five six seven eight nine".split()
TEENS = "ten eleven twelve thirteen fourteen fifteen sixteen seventeen eighteen nineteen".split()
TENS = "twenty thirty forty fifty sixty seventy eighty ninety".split()
NOUGHT = ["zero", "oh", "o"]
VALUE = {w: i + 1 for i, w in enumerate(ONES)} | {w: i + 10 for i, w in enumerate(TEENS)}
VALUE |= {w: 10 * (i + 2) for i, w in enumerate(TENS)} | dict.fromkeys(NOUGHT, 0)
DIGIT = {**{w: VALUE[w] for w in ONES + NOUGHT}, **{str(d): d for d in range(10)}}
LARGEST = 5000  # no torque of this work is larger, whatever the unit
UNITS = {
    "foot pounds": "lbf*ft",
    "foot pound": "lbf*ft",
    "newton metres": "N*m",
    "newton meters": "N*m",
    "newton meter": "N*m",
}
COMMANDS = (
    "done,clicked,next,next bolt,repeat,say again,correction,cancel,stop,pause,resume,yes,no,ready,go back,"
    "status,help,snug,"
    "same,why,figures,figure by figure,keep,moved,did not move"
).split(",")


def torque_grammar() -> Grammar:
    """[bolt N] (value [unit] | command) as people say them, figures and words alike."""
    g = Grammar()
    number, whole, end = g.new(), g.new(), g.new()
    g.final.add(end)

    def small(a, b):  # 1..99
        g.arc(a, b, ONES + TEENS + TENS)
        c = g.new()
        g.arc(a, c, TENS)
        g.arc(c, b, ONES)

    def two(a, b):  # 10..99
        g.arc(a, b, TEENS + TENS)
        c = g.new()
        g.arc(a, c, TENS)
        g.arc(c, b, ONES)

    small(number, whole)
    g.arc(number, whole, NOUGHT[:1])
    h, h_and, tail = g.new(), g.new(), g.new()  # D hundred [and] small ; NN hundred ; N thousand ...
    a = g.new()
    small(number, a)
    g.arc(a, h, ["hundred"])
    g.skip(h, whole)
    g.arc(h, h_and, ["and"])
    g.skip(h, h_and)
    small(h_and, whole)
    t = g.new()
    g.arc(a, t, ["thousand"])
    g.skip(t, whole)
    g.skip(t, tail)
    g.arc(t, h_and, ["and"])
    c = g.new()
    g.arc(tail, c, ONES)
    g.arc(c, h, ["hundred"])
    small(tail, whole)
    d = g.new()  # grouped: three ten, four oh five, twelve fifty
    g.arc(number, d, ONES)
    two(d, whole)
    e = g.new()
    g.arc(d, e, NOUGHT)
    g.arc(e, whole, ONES)
    f = g.new()
    two(number, f)
    two(f, whole)
    s = [number] + [g.new() for _ in range(3)]  # figure by figure, two to four of them; "double"
    first = ONES
    for i in range(3):
        g.arc(s[i], s[i + 1], first)
        first = ONES + NOUGHT
        g.arc(s[i + 1], whole, first)
    x = g.new()
    g.arc(s[1], x, ["double"])
    g.arc(x, whole, ONES + NOUGHT)
    k = g.new()  # numerals: 500 ; 5 0 0 ; 2 75 ; 1,200
    g.arc(number, k, [str(i) for i in range(10)])
    g.skip(k, whole)
    prev = k
    for _ in range(3):
        nxt = g.new()
        g.arc(prev, nxt, [str(i) for i in range(10)] + ["+" + str(i) for i in range(10)])
        g.skip(nxt, whole)
        prev = nxt
    point, unit = g.new(), g.new()
    g.skip(whole, unit)
    g.arc(whole, point, ["point"])
    g.arc(point, unit, ONES + NOUGHT + [str(i) for i in range(10)])
    p = g.new()
    g.arc(whole, p, ["+."])
    g.arc(p, unit, ["+" + str(i) for i in range(10)])
    g.skip(unit, end)
    for u in UNITS:
        g.phrase(unit, end, u)
    command = g.new()
    for w in COMMANDS:
        g.phrase(command, end, w)
    g.skip(0, number)
    g.skip(0, command)
    b1, b2 = g.new(), g.new()  # bolt N ...
    g.arc(0, b1, ["bolt"])
    small(b1, b2)
    g.arc(b1, b2, [str(i) for i in range(10)])
    q = g.new()
    g.arc(b1, q, [str(i) for i in range(1, 10)])
    g.arc(q, b2, ["+" + str(i) for i in range(10)])
    for w in ("done", "clicked", "snug"):
        g.phrase(b2, end, w)
    g.skip(b2, number)
    fix = g.new()
    g.arc(0, fix, ["correction"])
    g.skip(fix, number)
    return g


def number_value(ws) -> float | None:
    """Value of number words (already known to be in the grammar); None if it cannot be one number."""
    ws = [w.lstrip("+") for w in ws]
    if not ws:
        return None
    for mark in ("point", "."):
        if mark in ws:
            i = ws.index(mark)
            head, frac = number_value(ws[:i]), ws[i + 1 :]
            if head is None or len(frac) != 1 or frac[0] not in DIGIT:
                return None
            return head + DIGIT[frac[0]] / 10
    if all(w in DIGIT or w == "double" for w in ws) and (len(ws) > 1 or ws[0] in DIGIT):
        text, twice = "", False
        for w in ws:
            if w == "double":
                twice = True
                continue
            text += str(DIGIT[w]) * (2 if twice else 1)
            twice = False
        return float(text) if text else None
    if "thousand" in ws:
        i = ws.index("thousand")
        head, rest = number_value(ws[:i]), [w for w in ws[i + 1 :] if w != "and"]
        return None if head is None else head * 1000 + (number_value(rest) if rest else 0)
    if "hundred" in ws:
        i = ws.index("hundred")
        head, rest = number_value(ws[:i]), [w for w in ws[i + 1 :] if w != "and"]
        return None if head is None else head * 100 + (number_value(rest) if rest else 0)
    if len(ws) == 1:
        return VALUE.get(ws[0])
    if len(ws) == 2 and ws[0] in TENS and ws[1] in ONES:
        return VALUE[ws[0]] + VALUE[ws[1]]
    if ws[0] in ONES and len(ws) == 3 and ws[1] in NOUGHT:
        return VALUE[ws[0]] * 100 + VALUE[ws[2]]
    for cut in (1, 2):  # grouped: head (1..99) then two-figure rest
        head, rest = ws[:cut], ws[cut:]
        hv = number_value(head) if head else None
        rv = number_value(rest) if rest else None
        if hv is not None and rv is not None and 10 <= rv < 100 and (cut == 1 or head[0] in TENS) and hv < 100:
            return hv * 100 + rv
    return None


def torque_meaning(words):
    """('value', number, unit, bolt, corrected) or ('command', name, bolt)."""
    ws, bolt, corrected, unit = list(words), None, False, None
    if ws[0] == "correction" and len(ws) > 1:
        ws, corrected = ws[1:], True
    if ws[0] == "bolt":
        i = len(ws)
        for j in range(2, len(ws) + 1):
            if j == len(ws) or ws[j] in ("done", "clicked", "snug"):
                i = j
                break
        if i < len(ws):
            bolt = number_value(ws[1:i])
            return None if bolt is None else ("command", " ".join(ws[i:]), int(bolt))
        j = 2 if (ws[1] in ONES + TEENS or len(ws) < 3 or not (ws[1] in TENS and ws[2] in ONES)) else 3
        bolt, ws = number_value(ws[1:j]), ws[j:]
        if bolt is None or not ws:
            return None
    text = " ".join(ws)
    for u, canon in UNITS.items():
        if text.endswith(" " + u):
            unit, ws = canon, ws[: len(ws) - len(u.split())]
            break
    text = " ".join(ws)
    if text in COMMANDS:
        return ("command", text, None)
    v = number_value(ws)
    return None if v is None or v > LARGEST else ("value", round(v, 1), unit, bolt, corrected)


def figures_grammar() -> Grammar:
    """Any string of number words or numerals, with an optional command of the AN4 recordings before it."""
    g = Grammar()
    body, end = g.new(), g.new()
    g.skip(0, body)
    g.arc(0, body, ["enter", "erase", "rubout"])
    words = [*ONES, *TEENS, *TENS, *NOUGHT[:2], "hundred", "thousand", "and"]
    g.arc(body, end, [w for w in words if w != "and"] + [str(i) for i in range(10)])
    g.arc(end, end, words + [str(i) for i in range(10)] + [f"+{i}" for i in range(10)])
    g.final.add(end)
    return g


def longest_cardinal(ws) -> tuple[int, int]:
    """(words used, value) of the cardinal at the start: [D thousand [and]] [D hundred [and]] [1..99]; (0, 0) if there
    is none.
    """
    i, total = 0, 0
    for name, size in (("thousand", 1000), ("hundred", 100)):
        if ws[i : i + 1] and ws[i] in ONES and ws[i + 1 : i + 2] == [name]:
            total += VALUE[ws[i]] * size
            i += 2
    j = i + 1 if i and ws[i : i + 1] == ["and"] else i
    if ws[j : j + 1] and ws[j] in VALUE and VALUE[ws[j]]:
        total += VALUE[ws[j]]
        i = j + 1
        if ws[j] in TENS and ws[i : i + 1] and ws[i] in ONES:
            total += VALUE[ws[i]]
            i += 1
    return i, total


def figures_meaning(words):
    """(command or '', figures) with 'seven thousand one hundred and eighty six' as 7186 and 'fifty six thirty two' as
    5632; None for no number.
    """
    head = words[0] if words[0] in ("enter", "erase", "rubout") else ""
    ws, out = [w.lstrip("+") for w in words[1 if head else 0 :]], ""
    while ws:
        used, value = longest_cardinal(ws)
        if not used:
            if ws[0] not in DIGIT:
                return None
            used, value = 1, DIGIT[ws[0]]
        out, ws = out + str(value), ws[used:]
    return (head, out) if out else None
