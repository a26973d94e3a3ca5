"""Whole plates and signs for the text detector: worker processes set lines on a plate, the GPU draws and shades them
(render.py), lays them over a cluttered ground and photographs them, as the program's looks at a photo see them: letters
from a few pixels to a third of the picture high, in any of the four orientations and between.

The truth is a map of line numbers and the shrunk areas that the published detector's head marks (offset
A (1 - 0.4^2) / L inwards). Number TEACHER marks where only the published detector's answer counts: between the pieces
of a row, where it decides what is one line.
"""
import cv2
import numpy as np
import torch
import torch.nn.functional as F
from torch.utils.data import IterableDataset, get_worker_info

from atlas import BASELINE_Y, CAP, ORIGIN_X
from corpus import Corpus
from layout import DOT_PEEN, ENGRAVED, STAMPED, STICKER, Lines
from render import blur, chance, jpeg, rand

SIDE, CANVAS, MAX_LINES, TEACHER = 640, 640, 110, 255
TILES = ((30, 56, 448), (62, 112, 640), (126, 224, 720))  # up to this cap height: a tile's height and width, px
LEAD, ABOVE = 6, 0.68  # a tile begins so many px before its line and has this share of its height above the baseline
TINY = 5  # below this cap height lines are no lines any more: the published detector's answer is kept


def shrunk(x0, y0, x1, y1):
    w, h = x1 - x0, y1 - y0
    d = w * h * (1 - 0.4 ** 2) / (2 * (w + h))
    return x0 + d, y0 + d, x1 - d, y1 - d


class Plate:
    """The lines, rules and areas of one plate, px on its canvas."""

    def __init__(self, w, h, cap):
        self.w, self.h, self.cap, self.lines, self.bridges = w, h, cap, [], []
        blank = lambda: np.zeros((CANVAS, CANVAS), np.uint8)
        self.rules, self.label, self.band, self.shape = blank(), blank(), blank(), blank()

    def put(self, text, px, x, base, stop, is_label=False, after=None):
        """Sets a text with its left end at x; gives its box, or None where it has no room. `after`: the piece of its row before it."""
        if text is None or not 3 <= px < TILES[-1][0] or len(self.lines) >= MAX_LINES:
            return None
        wide = (text["right"] - text["left"]) * px
        room = next(w for cap, _, w in TILES if px < cap)
        if x + wide + 3 > stop or wide > room - 16 or base - text["top"] * px < 2 or base - text["bottom"] * px > self.h - 1:
            return None
        box = (x - 1, base - text["top"] * px - 1, x + wide + 1, base - text["bottom"] * px + 1)
        self.lines.append({**text, "cap": px, "x": x - text["left"] * px, "y": base, "box": box})
        if is_label:
            cv2.rectangle(self.label, (int(box[0]) - 2, int(box[1]) - 2), (int(box[2]) + 2, int(box[3]) + 2), 1, -1)
        if after is not None:
            self.bridges.append((after[2], min(box[1], after[1]), box[0], max(box[3], after[3])))
        return box

    def rule(self, x0, y0, x1, y1, width=1):
        cv2.line(self.rules, (int(x0), int(y0)), (int(x1), int(y1)), 255, width)


class Scenes(IterableDataset):
    def __init__(self, atlas, alphabet, words, seed, scenes=8, held=False):
        self.lines, self.words, self.seed, self.scenes = Lines(atlas, alphabet, words, seed, held=held), words, seed, scenes

    def __iter__(self):
        worker = get_worker_info()
        seed = self.seed * 1000 + (worker.id if worker else 0)
        cv2.setNumThreads(1)
        self.r, self.corpus = np.random.default_rng(seed), Corpus(self.lines.alphabet, self.words, seed)
        while True:
            yield self.batch([self.scene() for _ in range(self.scenes)])

    def scene(self):
        r, L = self.r, self.lines
        kind = r.choice(5, p=(0.3, 0.2, 0.2, 0.15, 0.15))
        sign = kind == 4
        technique = int(r.choice(5, p=(0.85, 0.1, 0.03, 0.01, 0.01) if sign else (0.26, 0.1, 0.28, 0.12, 0.24)))
        mixed = technique >= STAMPED and r.random() < 0.6
        value = int(r.choice(L.dot if technique == DOT_PEEN else L.stroke if technique == ENGRAVED else L.any_outline if sign else L.plate_outline))
        label = int(r.choice(L.plate_outline)) if mixed or technique <= STICKER and r.random() < 0.6 else value
        self.faces, self.mixed = (label, value), mixed
        seen = np.exp(r.uniform(np.log(14), np.log(110))) if sign else np.exp(r.uniform(np.log(2.5), np.log(TINY))) if r.random() < 0.05 else \
            np.exp(r.uniform(*np.log((5.5, 36) if r.random() < 0.7 else (12, 90))))
        scale = r.uniform(0.75, 1.15) if seen > 12 else r.uniform(0.45, 1.0) * min(1, max(0.6, seen / 9))
        cap = min(seen / scale, 100)
        plate = Plate(int(min(CANVAS, r.uniform(0.45, 1.25) * CANVAS)), int(min(CANVAS, r.uniform(0.35, 1.1) * CANVAS)), cap)
        for _ in range(3):
            (self.rows, self.grid, self.prose, self.sparse, self.sign)[kind](plate)
            if plate.lines:
                break
        self.furnish(plate)
        quad = self.quad(plate.w, plate.h, scale)
        return {"plate": plate, "technique": technique, **self.truth(plate, quad), "cap": cap, "seen": cap * scale, "scale": scale,
                "hold": seen < TINY or sign and r.random() < 0.4, "pitch": L.faces.info[value].get("pitch", 0.0),
                "stroke": L.faces.info[value]["kind"] in ("skeleton", "hershey"), "general": sign, "ground": self.ground()}

    def text(self, text, is_label=False):
        """Glyph cells, starts and ink box (caps) of a text, or None where the face lacks a symbol."""
        f, n, face = self.lines.faces, len(self.lines.index), self.faces[0 if is_label else 1]
        text = " ".join(text.split())
        if not text or len(text) > 40 or any(c not in self.lines.index for c in text):
            return None
        chars = np.array([self.lines.index[c] for c in text])
        advance, box, space = f.advance[face, chars].copy(), f.box[face, chars], chars == self.lines.index[" "]
        if ((advance == 0) | (box[:, 2] == 0))[~space].any():
            return None
        advance += max(-0.06, self.r.normal(0.04, 0.06)) if self.r.random() < 0.85 else self.r.uniform(0, 0.35)
        advance[space] = self.r.uniform(0.25, 0.5) if self.r.random() < 0.75 else self.r.uniform(0.4, 1.2)
        starts = np.concatenate([[0], np.cumsum(advance)])
        ink = box[~space]
        return {"cells": face * n + chars, "starts": starts, "left": (box[0, 0] - ORIGIN_X) / CAP, "right": starts[-2] + (box[-1, 2] - ORIGIN_X) / CAP,
                "top": max(0.7, (BASELINE_Y - ink[:, 1].min()) / CAP), "bottom": min(0.0, (BASELINE_Y - ink[:, 3].max()) / CAP)}

    def fitting(self, make, caps, is_label=False):
        """The first of a few texts that is no longer than `caps`, or None."""
        for _ in range(5):
            text = self.text(make(), is_label)
            if text and text["right"] - text["left"] <= caps:
                return text
        return None

    def some_label(self, caps):
        return self.fitting(lambda: self.r.choice(self.corpus.all_labels), caps, True)

    def some_value(self, caps):
        return self.fitting(lambda: self.corpus.makers[self.r.choice(list(self.corpus.makers))]().replace("_", " "), caps)

    def rows(self, p):
        """Columns of labels with their values at their right, some lines across."""
        r, y = self.r, self.r.uniform(2, 1 + 0.06 * p.h)
        edges = np.linspace(r.uniform(3, 14), p.w - r.uniform(3, 14), int(r.integers(1, max(2, min(4, p.w / (6 * p.cap))))) + 1)
        tight = r.uniform(0.2, 0.6) if r.random() < 0.7 else r.uniform(0.6, 2.5)
        while y + p.cap * 1.6 < p.h and len(p.lines) < MAX_LINES:
            size = p.cap * r.choice([1.0, 0.7, 1.4], p=(0.8, 0.12, 0.08))
            base = y + size * 1.25
            for x, stop in [(edges[0], edges[-1])] if r.random() < 0.15 else zip(edges[:-1], edges[1:]):
                x, last = x + r.uniform(2, 10), None
                for part in range(2 if r.random() < 0.85 else 1):
                    small = size * (r.uniform(0.55, 1.0) if part == 0 and self.mixed else r.uniform(0.92, 1.08))
                    caps = (stop - x - 4) / small
                    text = self.some_label(caps) if part == 0 and r.random() < 0.75 else self.some_value(caps) if part or r.random() < 0.5 else self.text(self.corpus.line(0.2)[0])
                    box = p.put(text, small, x, base, stop, part == 0 and self.mixed, last)
                    if box is None:
                        break
                    last, gap = box, r.uniform(0.25, 0.6) if r.random() < 0.4 else r.uniform(0.6, 3)
                    x = box[2] + gap * size
                if r.random() < 0.12:
                    p.rule(x, base + size * 0.3, stop, base + size * 0.3)
            y = base + size * tight
            if r.random() < 0.1:
                p.rule(4, y, p.w - 4, y, int(r.integers(1, 3)))

    def grid(self, p):
        """Boxes with a small label above its value."""
        r, y = self.r, 1.0
        small, pad = r.uniform(0.4, 0.75), r.uniform(0.1, 0.5)
        ruled, thick = r.random() < 0.8, int(r.integers(1, 3))
        if r.random() < 0.5:
            y += p.cap * 0.4 + self.headline(p, y)
        height = p.cap * (1.35 + small * 1.4 + 2 * pad)
        while y + height < p.h:
            edges = np.linspace(2, p.w - 3, int(r.integers(1, max(2, min(7, p.w / (3.2 * p.cap) + 1)))) + 1)
            if len(edges) > 2:
                edges[1:-1] += r.uniform(-0.2, 0.2, len(edges) - 2) * (edges[1] - edges[0])
            for left, right in zip(edges[:-1], edges[1:]):
                put = lambda text, px, base, is_label, x: p.put(text, px, min(x, right - 4 - (text["right"] - text["left"]) * px) if text else x, base, right, is_label) if x < right else None
                put(self.some_label((right - left - 8) / (p.cap * small)), p.cap * small, y + p.cap * (pad + small * 1.1), self.mixed, left + r.uniform(3, 8))
                text = self.some_value((right - left - 8) / p.cap)
                spare = right - left - ((text["right"] - text["left"]) * p.cap if text else 0)
                if spare > 6:
                    put(text, p.cap, y + height - p.cap * pad - 1, False, left + 3 + (spare - 6) * r.choice([0.02, 0.5]))
                if ruled:
                    p.rule(right, y, right, y + height, thick)
            if ruled:
                p.rule(2, y, p.w - 3, y, thick), p.rule(2, y + height, p.w - 3, y + height, thick)
            y += height

    def headline(self, p, y):
        """A name across the plate's head; gives its height."""
        size = min(p.cap * self.r.uniform(0.9, 1.9), 110)
        text = self.text(self.corpus.name(), True)
        if text and y + size * 1.4 < p.h:
            spare = p.w - 8 - (text["right"] - text["left"]) * size
            p.put(text, size, 4 + max(0, spare) * self.r.choice([0.02, 0.5]), y + size * 1.2, p.w - 4, self.mixed)
        return size * 1.45

    def prose(self, p):
        """Whole lines of fields, stamped one under the other."""
        r, y = self.r, self.r.uniform(1, 8)
        if r.random() < 0.5:
            y += self.headline(p, y)
        tight, x = r.uniform(0.3, 1.0), r.uniform(4, 20)
        while y + p.cap * 1.3 < p.h and len(p.lines) < MAX_LINES:
            words = self.corpus.plate()
            while r.random() < 0.7 and len(words) < 26:
                words += " " + self.corpus.plate()
            for _ in range(5):
                if p.put(self.text(words), p.cap * r.uniform(0.97, 1.03), x, y + p.cap * 1.15, p.w):
                    break
                words = words[:max(1, len(words) * 2 // 3)].strip()
            y += p.cap * (1.15 + tight)

    def sparse(self, p):
        """A few pieces here and there."""
        r = self.r
        for _ in range(int(r.integers(1, 7))):
            is_label = r.random() < 0.4
            px, x = p.cap * r.uniform(0.7, 1.3), r.uniform(3, max(4, 0.7 * p.w))
            caps = (p.w - x - 4) / px
            text = self.some_label(caps) if is_label else self.some_value(caps) if r.random() < 0.7 else self.text(self.corpus.line(0.4)[0])
            base = r.uniform(p.cap * 1.3, max(p.cap * 1.4, p.h - 4))
            near = lambda b: b[0] - 1.2 * px < x + (text["right"] - text["left"]) * px and x < b[2] + 1.2 * px and b[1] - 0.4 * px < base and base - px * 1.2 < b[3] + 0.4 * px
            if text and not any(near(q["box"]) for q in p.lines):
                p.put(text, px, x, base, p.w, is_label and self.mixed)

    def sign(self, p):
        """Words as on signs and packages: large, in the middle or at the left, every line in its own size."""
        r, y, middle = self.r, self.r.uniform(1, 20), self.r.random() < 0.6
        while y + p.cap * 0.8 < p.h and len(p.lines) < 14:
            size = min(p.cap * np.exp(r.normal(0, 0.4)), 120)
            words = " ".join(w.upper() if r.random() < 0.6 else w for w in self.corpus.general().split()[:int(r.integers(1, 4))])
            text = self.text(words)
            if text:
                size = min(size, (p.w - 10) / (text["right"] - text["left"]))
                spare = p.w - 6 - (text["right"] - text["left"]) * size
                p.put(text, size, 3 + max(0, spare) * (0.45 if middle else 0.05), y + size * 1.25, p.w)
            y += size * r.uniform(1.5, 2.4)

    def furnish(self, p):
        """Outline, frames, rivets, bars and emblems: what is on a plate beside text."""
        r, free = self.r, lambda x0, y0, x1, y1: not any(q["box"][0] < x1 and x0 < q["box"][2] and q["box"][1] < y1 and y0 < q["box"][3] for q in p.lines)
        shape, corner = r.choice(3, p=(0.5, 0.45, 0.05)), int(r.uniform(0.01, 0.12) * min(p.w, p.h))
        if shape == 2:
            cv2.ellipse(p.shape, (p.w // 2, p.h // 2), (int(p.w * 0.71), int(p.h * 0.71)), 0, 0, 360, 255, -1)
            p.shape[p.h:], p.shape[:, p.w:] = 0, 0
        else:
            c = corner if shape else 0
            cv2.rectangle(p.shape, (c, 0), (p.w - c, p.h - 1), 255, -1), cv2.rectangle(p.shape, (0, c), (p.w - 1, p.h - c), 255, -1)
            for x, y in ((c, c), (p.w - c - 1, c), (c, p.h - c - 1), (p.w - c - 1, p.h - c - 1)):
                cv2.circle(p.shape, (x, y), c, 255, -1)
        if r.random() < 0.35:
            cv2.rectangle(p.rules, (2, 2), (p.w - 3, p.h - 3), 255, int(r.integers(1, 4)))
        if r.random() < 0.2:  # a band in the other colours
            at, size = r.uniform(0, 0.8) * p.h, r.uniform(1.3, 4) * p.cap
            if not any(q["box"][1] < y < q["box"][3] for q in p.lines for y in (at, at + size)):
                cv2.rectangle(p.band, (0, int(at)), (p.w, int(at + size)), 255, -1)
        rivet, inset = int(r.integers(2, 9)), r.uniform(6, 18)
        for x, y in ((inset, inset), (p.w - inset, inset), (inset, p.h - inset), (p.w - inset, p.h - inset)):
            if r.random() < 0.4 and free(x - rivet, y - rivet, x + rivet, y + rivet):
                cv2.circle(p.rules, (int(x), int(y)), rivet, 255, -1 if r.random() < 0.7 else 1)
        for _ in range(int(r.integers(0, 4))):
            w, h = r.uniform(15, 120, 2)
            x, y = r.uniform(0, max(1, p.w - w)), r.uniform(0, max(1, p.h - h))
            if not free(x - 3, y - 3, x + w + 3, y + h + 3):
                continue
            x, y, w, h = int(x), int(y), int(w), int(h)
            what = r.integers(5)
            if what == 0:  # bars
                p.rules[y:y + h, x:x + w] = np.repeat(r.integers(0, 2, w // 2 + 1), 2)[:p.rules[y:y + h, x:x + w].shape[1]] * 255
            elif what == 1:  # a matrix code
                n, d = int(r.integers(10, 26)), int(r.integers(2, 5))
                code = np.kron(r.integers(0, 2, (n, n)), np.ones((d, d)))[:h, :w] * 255
                p.rules[y:y + code.shape[0], x:x + code.shape[1]] = code[:CANVAS - y, :CANVAS - x]
            elif what == 2:
                cv2.ellipse(p.rules, (x + w // 2, y + h // 2), (w // 2, h // 2), 0, 0, 360, 255, int(r.integers(1, 4)))
            elif what == 3:
                cv2.polylines(p.rules, [r.uniform((x, y), (x + w, y + h), (int(r.integers(3, 8)), 2)).astype(np.int32)], bool(r.integers(2)), 255, int(r.integers(1, 5)))
            else:
                cv2.rectangle(p.rules, (x, y), (x + w, y + h), 255, int(r.choice([-1, 1, 2])))

    def quad(self, w, h, scale):
        r = self.r
        angle = np.deg2rad(r.choice([0, 90, 180, 270], p=(0.4, 0.2, 0.2, 0.2)) + (r.normal(0, 5) if r.random() < 0.75 else r.uniform(-45, 45)))
        corners = (np.float32([[0, 0], [w, 0], [w, h], [0, h]]) - (w / 2, h / 2)) * scale
        corners *= 1 + r.normal(0, 0.035, (4, 2))
        corners = corners @ np.float32([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        room = np.abs(SIDE - np.ptp(corners, 0)) / 2 + 25
        return np.float32(corners + SIDE / 2 + r.uniform(-1, 1, 2) * room)

    def truth(self, p, quad):
        m = cv2.getPerspectiveTransform(np.float32([[0, 0], [p.w, 0], [p.w, p.h], [0, p.h]]), quad)
        ids, core = np.zeros((SIDE, SIDE), np.uint8), np.zeros((SIDE, SIDE), np.uint8)
        warp = lambda x0, y0, x1, y1: np.round(cv2.perspectiveTransform(np.float32([[[x0, y0], [x1, y0], [x1, y1], [x0, y1]]]), m) * 8).astype(np.int32)
        for x0, y0, x1, y1 in p.bridges:
            cv2.fillPoly(ids, warp(x0, y0, x1, y1), TEACHER, shift=3)
        for i, line in enumerate(p.lines, 1):
            x0, y0, x1, y1 = line["box"]
            pad = 0.3 * line["cap"]
            cv2.fillPoly(ids, warp(x0 - pad, y0 - pad, x1 + pad, y1 + pad), i, shift=3)
        for i, line in enumerate(p.lines, 1):
            cv2.fillPoly(ids, warp(*line["box"]), i, shift=3)
            cv2.fillPoly(core, warp(*shrunk(*line["box"])), i, shift=3)
        return {"ids": ids, "core": core, "inverse": np.linalg.inv(m).astype(np.float32)}

    def ground(self):
        """What surrounds a plate: castings, fins, cables, edges, holes; no text."""
        r = self.r
        g = np.full((SIDE, SIDE, 3), r.uniform(10, 200) + r.uniform(-25, 25, 3), np.float32)
        if r.random() < 0.3:
            period, angle = r.uniform(6, 80), r.uniform(0, np.pi)
            at = np.arange(SIDE, dtype=np.float32)
            wave = np.sin((at[None] * np.cos(angle) + at[:, None] * np.sin(angle)) * 2 * np.pi / period)
            g *= (1 + r.uniform(0.1, 0.6) * (np.sign(wave) if r.random() < 0.5 else wave))[..., None]
        if r.random() < 0.12:
            step, size, colour = int(r.uniform(10, 60)), r.uniform(0.15, 0.4), (r.uniform(0, 220) + r.uniform(-30, 30, 3)).tolist()
            for y in range(0, SIDE, step):
                for x in range(step // 2 * (y // step % 2), SIDE, step):
                    cv2.circle(g, (x, y), int(step * size), colour, -1)
        for _ in range(int(r.integers(0, 14))):
            p, q, colour = r.integers(0, SIDE, 2).tolist(), r.integers(0, SIDE, 2).tolist(), (r.uniform(0, 220) + r.uniform(-30, 30, 3)).tolist()
            kind = r.integers(4)
            if kind == 0:
                cv2.rectangle(g, p, q, colour, int(r.choice([-1, 2, 6])))
            elif kind == 1:
                cv2.circle(g, p, int(r.uniform(4, 90)), colour, int(r.choice([-1, 2, 5])))
            elif kind == 2:
                cv2.line(g, p, q, colour, int(r.integers(1, 24)))
            else:
                cv2.ellipse(g, p, r.integers(5, 200, 2).tolist(), float(r.uniform(0, 180)), 0, 360, colour, int(r.choice([-1, 3])))
        g += cv2.resize(r.normal(0, 14, (int(r.integers(8, 160)),) * 2).astype(np.float32), (SIDE, SIDE))[..., None]
        return cv2.GaussianBlur(g, (0, 0), r.uniform(0.5, 4)).clip(0, 255).astype(np.uint8)

    def batch(self, scenes):
        rows = [(i, line) for i, s in enumerate(scenes) for line in s["plate"].lines]
        n = max((len(line["cells"]) for _, line in rows), default=1)
        cells, starts = np.zeros((len(rows), n), np.int32), np.full((len(rows), n + 1), 1e4, np.float32)
        for k, (_, line) in enumerate(rows):
            c = len(line["cells"])
            cells[k, :c], cells[k, c:], starts[k, :c + 1] = line["cells"], line["cells"][-1], line["starts"]
        stack = lambda key: np.stack([s[key] for s in scenes])
        drawn = lambda key: np.stack([getattr(s["plate"], key) for s in scenes])
        return {"scene": np.array([i for i, _ in rows], np.int64), "cells": cells, "starts": starts, "n": np.array([len(x["cells"]) for _, x in rows], np.int64),
                "xy": np.array([(x["x"], x["y"], x["cap"]) for _, x in rows], np.float32).reshape(-1, 3), "technique": np.array([s["technique"] for s in scenes]),
                **{k: stack(k) for k in ("ids", "core", "inverse", "ground")}, **{k: drawn(k) for k in ("rules", "label", "band", "shape")},
                **{k: np.array([s[k] for s in scenes], np.float32) for k in ("cap", "seen", "scale", "pitch", "stroke", "general", "hold")}}


class SceneRenderer:
    def __init__(self, renderer):
        self.draw, self.device = renderer, renderer.device

    @torch.no_grad()
    def __call__(self, batch, severity):
        """(photo, the same before what covers the plate, light and camera) [B, 3, SIDE, SIDE] in 0..1, line numbers, shrunk areas [B, SIDE, SIDE], and [B] where only the published answer counts."""
        dev = self.device
        t = {k: v.to(dev, non_blocking=True) for k, v in batch.items()}
        b = len(t["technique"])
        sdf = self.canvas(t, batch, b)
        image = torch.empty(b, 3, CANVAS, CANVAS, device=dev)
        for technique in range(5):
            ids = (batch["technique"] == technique).nonzero()[:, 0]
            if len(ids):
                part = {**{k: t[k][ids] for k in ("cap", "pitch", "stroke", "general")}, "label": t["label"][ids] > 0, "small": torch.zeros(len(ids), device=dev)}
                self.draw.grain = float(np.exp(np.random.uniform(-0.3, 1.6)))
                image[ids] = self.draw.shade(technique, sdf[ids], part, severity)
        self.draw.grain = 1.0
        band = t["band"][:, None].float() / 255
        image = image * (1 - band) + (1 - image.clamp(0, 1)) * torch.rand(b, 3, 1, 1, device=dev) * band
        rules = t["rules"][:, None].float() / 255 * torch.rand(b, 1, 1, 1, device=dev)
        image = image * (1 - rules) + rules * torch.rand(b, 1, 1, 1, device=dev)
        far = 0.5 * (1 / t["scale"] - 1).clamp(min=0).view(b, 1, 1)
        covered = blur(self.draw.cover(image, t["cap"], severity), far, far)
        image = blur(image, far, far)
        centre = torch.arange(SIDE, device=dev) + 0.5
        yy, xx = torch.meshgrid(centre, centre, indexing="ij")
        p = torch.stack([xx, yy, torch.ones_like(xx)], -1).reshape(-1, 3) @ t["inverse"].transpose(1, 2)
        grid = (p[..., :2] / p[..., 2:]).view(b, SIDE, SIDE, 2) / CANVAS * 2 - 1
        image, covered = (F.grid_sample(x, grid, mode="bilinear", padding_mode="border", align_corners=False) for x in (image, covered))
        inside = F.grid_sample(t["shape"][:, None].float() / 255, grid, mode="bilinear", padding_mode="zeros", align_corners=False)
        channels = torch.randperm(3, device=dev) if np.random.random() < 0.3 else torch.arange(3, device=dev)
        clean, worn = ((x * inside + t["ground"].permute(0, 3, 1, 2).float() / 255 * (1 - inside))[:, channels].clamp(0, 1) for x in (image, covered))
        photo = self.camera(self.draw.light(worn, {"w": torch.full((b,), float(SIDE), device=dev)}, severity), t["seen"], severity)
        return photo, clean, t["ids"].long(), t["core"].long(), t["hold"] > 0

    def canvas(self, t, batch, b):
        """All lines' distances on their plates, in px of a line of the plate's cap height, so that small lines have thin strokes."""
        dev = self.device
        sdf = torch.full((b, CANVAS, CANVAS), -60.0, device=dev)
        low = 0
        for high, tall, wide in TILES:
            these = ((batch["xy"][:, 2] >= low) & (batch["xy"][:, 2] < high)).nonzero()[:, 0]
            low, n = high, len(these)
            if not n:
                continue
            lead = torch.tensor([LEAD, tall * ABOVE])
            corners = (batch["xy"][these, :2] - lead).floor()
            corner, rows = corners.to(dev), these.to(dev)
            px = torch.arange(wide, device=dev).view(1, 1, -1) + 0.5 + corner[:, 0].view(n, 1, 1)
            py = torch.arange(tall, device=dev).view(1, -1, 1) + 0.5 + corner[:, 1].view(n, 1, 1)
            x, y, cap = (t["xy"][rows, k].view(n, 1, 1) for k in range(3))
            u, v = ((px - x) / cap).expand(n, tall, wide).contiguous(), ((y - py) / cap).expand(n, tall, wide).contiguous()
            cells = t["cells"][rows].long()
            tiles = self.draw.line(cells, t["starts"][rows], torch.zeros(n, cells.shape[1], 3, device=dev), t["n"][rows], u, v)[0] * t["cap"][t["scene"][rows]].view(n, 1, 1)
            for tile, scene, (cx, cy) in zip(tiles, batch["scene"][these].tolist(), corners.int().tolist()):
                x0, y0, x1, y1 = max(cx, 0), max(cy, 0), min(cx + wide, CANVAS), min(cy + tall, CANVAS)
                if x0 < x1 and y0 < y1:
                    where = sdf[scene, y0:y1, x0:x1]
                    torch.maximum(where, tile[y0 - cy:y1 - cy, x0 - cx:x1 - cx], out=where)
        return sdf

    def camera(self, image, seen, severity):
        """A veil of stray light, blur, noise, coarser pixels and compression, as far as letters `seen` px high bear them."""
        b, dev = len(image), self.device
        veil = (rand(image).square() * (0.2 + severity) * chance(image, 0.5))[:, None]
        image = image * (1 - veil) + rand(image)[:, None] * veil
        seen = seen.view(b, 1, 1)
        sigma = rand(image, 0.1, 0.6) + rand(image).square() * severity * (seen / 14).clamp(0.4, 3)
        image = blur(image, sigma, sigma * rand(image, 0.6, 1.6))
        out = torch.empty_like(image)
        for ids in seen.flatten().argsort().chunk(4):
            x = image[ids]
            factor = np.random.uniform(1, max(1.0, min(2.5, float(seen[ids].min()) / 6))) if np.random.random() < 0.6 else 1.0
            small = F.interpolate(x, scale_factor=1 / factor, mode="bilinear", align_corners=False, antialias=True) if factor > 1.05 else x
            small = small + torch.randn_like(small) * (rand(small, 0, 0.3).square() * (0.15 + severity))[:, None] * (0.4 + small.clamp(0, 1).sqrt())
            small = small.clamp(0, 1)
            if np.random.random() < 0.2:
                small = small.mean(1, keepdim=True).expand_as(small)
            if np.random.random() < 0.5:
                small = jpeg(small, np.random.uniform(30, 92))
            if np.random.random() < 0.2:  # sharpening phone
                one = torch.ones(len(ids), 1, 1, device=dev)
                small = small + (small - blur(small, one, one)) * np.random.uniform(0.3, 1.2)
            out[ids] = F.interpolate(small, (SIDE, SIDE), mode="bilinear", align_corners=False)
        negative = chance(out, 0.04)[:, None]
        return ((1 - negative) * out + negative * (1 - out)).clamp(0, 1)
