"""A bolt group of a joint record as blocks: its basis, a table of bolts by passes, and each pass entry by entry."""

from __future__ import annotations

from assistant.replay.record_basis import Group
from assistant.replay.record_fields import JointRecord
from assistant.replay.record_open import name_of, pass_words
from assistant.replay.record_work import Bolt, PassDone
from assistant.replay.titles import clock
from assistant.report.printable import printable
from assistant.report.record_blocks import Block
from assistant.report.record_tables import neat, rounded, shown

MOST_COLUMNS = 9
"""Passes side by side in the table of a group: each pass, of one that goes round its last round, then other rounds."""
LETTERS = "k: kept outside its window; c: corrected or done over; a: asked about before; s: skipped at first"


def group_names(record: JointRecord) -> tuple[str, ...]:
    """The groups in the order of the work; also those that no joint file explains any more."""
    return tuple(dict.fromkeys([*(g.name for g in record.groups), *(p.group for p in record.passes)]))


def group_blocks(record: JointRecord, name: str) -> tuple[Block, ...]:
    """Basis with its pictures, then bolts by passes."""
    basis = next((each for each in record.groups if each.name == name), None)
    passes = [each for each in record.passes if each.group == name]
    blocks = [Block(title=f"Bolt group: {printable(name)}", facts=_basis(basis, passes), group=name)]
    if passes:
        blocks.append(_by_passes(passes))
    return tuple(blocks)


def _basis(group: Group | None, passes: list[PassDone]) -> tuple[tuple[str, str], ...]:
    if group is None:
        return (("Basis", "not known: the joint file is missing"),)
    facts = [
        ("Bolts", f"{group.bolts} x {group.thread}, {group.grade}, length {group.length}"),
        ("Nuts", group.nut),
        ("Threads", group.condition + (f"; {group.nut_factor}" if group.nut_factor else "")),
        ("Target", group.target),
        ("Window", group.window),
        ("Order", f"{group.order}: " + "-".join(map(str, group.sequence))),
        ("Passes", ", ".join(group.passes) + f"; circular pass: {group.circular}"),
        ("Then by", group.method),
        ("Wrench", group.wrench + "".join(f", {each}" for each in (group.multiplier, group.extension) if each)),
        ("Tools at once", "" if group.tools_at_once == 1 else str(group.tools_at_once)),
        ("Wait", group.dwell),
        *_rounds(passes),
    ]
    return tuple((name, printable(neat(text))) for name, text in facts if text)


def _rounds(passes: list[PassDone]) -> list[tuple[str, str]]:
    """For each pass that goes round its name and what each round found."""
    found = []
    for stage in dict.fromkeys(each.stage for each in passes if each.goes_round):
        rounds = [each for each in passes if each.stage == stage]
        parts = []
        for each in rounds[-MOST_COLUMNS:]:
            moved = f"moved at {', '.join(map(str, each.moved))}" if each.moved else "still" if each.still else "open"
            parts.append(f"round {each.round}: {moved}")
        left_out = len(rounds) - MOST_COLUMNS
        name = pass_words(rounds[0]).removesuffix(", round 1")
        words = (f"{left_out} earlier rounds; " if left_out > 0 else "") + "; ".join(parts)
        tapped = f". {rounds[0].tap}" if rounds[0].tap else ""
        found.append((f"{name[0].upper()}{name[1:]}", f"{words}{tapped}"))
    return found


def _by_passes(passes: list[PassDone]) -> Block:
    last = {each.stage: at for at, each in enumerate(passes)}
    first_choice = [at for at in range(len(passes)) if at in last.values()][-MOST_COLUMNS:]
    others = [at for at in range(len(passes)) if at not in first_choice][: MOST_COLUMNS - len(first_choice)]
    columns = [passes[at] for at in sorted([*first_choice, *others])]
    bolts = sorted({bolt.bolt for each in passes for bolt in each.bolts})
    by_bolt = [{bolt.bolt: bolt for bolt in each.bolts} for each in columns]
    rows = tuple((str(bolt), *(_cell(cells[bolt]) if bolt in cells else "" for cells in by_bolt)) for bolt in bolts)
    return Block(
        title="Bolts by passes",
        head=("Bolt", *(_heading(each) for each in columns)),
        rows=rows,
        widths=(16, *(20 for _ in columns)),
        lines=(LETTERS,),
    )


def _heading(each: PassDone) -> str:
    if each.setting is None:
        words = each.method or each.kind
        return words[0].upper() + words[1:]
    title = pass_words(each).replace("circular pass", "circular").replace("tap and re-torque", "seat")
    title = title[0].upper() + title[1:]
    window = f"\n{_number(rounded(each.low))} to {_number(rounded(each.high))}" if not each.clicks else "\nclicks"
    return f"{title}\n{shown(each.setting)}{window}"


def _number(text: str) -> str:
    return text.split(" ")[0]


def _cell(bolt: Bolt) -> str:
    """What a bolt got: '52', '90 k', 'clicked', 'held'."""
    if bolt.status == "open" and not bolt.entries:
        return "open"
    said = "" if bolt.achieved is None else _own_unit(bolt)
    if bolt.how == "clicked at setting":
        said = "clicked"
    if bolt.how == "snug reported":
        said = "snug"
    words = " ".join(each for each in (said, bolt.movement) if each) or "open"
    corrected = any(entry.standing != "counts" for entry in bolt.entries)
    letters = (
        ("k", bolt.status == "kept outside window"),
        ("c", corrected),
        ("a", bolt.asked > 0),
        ("s", "left for the end of the pass" in bolt.remark),
    )
    marks = "".join(letter for letter, holds in letters if holds)
    return f"{words} {marks}" if marks else words


def _own_unit(bolt: Bolt) -> str:
    """The number alone where it was said in the wrench's unit; else as it was said, with its unit."""
    same = bolt.achieved is not None and bolt.on_scale is not None and bolt.achieved.unit == bolt.on_scale.unit
    return _number(shown(bolt.achieved)) if same else shown(bolt.achieved)


def entry_blocks(record: JointRecord) -> tuple[Block, ...]:
    """Each pass entry by entry, in its order."""
    return tuple(_entries(each) for each in record.passes if any(bolt.entries for bolt in each.bolts))


def _entries(each: PassDone) -> Block:
    rows = tuple(_entry(bolt, each) for bolt in each.bolts)
    read = each.low is not None and not each.clicks and any(bolt.achieved is not None for bolt in each.bolts)
    window = f"; accepted {_number(rounded(each.low))} to {rounded(each.high)}" if read else ""
    target = f"; target at the bolt {rounded(each.target)}" if read and each.target != each.setting else ""
    head = ("Done", "Bolt", "Recorded", "How", "When (UTC)", "Recording", "Sure", "Asked", "Tries", "Remark")
    return Block(
        title=printable(f"{name_of(each)[0].upper()}{name_of(each)[1:]}{window}{target}"),
        head=head,
        rows=rows,
        widths=(12, 14, 25, 28, 29, 17, 12, 12, 13, 33),
    )


def _entry(bolt: Bolt, each: PassDone) -> tuple[str, ...]:
    counting = [entry for entry in bolt.entries if entry.standing == "counts"]
    last = counting[-1] if counting else None
    torque = next((entry for entry in counting if entry.kind in ("reading", "reading kept", "clicked")), last)
    words = shown(bolt.achieved) or ("clicked" if bolt.how == "clicked at setting" else "")
    words = " ".join(part for part in (words, bolt.movement) if part)
    words = words or ("snug" if bolt.how == "snug reported" else "open")
    sure = "" if torque is None or torque.probability is None else f"{torque.probability:.3f}"
    asked = f"{bolt.asked}" + (", yes" if torque is not None and torque.confirmed_by else "")
    how = {"clicked at setting": f"at {shown(each.setting)}"}.get(bolt.how, bolt.how.replace(" reported", ""))
    how += ", typed" if bolt.typed and "typed" not in how else ""
    return tuple(
        printable(cell)
        for cell in (
            str(bolt.turn or "-"),
            str(bolt.bolt),
            words + (" OUTSIDE" if bolt.status == "kept outside window" else ""),
            how or "-",
            clock(last.utc) if last is not None else "-",
            (torque.utterance if torque is not None else "") or "-",
            sure or "-",
            asked,
            str(bolt.attempts or "-"),
            bolt.remark or "-",
        )
    )
