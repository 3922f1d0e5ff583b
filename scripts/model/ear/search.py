"""Search of a small grammar with the packaged decoder and any encoder, for the development check of `evaluate.py`.

A beam that may only follow token paths that spell a sentence of the grammar; all spellings of one meaning are summed.
The product has its own, faster listener; this one stays so that figures of different builds can be compared without
it.
"""

from __future__ import annotations

import math
from collections import defaultdict
from itertools import pairwise
from pathlib import Path

import numpy as np
import onnxruntime as ort

from scripts.model.ear.spelling import BOS, EOS, FIRST_TEXT_TOKEN, read_tokens
from scripts.model.ear.weights import package_folder
from scripts.model.sound.word_grammar import Grammar


class Model:
    """Encoder and decoder sessions."""

    def __init__(self, encoder: Path | None = None, threads: int = 1):
        """encoder: an ONNX file of ours, or None for the packaged encoder."""
        folder = package_folder()
        opt = ort.SessionOptions()
        opt.intra_op_num_threads, opt.inter_op_num_threads, opt.log_severity_level = threads, 1, 3
        self.own = encoder is not None
        self.encoder = ort.InferenceSession(str(encoder or folder / "encoder_model.ort"), opt)
        self.decoder = ort.InferenceSession(str(folder / "decoder_model_merged.ort"), opt)
        self.tokens = read_tokens(folder / "tokenizer.bin")
        self.past_names = [i.name for i in self.decoder.get_inputs() if i.name.startswith("past")]
        self.out_names = [o.name for o in self.decoder.get_outputs()][1:]
        self.ids = {}
        for i, t in enumerate(self.tokens):
            if i >= FIRST_TEXT_TOKEN and t and t not in self.ids:
                self.ids[t] = i

    def encode(self, x: np.ndarray) -> np.ndarray:
        """x: float32 mono 16 kHz, shape (samples,) -> float32, shape (1, frames, 288)."""
        x = np.asarray(x, np.float32)[None]
        if self.own:
            return self.encoder.run(None, {"audio": x})[0]
        return self.encoder.run(None, {"input_values": x, "attention_mask": np.ones(x.shape, np.int64)})[0]

    def step(self, hidden, last_ids, past):
        """One decoder step for a batch: (batch, vocabulary) log-probabilities and the new cache."""
        n = len(last_ids)
        h = np.broadcast_to(hidden, (n, *hidden.shape[1:]))
        feed = {
            "encoder_attention_mask": np.ones(h.shape[:2], np.int64),
            "input_ids": np.asarray(last_ids, np.int64).reshape(n, 1),
            "encoder_hidden_states": np.ascontiguousarray(h),
            "use_cache_branch": np.array([past is not None]),
        }
        feed.update(past or {k: np.zeros((n, 8, 0, 36), np.float32) for k in self.past_names})
        out = self.decoder.run(None, feed)
        logits = out[0][:, -1]
        logits = logits - logits.max(-1, keepdims=True)
        logp = logits - np.log(np.exp(logits).sum(-1, keepdims=True))
        new = {}
        for name, value in zip(self.out_names, out[1:], strict=True):
            key = name.replace("present", "past_key_values")
            new[key] = past[key] if past is not None and ".encoder." in key else value
        return logp, new

    def text(self, ids) -> str:
        return b"".join(self.tokens[i] for i in ids).decode("utf-8", "replace").replace("▁", " ").strip()

    def spell(self, text: str, glued: bool = False) -> tuple[int, ...]:
        """Byte-pair tokens of one word: merge the adjacent pair with the lowest id until none merges."""
        p = [c.encode() for c in ("" if glued else "▁") + text]
        while True:
            best = min(
                ((self.ids[a + b], i) for i, (a, b) in enumerate(pairwise(p)) if a + b in self.ids), default=None
            )
            if best is None:
                return tuple(self.ids[t] for t in p)
            p[best[1] : best[1] + 2] = [p[best[1]] + p[best[1] + 1]]

    def free(self, hidden, limit: int = 40):
        """Greedy free decoding: (text, log-probability)."""
        past, ids, score = None, [BOS], 0.0
        while len(ids) < limit:
            logp, past = self.step(hidden, [ids[-1]], past)
            t = int(logp[0].argmax())
            score += float(logp[0, t])
            if t == EOS:
                break
            ids.append(t)
        return self.text(ids[1:]), score


class TokenGraph:
    """Grammar spelled in tokens, built a state at a time when first reached."""

    def __init__(self, grammar: Grammar, model: Model):
        self.g, self.m, self.cache = grammar, model, {}
        self.comma, self.dash = model.ids[b","], model.ids[b"-"]
        self.ends = [model.ids[b"."], model.ids[b"!"]]

    def trie(self, state: int, start: bool):
        key = (state, start)
        if key in self.cache:
            return self.cache[key]
        root, final = {}, False
        for s in self.g.closure(state):
            final |= s in self.g.final
            for w, b in self.g.arcs[s]:
                if w is None:
                    continue
                if w.startswith("+"):
                    ways = [self.m.spell(w[1:], glued=True)]
                else:
                    forms = {w, w[0].upper() + w[1:]} if start or w == "newton" else {w}
                    ways = [self.m.spell(f) for f in forms]
                    if not start:
                        ways += [(self.comma, *x) for x in ways] + [(self.dash, *self.m.spell(w, glued=True))]
                for ids in ways:
                    node = root
                    for t in ids:
                        node = node.setdefault(t, {})
                    node.setdefault(None, []).append((w, b))
        self.cache[key] = root, final
        return self.cache[key]


def search(model: Model, hidden, graph: TokenGraph, meaning, beam: int = 16, slack: float = 9.0, limit: int = 28):
    """Beam search over the grammar. Returns [(log-probability, meaning)], best first (unnormalised).

    `meaning(words)` maps a word tuple to a hashable meaning or None (sentence refused).
    """
    root, _ = graph.trie(0, True)
    hyps = [
        (0.0, root, 0, (), BOS, 0)
    ]  # score, trie node (None: full stop spoken, only the end may follow), state, words, token, row
    past, done, best = None, defaultdict(list), -math.inf
    for _ in range(limit):
        logp, new = model.step(hidden, [h[4] for h in hyps], past)
        cand = []
        for r, (score, node, state, words, _, _) in enumerate(hyps):
            if node is None:
                done[meaning(words)].append(score + float(logp[r, EOS]))
                best = max(best, done[meaning(words)][-1])
                continue
            options = [(node, state, words)]
            for w, b in node.get(None, []):  # a word is complete: the sentence may end here, or go on
                words2 = (*words, w)
                trie, final = graph.trie(b, False)
                options.append((trie, b, words2))
                if final and (m := meaning(words2)) is not None:
                    done[m].append(score + float(logp[r, EOS]))
                    best = max(best, done[m][-1])
                    cand += [(score + logp[r, e], None, b, words2, e, r) for e in graph.ends]
            for n, s, ws in options:
                cand += [(score + logp[r, t], n2, s, ws, t, r) for t, n2 in n.items() if t is not None]
        cand = sorted((c for c in cand if c[0] > best - slack), key=lambda c: -c[0])[:beam]
        if not cand:
            break
        rows = [c[5] for c in cand]
        past = {k: v[rows] for k, v in new.items()}
        hyps = cand
    return sorted(((float(np.logaddexp.reduce(v)), k) for k, v in done.items()), key=lambda z: -z[0])
