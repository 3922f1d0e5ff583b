"""Development check inside the torque grammar: encoders against each other on people and voices that none was trained on.

usage: evaluate.py SPEECH_FOLDER OUT_FOLDER NAME=ENCODER.onnx|NAME=packaged ... [--dev-more FOLDER] [--jobs 2]

Sets (development split only): `figures` three-figure strings joined from the digit speaker's recordings; `people` whole recordings of the
development number speakers, in a grammar of any string of figures; `phrases` values and commands by the development synthetic voices, in
the torque grammar; `talk` sentences that are no part of the job, notes included, and `noise` alone: whatever is accepted there is false.
Backgrounds come from the mixer with the development noises and voices. Every encoder hears exactly the same sound.

Writes OUT_FOLDER/NAME.jsonl (one utterance a line) and prints the table; `report.py` prints it again from the files.
"""

from __future__ import annotations

import argparse
import csv
import json
import multiprocessing
import random
import time
from pathlib import Path

import bank as banks
import mixing
import numpy as np
import report
import search
import sentences
import soundfile as sf
import torch
import torque_talk

LEVELS = (99, 15, 10, 5, 0, -5)
LEVEL, PAD = 0.06, 6400  # speaking level of full scale; quiet before and after, samples
DIGITS = {w: str(i) for i, w in enumerate(sentences.ONES)}
GRAMMARS = {"torque": (torque_talk.torque_grammar, torque_talk.torque_meaning), "figures": (torque_talk.figures_grammar, torque_talk.figures_meaning)}


def follows(grammar: search.Grammar, words: list[str]) -> bool:
    """Whether the word automaton takes the sentence."""
    states = grammar.closure(0)
    for w in words:
        states = set().union(*(grammar.closure(b) for s in states for x, b in grammar.arcs[s] if x == w)) if states else states
    return bool(states & grammar.final)


def sources(speech: Path, more: list[Path], figures: int, talk: int):
    """[(set, who, text, samples, grammar, meaning or None)] of clean development utterances."""
    r, out = random.Random(4), []
    with (speech / "manifest.tsv").open(encoding="utf8") as f:
        rows = [x for x in csv.DictReader(f, delimiter="\t", quoting=csv.QUOTE_NONE) if x["split"] == "dev"]

    def read(path):
        return sf.read(path, dtype="float32")[0]

    digits = [x for x in rows if x["source"] == "FSDD"]
    for _ in range(figures):
        three = [r.choice([d for d in digits if d["text"] != "zero"]), r.choice(digits), r.choice(digits)]
        x = []
        for d in three:
            y = read(speech / d["path"])
            x += [y / banks.level(y), np.zeros(int(r.uniform(0.03, 0.2) * 16000), np.float32)]
        value = float("".join(DIGITS[d["text"]] for d in three))
        out.append(("figures", digits[0]["speaker"], " ".join(d["text"] for d in three), np.concatenate(x), "torque", ("value", value, None, None, False)))
    wide = torque_talk.figures_grammar()
    for x in rows:
        words = x["text"].split()
        if x["source"] == "AN4" and follows(wide, words):
            out.append(("people", x["speaker"], x["text"], read(speech / x["path"]), "figures", torque_talk.figures_meaning(tuple(words))))
    narrow = torque_talk.torque_grammar()
    for folder in more:
        for line in (folder / "list.tsv").read_text(encoding="utf8").splitlines():
            name, text, voice = line.split("\t")
            words = text.split()
            meaning = torque_talk.torque_meaning(tuple(words)) if follows(narrow, words) else None
            if meaning is None and any(w in torque_talk.VALUE for w in words):
                continue  # a number outside this small grammar: neither a fair reading nor unrelated talk
            out.append(("phrases" if meaning else "talk", voice, text, read(folder / name), "torque", meaning))
    others = [x for x in rows if x["source"] in ("speechocean762", "wake-word recordings", "pocketsphinx test data", "speech-to-intent orders")]
    others = [x for x in others if not set(x["text"].split()) & (set(torque_talk.VALUE) | {"yes", "no", "stop", "next"}) and float(x["seconds"]) < 6]
    for x in r.sample(others, min(talk, len(others))):
        out.append(("talk", x["speaker"], x["text"], read(speech / x["path"]), "torque", None))
    return out


def jobs(speech: Path, more: list[Path], figures: int, talk: int, noise: int, levels, talk_levels):
    """[(set, who, text, SNR, int16 samples, grammar, meaning)]: every source at every SNR, and noise alone; the same for the same arguments."""
    dev = banks.load(speech, "dev", more, threads=4)
    mixer, out, r = mixing.Mixer(dev, "cpu", 11), [], np.random.default_rng(11)
    for name, who, text, x, grammar, meaning in sources(speech, more, figures, talk):
        x = np.pad(x / banks.level(x) * LEVEL, PAD)
        for snr in talk_levels if name == "talk" else levels:
            y = x + 1e-4 * r.standard_normal(len(x))
            if snr < 99:
                y = y + mixer.backgrounds(1, len(x))[0].numpy() * LEVEL * 10 ** (-snr / 20)
            out.append((name, who, text, snr, np.round(np.clip(y, -1, 1) * 32767).astype(np.int16), grammar, meaning))
    for _ in range(noise):
        y = mixer.backgrounds(1, 40000)[0].numpy() * 10 ** (r.uniform(-32, -18) / 20)
        out.append(("noise", "", "", 0, np.round(np.clip(y, -1, 1) * 32767).astype(np.int16), "torque", None))
    return out


def hear(job):
    """One line of the result: the best meanings with scores, the truth's score, and the fit."""
    name, who, text, snr, sound, grammar, meaning = job
    hidden = MODEL.encode(sound.astype(np.float32) / 32768)
    found = search.search(MODEL, hidden, GRAPHS[grammar], GRAMMARS[grammar][1])
    free, score = MODEL.free(hidden)
    found = [(s, k) for s, k in found if k is not None]
    best = [[list(k), round(s, 3)] for s, k in found[:4]]
    true = next((round(s, 3) for s, k in found if k == meaning), None)
    total = float(np.logaddexp.reduce([s for s, _ in found])) if found else None
    return {"set": name, "who": who, "text": text, "snr": snr, "right": bool(found) and found[0][1] == meaning, "best": best, "true": true, "total": total,
            "fit": round(found[0][0] - score, 3) if found else None, "free": free, "seconds": round(len(sound) / 16000, 2),
            "value": bool(meaning) and (grammar == "figures" or meaning[0] == "value")}


def start(path):
    """Load one encoder into a worker process."""
    global MODEL, GRAPHS
    MODEL = search.Model(None if path == "packaged" else Path(path))
    GRAPHS = {k: search.TokenGraph(g(), MODEL) for k, (g, _) in GRAMMARS.items()}


def main() -> None:
    """Command line."""
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("speech", type=Path)
    p.add_argument("out", type=Path)
    p.add_argument("encoders", nargs="+")
    p.add_argument("--dev-more", nargs="*", type=Path, default=[])
    p.add_argument("--jobs", type=int, default=1)
    p.add_argument("--figures", type=int, default=60)
    p.add_argument("--talk", type=int, default=50)
    p.add_argument("--noise", type=int, default=100)
    p.add_argument("--every", type=int, default=1, help="hear only every n-th utterance")
    p.add_argument("--levels", type=int, nargs="*", default=LEVELS, help="SNRs in dB; 99 is clean")
    p.add_argument("--talk-levels", type=int, nargs="*", default=(99, 5), help="the same for talk that is no part of the job")
    a = p.parse_args()
    torch.set_num_threads(1)
    a.out.mkdir(parents=True, exist_ok=True)
    todo = jobs(a.speech, a.dev_more, a.figures, a.talk, a.noise, a.levels, a.talk_levels)[:: a.every]
    print(len(todo), "utterances", flush=True)
    for one in a.encoders:
        name, path = one.split("=", 1)
        begin = time.time()
        with multiprocessing.get_context("fork").Pool(a.jobs, start, (path,)) as pool, (a.out / f"{name}.jsonl").open("w") as f:
            for line in pool.imap(hear, todo, chunksize=4):
                f.write(json.dumps(line) + "\n")
        print(f"{name}: {time.time() - begin:.0f} s", flush=True)
        report.show(a.out / f"{name}.jsonl")


if __name__ == "__main__":
    main()
