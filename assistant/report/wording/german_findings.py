"""German for what verification finds, and for why a record cannot be relied on."""

from __future__ import annotations

FINDINGS = {
    "error": "Fehler",
    "warning": "Warnung",
    "damage": "Schaden",
    "tampering": "Eingriff",
    "error: {0:t}: {1:t}": "Fehler: {0}: {1:t}",
    "warning: {0:t}: {1:t}": "Warnung: {0}: {1:t}",
    "error: {0:t}: {1:t} [{2:t}]": "Fehler: {0}: {1:t} [{2:t}]",
    "warning: {0:t}: {1:t} [{2:t}]": "Warnung: {0}: {1:t} [{2:t}]",
    "{0:f} line {1:n}": "{0:f} Zeile {1:n}",
    "{0:f} line {1:n}: {2:t}": "{0:f} Zeile {1:n}: {2:t}",
    "{0:f}: {1:t}": "{0:f}: {1:t}",
    # ------------------------------------------------------------------------------------------ what a record lacks
    "The journal is damaged after line {0:n}: {1:t}": "Das Journal ist nach Zeile {0:n} beschädigt: {1:t}",
    "Nobody has checked whether it is as it was recorded": "Niemand hat geprüft, ob es ist, wie es aufgezeichnet wurde",
    "{0:n} lines do not fit what came before them (line {1:n})": "{0:n} Zeilen passen nicht zu dem, was vorherging "
    "(Zeile {1:n})",
    "There is a review that cannot be read": "Es gibt eine Prüfung, die nicht gelesen werden kann",
    "The review is not sealed, or its seal does not fit": "Die Prüfung ist nicht versiegelt, oder ihr Siegel passt "
    "nicht",
    "The review of {0} UTC is older than the end of the session": "Die Prüfung vom {0} UTC ist älter als das Ende der "
    "Sitzung",
    "The journal is believed up to line {0:n} only ({1:t}); 1 line after it are not in this record": "Dem Journal wird "
    "nur bis Zeile {0:n} geglaubt ({1:t}); 1 Zeile danach ist nicht in diesem Protokoll",
    "The journal is believed up to line {0:n} only ({1:t}); {2:n} lines after it are not in this record": "Dem Journal "
    "wird nur bis Zeile {0:n} geglaubt ({1:t}); {2:n} Zeilen danach sind nicht in diesem Protokoll",
    "The last {0:n} bytes of the journal are a line that was never finished": "Die letzten {0:n} Bytes des Journals "
    "sind eine nie beendete Zeile",
    "No work was laid out in the journal, so there are no bolts to show": "Im Journal ist keine Arbeit ausgelegt, es "
    "gibt also keine Schrauben zu zeigen",
    "Line {0:n} does not fit what came before it ({1}): left out": "Zeile {0:n} passt nicht zum Vorhergehenden ({1}): "
    "weggelassen",
    "{0:n} of {1:n} recordings are not there ({2}): these words cannot be heard again": "{0:n} von {1:n} Aufnahmen "
    "fehlen ({2}): diese Worte sind nicht mehr zu hören",
    "{0} is not there or cannot be read ({1})": "{0} fehlt oder kann nicht gelesen werden ({1})",
    "The kept joint file cannot be read, so identification, tools and basis are left out: {0}": "Die aufbewahrte "
    "Verbindungsdatei kann nicht gelesen werden, Angaben, Werkzeuge und Grundlage fehlen daher: {0}",
    "{0} cannot be read, so the calculation is left out: {1}": "{0} kann nicht gelesen werden, die Berechnung fehlt "
    "daher: {1}",
    "The review ({0}) is not believed: {1}": "Der Prüfung ({0}) wird nicht geglaubt: {1}",
    "{0} cannot be read: {1}": "{0} kann nicht gelesen werden: {1}",
    # ------------------------------------------------------------------------------------------------- the journal
    "Its last line is dated {0}, later than this machine's clock: one of the two is wrong": "Die "
    "letzte Zeile trägt das Datum {0}, später als die Uhr dieses Rechners: eins von beiden ist falsch",
    "There is no journal: the session stopped while its folder was being made, or the journal was removed": "Es gibt "
    "kein Journal: die Sitzung endete beim Anlegen ihres Ordners, oder das Journal wurde entfernt",
    "Rebuilding the state twice gives two different states. This is a fault of the assistant: report it": "Zweimal "
    "nachgebaut ergibt zwei verschiedene Zustände. Das ist ein Fehler des Assistenten: melden",
    "The journal is gone, its seal is still there": "Das Journal ist weg, sein Siegel ist noch da",
    "The state cannot be rebuilt from the journal: {0}": "Der Zustand lässt sich aus dem Journal nicht nachbauen: {0}",
    "The session is being written by a running assistant": "Ein laufender Assistent schreibt die Sitzung gerade",
    "Whether the state can be rebuilt was not checked": "Ob sich der Zustand nachbauen lässt, wurde nicht geprüft",
    "The state was not rebuilt: not every line can be read": "Der Zustand wurde nicht nachgebaut: nicht jede Zeile ist "
    "lesbar",
    "It rests on the utterance {0}, which was not heard before it": "Sie beruht auf der Äußerung {0}, die vorher nicht "
    "gehört wurde",
    "{0}, but neither was it heard in the utterance that the line names, nor was it asked about": "{0}, "
    "wurde aber weder in der Äußerung gehört, die die Zeile nennt, noch nachgefragt",
    "{0} is recorded, but neither was it heard in the utterance that the line names, nor was it asked about": "{0} ist "
    "eingetragen, wurde aber weder in der Äußerung gehört, die die Zeile nennt, noch nachgefragt",
    "The line contradicts itself: {0}. Some of it changed": "Die Zeile widerspricht sich selbst: {0}. Etwas daran "
    "wurde geändert",
    "The event is not one that this version knows: {0}": "Dieses Ereignis kennt diese Version nicht: {0}",
    "It is numbered {0:n} but stands at place {1:n}: the lines before it run together": "Sie trägt die Nummer {0:n}, "
    "steht aber an Platz {1:n}: die Zeilen davor laufen ineinander",
    "It is numbered {0:n} after number {1:n}: lines are missing, added or moved": "Sie trägt die Nummer {0:n} nach "
    "Nummer {1:n}: Zeilen fehlen, kamen dazu oder wurden verschoben",
    "The line is whole, but it was written after another line than the one that stands before it now. One of the two "
    "was exchanged": "Die Zeile ist ganz, wurde aber nach einer anderen Zeile geschrieben als der, die jetzt davor "
    "steht. Eine der beiden wurde ausgetauscht",
    "The time since the machine was switched on runs backwards here, which no machine does": "Die Zeit seit dem "
    "Einschalten des Rechners läuft hier rückwärts, was kein Rechner tut",
    "The clock of the machine was set {0} before this line, while it ran: times of day are doubtful, lengths of time "
    "and the order of lines not": "Die Uhr des Rechners wurde vor dieser Zeile im Betrieb verstellt ({0}): Uhrzeiten "
    "sind zweifelhaft, Dauern und die Reihenfolge der Zeilen nicht",
    "The clock of the machine went {0} before this line: times of day are "
    "doubtful, the order of lines is not": "Die Uhr des Rechners sprang vor dieser Zeile ({0}): Uhrzeiten sind "
    "zweifelhaft, die Reihenfolge der Zeilen nicht",
    "The wall clock ran {0:n} min further than the sound before this line: the "
    "machine slept, or its clock was set": "Die Uhr lief vor dieser Zeile {0:n} min weiter als der Ton: der Rechner "
    "schlief, oder seine Uhr wurde verstellt",
    "The first event is not session-opened": "Das erste Ereignis ist nicht das Öffnen der Sitzung",
    "The session was closed in line {0:n}, but lines follow. The assistant writes none there": "Die "
    "Sitzung wurde in Zeile {0:n} abgeschlossen, doch Zeilen folgen. Der Assistent schreibt dort keine",
    "A line is being written at this moment": "Eine Zeile wird gerade geschrieben",
    "The last {0:n} bytes are lines that were never finished: the program or the machine stopped while writing them. "
    "Nothing was acted on; going on with the session sets them aside": "Die letzten {0:n} Bytes sind nie beendete "
    "Zeilen: Programm oder Rechner blieb beim Schreiben stehen. Nichts davon wurde befolgt; beim Fortsetzen der "
    "Sitzung werden sie beiseitegelegt",
    "{0:n} bytes of half-written lines were set aside after a stop, as the journal says itself": "{0:n} Bytes halb "
    "geschriebener Zeilen wurden nach einem Stillstand beiseitegelegt, wie das Journal selbst sagt",
    "{0:n} bytes of half-written lines are set aside that the journal tells nothing of": "{0:n} "
    "Bytes halb geschriebener Zeilen liegen beiseite, von denen das Journal nichts sagt",
    "{0:n} bytes of half-written lines are set aside that the journal tells nothing of. The next resume will": "{0:n} "
    "Bytes halb geschriebener Zeilen liegen beiseite, von denen das Journal nichts sagt. Das nächste Fortsetzen tut es",
    "The journal tells of {0:n} bytes set aside, but the torn files hold {1:n}": "Das Journal spricht von {0:n} "
    "beiseitegelegten Bytes, die Dateien enthalten {1:n}",
    # ------------------------------------------------------------------------------------------------------- files
    "The line names a recording {0}; names are figures": "Die Zeile nennt eine Aufnahme {0}; Namen bestehen aus "
    "Ziffern",
    "Line {0:n} names this recording, but it is not there. The assistant stores audio first, then names it": "Zeile "
    "{0:n} nennt diese Aufnahme, doch sie fehlt. Der Assistent speichert erst den Ton und nennt ihn dann",
    "It is whole, but not the recording that line {0:n} names: it was exchanged": "Sie ist ganz, aber nicht die "
    "Aufnahme, die Zeile {0:n} nennt: sie wurde ausgetauscht",
    "It is not the file that the session began with: it was changed afterwards": "Es ist nicht die Datei, mit der die "
    "Sitzung begann: sie wurde danach geändert",
    "Line {0:n} already named the recording {1}": "Zeile {0:n} nannte die Aufnahme {1} schon",
    "It is not the recording that line {0:n} names, and cannot be decoded: it was damaged or cut": "Sie ist nicht die "
    "Aufnahme, die Zeile {0:n} nennt, und lässt sich nicht lesen: sie wurde beschädigt oder gekürzt",
    "No line names this recording: the machine stopped between storing it and writing its line": "Keine "
    "Zeile nennt diese Aufnahme: der Rechner blieb zwischen Speichern und Schreiben der Zeile stehen",
    "No line names this recording, and a stop does not explain it: its line was removed or damaged": "Keine "
    "Zeile nennt diese Aufnahme, und ein Stillstand erklärt es nicht: ihre Zeile wurde entfernt oder beschädigt",
    "The folder of recordings is missing, or is not a folder": "Der Ordner der Aufnahmen fehlt oder ist kein Ordner",
    "The assistant makes no such file here": "Der Assistent legt hier keine solche Datei an",
    "It is as line {0:n} says, but: {1}": "Sie ist, wie Zeile {0:n} sagt, aber: {1}",
    "A recording that was being stored when the machine stopped": "Eine Aufnahme, die beim Stillstand des Rechners "
    "gerade gespeichert wurde",
    "It is a link, a folder or a device, not a plain file": "Es ist eine Verknüpfung, ein Ordner oder ein Gerät, keine "
    "einfache Datei",
    "A file that was being written when the machine stopped": "Eine Datei, die beim Stillstand des Rechners gerade "
    "geschrieben wurde",
    # ------------------------------------------------------------------------------------------------------ review
    "Nobody has signed these lines: the machine stopped before that, or the seal was removed. The next `assistant "
    "review` signs them": "Niemand hat diese Zeilen signiert: der Rechner blieb vorher stehen, oder das Siegel wurde "
    "entfernt. Das nächste `assistant review` signiert sie",
    "Review signed {0} by {1}": "Prüfung signiert {0} mit {1}",
    "The signature does not fit: the seal was changed, or was not made with the key that it names": "Die "
    "Signatur passt nicht: das Siegel wurde geändert oder nicht mit dem Schlüssel gemacht, den es nennt",
    "The signature does not fit: the line was changed": "Die Signatur passt nicht: die Zeile wurde geändert",
    "{0:n} lines were signed, {1:n} are there": "{0:n} Zeilen wurden signiert, {1:n} sind da",
    "Signed by name only, as {0}, on a machine whose account anybody there can use: it shows no second person. "
    "`assistant key new` makes a key for one": "Nur mit Namen signiert, als {0}, auf einem Rechner, dessen Konto dort "
    "jeder benutzen kann: das zeigt keine zweite Person. `assistant key new` macht ihr einen Schlüssel",
    "The signature of {0} does not fit what the review says before it": "Die Signatur von {0} passt nicht zu dem, was "
    "die Prüfung davor sagt",
    "The sound of {0:n} utterances was erased by {1}": "Der Ton von {0:n} Äußerungen wurde gelöscht von {1}",
    "Line {0:n} is not the one that was signed. It, or something before it, was changed": "Zeile {0:n} ist nicht die "
    "signierte. Sie oder etwas davor wurde geändert",
    "It ends in the middle of a line: a bad copy or a bad disk": "Sie endet mitten in einer Zeile: eine schlechte "
    "Kopie oder ein schlechter Datenträger",
    "The first line does not begin a review": "Die erste Zeile beginnt keine Prüfung",
    "It was made when line {0:n} of the journal was another than now, or of another session": "Sie entstand, als Zeile "
    "{0:n} des Journals eine andere war, oder zu einer anderen Sitzung",
    "Signed as {0}, with the key that is known here as that of {1}": "Signiert als {0}, mit dem Schlüssel, der hier "
    "als der von {1} bekannt ist",
    "The review is gone, its seal is still there": "Die Prüfung ist weg, ihr Siegel ist noch da",
    "The seal cannot be read: {0}": "Das Siegel kann nicht gelesen werden: {0}",
    # --------------------------------------------------------------------------------------------------------- seal
    "Sealed {0} by {1}, key {2}: this machine's own key": "Versiegelt {0} mit {1}, Schlüssel {2}: der eigene Schlüssel "
    "dieses Rechners",
    "Sealed {0} by {1}, key {2}: {3}, trusted here": "Versiegelt {0} mit {1}, Schlüssel {2}: {3}, hier vertraut",
    "Sealed {0} by {1}, with a key that this machine does not know ({2}). Anybody "
    "can make a key and sign with it. Compare these figures with those on the "
    "machine that signed (`assistant key show`), then `assistant key add`": "Versiegelt {0} mit {1}, mit einem "
    "Schlüssel, den dieser Rechner nicht kennt ({2}). Jeder kann einen Schlüssel machen und damit signieren. Diese "
    "Ziffern mit denen auf dem signierenden Rechner vergleichen (`assistant key show`), dann `assistant key add`",
    "Sealed {0} by {1}, with the key {2} of {3}, which was revoked on {4} by {5}": "Versiegelt {0} mit {1}, mit dem "
    "Schlüssel {2} von {3}, der am {4} widerrufen wurde von {5}",
    "The session was closed but has no seal: the machine stopped in between, or the seal was removed. Opening the "
    "session again can seal it": "Die Sitzung wurde abgeschlossen, hat aber kein Siegel: der Rechner blieb dazwischen "
    "stehen, oder das Siegel wurde entfernt. Ein neues Öffnen der Sitzung kann sie versiegeln",
    "Line {0:n} is not the one that was sealed. It, or something before it, was changed": "Zeile {0:n} ist nicht die "
    "versiegelte. Sie oder etwas davor wurde geändert",
    "{0:n} lines were added after the seal. The {1:n} before are as sealed": "{0:n} Zeilen kamen nach dem Siegel "
    "dazu. Die {1:n} davor sind wie versiegelt",
    "{0:n} bytes were added after the sealed lines": "{0:n} Bytes kamen nach den versiegelten Zeilen dazu",
    "The session is not finished, so it is not sealed yet: whole lines cut off its end would not be missed": "Die "
    "Sitzung ist nicht fertig und darum noch nicht versiegelt: am Ende abgeschnittene ganze Zeilen fielen nicht auf",
    "{0:n} lines were sealed, {1:n} are there: the end is cut": "{0:n} Zeilen wurden versiegelt, {1:n} sind da: das "
    "Ende fehlt",
    "{0:n} lines were sealed, {1:n} are there: some are gone": "{0:n} Zeilen wurden versiegelt, {1:n} sind da: einige "
    "fehlen",
    "There is a seal, but the last line does not close the session. The assistant seals closed ones only": "Es gibt "
    "ein Siegel, doch die letzte Zeile schließt die Sitzung nicht ab. Der Assistent versiegelt nur abgeschlossene",
    "Nothing was recorded: the session stopped at its very start": "Nichts wurde aufgezeichnet: die Sitzung endete "
    "gleich am Anfang",
    # ------------------------------------------------------------------------------------------- checkpoints, register
    "No line of it is signed yet, so a change of the whole session would not be found": "Noch keine Zeile davon ist "
    "signiert, eine Änderung der ganzen Sitzung fiele also nicht auf",
    "Lines {0:n} to {1:n} were not signed when the session was opened again: the machine stopped there, and somebody "
    "who can work as its account could have changed them meanwhile": "Die Zeilen {0:n} bis {1:n} waren beim neuen "
    "Öffnen der Sitzung nicht signiert: der Rechner blieb dort stehen, und wer mit seinem Konto arbeiten kann, "
    "konnte sie inzwischen ändern",
    "Lines {0:n} to {1:n} were not signed when the session was opened again: more "
    "than a stop of the machine leaves": "Die Zeilen {0:n} bis {1:n} waren beim neuen Öffnen der Sitzung nicht "
    "signiert: mehr, als ein Stillstand des Rechners hinterlässt",
    "The session was closed, and neither a seal nor a checkpoint is there": "Die Sitzung wurde abgeschlossen, aber "
    "weder ein Siegel noch eine Zwischensignatur ist da",
    "A stop before the seal leaves the checkpoints: they were removed with the seal, or never made": "Ein Ausfall vor "
    "dem Siegeln lässt die Zwischensignaturen stehen: Sie wurden mit dem Siegel entfernt oder nie gemacht",
    "They are not the checkpoints that were sealed along": "Es sind nicht die mitversiegelten Zwischensignaturen",
    "The checkpoints that were sealed along are gone": "Die mitversiegelten Zwischensignaturen sind weg",
    "It is signed with a key that is not trusted here ({0}). `assistant key add` names a key": "Sie ist "
    "mit einem Schlüssel signiert, dem hier nicht vertraut wird ({0}). `assistant key add` nennt einen Schlüssel",
    "The journal contradicts what was signed: {0}": "Das Journal widerspricht dem, was signiert wurde: {0}",
    "The session was recorded as {0}. This is a copy of it: under another name it can pass for another one": "Die "
    "Sitzung wurde als {0} aufgezeichnet. Dies ist eine Kopie davon: unter anderem Namen kann sie für eine andere "
    "gelten",
    "The session was recorded as {0}. The folder was renamed: under another name it can pass for another one": "Die "
    "Sitzung wurde als {0} aufgezeichnet. Der Ordner wurde umbenannt: unter anderem Namen kann sie für eine andere "
    "gelten",
    "The register of this machine was signed with a key that is not trusted ({0})": "Das Verzeichnis dieses Rechners "
    "wurde mit einem Schlüssel signiert, dem nicht vertraut wird ({0})",
    "The register of this machine: {0}": "Das Verzeichnis dieses Rechners: {0}",
    "The session that began in this folder on {0} is not the one that lies here now": "Die Sitzung, die am {0} in "
    "diesem Ordner begann, ist nicht die, die jetzt hier liegt",
    "It is sealed with this machine's key, but the machine keeps a register of its sessions, which is gone": "Sie ist "
    "mit dem Schlüssel dieses Rechners versiegelt, doch der Rechner führt ein Verzeichnis seiner Sitzungen, und das "
    "ist weg",
    "It is sealed with this machine's key, but the machine keeps a register of its sessions, which does not know this "
    "session": "Sie ist mit dem Schlüssel dieses Rechners versiegelt, doch der Rechner führt ein Verzeichnis seiner "
    "Sitzungen, das diese nicht kennt",
    "It was sealed on {0}, and the seal is gone": "Sie wurde am {0} versiegelt, und das Siegel ist weg",
    "It was reviewed on {0} ({1:n} lines), and the review is gone": "Sie wurde am {0} geprüft ({1:n} Zeilen), und die "
    "Prüfung ist weg",
    "The review of {0} had {1:n} lines and is not there as it was": "Die Prüfung vom {0} hatte {1:n} Zeilen und ist "
    "nicht mehr da, wie sie war",
    "It had {0:n} lines on {1}, and has {2:n}: it was shortened": "Es hatte {0:n} Zeilen am {1} und hat {2:n}: es "
    "wurde gekürzt",
    "Line {0:n} is not the one that the machine registered on {1}": "Zeile {0:n} ist nicht die, die der Rechner am {1} "
    "verzeichnet hat",
    "{0} saw it on {1} and signed that as a witness: {2}": "{0} hat es am {1} gesehen und das als Zeuge signiert: {2}",
    "{0} saw its first {1:n} lines on {2}: they are as they were": "{0} hat die ersten {1:n} Zeilen am {2} gesehen: "
    "sie sind, wie sie waren",
}
"""English -> German."""
