"""One word for one thing: the terms of everything that is said, with the words that are not used for them.

A person who hears two words looks for two things. Tests hold prompts and procedures to this table. The words are common
practice of the trade, no source, unless a standard is named.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Term:
    """A thing and its word.

    Args:
        means: what it is.
        en, de: the word that is said.
        avoid_en, avoid_de: words that are not said for it, as they are written.
    """

    means: str
    en: str
    de: str
    avoid_en: tuple[str, ...] = ()
    avoid_de: tuple[str, ...] = ()


TERMS = (
    Term(
        means="what a threaded fastener of the joint is called, studs and screws too",
        en="bolt",
        de="Schraube",
        avoid_en=("screw",),
    ),
    Term(
        means="one visit to every bolt of a group at one figure",
        en="pass",
        de="Stufe",
        avoid_en=("lap", "iteration"),
        avoid_de=("Durchgang", "Moment eins"),
    ),
    Term(
        means="neighbour to neighbour at full value until no nut moves",
        en="all round",
        de="Kontrollrunde",
        avoid_en=("circular pass",),
        avoid_de=("Rundgang",),
    ),
    Term(
        means="parts in firm contact before the first pass with a figure",
        en="snug",
        de="handfest",
        avoid_en=("hand-tight", "finger-tight"),
    ),
    Term(
        means="what the bolt shall get",
        en="bolt value",
        de="Schraubenwert",
        avoid_en=("set value", "target torque"),
        avoid_de=("Sollwert",),
    ),
    Term(
        means="what is measured and set with",
        en="wrench",
        de="Drehmomentschlüssel",
        avoid_en=("spanner", "ratchet"),
        avoid_de=("Ratsche",),
    ),
    Term(
        means="gear between wrench and bolt",
        en="multiplier",
        de="Drehmomentvervielfältiger",
        avoid_en=("gearbox tool", "booster"),
        avoid_de=("Übersetzer", "Getriebe"),
    ),
    Term(
        means="what stands against the multiplier's turning",
        en="reaction arm",
        de="Abstützarm",
        avoid_en=("reaction bar",),
        avoid_de=("Reaktionsarm",),
    ),
    Term(
        means="whoever answers for the work and releases it",
        en="lead",
        de="Vorarbeiter",
        avoid_en=("foreman", "boss"),
        avoid_de=("Meister", "Leiter"),
    ),
    Term(
        means="whoever stands by an apprentice",
        en="supervisor",
        de="Aufsicht",
        avoid_en=("mentor",),
        avoid_de=("Betreuer",),
    ),
    Term(
        means="the people's own act of making a machine safe",
        en="locked out",
        de="mit Schloss gesichert",
        avoid_en=("tagged off",),
        avoid_de=("Schloss dran",),
    ),
    Term(
        means="a test of the joint at pressure",
        en="pressure test",
        de="Druckprobe",
        avoid_en=("hydro test",),
        avoid_de=("Drucktest",),
    ),
    Term(
        means="looking for leaks in service",
        en="leak watch",
        de="Dichtheitskontrolle",
        avoid_de=("Leckwache",),
    ),
)
