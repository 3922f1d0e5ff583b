"""What the voice says of the plan's cautions and stops: a short sentence each, in every language.

The plan's own text is written for the eye, with signs and sources. Here each remark has a sentence for the ear: its
name, its figure, nothing else. `bolting.remark.Spoken` names the sentence and brings its figures and names, in this
order. Each is told in one breath of at most eight seconds (tested by its words).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Sentence:
    """One sentence in every language; `{0}` stands for the first figure or name."""

    en: str
    de: str


_BASES = (("yield", "der Streckgrenze"), ("proof", "der Prüfspannung"), ("tensile", "der Bruchlast"))
REMARKS = {
    # ------------------------------------------------------------------------------------------------ the figures
    "conversion by nut factors": Sentence(
        "The torque is converted. Published factors allow a ratio from {0} to {1}.",
        "Das Moment ist umgerechnet. Veröffentlichte Beiwerte lassen Faktor {0} bis {1} zu.",
    ),
    "conversion of the torque": Sentence(
        "Instruction and nut factors differ by {0}. Have the lubricant checked.",
        "Anweisung und Reibbeiwerte weichen um {0} voneinander ab. Schmierstoff prüfen lassen.",
    ),
    "bolts may yield": Sentence(
        "On slick threads a bolt may reach {0} and yield.",
        "Bei glatten Gewinden kann eine Schraube {0} erreichen und fließen.",
    ),
    "bolts may pass proof load": Sentence(
        "A bolt may reach {0}, above its proof load.",
        "Eine Schraube kann {0} erreichen, mehr als ihre Prüfkraft.",
    ),
    **{
        f"{name} of {basis}": Sentence(en.replace("BASIS", basis), de.replace("BASIS", german))
        for basis, german in _BASES
        for name, en, de in (
            ("bolt load too high", "{0} of BASIS: {1} is the most.", "{0} BASIS: höchstens {1}."),
            ("high bolt load", "High bolt load: {0} of BASIS. Usual is {1}.", "Hohe Last: {0} BASIS. Üblich: {1}."),
            (
                "bolt load too low",
                "Only {0} of BASIS. Usual is {1} at least.",
                "Nur {0} BASIS. Üblich: mindestens {1}.",
            ),
            (
                "low bolt load",
                "Low bolt load: {0} of BASIS. Usual is {1} at least.",
                "Niedrige Last: {0} BASIS. Üblich: mindestens {1}.",
            ),
        )
    },
    "below the minimum pretension": Sentence(
        "{0} in the end, and {1} is the minimum pretension.", "Am Ende {0}, vorgeschrieben sind {1} Vorspannung."
    ),
    "structural torque without test": Sentence(
        "The nut factor is not tested, and this method needs a test.",
        "Der Reibbeiwert ist nicht geprüft, dieses Verfahren verlangt es.",
    ),
    "large cut of the torque": Sentence(
        "The torque is cut by {0}. Printed for oils and greases: {1} at most.",
        "Das Moment ist um {0} gekürzt. Für Öle und Fette gelten höchstens {1}.",
    ),
    "steps of the structural method": Sentence(
        "The passes are not those of the method: {0}, then {1}.",
        "Die Stufen sind nicht die des Verfahrens: {0}, dann {1}.",
    ),
    "load in service too low": Sentence(
        "In service a bolt keeps {0} at best. {1} are needed.",
        "Im Betrieb bleiben einer Schraube höchstens {0}. Gebraucht: {1}.",
    ),
    "load in service may be too low": Sentence(
        "In service a bolt may keep only {0}. {1} are needed.",
        "Im Betrieb bleiben einer Schraube vielleicht nur {0}. Gebraucht: {1}.",
    ),
    "no preload suits the joint": Sentence(
        "No bolt load suits both gasket and bolts.", "Keine Schraubenlast passt zu Dichtung und Schrauben zugleich."
    ),
    "target outside the joint's limits": Sentence(
        "The bolt value is outside the joint's own limits.",
        "Der Schraubenwert liegt außerhalb der Grenzen dieser Verbindung.",
    ),
    "window too fine to read": Sentence(
        "The window is finer than anybody can read.", "Das Fenster ist feiner, als jemand ablesen kann."
    ),
    "snug too tight for the turn": Sentence(
        "{0} before the turn. {1} is the most.", "Vor dem Drehwinkel {0}. Höchstens {1}."
    ),
    "turn too small": Sentence("The turn gives {0}. It takes {1}.", "Der Drehwinkel bringt {0}. Gebraucht: {1}."),
    "tensioner too small": Sentence(
        "{0} are needed. The tensioner bears {1}.", "Gebraucht: {0}. Der Spannzylinder trägt {1}."
    ),
    "tensioner over-stretches the bolt": Sentence(
        "The tensioner pulls {0}, near the yield.", "Der Spannzylinder zieht {0}, bis nahe an die Streckgrenze."
    ),
    # ---------------------------------------------------------------------------------------- bolts, nuts, threads
    "bolts used once": Sentence("These bolts are used once only.", "Diese Schrauben nur einmal verwenden."),
    "used bolts far up": Sentence(
        "Used bolts at {0} of proof. Take new ones.", "Gebrauchte Schrauben bei {0} der Prüfspannung. Neue nehmen."
    ),
    "used bolts": Sentence(
        "These bolts were tightened {0} before. Look for necking and worn threads.",
        "Diese Schrauben waren {0} angezogen. Auf Einschnürung und Verschleiß prüfen.",
    ),
    "short engagement": Sentence("Only {0} diameters of thread are engaged.", "Nur {0} Durchmesser Gewinde tragen."),
    "thread condition unknown": Sentence(
        "Nobody knows what is on the threads.", "Niemand weiß, was auf den Gewinden ist."
    ),
    "rusty threads": Sentence(
        "The threads are rusty. Clean or replace them.", "Die Gewinde sind rostig. Reinigen oder ersetzen."
    ),
    "condition of another steel": Sentence(
        "The thread condition is for stainless steel, the bolts are not.",
        "Der Gewindezustand gilt für Edelstahl, die Schrauben sind keiner.",
    ),
    "dry stainless threads": Sentence(
        "Dry stainless threads seize. Lubricate them.", "Trockene Edelstahlgewinde fressen. Schmieren."
    ),
    "coating on stainless": Sentence(
        "Stainless bolts are never coated like this.", "Edelstahlschrauben haben keine solche Beschichtung."
    ),
    "hydrogen embrittlement": Sentence(
        "Hard bolts with plating may break days later. Ask for proof of baking.",
        "Harte Schrauben mit Überzug können noch nach Tagen brechen. Nachweis verlangen.",
    ),
    "galvanised hard bolt": Sentence(
        "Bolts this hard must not be galvanised.", "So harte Schrauben dürfen nicht feuerverzinkt sein."
    ),
    "nut of another thread": Sentence(
        "One of nut and bolt is metric, the other is not.", "Mutter und Schraube: das eine metrisch, das andere Zoll."
    ),
    "nut of another steel": Sentence(
        "Nut and bolt are of different steel.", "Mutter und Schraube sind aus verschiedenem Stahl."
    ),
    "nut too weak": Sentence(
        "The nut is too weak for its bolt. The thread may strip.",
        "Die Mutter ist zu schwach für die Schraube. Das Gewinde kann ausreißen.",
    ),
    "bolt spacing": Sentence(
        "The bolts stand {0} diameters apart. Three to six is usual.",
        "Die Schrauben stehen {0} Durchmesser auseinander. Üblich: drei bis sechs.",
    ),
    "pressure under the head": Sentence(
        "Head and nut press with {0}. Soft parts need hardened washers.",
        "Kopf und Mutter drücken mit {0}. Weiche Teile brauchen gehärtete Scheiben.",
    ),
    # --------------------------------------------------------------------------------------------- gasket and flange
    "flange drilling": Sentence(
        "Count the flange holes. The table may not be right.",
        "Die Löcher am Flansch zählen. Die Tabelle kann falsch sein.",
    ),
    "gasket of several groups": Sentence(
        "Several bolt groups press one gasket. Its load is not checked.",
        "Mehrere Schraubengruppen drücken eine Dichtung. Ihre Last ist nicht geprüft.",
    ),
    "gasket load not checked": Sentence(
        "The gasket reaches across the bolts. Its load is not checked.",
        "Die Dichtung reicht über die Schrauben. Ihre Last ist nicht geprüft.",
    ),
    "gasket factors missing": Sentence(
        "The gasket's figures are missing. Nobody has checked that it seats.",
        "Die Werte der Dichtung fehlen. Ihr Sitz ist nicht geprüft.",
    ),
    "gasket may not seat": Sentence(
        "The gasket may get only {0}. It needs {1} to seat.",
        "Die Dichtung bekommt vielleicht nur {0}. Zum Sitz braucht sie {1}.",
    ),
    "gasket may be crushed": Sentence("The gasket may be crushed: {0}.", "Die Dichtung kann zerdrückt werden: {0}."),
    "gasket may not stay tight": Sentence(
        "The gasket may not seal in service.", "Die Dichtung hält im Betrieb vielleicht nicht dicht."
    ),
    "no circular pass": Sentence(
        "There is no pass all round at the end. Slack bolts stay slack.",
        "Am Ende fehlt die Kontrollrunde. Lose Schrauben bleiben lose.",
    ),
    "high first pass": Sentence(
        "The first pass goes to {0}. Keep the gap even.", "Die erste Stufe geht auf {0}. Auf gleichen Spalt achten."
    ),
    "short settling time": Sentence(
        "Only {0} to settle. For gaskets {1} are recommended.",
        "Nur {0} zum Setzen. Für Dichtungen empfohlen: {1}.",
    ),
    "order circular": Sentence(
        "The first pass goes round. On a gasket it goes crosswise first.",
        "Die erste Stufe geht reihum. Bei einer Dichtung geht es erst über Kreuz.",
    ),
    "order four points": Sentence(
        "Four points carry the load first. Check the gap after them.",
        "Erst tragen vier Punkte. Danach den Spalt prüfen.",
    ),
    "order groups": Sentence(
        "Neighbours are pulled as one. Look for gasket damage.",
        "Nachbarn gelten als eine Schraube. Auf Schäden an der Dichtung achten.",
    ),
    "order other": Sentence(
        "For {0} bolts the standard may list another order.", "Für {0} Schrauben gibt es vielleicht eine andere Norm."
    ),
    "order watch": Sentence(
        "With this order, measure the gap between passes.", "Bei dieser Reihenfolge den Spalt nach jeder Stufe messen."
    ),
    # ---------------------------------------------------------------------------------------------------------- tools
    "tool error as wide as the window": Sentence(
        "The tools' error is {0}. A bolt may be {1} low, {2} high.",
        "Werkzeugfehler {0}: eine Schraube bis {1} zu tief, {2} zu hoch.",
    ),
    "tool error reaches the limit": Sentence(
        "With the tools' error of {0} a bolt may yield.", "Mit {0} Abweichung der Werkzeuge kann eine Schraube fließen."
    ),
    "multiplier not calibrated": Sentence("{0} has no calibration date.", "{0} hat kein Prüfdatum."),
    "click wrench on a critical joint": Sentence(
        "{0} shows no reading that a witness could see.", "{0} zeigt keinen Wert, den ein Zeuge sehen könnte."
    ),
    "tool low": Sentence("{0} works below {1} of its range.", "{0} arbeitet unter {1} des Messbereichs."),
    "tool rounding": Sentence(
        "{0}: its scale is coarse. Rounding moves the torque by {1}.",
        "{0}: grobe Skala. Das Runden ändert das Moment um {1}.",
    ),
    "tool reaction": Sentence(
        "{0}: reaction arm on a firm point, hands off that side.",
        "{0}: Abstützarm gegen einen festen Punkt, Hände weg von dieser Seite.",
    ),
    "other unit on the wrench": Sentence(
        "{0} reads {1}, the plan is in {2}. Say the unit each time.",
        "{0} zeigt {1}, der Plan rechnet in {2}. Die Einheit jedes Mal sagen.",
    ),
    "reaction force": Sentence(
        "The arm of {0} presses with {1}. Nothing of you in between.",
        "Der Abstützarm von {0} drückt mit {1}. Nichts dazwischen halten.",
    ),
    "setting and bolt value": Sentence(
        "The wrench shows far less than the bolt gets.",
        "Der Schlüssel zeigt viel weniger, als die Schraube bekommt.",
    ),
    # ------------------------------------------------------------------------------------------------------------ heat
    "strength when hot not known": Sentence(
        "Nobody knows these bolts' strength at {0}.", "Die Festigkeit der Schrauben bei {0} ist nicht bekannt."
    ),
    "bolts slacken when hot": Sentence("At {0} a bolt keeps {1} of its load.", "Bei {0} bleiben {1} der Last."),
    "hot preload not checked": Sentence(
        "The bolt load when hot is not checked.", "Die Schraubenlast im heißen Zustand ist nicht geprüft."
    ),
    "bolts yield when hot": Sentence("At {0} the bolts yield.", "Bei {0} fließen die Schrauben."),
    "rating when hot not checked": Sentence(
        "The flange's pressure rating at {0} is not known.", "Die Druckstufe des Flansches bei {0} ist nicht bekannt."
    ),
    "pressure over the rating": Sentence(
        "The flange bears {0}. The line has {1}.", "Der Flansch trägt {0}. Die Leitung hat {1}."
    ),
    "grade too hot": Sentence(
        "These bolts are for {0}. The joint gets {1}.", "Diese Schrauben gehen bis {0}. Es wird bis {1} heiß."
    ),
    "grade too cold": Sentence("It gets too cold for these bolts.", "Es wird zu kalt für diese Schrauben."),
    "coating too hot": Sentence(
        "The coating is for {0}. The joint gets {1}.", "Die Beschichtung geht bis {0}. Es wird bis {1} heiß."
    ),
    "re-check": Sentence(
        "Hot re-check after {0}, by the written procedure only.",
        "Warme Nachprüfung nach {0}, nur mit schriftlicher Anweisung.",
    ),
    "re-check by": Sentence(
        "Hot re-check after {0}, by {1} at the latest, by the written procedure only.",
        "Warme Nachprüfung nach {0}, spätestens {1}, nur mit schriftlicher Anweisung.",
    ),
    "re-check below": Sentence(
        "Hot re-check after {0}, not above {1}, by the written procedure only.",
        "Warme Nachprüfung nach {0}, höchstens {1}, nur mit schriftlicher Anweisung.",
    ),
    "re-check by below": Sentence(
        "Hot re-check after {0}, by {1} at the latest, not above {2}.",
        "Warme Nachprüfung nach {0}, spätestens {1}, höchstens {2}.",
    ),
    # --------------------------------------------------------------------------------------------- coupling, the file
    "clamp does not let go": Sentence(
        "The clamp stays shut when its bolts are slack. It may spring open.",
        "Die Klemme bleibt zu, wenn die Schrauben lose sind. Sie kann aufspringen.",
    ),
    "clamp may slip": Sentence(
        "The clamp holds {0} along the pipe. {1} pull.", "Die Klemme hält {0}. Am Rohr ziehen {1}."
    ),
    "hold points without witness": Sentence(
        "At {0} hold points nobody's name is asked.", "An {0} Haltepunkten wird kein Name gefragt."
    ),
    "example figures": Sentence(
        "Figures of the joint file are still examples: {0} of them.",
        "Angaben der Datei sind noch Beispiele: {0}.",
    ),
    "example entries": Sentence(
        "Entries of the joint file are still examples: {0} of them.",
        "Einträge der Datei sind noch Beispiele: {0}.",
    ),
    "release of no stop": Sentence(
        "The joint file releases what is no stop: {0}.", "Die Datei gibt frei, was kein Halt ist: „{0}“."
    ),
}
"""By the name of the sentence, which is the remark's name where the remark has one sentence."""
