"""Everything the assistant says, in one place: short sentences, number last, the same shape each time.

Written for the ear: units and numbers as words, so that what a voice says does not depend on its reading of "N*m".
A routine prompt has at most nine words (tested). All functions are pure and return one or more whole sentences.
"""

from __future__ import annotations

from decimal import Decimal

from assistant.speech.confusable import spelled

ONES = "zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen".split()
ONES += "seventeen eighteen nineteen".split()
TENS = "- - twenty thirty forty fifty sixty seventy eighty ninety".split()
UNIT_WORDS = {
    "N*m": "newton metres",
    "lbf*ft": "foot pounds",
    "lbf*in": "inch pounds",
    "kgf*m": "kilogram metres",
}


# ----------------------------------------------------------------------------------------------------------- numbers
def number(value: Decimal) -> str:
    """A value as people say it on site: 180 'one eighty', 405 'four oh five', 57.5 'fifty seven point five'."""
    whole, _, fraction = f"{value.normalize():f}".partition(".")
    words = _whole(int(whole))
    return f"{words} point {' '.join(ONES[int(f)] for f in fraction)}" if fraction else words


def _whole(n: int) -> str:
    if n < 20:
        return ONES[n]
    if n < 100:
        return TENS[n // 10] + (f" {ONES[n % 10]}" if n % 10 else "")
    if n % 1000 == 0:
        return f"{_whole(n // 1000)} thousand"
    if n > 2000 or (n > 1000 and (n // 100) % 10 == 0):
        hundreds, rest = divmod(n % 1000, 100)
        said = f"{ONES[hundreds]} hundred" if hundreds else ""
        tail = f"and {_whole(rest)}" if rest else ""
        return " ".join(w for w in (_whole(n // 1000), "thousand", said, tail) if w)
    return _hundreds(n)


def _hundreds(n: int) -> str:
    """Below 2000, in hundreds: 1250 'twelve fifty'."""
    rest = n % 100
    if n < 100:
        return _whole(n)
    if rest == 0:
        return f"{_whole(n // 100)} hundred"
    return f"{_whole(n // 100)} {'oh ' if rest < 10 else ''}{_whole(rest)}"


def figures(value: Decimal) -> str:
    """A value figure by figure, five and nine as radio practice says them (read: FAA AIM 4-2-8): 95 'niner, fife'."""
    return ", ".join(spelled(value).split())


def amount(value: Decimal, unit: str, unit_said: str = "") -> str:
    """A value with its unit in words: the people's own where they have some, else the usual ones."""
    return f"{number(value)} {unit_said or UNIT_WORDS[unit]}"


def unit_words(unit: str) -> str:
    """The unit as it is said."""
    return UNIT_WORDS[unit]


# ------------------------------------------------------------------------------------------------- beginning and end
def opening(joint: str) -> str:
    """First words of a session."""
    return f"{joint}. Maker's instruction and site rules come first."


def resuming(joint: str) -> str:
    """First words of a session that goes on."""
    return f"{joint}. Going on where we stopped."


def one_ear(listener: str) -> str:
    """Said when a listener is missing: it will ask more often."""
    return f"Only one listener, {listener}. I will ask more often."


def closed() -> str:
    """Last words."""
    return "Joint closed and sealed."


def left() -> str:
    """Said when the session ends before the joint is finished."""
    return "Stored. The joint is not finished."


# --------------------------------------------------------------------------------------------------------- next item
def hold_point(ask: str, phrase: str) -> str:
    """A question that only its phrase passes."""
    return f"{ask} Say: {phrase}."


def snug(bolt: int, *, first: bool) -> str:
    """Ask for a bolt to be snugged."""
    return f"Snug pass. Snug bolt {number(Decimal(bolt))}." if first else f"Snug bolt {number(Decimal(bolt))}."


def turn(bolt: int, setting: Decimal) -> str:
    """Ask for a bolt: 'Bolt five. One eighty.'"""
    return f"Bolt {number(Decimal(bolt))}. {number(setting).capitalize()}."


def pass_begins(pass_number: int, group: str | None, setting: str, *, clicks: bool) -> str:
    """Said once at the start of a pass; `setting` with its unit (`amount`). A wrench that clicks has to be set anew."""
    whose = f"{group}. " if group else ""
    how = "Set the wrench to" if clicks else "To"
    return f"{whose}Pass {number(Decimal(pass_number))}. {how} {setting}."


def circular_begins(round_number: int, group: str | None, setting: str) -> str:
    """Said at the start of a circular round; `setting` with its unit (`amount`)."""
    whose = f"{group}. " if group else ""
    if round_number > 1:
        return f"{whose}A nut moved. Circular round {number(Decimal(round_number))}."
    return f"{whose}Circular pass. Say it moved, or did not move. {setting.capitalize()}."


def circle(bolt: int) -> str:
    """Ask for a bolt of a circular pass."""
    return f"Bolt {number(Decimal(bolt))}."


def moved_or_not(bolt: int) -> str:
    """The reading is in, the movement is not."""
    return f"Bolt {number(Decimal(bolt))}. Did the nut move?"


# ---------------------------------------------------------------------------------------------------------- recorded
def recorded(bolt: int, value: Decimal, *, spell: bool, other_unit: str = "", converted: str = "") -> str:
    """Read back in passing."""
    said = figures(value) if spell else number(value)
    if other_unit:
        return f"{_bolt(bolt)}, {said} {unit_words(other_unit)}, that is {converted}."
    return f"{_bolt(bolt)}, {said}."


def clicked(bolt: int, setting: Decimal) -> str:
    """A click is read back as a click."""
    return f"{_bolt(bolt)} clicked, {number(setting)}."


def held(bolt: int) -> str:
    """The nut did not move."""
    return f"{_bolt(bolt)} held."


def moved(bolt: int) -> str:
    """The nut moved."""
    return f"{_bolt(bolt)} moved."


def is_snug(bolt: int) -> str:
    """Snug is read back."""
    return f"{_bolt(bolt)} snug."


def kept(bolt: int, value: Decimal) -> str:
    """Outside the window, kept with a reason."""
    return f"{_bolt(bolt)} kept, with your reason. {number(value).capitalize()}."


def answered(phrase: str) -> str:
    """A check or hold point passed."""
    return f"{phrase.capitalize()}, recorded."


def taken_back(what: str) -> str:
    """A correction says which entry no longer counts."""
    return f"Taken back: {what}."


def skipped(bolt: int) -> str:
    """Left for the end of the pass."""
    return f"{_bolt(bolt)} left for the end of this pass."


def noted() -> str:
    """A note was kept."""
    return "Noted."


def last_round(rounds: int) -> str:
    """Nuts still move after the last round."""
    return f"Nuts still move. Stop. Call a competent person. Rounds done: {number(Decimal(rounds))}."


def all_done() -> str:
    """Every pass has its entries."""
    return "Every bolt of every pass is recorded."


# ------------------------------------------------------------------------------------------------------------- doubt
def is_it(value: Decimal, *, spell: bool, unit: str = "") -> str:
    """Read back as a question."""
    said = figures(value) if spell else number(value)
    return f"{said.capitalize()}{' ' + unit_words(unit) if unit else ''}?"


def is_it_again(value: Decimal) -> str:
    """The same question in another form: questions never repeat themselves word for word."""
    return f"I heard {figures(value)}. Yes or no?"


def did_you_say(what: str) -> str:
    """A command that was not sure."""
    return f"Did you say: {what}?"


def did_you_say_again(what: str) -> str:
    """The same in another form."""
    return f"I heard: {what}. Yes or no?"


def low(bolt: int, value: Decimal, by: Decimal) -> str:
    """Below the window."""
    return f"{_bolt(bolt)}, {number(value)}. Low by {number(by)}. Tighten again, or say keep."


def high(bolt: int, value: Decimal, by: Decimal) -> str:
    """Above the window: nothing is backed off without the lead (common practice, no source)."""
    return f"{_bolt(bolt)}, {number(value)}. High by {number(by)}. Don't back off. Say the reading, or keep."


def last_pass_setting(value: Decimal) -> str:
    """The reading is the setting of the pass before."""
    return f"Check the wrench setting: that is the last pass. Due: {number(value)}."


def impossible(value: Decimal, reason: str, hint_unit: str, due: Decimal | None) -> str:
    """Say what was heard and ask again."""
    heard = f"I heard {number(value)}."
    if reason == "no-reading-due" or due is None:
        return f"{heard} No reading is due."
    if reason == "unit":
        return f"{heard} Is that {unit_words(hint_unit)}? Say the value with its unit."
    if reason == "tool-range":
        return f"{heard} Not on this wrench. Say it again."
    return f"{heard} Too far off {number(due)}. Say it again."


def other_bolt(named: int, due: int | None) -> str:
    """Another bolt was named."""
    if due is None:
        return "No bolt is due now."
    return f"You said bolt {number(Decimal(named))}. Due is bolt {number(Decimal(due))}."


def yes_or_no(*, again: bool) -> str:
    """A yes that was not sure: the value or phrase itself is heard better than the short word."""
    return "Yes, or no? Or say it again." if again else "Say yes, or say it again."


def say_again_please(count: int) -> str:
    """Not understood; changes its words."""
    return ("Say again.", "Not understood. Say it once more.")[count % 2]


def whole_phrase(phrase: str) -> str:
    """The agreed phrase is needed."""
    return f"I need the whole phrase: {phrase}."


def once_more(phrase: str) -> str:
    """The agreed phrase was heard, not surely enough."""
    return f"Once more, please: {phrase}."


def wrong_answer(answer: str, phrase: str) -> str:
    """A check was answered with what the plan does not rest on."""
    return f"{answer.capitalize()}? The plan needs {phrase}. Stop and ask the lead."


def figures_please(bolt: int | None) -> str:
    """Ask figure by figure."""
    return "Say the figures one by one." if bolt is None else f"Bolt {number(Decimal(bolt))}: figures, one by one."


def choose(one: str, two: str) -> str:
    """Two numbered choices."""
    return f"Say one for {one}. Say two for {two}."


def helper() -> str:
    """The last resort."""
    return "I can't understand. A helper at the keyboard, please."


def reason_please(purpose: str) -> str:
    """Ask for a reason in free speech."""
    return "Why keep it? Say the reason." if purpose == "keep" else "Why skip it? Say the reason."


def note_please() -> str:
    """Ask for the note."""
    return "Say the note."


# ------------------------------------------------------------------------------------------------------- on request
def paused() -> str:
    """Pausing."""
    return "Paused. Say resume."


def stopped() -> str:
    """Stop said; nothing else until resume."""
    return "Stopped. Say resume to go on."


def resumed() -> str:
    """Going on."""
    return "Going on."


def hand_over(where: str) -> str:
    """Spoken state for the next person."""
    return f"Hand over. {where} New hands: say resume."


def status(where: str, done: int, of: int) -> str:
    """Where we are."""
    return f"{where} Done {number(Decimal(done))} of {number(Decimal(of))}."


def where_question(name: str) -> str:
    """Name of the question that is due."""
    return f"Waiting for: {name}."


def where_pass(kind: str, pass_number: int, round_number: int, bolt: int | None) -> str:
    """Name of the pass and bolt."""
    names = {"snug": "Snug pass", "circular": f"Circular round {number(Decimal(round_number))}"}
    named = names.get(kind, f"Pass {number(Decimal(pass_number))}")
    return f"{named}, bolt {number(Decimal(bolt))}." if bolt is not None else f"{named}."


TOLD = {
    "one-at-a-time": "One bolt at a time. Say this bolt's reading.",
    "say-the-reading": "Say what the wrench reads.",
    "not-now": "Not now.",
    "cannot-skip": "This can't be skipped.",
    "nothing-back": "No bolt before this one.",
    "nothing-to-correct": "Nothing recorded yet.",
    "moved-or-not": "Say it moved, or did not move.",
    "yes-or-no": "Say yes, or no, or the value again.",
    "not-clicked": "This wrench does not click. Say the reading.",
    "already-recorded": "Recorded already. Say correction to change it.",
    "say-resume": "Standing still. Say resume.",
    "nothing-same": "No reading to repeat. Say the value.",
    "unclear-range": "One value, please, not a range.",
    "unclear-about": "Not about. Say what it reads.",
    "unclear-two-values": "That was two values. Say one.",
    "unclear-grouping": "Unclear. Say the figures one by one.",
    "unclear-figures": "Too many figures. Say it again.",
    "unclear-words": "Figure by figure, please.",
    "unclear-unit": "That is no torque. Say the unit again.",
    "unclear-click": "A click, or a reading? Say one.",
    "keep-or-retighten": "Tighten again, or say keep.",
}
"""Fixed answers by name."""

HELP = {
    "guiding": "Say the reading. Or: say again, correction, skip, note, pause, stop.",
    "question": "Say the phrase. Or: say again, why, note, pause, stop.",
    "asking": "Say yes, no, or the value again.",
    "off-window": "Say the new reading, or keep.",
    "figures": "Say the figures one by one.",
    "choosing": "Say one, or two.",
    "helper": "Type the value, or say resume after pause.",
    "paused": "Say resume.",
    "stopped": "Say resume.",
    "noting": "Say the note.",
    "reasoning": "Say the reason.",
}
"""What can be said, by state."""


def _bolt(bolt: int) -> str:
    return number(Decimal(bolt)).capitalize()
