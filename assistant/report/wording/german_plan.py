"""German for the plan's sheet: headings, facts, remarks, and the calculation with its sources.

Names of books and standards stay as they are.
"""

from __future__ import annotations

_SHEET = {
    "Tightening plan": "Anziehplan",
    "Tightening plan: {0}": "Anziehplan: {0}",
    "Safety": "Sicherheit",
    "The manufacturer's instruction and the site rules come first; where this sheet differs, they count. This sheet "
    "does "
    "not replace a competent person, and it is not an alarm": "Herstelleranleitung und Baustellenregeln gehen vor; wo "
    "dieses Blatt abweicht, gelten sie. Dieses Blatt ersetzt keine sachkundige Person und ist kein Alarm",
    "The manufacturer's instruction and the site rules come first": "Herstelleranleitung und Baustellenregeln gehen "
    "vor",
    "where this sheet differs, they count": "wo dieses Blatt abweicht, gelten sie",
    "This sheet does not replace a competent person, and it is not an alarm": "Dieses Blatt ersetzt keine sachkundige "
    "Person und ist kein Alarm",
    "Lock-out is the people's own act": "Absperren und Sichern tun die Leute selbst",
    "the assistant only asks about it and records the answer": "der Assistent fragt nur danach und schreibt die "
    "Antwort "
    "auf",
    "Never trust a heard number that you did not say": "Traue nie einer gehörten Zahl, die du nicht gesagt hast",
    "Stops before the first bolt": "Sperren vor der ersten Schraube",
    "Stop: {0:t}": "Sperre: {0}",
    "{0:t} Not released: the lead settles it before the first bolt": "{0} Nicht freigegeben: der Vorarbeiter klärt es "
    "vor der ersten Schraube",
    "{0:t} Released by {1}: {2}": "{0} Freigegeben von {1}: {2}",
    "Asked by voice": "Gesprochene Fragen",
    "Remarks on the joint": "Bemerkungen zur Verbindung",
    "Calculation sheet": "Berechnung",
    "Calculation sheet: {0}": "Berechnung: {0}",
    "Bolt group": "Schraubengruppe",
    "Bolt group: {0}": "Schraubengruppe: {0}",
    "Load budget": "Vorspannkraft nach Verlusten",
    "Load budget: {0}": "Vorspannkraft nach Verlusten: {0}",
    "Load budget of {0}": "Vorspannkraft nach Verlusten: {0}",
    "Parts": "Teile",
    "Checked by a competent person": "Geprüft von einer sachkundigen Person",
    "remark: note": "Hinweis",
    "remark: caution": "Vorsicht",
    "remark: stop": "Sperre",
    "Pass": "Stufe",
    "Share": "Anteil",
    "Bolt target": "Schraubenwert",
    "Accepted at bolt": "Zulässig an der Schraube",
    "Set wrench": "Schlüssel auf",
    "Accept reading": "Zulässige Ablesung",
    "four points": "vier Punkte",
    "clicks, no reading": "klickt, keine Ablesung",
    "{0:n} to {1:n}": "{0:n} bis {1:n}",
    "Plan made for": "Plan für den",
    "Nuts": "Muttern",
    "Adapter": "Aufsatz",
    "Multiplier": "Drehmomentvervielfältiger",
    "Tools at once": "Werkzeuge zugleich",
    "Loosening": "Lösen",
    "{0:n} x {1:g}, {2:g}, length {3:n}": "{0} x {1}, {2}, Länge {3:n}",
    "length {0:n}, {1}": "Länge {0:n}, {1}",
    "Bolts {0:n}": "Schrauben {0}",
    "Bolts {0:n} to {1:n}": "Schrauben {0} bis {1}",
    "{0:g} ({1:t}, serial {2}), {3:t} in steps of {4:n}, calibration holds until {5}": "{0} ({1}, Nummer {2}), {3} in "
    "Schritten von {4:n}, kalibriert bis {5}",
    "{0:g} (serial {1})": "{0} (Nummer {1})",
    "{0}, sealing ring {1:n} x {2:n}, design pressure {3:n}": "{0}, Dichtring {1:n} x {2:n}, Auslegungsdruck {3:n}",
    "{0}: {1:n} x {2:g} on {3:n} ({4:t})": "{0}: {1} x {2} auf {3:n} ({4})",
    "read in an open-source data table of {0} flanges": "gelesen in einer offenen Datentafel der Flansche {0}",
    "Pass {0:n}": "Stufe {0}",
    "Passes {0:n}": "Stufen {0}",
    "Passes {0:n} to {1:n}": "Stufen {0} bis {1}",
    "{0:d}, until no nut moves, {1:n} rounds at most": "{0}, bis keine Mutter mehr weitergeht, höchstens {1} Runden",
    "Only when the line is proved empty and locked out. Same order: every bolt to about {0:n} first, then free; nuts "
    "stay "
    "on by their last threads until the joint has sprung open. Bolts may need far more than the tightening "
    "torque": "Erst "
    "wenn die Leitung nachweislich leer und mit Schloss gesichert ist. Gleiche Folge: jede Schraube zuerst auf etwa "
    "{0:n}, dann ganz; die Muttern bleiben auf den letzten Gängen, bis die Verbindung aufgesprungen ist. Lösen kann "
    "weit "
    "mehr als das Anziehmoment brauchen",
    "Then: {0:t}": "Danach: {0}",
    "Hold point: {0:s} (phase: {1:t})": "Haltepunkt: {0} (Abschnitt: {1})",
    "Check: {0:s} (phase: {1:t})": "Prüfpunkt: {0} (Abschnitt: {1})",
    "{0} Released by the {1:t} with: '{2}'": "{0} Freigabe: {1}, mit „{2}“",
    "{0} Right answer: '{1}'": "{0} Richtige Antwort: „{1}“",
    "prepare": "Vorbereitung",
    "assemble": "Montage",
    "tighten": "Anziehen",
    "seat": "Klopfen und Nachziehen",
    "restore": "Freigabe",
    "close": "Abschluss",
    "target": "Zielwert",
    "needed: {0:n}, {1:t}": "benötigt: {0:n}, {1}",
    "{0:n} a bolt": "{0} je Schraube",
    "kN a bolt": "kN je Schraube",
    "kip a bolt": "kip je Schraube",
    "Grey: with the figures of this joint. Dashed: published or estimated range. Each bar: after this stage": "Grau: "
    "mit "
    "den Zahlen dieser Verbindung. Gestrichelt: veröffentlichter oder geschätzter Bereich. Balken: nach diesem Schritt",
    "lubricated": "geschmiert",
    "dry": "trocken",
    "anti-seize": "Montagepaste",
    "caution": "Vorsicht",
    "page": "Seite",
    "Before the colon: bolt. After it: turn in the order": "Vor dem Doppelpunkt: Schraube. Danach: Platz in der Folge",
    "Outer numbers: bolts. Inner numbers: turn in the order": "Außen: Schrauben. Innen: Platz in der Folge",
    "Parts of the coupling": "Teile der Kupplung",
    "Along the pipe": "Entlang des Rohrs",
    "In front of a flange": "Vor einem Klemmflansch",
    "pipe": "Rohr",
    "clamp flange": "Klemmflansch",
    "joint bolt": "Flanschschraube",
    "seal (tapered: thin end to the flange)": "Dichtung (keilig: dünnes Ende zum Flansch)",
    "centring ring": "Zentrierring",
    "stop pin": "Anschlagstift",
    "split bolt": "Spannschraube",
    "split, at the top": "Schlitz, oben",
    "bridge piece": "Brückenstück",
    "Procedure": "Ablauf",
    "of the plan, said once": "aus dem Plan, einmal gesagt",
    "with a name": "mit Namen",
    ", released by the {0:t}": ", Freigabe: {0}",
    "any other number": "jeder anderen Nummer",
    "stops at": "hält an bei",
    "wait": "Wartezeit",
    "measure": "Messen",
    "with the name of who measured": "mit Namen dessen, der misst",
    "at least {0:n}": "mindestens {0:n}",
    "all round until no nut moves at {0:n}": "reihum auf {0:n}, bis keine Mutter mehr weitergeht",
    "tap until it holds at {0:n}": "klopfen auf {0:n}, bis es hält",
    "tap until it holds": "klopfen, bis es hält",
    "{0:n} rounds, then a competent person": "{0} Runden, dann eine sachkundige Person",
    "{0:n} tools at once": "{0} Werkzeuge zugleich",
}
_REMARKS = {
    "Several bolt groups press one gasket: its load is not checked here; ask the governing instruction": "Mehrere "
    "Schraubengruppen pressen eine Dichtung: ihre Last ist hier nicht geprüft; es gilt die Anweisung",
    "Several bolt groups press one gasket: its load is not checked here": "Mehrere Schraubengruppen pressen eine "
    "Dichtung: ihre Last ist hier nicht geprüft",
    "ask the governing instruction": "es gilt die Anweisung",
    "outside this sheet": "nicht auf diesem Blatt",
    "Gasket factors m and y are not given: seating is not checked here": "Die Dichtungsbeiwerte m und y fehlen: das "
    "Setzen der Dichtung ist hier nicht geprüft",
    "The gasket reaches across the bolts: seating is not checked here; ask its maker for the bolt load": "Die Dichtung "
    "reicht über die Schrauben hinaus: das Setzen ist hier nicht geprüft; die Schraubenlast nennt ihr Hersteller",
    **{
        f"{kind} re-check after {{0:n}}{late}{high}, {how}. Read where the nut first moves, about 5 degrees, no more": (
            f"{art} nach {{0:n}}{spaet}{heiss}, {wie}. Dort ablesen, wo die Mutter gerade weitergeht, etwa 5 Grad, "
            "nicht mehr"
        )
        for kind, art in (("Hot", "Heißnachprüfung"), ("Cold", "Kaltnachprüfung"))
        for late, spaet in (("", ""), (", by {1:n} at the latest", ", spätestens nach {1:n}"))
        for high, heiss in (
            ("", ""),
            (f", not above {{{2 if late else 1}:n}}", f", nicht über {{{2 if late else 1}:n}}"),
        )
        for how, wie in (
            ("by the written procedure only", "nur nach der schriftlichen Anweisung"),
            ("empty and without pressure", "leer und drucklos"),
        )
    },
    "{0:g}: its calibration is said to hold until {1}, more than 12 months: ask": "{0}: die Kalibrierung soll bis {1} "
    "gelten, länger als 12 Monate: nachfragen",
    "{0:g}: calibration ends in {1:n} days, on {2}": "{0}: die Kalibrierung endet in {1} Tagen, am {2}",
    "ISO 6789: 12 months or 5000 loads, unless the user has an own interval (read)": "ISO 6789: 12 Monate oder 5000 "
    "Lasten, wenn der Betreiber keine eigene Frist hat (gelesen)",
    "Bolts are numbered by location: 1 at twelve o'clock or the painted mark, clockwise seen from the worker's side. "
    "Order "
    "labels are another thing: agree before work starts which of the two is painted": "Schrauben sind nach ihrem Platz "
    "gezählt: 1 auf zwölf Uhr oder an der Farbmarke, im Uhrzeigersinn von der Arbeitsseite gesehen. Die Nummern der "
    "Reihenfolge sind etwas anderes: vor der Arbeit vereinbaren, welche von beiden angezeichnet ist",
    "read in a public article quoting ASME PCC-1-2019": "gelesen in einem öffentlichen Artikel, der ASME PCC-1-2019 "
    "anführt",
    "After the circular pass wait {0:n}, then once more circular at the full target": "Nach der Kontrollrunde {0} "
    "warten, "
    "dann noch einmal reihum auf den vollen Wert",
    "4 h: abstract of an ASME PVP2021 paper on PCC-1 (read)": "4 h: Kurzfassung einer ASME-PVP2021-Arbeit zu PCC-1 "
    "(gelesen)",
    "{0:n} tools pull together: a step counts when each of its bolts has its value": "{0} Werkzeuge ziehen zugleich: "
    "ein "
    "Schritt zählt, wenn jede seiner Schrauben ihren Wert hat",
    "{0:g} shows steps of {1:n}; its class allows {2:n} at its lowest value": "{0} zeigt Schritte von {1:n}; seine "
    "Klasse "
    "erlaubt {2:n} beim kleinsten Wert",
    "{0:g} shows steps of {1:n}": "{0} zeigt Schritte von {1:n}",
    "its class allows {0:n} at its lowest value": "seine Klasse erlaubt {0:n} beim kleinsten Wert",
    "From 80 % of the value pull evenly, 0.5 to 4 s": "Ab 80 % des Werts gleichmäßig ziehen, 0,5 bis 4 s",
    "From 80 % of the value pull evenly, 0.5 to 4 s. Before the first bolt click it {0:n} times near its highest "
    "mark": "Ab "
    "80 % des Werts gleichmäßig ziehen, 0,5 bis 4 s. Vor der ersten Schraube {0}-mal nahe der höchsten Marke klicken "
    "lassen",
    "ISO 6789:2003 (read), there for calibration": "ISO 6789:2003 (gelesen), dort für die Kalibrierung",
    "The tools may be off by {0:d}, the window is {1:d}: a bolt whose reading is taken may have {2:d}": "Die Werkzeuge "
    "können um {0} abweichen, das Fenster ist {1}: eine Schraube, deren Ablesung gilt, kann {2} haben",
    "ISO 6789 or certificate; ends added": "ISO 6789 oder Kalibrierschein; Grenzen addiert",
    "ISO 6789 or certificate": "ISO 6789 oder Kalibrierschein",
    "ends added": "Grenzen addiert",
    "{0:g}: rounding to its scale moves the torque by {1:n}; a finer scale is better": "{0}: das Runden auf die Skala "
    "verschiebt das Drehmoment um {1:n}; eine feinere Skala ist besser",
    "{0:g}: rounding to its scale moves the torque by {1:n}": "{0}: das Runden auf die Skala verschiebt das Drehmoment "
    "um {1:n}",
    "a finer scale is better": "eine feinere Skala ist besser",
    "{0:g}: reaction arm on a firm point, hands off that side": "{0}: Abstützarm an einem festen Punkt, Hände weg von "
    "dieser Seite",
    "Settings are at the wrench, far below the bolt torque: speak of 'setting' and 'bolt value'": "Einstellwerte "
    "gelten am "
    "Schlüssel und liegen weit unter dem Moment an der Schraube: von „Einstellwert“ und „Schraubenwert“ sprechen",
    "{0}: no proof strength in this standard: targets are a share of yield": "{0}: diese Norm kennt keine "
    "Prüfspannung: "
    "Zielwerte sind ein Anteil der Streckgrenze",
    "Percent of proof uses an {0:t}": "Prozent der Prüfspannung mit: {0}",
    "estimate 0.85 x yield, because {0} defines no proof strength": "Schätzung 0,85 x Streckgrenze, weil {0} keine "
    "Prüfspannung nennt",
    "The routes ask for at least {0:d} to {1:n} a bolt: the highest one counts": "Die Wege verlangen mindestens {0} "
    "bis "
    "{1:n} je Schraube: der höchste zählt",
    "see the calculation sheet": "siehe die Berechnung",
    "Figures of this file are still examples: {0}": "Angaben dieser Datei sind noch Beispiele: {0}",
    "the joint file's own marks": "eigene Marken der Verbindungsdatei",
    "A bolt at the upper end of the band, {0:n}, is above its proof load": "Eine Schraube am oberen Ende des Bands, "
    "{0:n}, liegt über ihrer Prüflast",
    "A bolt at the upper end of the band, {0:n}, yields": "Eine Schraube am oberen Ende des Bands, {0:n}, fließt",
}
_CALCULATED = {
    "Bolt {0}, {1}": "Schraube {0}, {1}",
    "Thread condition {0:t}": "Gewindezustand {0}",
    "target torque": "Zielmoment",
    "Accepted window": "Zulässiges Fenster",
    "Setting at {0:n}": "Einstellwert bei {0:n}",
    "Predicted preload": "Erwartete Vorspannkraft",
    "Bolt stress": "Spannung in der Schraube",
    "Stress while tightening": "Spannung beim Anziehen",
    "Where the torque goes": "Wohin das Drehmoment geht",
    "VDI 2230, for comparison": "VDI 2230, zum Vergleich",
    "Order '{0:t}'": "Anziehfolge „{0}“",
    "clamp": "Klemmflansch",
    "cross": "über Kreuz",
    "rectangle": "Rechteck",
    "Hot bolt": "Schraube im Betrieb",
    "Gasket: load needed": "Dichtung: benötigte Last",
    "Gasket: load given": "Dichtung: vorhandene Last",
    "Target from the joint": "Zielwert aus der Verbindung",
    "Gasket pressures for {0}": "Flächenpressungen für {0}",
    "Elastic interaction": "Gegenseitige Entlastung",
    "Bolt under the outside load": "Schraube unter der Betriebskraft",
    # ---------------------------------------------------------------------------------------------------- formulas
    "F left = F x share of each stage; ends multiplied": "F bleibt = F x Anteil jedes Schritts; Grenzen multipliziert",
    "F left = F x share of each stage": "F bleibt = F x Anteil jedes Schritts",
    "ends multiplied": "Grenzen multipliziert",
    "low = T (1 + wl), high = T (1 + wh)": "unten = T (1 + wl), oben = T (1 + wh)",
    "F of the target": "F des Zielwerts",
    "Fmin = max(Sgmin-S Ag/n, (Sgmin-O Ag + FR)/(phi n), share Sy As), Fmax = min(Sgmax Ag/n, Sfmax As)": "Fmin = "
    "max(Sgmin-S Ag/n, (Sgmin-O Ag + FR)/(phi n), Anteil Sy As), Fmax = min(Sgmax Ag/n, Sfmax As)",
    # ------------------------------------------------------------------------------------------------------ results
    "K = {0:d}, {1:d} to {2:d} for the preload band": "K = {0}, {1} bis {2} für das Band der Vorspannkraft",
    "each pass has its own window, see the table": "jede Stufe hat ihr Fenster, siehe die Tabelle",
    "set {0:d} (exact), bolt gets {1:d} +/- {2:d}": "Schlüssel auf {0} (genau), die Schraube bekommt {1} +/- {2}",
    "set {0:d} ({1:d}), bolt gets {2:d} +/- {3:d}": "Schlüssel auf {0} ({1}), die Schraube bekommt {2} +/- {3}",
    "F = {0:d}, expected between {1:d} and {2:d} ({3:d})": "F = {0}, zu erwarten zwischen {1} und {2} ({3})",
    "F = {0:d}, expected between {1:d} and {2:d}": "F = {0}, zu erwarten zwischen {1} und {2}",
    "S = {0:d}, {1:d} of proof": "S = {0}, {1} der Prüfspannung",
    "S = {0:d}, {1:d} of yield": "S = {0}, {1} der Streckgrenze",
    "Sv = {0:d}, {1:d} of yield": "Sv = {0}, {1} der Streckgrenze",
    "S(t) = {0:d}, {1:d} of the yield there": "S(t) = {0}, {1} der dortigen Streckgrenze",
    "{0:n} stretches the bolt, {1:n} goes into the thread, {2:n} under the head": "{0} dehnen die Schraube, {1} gehen "
    "ins "
    "Gewinde, {2} unter den Kopf",
    "FM = {0:d} at 90 % of yield, FMmin = {1:d}": "FM = {0} bei 90 % der Streckgrenze, FMmin = {1}",
    "of {0:d} a bolt keeps {1:d} to {2:d}; {3:t}": "von {0} behält eine Schraube {1} bis {2}; {3}",
    "of {0:d} a bolt keeps {1:d} to {2:d}": "von {0} behält eine Schraube {1} bis {2}",
    "nothing known that is needed": "was benötigt wird, ist nicht bekannt",
    "{0:n} needed ({1:t})": "benötigt {0:n} ({1})",
    "operating load Wm1, ASME VIII-1 appendix 2": "Betriebslast Wm1, ASME VIII-1 appendix 2",
    "gasket tight in service, {0}": "Dichtung dicht im Betrieb, {0}",
    "the parts stay pressed together, P (1 - C)": "die Teile bleiben aufeinandergepresst, P (1 - C)",
    "Wm1 = {0:d}, Wm2 = {1:d}; {2:t} governs": "Wm1 = {0}, Wm2 = {1}; maßgebend: {2}",
    "{0:t} governs": "maßgebend: {0}",
    "seating": "Setzen der Dichtung",
    "operating": "Betrieb",
    "W = {0:d}, {1:d} times the load needed; Sg = {2:d} at most (maker allows {3:n})": "W = {0}, das {1}-fache der "
    "benötigten Last; Sg = höchstens {2} (Hersteller erlaubt {3:n})",
    "W = {0:d}, {1:d} times the load needed": "W = {0}, das {1}-fache der benötigten Last",
    "Sg = {0:d} at most (maker allows {1:n})": "Sg = höchstens {0} (Hersteller erlaubt {1:n})",
    "Sg = {0:d} at most": "Sg = höchstens {0}",
    "the target's F = {0:d} is inside of every route": "F des Zielwerts = {0} liegt in jedem der Wege",
    "the target's F = {0:d} is {1}": "F des Zielwerts = {0} liegt nicht in jedem der Wege ({1})",
    "{0:n} at assembly (seated), {1:n} in service (tight)": "{0:n} bei der Montage (gesetzt), {1:n} im Betrieb (dicht)",
    "{0:n} at assembly (seated), {1:n} in service (NOT tight)": "{0:n} bei der Montage (gesetzt), {1:n} im Betrieb "
    "(NICHT "
    "dicht)",
    "{0:n} at assembly (NOT seated), {1:n} in service (NOT tight)": "{0:n} bei der Montage (NICHT gesetzt), {1:n} im "
    "Betrieb (NICHT dicht)",
    "{0:n} at assembly (NOT seated), {1:n} in service (tight)": "{0:n} bei der Montage (NICHT gesetzt), {1:n} im "
    "Betrieb "
    "(dicht)",
    "opposite pairs, blocks of four 90 degrees apart, spread around the circle; any count": "gegenüberliegende Paare, "
    "je "
    "vier im Abstand von 90 Grad, über den Kreis verteilt; jede Anzahl",
    "opposite pairs, blocks of four 90 degrees apart, spread around the circle": "gegenüberliegende Paare, je vier im "
    "Abstand von 90 Grad, über den Kreis verteilt",
    "any count": "jede Anzahl",
    "two bolts alternately, or four in diagonals; numbered clockwise seen from above": "zwei Schrauben im Wechsel "
    "oder vier "
    "über Kreuz; von oben im Uhrzeigersinn gezählt",
    "two bolts alternately, or four in diagonals": "zwei Schrauben im Wechsel oder vier über Kreuz",
    "numbered clockwise seen from above": "von oben im Uhrzeigersinn gezählt",
    "nearest to the centre first, then its opposite through the centre; columns x rows on the edge": "zuerst die "
    "nächste an "
    "der Mitte, dann die gegenüber; Spalten x Reihen am Rand",
    "nearest to the centre first, then its opposite through the centre": "zuerst die nächste an der Mitte, dann die "
    "gegenüber",
    "columns x rows on the edge": "Spalten x Reihen am Rand",
    **{
        f"{before}after pass {{{at}:n}} bolts hold {{{at + 1}:d}} to {{{at + 2}:d}} of the target, after "
        f"{{{at + 3}:n}} "
        f"circular round{many} {{{at + 4}:d}} to {{{at + 5}:d}}": f"{davor}nach Stufe {{{at}:n}} halten die Schrauben "
        f"{{{at + 1}}} bis {{{at + 2}}} des Zielwerts, nach {{{at + 3}}} Kontrollrunde{viele} {{{at + 4}}} bis "
        f"{{{at + 5}}}"
        for before, davor, at in (("", "", 0), ("give {0:d}: ", "Nachgiebigkeit {0}: ", 1))
        for many, viele in (("", ""), ("s", "n"))
    },
    "parts open at {0:d} P with the lowest preload left": "bei der kleinsten Vorspannkraft öffnen die Teile bei {0} P",
    "bolt {0:d}, np = {1:d}, nL = {2:d}": "Schraube {0}, np = {1}, nL = {2}",
    # ------------------------------------------------------------------------------------------------------- inputs
    "nominal diameter": "Nenndurchmesser",
    "pitch": "Steigung",
    "proof strength of {0}": "Prüfspannung nach {0}",
    "minimum yield": "Mindeststreckgrenze",
    "minimum yield there": "Mindeststreckgrenze dort",
    "published nut factor": "veröffentlichter Beiwert K",
    "nut factor": "Beiwert K",
    "published for {0:t}": "veröffentlicht für {0}",
    "change stated for {0:t} threads": "angegebene Änderung für Gewinde {0}",
    "for comparison, by nut factors": "zum Vergleich, nach Beiwerten K",
    "lower side": "nach unten",
    "upper side": "nach oben",
    "target of the pass": "Zielwert der Stufe",
    "{0:n} of the target torque": "{0} des Zielmoments",
    "exact wrench torque": "genaues Moment am Schlüssel",
    "graduation, to its nearest mark in the window": "Teilung, auf den nächsten Strich im Fenster",
    "output over input of {0}": "Abtrieb zu Antrieb von {0}",
    "bolt torque at the last pass": "Schraubenmoment der letzten Stufe",
    "preload": "Vorspannkraft",
    "tensile stress area": "Spannungsquerschnitt",
    "pressure under head and nut": "Pressung unter Kopf und Mutter",
    "friction that gives K on a face of 1.25 d": "Reibung, die K bei einer Auflage von 1,25 d ergibt",
    "published for such faces": "für solche Flächen veröffentlicht",
    "tightening factor, torque wrench": "Anziehfaktor, Drehmomentschlüssel",
    "torque of FM": "Drehmoment zu FM",
    "passes": "Stufen",
    "rounds": "Runden",
    "circular, until no nut moves, {0:n} at most": "reihum, bis keine Mutter mehr weitergeht, höchstens {0}",
    "circular rounds": "Kontrollrunden",
    "{0:n} rounds are usual": "üblich sind {0} Runden",
    "passes as published": "veröffentlichte Stufen",
    "clamp 25/50/75/100": "Klemmverbindung 25/50/75/100",
    "scatter of the torque method": "Streuung des Anziehens nach Drehmoment",
    "embedding": "Setzen der Flächen",
    "gasket creep": "Kriechen der Dichtung",
    "first thermal cycle": "erster Temperaturwechsel",
    "elastic interaction": "gegenseitige Entlastung",
    "heat, {0:n}": "Wärme, {0:n}",
    "target bolt stress on As": "Zielspannung im Querschnitt As",
    "tension of each bolt": "Kraft jeder Schraube",
    "share of the proof load": "Anteil der Prüflast",
    "hottest in service": "höchste Temperatur im Betrieb",
    "F_hot/F, all equally warm": "F_heiß/F, alles gleich warm",
    "at start-up": "beim Anfahren",
    "basic width N/2": "Grundbreite N/2",
    "effective width": "wirksame Breite",
    "diameter of the load reaction": "Durchmesser der Dichtkraft",
    "design pressure": "Auslegungsdruck",
    "gasket factor": "Dichtungsbeiwert",
    "seating stress": "Setzpressung",
    "lower end of the preload band": "unteres Ende des Vorspannbands",
    "upper end": "oberes Ende",
    "share of bolt yield": "Anteil der Streckgrenze",
    "at least {0:n} ({1:t}), at most {2:n} ({3:t})": "mindestens {0:n} ({1}), höchstens {2:n} ({3})",
    "lowest usual share": "kleinster üblicher Anteil",
    "highest share": "größter Anteil",
    "lowest share of yield": "kleinster Anteil der Streckgrenze",
    "flange strength Sfmax": "Flanschfestigkeit Sfmax",
    "yield": "Streckgrenze",
    "gasket, flange and bolt, PCC-1 manner": "Dichtung, Flansch und Schraube, nach Art von PCC-1",
    "gasket pressures for {0}, EN 1591 manner": "Flächenpressungen für {0}, nach Art von EN 1591",
    "all bolts at the lower end of the band": "alle Schrauben am unteren Ende des Bands",
    "share kept": "bleibender Anteil",
    "largest pull to one side in the first pass": "größter einseitiger Zug in der ersten Stufe",
    "{0:n} bolt loads": "{0:n} Schraubenkräfte",
    "way of the wrench in a pass": "Weg des Schlüssels in einer Stufe",
    "{0:n} bolt pitches": "{0} Schraubenteilungen",
    "give": "Nachgiebigkeit",
    "decay a bolt pitch": "Abklingen je Schraubenteilung",
    "outside load of a bolt": "Betriebskraft je Schraube",
    "share that the bolt takes, kb/(kb + km)": "Anteil der Schraube, kb/(kb + km)",
    "{0:n}, {1:d} for the preload band": "{0}, {1} für das Band der Vorspannkraft",
}
_SOURCES = {
    "read": "gelesen",
    "from memory": "aus dem Gedächtnis",
    "above": "oben",
    "above, a bolt": "oben, je Schraube",
    "from the above": "aus dem Obigen",
    "target above": "Zielwert oben",
    "formula": "Formel",
    "computed": "gerechnet",
    "counted": "gezählt",
    "given": "gegeben",
    "vector sum, computed": "Vektorsumme, gerechnet",
    "joint file": "Verbindungsdatei",
    "governing instruction": "maßgebende Anweisung",
    "governing instruction; a reading outside is never taken without a question": "maßgebende Anweisung; eine Ablesung "
    "außerhalb wird nie ohne Rückfrage genommen",
    "a reading outside is never taken without a question": "eine Ablesung außerhalb wird nie ohne Rückfrage genommen",
    "{0:t} (read)": "{0} (gelesen)",
    "{0:t} (from memory)": "{0} (aus dem Gedächtnis)",
    "{0:t} (read), {1:t}": "{0} (gelesen), {1}",
    "typical, no citable source": "üblich, ohne zitierbare Quelle",
    "typical, no citable source: a trade newsletter (read)": "üblich, ohne zitierbare Quelle: Rundbrief der Branche "
    "(gelesen)",
    "typical, no citable source: a public fastening tutorial (read)": "üblich, ohne zitierbare Quelle: öffentlicher "
    "Lehrtext (gelesen)",
    "typical, no citable source: public flange articles, there for 4 and 8 bolts (read)": "üblich, ohne zitierbare "
    "Quelle: "
    "öffentliche Flanschartikel, dort für 4 und 8 Schrauben (gelesen)",
    "typical of studs with common pastes, no source (from memory)": "üblich bei Stehbolzen mit gängigen Pasten, ohne "
    "Quelle "
    "(aus dem Gedächtnis)",
    "common practice, no source": "gängige Praxis, ohne Quelle",
    "rounding to the scale: common practice, no source": "Runden auf die Skala: gängige Praxis, ohne Quelle",
    "accuracy: limit of ISO 6789": "Genauigkeit: Grenze nach ISO 6789",
    "accuracy: limit of ISO 6789 + multiplier 5 % (common practice, no source)": "Genauigkeit: Grenze nach ISO 6789 + "
    "Drehmomentvervielfältiger 5 % (gängige Praxis, ohne Quelle)",
    "accuracy: certificate": "Genauigkeit: Kalibrierschein",
    "statics of the multiplier": "Statik des Drehmomentvervielfältigers",
    "calibrated output factor": "kalibrierter Abtriebsfaktor",
    "textbook value, the low end of the range": "Lehrbuchwert, das untere Ende des Bereichs",
    "IFI guide and typical; the textbook's 0.18 is in the range; untested, so widened to at least +/- 25 % "
    "(Machinery's "
    "Handbook, read)": "IFI-Leitfaden und üblich; der Lehrbuchwert 0,18 liegt im Bereich; ungeprüft, daher mindestens "
    "+/- 25 % (Machinery's Handbook, gelesen)",
    "IFI guide and typical": "IFI-Leitfaden und üblich",
    "the textbook's 0.18 is in the range": "der Lehrbuchwert 0,18 liegt im Bereich",
    "untested, so widened to at least {0} (Machinery's Handbook, read)": "ungeprüft, daher mindestens {0} (Machinery's "
    "Handbook, gelesen)",
    "torque guide after IFI Technical Data N-12 (read)": "Drehmomentleitfaden nach IFI Technical Data N-12 (gelesen)",
    "percentage of the governing instruction ({0}); it comes before the nut factors": "Prozentsatz der maßgebenden "
    "Anweisung ({0}); er geht den Beiwerten K vor",
    "it comes before the nut factors": "er geht den Beiwerten K vor",
    "percentage of the governing instruction ({0})": "Prozentsatz der maßgebenden Anweisung ({0})",
    "T = K d F: {0:t}": "T = K d F: {0}",
    "law of propagation, two standard uncertainties: wrench {0:d}, K {1:d} ({2:d} to {3:d}, triangular) (JCGM 100, "
    "101)": (
        "Fehlerfortpflanzung, zwei Standardunsicherheiten: Schlüssel {0}, K {1} ({2} bis {3}, dreieckig) (JCGM 100, "
        "101)"
    ),
    "75 % of proof for joints to be reopened, 90 % for permanent ones: Shigley eq. 8-31 (read)": "75 % der "
    "Prüfspannung bei "
    "Verbindungen, die wieder geöffnet werden, 90 % bei bleibenden: Shigley eq. 8-31 (gelesen)",
    "hexagon face on a medium hole (ISO 4014, ISO 273), or heavy hexagon (from memory)": "Sechskantauflage auf "
    "mittlerem "
    "Loch (ISO 4014, ISO 273) oder schwerer Sechskant (aus dem Gedächtnis)",
    "VDI 2230 with plastic torsion": "VDI 2230 mit plastischer Torsion",
    "VDI 2230 with plastic torsion (formula from memory); a comparison, no compliance is claimed": "VDI 2230 mit "
    "plastischer "
    "Torsion (Formel aus dem Gedächtnis); ein Vergleich, kein Nachweis",
    "VDI 2230 with plastic torsion (formula from memory)": "VDI 2230 mit plastischer Torsion (Formel aus dem "
    "Gedächtnis)",
    "a comparison, no compliance is claimed": "ein Vergleich, kein Nachweis",
    "JIS B 1083 form (read)": "Form nach JIS B 1083 (gelesen)",
    "long form above": "lange Formel oben",
    "see the order family": "siehe die Anziehfolge",
    "read in public flange articles": "gelesen in öffentlichen Flanschartikeln",
    "published ranges where a stage is not this joint's own; careful and hopeful end, no statistics": "veröffentlichte "
    "Bereiche, wo ein Schritt nicht der dieser Verbindung ist; vorsichtiges und günstiges Ende, keine Statistik",
    "published ranges where a stage is not this joint's own": "veröffentlichte Bereiche, wo ein Schritt nicht der "
    "dieser "
    "Verbindung ist",
    "careful and hopeful end, no statistics": "vorsichtiges und günstiges Ende, keine Statistik",
    "own band {0:d}, torque wrench, {1:t} +/- {2:d}": "eigenes Band {0}, Drehmomentschlüssel, {1} +/- {2}",
    "the wider one": "das breitere",
    "NASA and Machinery's Handbook tables, VDI 2230:1986 (read); alpha_A 1.6 is +/- 23 %": "Tafeln von NASA und "
    "Machinery's "
    "Handbook, VDI 2230:1986 (gelesen); alpha_A 1,6 ist +/- 23 %",
    "NASA and Machinery's Handbook tables, VDI 2230:1986 (read)": "Tafeln von NASA und Machinery's Handbook, VDI "
    "2230:1986 "
    "(gelesen)",
    "alpha_A 1.6 is +/- 23 %": "alpha_A 1,6 ist +/- 23 %",
    "grip not given: 5 to 10 % in the first 24 h": "Klemmlänge fehlt: 5 bis 10 % in den ersten 24 h",
    "a public piping knowledge page": "öffentliche Seite über Rohrleitungen",
    "no tightness data: 5 to 15 %, first thermal cycle": "keine Dichtheitsangaben: 5 bis 15 %, erster "
    "Temperaturwechsel",
    "no tightness data: 5 to 15 %": "keine Dichtheitsangaben: 5 bis 15 %",
    "installation instruction for clamp connectors, maker not named (read)": "Montageanleitung für Klemmverbindungen, "
    "Hersteller nicht genannt (gelesen)",
    "{0} (read in a public article)": "{0} (gelesen in einem öffentlichen Artikel)",
    "springs in series, assembled at {0:n}; gasket creep is not in it": "Federn in Reihe, montiert bei {0:n}; ohne "
    "Kriechen "
    "der Dichtung",
    "springs in series, assembled at {0:n}": "Federn in Reihe, montiert bei {0:n}",
    "gasket creep is not in it": "ohne Kriechen der Dichtung",
    "ASME II-D Y-1, or annexes of ISO 898-1:1999 and ISO 3506-1 (from memory)": "ASME II-D Y-1 oder Anhänge von ISO "
    "898-1:1999 und ISO 3506-1 (aus dem Gedächtnis)",
    "ASME II-D expansion and modulus; joint share taken as 1": "Ausdehnung und E-Modul nach ASME II-D; Anteil der "
    "Verbindung gleich 1 gesetzt",
    "ASME II-D expansion and modulus": "Ausdehnung und E-Modul nach ASME II-D",
    "joint share taken as 1": "Anteil der Verbindung gleich 1 gesetzt",
    "m and y are suggested design values, no assembly targets": "m und y sind empfohlene Auslegungswerte, keine "
    "Montageziele",
    "spiral wound, stainless winding with graphite filler": "Spiraldichtung, nichtrostend mit Graphitfüllung",
    "spiral wound, stainless winding with graphite filler, inner and outer ring": "Spiraldichtung, nichtrostend mit "
    "Graphitfüllung, Innen- und Außenring",
    "stress on the whole contact face: common practice, no source": "Pressung auf der ganzen Fläche: gängige Praxis, "
    "ohne "
    "Quelle",
    "seating: ASME VIII-1 appendix 2": "Setzen: ASME VIII-1 appendix 2",
    "each route's own; FR: pressure inside the ring and the pipe's pull": "von jedem Weg; FR: Druck im Ring und Zug "
    "des "
    "Rohrs",
    "each route's own": "von jedem Weg",
    "FR: pressure inside the ring and the pipe's pull": "FR: Druck im Ring und Zug des Rohrs",
    "design loads, no assembly targets (read)": "Auslegungslasten, keine Montageziele (gelesen)",
    "50 % of yield as starting target: read as practice in an engineers' forum and an article on ASME PCC-1; 40 to 70 "
    "% of "
    "yield as the range of bolt limits: ASME PCC-1 appendix O, from memory": "50 % der Streckgrenze als Ausgangswert: "
    "als "
    "Praxis gelesen in einem Forum und einem Artikel zu ASME PCC-1; 40 bis 70 % der Streckgrenze als Bereich: ASME "
    "PCC-1 "
    "appendix O, aus dem Gedächtnis",
    "50 % of yield as starting target: read as practice in an engineers' forum and an article on ASME PCC-1": "50 % "
    "der "
    "Streckgrenze als Ausgangswert: als Praxis gelesen in einem Forum und einem Artikel zu ASME PCC-1",
    "40 to 70 % of yield as the range of bolt limits: ASME PCC-1 appendix O, from memory": "40 bis 70 % der "
    "Streckgrenze als "
    "Bereich der Schraubengrenzen: ASME PCC-1 appendix O, aus dem Gedächtnis",
    "three-step choice of blocks; it reproduces the cross-pattern lists of ASME PCC-1 for 4 to 24 bolts (lists from "
    "memory, "
    "8 to 24 read on a gasket work sheet)": "Wahl der Blöcke in drei Schritten; ergibt die Kreuzlisten von ASME PCC-1 "
    "für 4 "
    "bis 24 Schrauben (Listen aus dem Gedächtnis, 8 bis 24 auf einem Dichtungsblatt gelesen)",
    "three-step choice of blocks": "Wahl der Blöcke in drei Schritten",
    "it reproduces the cross-pattern lists of ASME PCC-1 for 4 to 24 bolts (lists from memory, 8 to 24 read on a "
    "gasket work "
    "sheet)": "ergibt die Kreuzlisten von ASME PCC-1 für 4 bis 24 Schrauben (Listen aus dem Gedächtnis, 8 bis 24 auf "
    "einem "
    "Dichtungsblatt gelesen)",
    "ring {0:d} x {1:d}, gasket modulus: {2:t}; beam on elastic foundation, no friction scatter (Hetenyi, from "
    "memory); not a "
    "measurement": "Ring {0} x {1}, E-Modul der Dichtung: {2}; Balken auf elastischer Bettung, ohne Streuung der "
    "Reibung "
    "(Hetenyi, aus dem Gedächtnis); keine Messung",
    "ring {0:d} x {1:d}, gasket modulus: {2:t}": "Ring {0} x {1}, E-Modul der Dichtung: {2}",
    "gasket's maker": "Hersteller der Dichtung",
    "beam on elastic foundation, no friction scatter (Hetenyi, from memory)": "Balken auf elastischer Bettung, ohne "
    "Streuung "
    "der Reibung (Hetenyi, aus dem Gedächtnis)",
    "beam on elastic foundation (from memory); flange rotation is not in it, so it shows the better side": "Balken auf "
    "elastischer Bettung (aus dem Gedächtnis); ohne Verdrehung der Flansche, zeigt daher die bessere Seite",
    "beam on elastic foundation (from memory)": "Balken auf elastischer Bettung (aus dem Gedächtnis)",
    "flange rotation is not in it, so it shows the better side": "ohne Verdrehung der Flansche, zeigt daher die "
    "bessere "
    "Seite",
    "not a measurement": "keine Messung",
    "fZ = {0:d}, kb = {1:d}; rigid parts the low end": "fZ = {0}, kb = {1}; starre Teile am unteren Ende",
    "rigid parts the low end": "starre Teile am unteren Ende",
    "fZ = {0:d}, kb = {1:d}": "fZ = {0}, kb = {1}",
    "VDI 2230 table 5 (from memory)": "VDI 2230 Tafel 5 (aus dem Gedächtnis)",
    "F_hot/F = {0:d} when all is equally warm": "F_heiß/F = {0}, wenn alles gleich warm ist",
    "relations of ASME PCC-1 appendix O, from memory; no worked example to hand": "Beziehungen von ASME PCC-1 "
    "appendix O, "
    "aus dem Gedächtnis; kein Rechenbeispiel zur Hand",
    "relations of ASME PCC-1 appendix O, from memory": "Beziehungen von ASME PCC-1 appendix O, aus dem Gedächtnis",
    "no worked example to hand": "kein Rechenbeispiel zur Hand",
    "relations of EN 1591-1 with EN 13555 data, without flange rotation, from memory": "Beziehungen von EN 1591-1 mit "
    "Daten "
    "nach EN 13555, ohne Verdrehung der Flansche, aus dem Gedächtnis",
    "ring, grip or gasket not given: from a stiff to a soft joint": "Ring, Klemmlänge oder Dichtung fehlt: von einer "
    "steifen "
    "bis zu einer weichen Verbindung",
    "0 without a grip": "0 ohne Klemmlänge",
}
PLAN = {**_SHEET, **_REMARKS, **_CALCULATED, **_SOURCES}
"""English -> German."""
