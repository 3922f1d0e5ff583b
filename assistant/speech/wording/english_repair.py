"""What is said when something is unclear, or on request."""

from __future__ import annotations

from decimal import Decimal

from assistant.speech.wording.english_numbers import EnglishNumbers

TOLD = {
    "one-at-a-time": "One bolt at a time. Say this bolt's reading.",
    "say-the-reading": "Say what the wrench reads.",
    "cannot-skip": "This step can't be skipped.",
    "nothing-back": "There is no bolt before this one.",
    "nothing-to-correct": "Nothing to take back yet.",
    "moved-or-not": "Say: it moved, or: did not move.",
    "yes-or-no": "Say yes, or no, or the value again.",
    "not-clicked": "This wrench has no click. Read its scale.",
    "already-recorded": "That bolt is recorded. Say correction to change it.",
    "say-resume": "Still stopped. Say resume.",
    "nothing-same": "No reading yet to repeat.",
    "unclear-range": "One value, please, not a range.",
    "unclear-about": "Not roughly. What exactly does it read?",
    "unclear-two-values": "That was two values. Say one.",
    "unclear-grouping": "That could be two numbers. Figure by figure, please.",
    "unclear-figures": "Too many figures. Say the number slowly.",
    "unclear-words": "Single figures only.",
    "unclear-unit": "That unit is no torque. Which unit?",
    "unclear-click": "Did it click, or is that a reading?",
    "keep-or-retighten": "Tighten again, or say keep.",
    "which-bolt": "Which one? Say its number and: replaced.",
    "say-the-figure": "Say the measured figure.",
    "not-sure": "Not sure what you want. Please repeat.",
    "say-the-name": "The name is missing. Who was it?",
    "supervisor-phrase": "Only the supervisor can say that. Otherwise say no.",
    "brief": "Short from now on.",
    "normal": "Back to normal.",
    "full": "I'll tell you everything.",
    "louder": "Is this loud enough?",
    "quieter": "Quieter now.",
    "slower": "Slower from here.",
    "faster": "Quicker from here.",
}
"""Fixed answers by name."""

EQUIPMENT = {
    "sound-test": "Sound test. Now say: one two.",
    "listener-lost": "One of my listeners has failed. I will ask more often.",
    "no-listener": "I can't hear any more. Everything is stored.",
    "hardly-heard": "I can hardly hear you. Turn the microphone up, or closer.",
    "overdriven": "Too loud for the microphone. Turn it down, or away.",
    "too-noisy": "Too noisy for me. Speak right at the microphone.",
    "fainter": "I hear you less well than before. Look at the microphone.",
    "noisier": "It has become noisier. Speak right at the microphone.",
    "microphone-moved": "Another microphone listens now. Look at the headset.",
    "microphone-back": "Your microphone is back.",
    "loudspeaker-moved": "I speak from another loudspeaker now. Look at the headset.",
    "loudspeaker-back": "I speak from your own loudspeaker again.",
    "hears-itself": "The microphone hears the loudspeaker. Wait until I have finished.",
    "no-sound": "The microphone gives no sound. Is it muted?",
    "nobody-spoke": "I heard nobody. Speak right at the microphone.",
    "misheard": "I heard you, and did not understand. Speak right at the microphone.",
}
"""What the person should know about hearing and speaking, by name."""

HELP = {
    "guiding": "Say the reading. Or: say again, correction, skip, note, pause, stop.",
    "snug": "Say snug when it is. Or: skip, note, pause, stop.",
    "clicks": "Say clicked. Or: say again, correction, skip, note, pause, stop.",
    "round": "Say: it moved, or: did not move. Or correction, note, stop.",
    "question": "Or: say again, why, note, pause, stop.",
    "asking": "Say yes, no, or say it again.",
    "off-window": "Tighten and read again, or say keep.",
    "figures": "One figure after the other.",
    "choosing": "Say one, or two.",
    "helper": "Type the value. Or say pause, then resume.",
    "paused": "To go on, say resume.",
    "stopped": "To go on, say resume.",
    "measuring": "Say the measured figure. Or: say again, why, note, stop.",
    "noting": "Speak freely, all of it is kept.",
    "naming": "Say just the name, or spell it.",
    "waiting": "Say status, note, skip, or leave it open.",
    "asked-back": "Take your pick.",
    "explaining": "Your own words will do.",
    "supervisor": "The supervisor says the phrase. Or say no.",
    "reasoning": "One sentence is enough.",
}
"""What can be said, by state."""


class EnglishRepair(EnglishNumbers):
    """Questions, refusals, answers on request."""

    told = TOLD
    equipment = EQUIPMENT
    help = HELP

    def is_it(self, value: Decimal, *, spell: bool, unit: str = "") -> str:
        """Read back as a question."""
        said = self.figures(value) if spell else self.number(value)
        return f"{said.capitalize()}{' ' + self._counted(value, unit) if unit else ''}?"

    def is_it_again(self, value: Decimal) -> str:
        """The same question in another form: questions never repeat themselves word for word."""
        return f"Yes or no? I heard {self.figures(value)}."

    def did_you_say(self, what: str) -> str:
        """A command that was not sure."""
        return f"Did you say: {what}?"

    def did_you_say_again(self, what: str) -> str:
        """The same in another form."""
        return f"Yes or no? I heard: {what}."

    def take_back(self, entry: str) -> str:
        """A correction that was not sure: the entry that it would take back."""
        return f"Take back {entry}?"

    def take_back_again(self, entry: str) -> str:
        """The same in another form."""
        return f"Yes or no? It would take back {entry}."

    def _by(self, by: Decimal) -> str:
        """How far off, to a whole unit where it is ten and more, else as it is; '' for nothing."""
        rounded = by.quantize(Decimal(1)) if by >= 10 else by.normalize()
        return f" by {self.number(rounded)}" if rounded else ""

    def low(self, heard: str, by: Decimal, due: str, *, told: bool) -> str:
        """Below the window; the figure to pull to comes last, with its unit. `heard`: the reading in words."""
        keep = "Say keep, or pull again, to" if told else "Again, to"
        return f"I heard {heard}, low{self._by(by)}. {keep} {due}."

    def high(self, heard: str, by: Decimal, *, told: bool) -> str:
        """Above the window: nothing is backed off without the lead (common practice, no source)."""
        keep = "Read it again, or say keep." if told else "Read again, or keep."
        return f"I heard {heard}, high{self._by(by)}. Don't back off. {keep}"

    def that_is(self, said: str, converted: str) -> str:
        """A figure in the unit that it was said in, and in the wrench's."""
        return f"{said}, that is {converted}"

    def last_pass_setting(self, due: str) -> str:
        """The reading is the setting of the pass before."""
        return f"That was the last pass. Now pull to {due}."

    def impossible(self, value: Decimal, reason: str, hint_unit: str, due: Decimal | None) -> str:
        """Say what was heard and ask again."""
        heard = f"I heard {self.number(value)}."
        if reason == "no-reading-due" or due is None:
            return f"{heard} No reading is due."
        if reason == "unit":
            return f"{heard} Is that {self.unit_words(hint_unit)}? Say the value with its unit."
        if reason == "tool-range":
            return f"{heard} That's off this wrench's scale. Read it again."
        return f"{heard} That can't be. Read it again. It should be {self.number(due)}."

    def other_bolt(self, named: int, due: int | None) -> str:
        """Another bolt was named."""
        if due is None:
            return "No bolt is due now."
        return f"You said bolt {self.number(Decimal(named))}. Now it's bolt {self.number(Decimal(due))}."

    def yes_or_no(self, *, again: bool) -> str:
        """A yes that was not sure: the value or phrase itself is heard better than the short word."""
        return "Yes, or no? Or say the thing itself." if again else "Say yes, or say it again."

    def say_again_please(self, count: int) -> str:
        """Not understood; changes its words."""
        return ("Say again.", "Not understood. Say it once more.")[count % 2]

    def whole_phrase(self, phrase: str) -> str:
        """The agreed phrase is needed."""
        return f"I need the whole phrase: {phrase}."

    def yes_is_enough(self) -> str:
        """A check that a plain yes passes."""
        return "Just say yes, or no."

    def choose_answer(self, answers: tuple[str, ...]) -> str:
        """A question whose answers are named: one of them is needed."""
        return f"Which is it: {', '.join(answers[:-1])}, or {answers[-1]}?"

    def again(self, said: str) -> str:
        """What was just said has to be said anew: not word for word."""
        return f"Again. {said}"

    def not_now(self, request: str) -> str:
        """Said at a moment that it does not fit; `request` says what does."""
        return f"Not yet. {request}"

    def once_more(self, phrase: str) -> str:
        """The agreed phrase was heard, not surely enough."""
        return f"Once more, please: {phrase}."

    def wrong_answer(self, answer: str) -> str:
        """A check was answered with what the plan does not rest on."""
        return f"{answer.capitalize()}: the torque is not made for that. Stop, and get the lead."

    def wrong_tool(self, answer: str, planned: str) -> str:
        """Another wrench, scale or multiplier than the plan's."""
        return f"{answer.capitalize()}? The plan is for {planned}. Get that one, or the lead."

    def wrong_state(self, answer: str) -> str:
        """A check or hold point was answered with what must not be."""
        return f"{answer.capitalize()}. Then stop here, and get the lead."

    def figures_please(self, bolt: int | None) -> str:
        """Ask figure by figure."""
        return (
            "Say the figures one by one." if bolt is None else f"Figures one by one, bolt {self.number(Decimal(bolt))}."
        )

    def choose(self, one: str, two: str) -> str:
        """Two numbered choices."""
        return f"Say one for {one}. Say two for {two}."

    def helper(self) -> str:
        """The last resort."""
        return "I can't understand. A helper at the keyboard, please."

    def reason_please(self, purpose: str) -> str:
        """Ask for a reason in free speech."""
        if purpose == "cut-short":
            return "Why not wait? Give the reason."
        if purpose == "keep":
            return "Keeping it out of tolerance. Why?"
        return "Why skip this bolt?"

    def note_please(self) -> str:
        """Ask for the note."""
        return "Go ahead, I'm writing."

    def paused(self) -> str:
        """Pausing."""
        return "Paused. To go on, say resume."

    def stopped(self) -> str:
        """Stop said; nothing else until resume."""
        return "Stopped. To go on, say resume."

    def resumed(self) -> str:
        """Going on."""
        return "Going on."

    def hand_over(self, where: str) -> str:
        """Spoken state for the next person."""
        return f"Handing over. {where} Whoever takes over, say resume."

    def status(self, where: str, done: int, of: int) -> str:
        """Where we are."""
        return f"{where} Done {self.number(Decimal(done))} of {self.number(Decimal(of))}."

    def due(self, setting: str) -> str:
        """What is due, with its unit."""
        return f"Pull to {setting}."

    def where_question(self, name: str) -> str:
        """Name of the question that is due."""
        return f"Waiting for: {name}."

    def where_pass(self, kind: str, pass_number: int, round_number: int, bolt: int | None) -> str:
        """Name of the pass and bolt."""
        said = self.number(Decimal(round_number))
        names = {"snug": "Snug pass", "circular": f"All round, round {said}", "seat": f"Tap and pull, round {said}"}
        named = names.get(kind, f"Pass {self.number(Decimal(pass_number))}")
        return f"{named}, bolt {self.number(Decimal(bolt))}." if bolt is not None else f"{named}."
