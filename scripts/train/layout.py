"""Chooses text, face, marking technique and crop geometry of training lines, in worker processes (numpy only).

All lengths are in caps (cap heights) unless named px. A batch is one width bucket; its lines are narrower than it and
padded on the right, as at run time.
"""
import json
from dataclasses import dataclass

import numpy as np
from torch.utils.data import DataLoader, IterableDataset

from atlas import ACCENTED, BASELINE_Y, CAP, DOTS_PER_CAP, ORIGIN_X, plain
from corpus import Corpus, load_words

TECHNIQUES = ("printed", "sticker", "stamped", "engraved", "dot-peen")
PRINTED, STICKER, STAMPED, ENGRAVED, DOT_PEEN = range(5)
SHARES = {"general": (0.72, 0.08, 0.11, 0.04, 0.05), "plate": (0.26, 0.1, 0.26, 0.14, 0.24), "small": (0.76, 0.15, 0.04, 0.03, 0.02),
          "small beside a value": (0.4, 0.1, 0.2, 0.08, 0.22)}  # of the techniques
BUCKETS = (80, 128, 192, 256, 320, 416, 544, 704, 832)
MAX_GLYPHS = 44


@dataclass
class Faces:
    """Face tables by name of kind; `dot` faces are numbered after the stored ones, in the order of dot_faces()."""
    advance: np.ndarray
    box: np.ndarray
    info: list
    dots: list

    @classmethod
    def load(cls, path):
        z = np.load(path)
        info = json.loads(str(z["faces"]))
        advance, box = z["advance"].astype(np.float32), z["box"].astype(np.float32)
        dots = dot_faces(z["dot_index"])
        rows = [f for f, _ in dots]
        return cls(np.concatenate([advance, advance[rows]]), np.concatenate([box, box[rows]]),
                   info + [{"kind": "dots", "name": info[f]["name"], "role": info[f]["role"], "pitch": 1 / DOTS_PER_CAP[k] if info[f]["kind"] != "bitmap" else 1 / 7} for f, k in dots], dots)

    def of(self, kinds, roles):
        return np.array([i for i, f in enumerate(self.info) if f["kind"] in kinds and f["role"] in roles])


def dot_faces(dot_index):
    """(stored face, dot pitch number) of every dot face."""
    return sorted({(int(f), int(k)) for f, k, _, _ in dot_index})


class Lines(IterableDataset):
    def __init__(self, atlas, alphabet, words, seed, height=48, held=False, share_general=0.4, technique=None, pixels=98304, max_batch=640, flips=True, share_decisive=0.0,
                 share_labels=0.0, small=(0.0, 0.0, 0.0)):
        """`small`: shares of lines in small print, of headings, of other text of plates and of general text."""
        self.faces, self.alphabet, self.words, self.seed, self.height = Faces.load(atlas), alphabet, words, seed, height
        self.share_decisive, self.share_labels, self.small = share_decisive, share_labels, dict(zip(("labels", "plate", "general"), small))
        self.held, self.share_general, self.technique, self.pixels, self.max_batch, self.flips = held, share_general, technique, pixels, max_batch, flips
        plate, every = (("held",), ("held",)) if held else (("plate",), ("plate", "general"))
        self.plate_outline, self.any_outline = self.faces.of(("outline",), plate), self.faces.of(("outline",), every)
        self.stroke, self.dot = self.faces.of(("skeleton", "hershey"), plate), self.faces.of(("dots",), plate)
        self.fallback = next(i for i, f in enumerate(self.faces.info) if f["name"] == "DejaVuSans.ttf")
        self.index = {c: i for i, c in enumerate([*alphabet, *ACCENTED])}
        self.read_as = np.array([self.index[plain(c)] for c in self.index])
        letters = [self.index[c] for c in "ABCDEFGHKLNOPRSTUXYZ"]
        self.face_width = self.faces.advance[:, letters].mean(1)

    def __iter__(self):
        from torch.utils.data import get_worker_info
        worker = get_worker_info()
        seed = self.seed * 1000 + (worker.id if worker else 0)
        self.rng, self.corpus = np.random.default_rng(seed), Corpus(self.alphabet, self.words, seed)
        waiting = {w: [] for w in self.buckets()}
        while True:
            line = self.one()
            if line is None:
                continue
            fits = [w for w in waiting if w >= line["w"]]
            if not fits:
                continue
            bucket = self.rng.choice(fits[:4]) if self.rng.random() < 0.2 else fits[0]
            waiting[bucket].append(line)
            if len(waiting[bucket]) >= min(self.max_batch, self.pixels * 48 // (self.height * bucket)):
                yield self.batch(bucket, waiting[bucket])
                waiting[bucket] = []

    def buckets(self):
        return [w * self.height // 48 for w in BUCKETS]

    def one(self):
        r, f = self.rng, self.faces
        text, kind, spans = self.corpus.line(self.share_general, self.share_decisive, self.share_labels)
        general, small = kind == "general", r.random() < self.small[kind]
        shares = SHARES["general" if general else "plate" if not small else "small beside a value" if spans else "small"]
        technique = self.technique if self.technique is not None else r.choice(5, p=shares)
        pool = self.dot if technique == DOT_PEEN else self.stroke if technique == ENGRAVED and r.random() < 0.7 else self.any_outline if general or r.random() < 0.12 else self.plate_outline
        face = int(r.choice(pool))
        chars = np.array([self.index[c] for c in text])
        chars = np.where(f.box[face, chars, 2] == 0, self.read_as[chars], chars)  # a face without the accent
        advance, box = f.advance[face, chars].copy(), f.box[face, chars].copy()
        cell_face = np.full(len(chars), face)
        space = chars == self.index[" "]
        # a value is often stamped or dot-peened beside its printed label, in another face and size
        is_label, label_size, lift = np.zeros(len(chars), bool), 1.0, 0.0
        if spans and r.random() < (0.75 if small or kind == "labels" else 0.5):
            other, heading = int(r.choice(self.plate_outline)), kind == "labels"
            label_size = r.uniform(0.34, 0.75) if heading else r.uniform(0.55, 1.05)
            lift = (r.choice([-0.5, -0.5, 0.0, 0.5]) if heading else -0.5) * (1 - label_size)  # on the baseline, in the middle, at the top
            for start, end in spans:
                is_label[start:end] = True
            cell_face[is_label] = other
            advance[is_label], box[is_label] = f.advance[other, chars[is_label]] * label_size, f.box[other, chars[is_label]]
        missing = (advance == 0) | ((box[:, 2] == 0) & ~space)
        if missing.any():
            if f.info[face]["kind"] != "outline" and missing.sum() > space.sum():
                return None  # a stroke face without the symbol: take another line
            cell_face[missing] = self.fallback
            advance[missing], box[missing] = f.advance[self.fallback, chars[missing]], f.box[self.fallback, chars[missing]]
        # spacing: plates set labels and values apart, stampings are often loose
        advance = np.maximum(advance, 0.1)
        advance += max(-0.08, r.normal(0.03, 0.06)) if r.random() < 0.8 else r.uniform(0, 0.45)
        advance[space] = r.uniform(0.25, 0.6) if r.random() < 0.7 else r.uniform(0.4, 2.0)
        ends = np.nonzero(is_label[:-1] & ~is_label[1:])[0]
        advance[is_label & space] *= label_size
        advance[ends] += r.uniform(0, 0.3)
        hand = technique in (STAMPED, ENGRAVED) and r.random() < 0.25  # hand punches: every letter a little off
        n = len(chars)
        jitter = np.stack([r.normal(0, 0.07, n), r.normal(0, 0.07, n), r.normal(0, 0.04, n)], 1) if hand else np.zeros((n, 3))
        jitter[is_label] = (lift, 0, label_size - 1)
        if hand:
            advance += np.abs(r.normal(0, 0.05, n))
        starts = np.concatenate([[0], np.cumsum(advance)])
        left, right = (box[0, 0] - ORIGIN_X) / CAP, starts[-2] + (box[-1, 2] - ORIGIN_X) / CAP
        ink = box[~space]
        top, bottom = max(0.72, (BASELINE_Y - ink[:, 1].min()) / CAP), min(0, (BASELINE_Y - ink[:, 3].max()) / CAP)
        h = top - bottom
        pad_t, pad_b = np.clip(r.normal(0.17, 0.1, 2), -0.04, 0.6) * h
        pad_l, pad_r = np.clip(r.normal(0.22, 0.13, 2), -0.02, 0.9) * h
        wild = 1.0
        if small:  # a box found on few pixels is loose
            pad_t, pad_b = np.clip(r.normal(0.28, 0.14, 2), -0.03, 0.8) * h
            pad_l, pad_r = np.clip(r.normal(0.3, 0.2, 2), -0.02, 1.2) * h
        elif general:  # scene text: looser, more tilted and foreshortened crops than a plate's
            wild = 1 + 2.5 * r.random() * (r.random() < 0.6)
            pad_t, pad_b = np.clip(r.normal(0.12 + 0.1 * wild, 0.12, 2), -0.05, 0.9) * h
            pad_l, pad_r = np.clip(r.normal(0.15 + 0.1 * wild, 0.2, 2), -0.05, 1.2) * h
        aspect = float(np.exp(r.normal(0, 0.25 if general else 0.13)))
        if small:  # condensed, but not beyond what is printed
            aspect = max(r.uniform(0.55, 1.05), min(1.0, 0.4 / self.face_width[cell_face[0]]))
        cap_px = self.height / (h + pad_t + pad_b)
        w = int(np.ceil(((right - left) * aspect + pad_l + pad_r) * cap_px))
        if w < 8 or right <= left:
            return None
        flip = self.flips and not is_label.any() and r.random() < 0.015 and sum(c not in "HINOSXZ0689.-|:/ oxszl1%=+" for c in text) >= 3
        return {"w": w, "chars": self.read_as[chars], "cells": cell_face * len(self.index) + chars, "labels": is_label & (technique >= STAMPED), "small": small,
                "fine": cap_px * (label_size if is_label.any() else 1.0), "starts": starts, "jitter": jitter, "cap": cap_px, "aspect": aspect,
                "x0": pad_l * cap_px - left * aspect * cap_px, "y0": (top + pad_t) * cap_px, "technique": technique, "general": general, "flip": flip,
                "pitch": f.info[face].get("pitch", 0.0), "stroke": f.info[face]["kind"] in ("skeleton", "hershey"), "h": h, "left": left, "length": right - left, "wild": wild}

    def batch(self, width, lines):
        b, n = len(lines), max(len(x["chars"]) for x in lines)
        lines.sort(key=lambda x: x["technique"])
        col = lambda k, t=np.float32: np.array([x[k] for x in lines], t)
        cells, starts, jitter, labels = np.zeros((b, n), np.int32), np.full((b, n + 1), 1e4, np.float32), np.zeros((b, n, 3), np.float32), np.zeros((b, n), bool)
        target = []
        for i, x in enumerate(lines):
            k = len(x["chars"])
            cells[i, :k], starts[i, :k + 1], jitter[i, :k] = x["cells"], x["starts"], x["jitter"]
            cells[i, k:], labels[i, :k] = x["cells"][-1], x["labels"]
            target.append(np.zeros(0, np.int64) if x["flip"] else x["chars"] + 1)
        return {"width": width, "w": col("w"), "cells": cells, "starts": starts, "jitter": jitter, "cap": col("cap"), "aspect": col("aspect"), "x0": col("x0"), "y0": col("y0"),
                "technique": col("technique", np.int64), "general": col("general"), "flip": col("flip"), "pitch": col("pitch"), "stroke": col("stroke"), "h": col("h"), "left": col("left"),
                "length": col("length"), "wild": col("wild"), "small": col("small"), "fine": col("fine"), "labels": labels,
                "n": np.array([len(x["chars"]) for x in lines], np.int64), "target": np.concatenate(target), "target_n": np.array([len(t) for t in target], np.int64)}


def loader(lines, workers):
    import torch
    to = lambda batch: {k: torch.from_numpy(v) if isinstance(v, np.ndarray) else v for k, v in batch.items()}
    return DataLoader(lines, batch_size=None, num_workers=workers, collate_fn=to, pin_memory=torch.cuda.is_available(), prefetch_factor=6 if workers else None)


def read_alphabet(path):
    with open(path, encoding="utf8") as f:
        return f.read().split("\n")[:-1]


__all__ = ["Lines", "loader", "read_alphabet", "load_words", "Faces", "dot_faces"]
