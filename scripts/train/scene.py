"""Whole plates for the text detector: lines are placed on a plate in worker processes, drawn and shaded on the GPU by
render.py, and warped onto a cluttered ground. The truth is a map of line numbers and the shrunk areas that the
published detector's head marks (offset A (1 - 0.4^2) / L inwards).
"""
import cv2
import numpy as np
import torch
import torch.nn.functional as F
from torch.utils.data import IterableDataset

from atlas import BASELINE_Y, CAP, ORIGIN_X
from corpus import Corpus
from layout import DOT_PEEN, ENGRAVED, STAMPED, STICKER, Lines

SIDE, PLATE_H, PLATE_W, TILE_H, TILE_W, MAX_LINES = 640, 448, 640, 56, 448, 34


def shrunk(x0, y0, x1, y1):
    w, h = x1 - x0, y1 - y0
    d = w * h * (1 - 0.4 ** 2) / (2 * (w + h))
    return x0 + d, y0 + d, x1 - d, y1 - d


class Scenes(IterableDataset):
    def __init__(self, atlas, alphabet, words, seed, scenes=8, held=False):
        self.lines, self.words, self.seed, self.scenes = Lines(atlas, alphabet, words, seed, held=held), words, seed, scenes

    def __iter__(self):
        from torch.utils.data import get_worker_info
        worker = get_worker_info()
        seed = self.seed * 1000 + (worker.id if worker else 0)
        cv2.setNumThreads(1)
        self.r, self.corpus = np.random.default_rng(seed), Corpus(self.lines.alphabet, self.words, seed)
        while True:
            yield self.batch([self.scene() for _ in range(self.scenes)])

    def text(self, text, face):
        """Glyph cells, starts and ink box (caps) of a text in a face, or None where the face lacks a symbol."""
        f, n = self.lines.faces, len(self.lines.alphabet)
        chars = np.array([self.lines.index[c] for c in text])
        advance, box, space = f.advance[face, chars].copy(), f.box[face, chars], chars == n - 1
        if ((advance == 0) | (box[:, 2] == 0))[~space].any() or len(chars) > 40:
            return None
        advance += max(-0.06, self.r.normal(0.04, 0.06))
        advance[space] = self.r.uniform(0.25, 0.5)
        starts = np.concatenate([[0], np.cumsum(advance)])
        ink = box[~space]
        return {"cells": face * n + chars, "starts": starts, "left": (box[0, 0] - ORIGIN_X) / CAP, "right": starts[-2] + (box[-1, 2] - ORIGIN_X) / CAP,
                "top": max(0.7, (BASELINE_Y - ink[:, 1].min()) / CAP), "bottom": min(0.0, (BASELINE_Y - ink[:, 3].max()) / CAP)}

    def scene(self):
        r, L = self.r, self.lines
        technique = int(r.choice(5, p=(0.3, 0.12, 0.26, 0.12, 0.2)))
        mixed = technique >= STAMPED and r.random() < 0.6
        value_face = int(r.choice(L.dot if technique == DOT_PEEN else L.stroke if technique == ENGRAVED else L.plate_outline))
        label_face = int(r.choice(L.plate_outline)) if mixed or technique <= STICKER and r.random() < 0.6 else value_face
        pw, ph = int(r.uniform(0.55, 1) * PLATE_W), int(r.uniform(0.5, 1) * PLATE_H)
        rules, label_mask = np.zeros((PLATE_H, PLATE_W), np.uint8), np.zeros((PLATE_H, PLATE_W), np.uint8)
        cap, lines, y = r.uniform(8, 22), [], r.uniform(4, 20)
        columns = int(r.integers(1, 4))
        edges = np.linspace(r.uniform(3, 14), pw - r.uniform(3, 14), columns + 1)
        while y + cap * 2.2 < ph and len(lines) < MAX_LINES:
            size = cap * r.choice([1.0, 1.0, 1.0, 0.7, 1.4], p=(0.6, 0.1, 0.1, 0.12, 0.08))
            base = y + size * 1.35
            bounds = [(edges[0], edges[-1])] if r.random() < 0.15 else list(zip(edges[:-1], edges[1:]))
            for x, stop in bounds:
                x += r.uniform(2, 10)
                for part in range(2 if r.random() < 0.8 else 1):
                    is_label = part == 0
                    face = label_face if is_label else value_face
                    px = size * (r.uniform(0.6, 1.0) if is_label and mixed else r.uniform(0.9, 1.1))
                    words = r.choice(self.corpus.all_labels) if is_label and r.random() < 0.7 else self.corpus.line(0.15)[0]
                    t = self.text(words, face) if all(c in L.index for c in words) else None
                    if t is None or px < 6 or x + (t["right"] - t["left"]) * px + 4 > stop or (t["right"] - t["left"]) * px > TILE_W - 16 or len(lines) >= MAX_LINES:
                        break
                    if t["top"] * px > base - 1 or base - t["bottom"] * px > ph:
                        break
                    box = (x - 1, base - t["top"] * px - 1, x + (t["right"] - t["left"]) * px + 1, base - t["bottom"] * px + 1)
                    lines.append({**t, "cap": px, "x": x - t["left"] * px, "y": base, "box": box})
                    if is_label and mixed:
                        cv2.rectangle(label_mask, (int(box[0]) - 2, int(box[1]) - 2), (int(box[2]) + 2, int(box[3]) + 2), 1, -1)
                    x = box[2] + (r.uniform(0.25, 0.5) if r.random() < 0.5 else r.uniform(0.5, 3)) * size
                if r.random() < 0.1:
                    cv2.line(rules, (int(x), int(base + size * 0.3)), (int(stop), int(base + size * 0.3)), 255, 1)
            y = base + size * r.uniform(0.25, 1.1)
            if r.random() < 0.08:
                cv2.line(rules, (4, int(y)), (pw - 4, int(y)), 255, int(r.integers(1, 3)))
        if r.random() < 0.4:
            cv2.rectangle(rules, (2, 2), (pw - 3, ph - 3), 255, int(r.integers(1, 4)))
        if r.random() < 0.3:
            for e in edges[1:-1]:
                cv2.line(rules, (int(e), 4), (int(e), ph - 4), 255, 1)
        for x, y in ((8, 8), (pw - 8, 8), (8, ph - 8), (pw - 8, ph - 8)):
            if r.random() < 0.3:
                cv2.circle(rules, (x, y), int(r.integers(2, 6)), 255, -1)
        quad = self.quad(pw, ph)
        m = cv2.getPerspectiveTransform(np.float32([[0, 0], [pw, 0], [pw, ph], [0, ph]]), quad)
        ids, core = np.zeros((SIDE, SIDE), np.uint8), np.zeros((SIDE, SIDE), np.uint8)
        warp = lambda x0, y0, x1, y1: np.round(cv2.perspectiveTransform(np.float32([[[x0, y0], [x1, y0], [x1, y1], [x0, y1]]]), m) * 8).astype(np.int32)
        for i, line in enumerate(lines, 1):
            x0, y0, x1, y1 = line["box"]
            pad = 0.3 * line["cap"]
            cv2.fillPoly(ids, warp(x0 - pad, y0 - pad, x1 + pad, y1 + pad), i, shift=3)
        for i, line in enumerate(lines, 1):
            cv2.fillPoly(ids, warp(*line["box"]), i, shift=3)
            cv2.fillPoly(core, warp(*shrunk(*line["box"])), i, shift=3)
        return {"lines": lines, "technique": technique, "rules": rules, "label": label_mask, "ids": ids, "core": core, "inverse": np.linalg.inv(m).astype(np.float32), "size": (pw, ph), "cap": cap,
                "pitch": L.faces.info[value_face].get("pitch", 0.0), "stroke": L.faces.info[value_face]["kind"] in ("skeleton", "hershey"), "ground": self.ground()}

    def quad(self, pw, ph):
        r = self.r
        scale = min((SIDE - 10) / pw, (SIDE - 10) / ph) * r.uniform(0.6, 1.0)
        angle = np.deg2rad(r.normal(0, 6) if r.random() < 0.8 else r.uniform(-35, 35))
        corners = (np.float32([[0, 0], [pw, 0], [pw, ph], [0, ph]]) - (pw / 2, ph / 2)) * scale
        corners *= 1 + r.normal(0, 0.04, (4, 2))
        corners = corners @ np.float32([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        return np.float32(corners + SIDE / 2 + r.uniform(-40, 40, 2))

    def ground(self):
        """What surrounds a plate: castings, fins, cables, edges; no text."""
        r = self.r
        g = np.full((SIDE, SIDE, 3), r.uniform(20, 200) + r.uniform(-25, 25, 3), np.float32)
        if r.random() < 0.35:
            period, angle = r.uniform(6, 60), r.uniform(0, np.pi)
            yy, xx = np.mgrid[:SIDE, :SIDE]
            g *= (1 + r.uniform(0.1, 0.6) * np.sign(np.sin((xx * np.cos(angle) + yy * np.sin(angle)) * 2 * np.pi / period)))[..., None]
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
        return cv2.GaussianBlur(g, (0, 0), r.uniform(0.5, 5)).clip(0, 255).astype(np.uint8)

    def batch(self, scenes):
        rows = [(i, line) for i, s in enumerate(scenes) for line in s["lines"]]
        n = max(len(line["cells"]) for _, line in rows)
        cells, starts = np.zeros((len(rows), n), np.int32), np.full((len(rows), n + 1), 1e4, np.float32)
        for k, (_, line) in enumerate(rows):
            c = len(line["cells"])
            cells[k, :c], cells[k, c:], starts[k, :c + 1] = line["cells"], line["cells"][-1], line["starts"]
        stack = lambda key: np.stack([s[key] for s in scenes])
        return {"scene": np.array([i for i, _ in rows]), "cells": cells, "starts": starts, "n": np.array([len(x["cells"]) for _, x in rows]),
                "xy": np.array([(x["x"], x["y"], x["cap"]) for _, x in rows], np.float32), "technique": np.array([s["technique"] for s in scenes]),
                **{k: stack(k) for k in ("rules", "label", "ids", "core", "inverse", "ground")}, "size": np.array([s["size"] for s in scenes], np.float32),
                **{k: np.array([s[k] for s in scenes], np.float32) for k in ("cap", "pitch", "stroke")}}


class SceneRenderer:
    def __init__(self, renderer):
        self.draw, self.device = renderer, renderer.device

    @torch.no_grad()
    def __call__(self, batch, severity):
        """(photo, the same before wear of the camera) [B, 3, SIDE, SIDE] in 0..1, line numbers and shrunk areas [B, SIDE, SIDE]."""
        dev = self.device
        t = {k: v.to(dev, non_blocking=True) for k, v in batch.items()}
        b = len(t["technique"])
        sdf = self.canvas(t, batch, b)
        image = torch.empty(b, 3, PLATE_H, PLATE_W, device=dev)
        for technique in range(5):
            ids = (batch["technique"] == technique).nonzero()[:, 0]
            if len(ids):
                part = {"cap": t["cap"][ids], "pitch": t["pitch"][ids], "stroke": t["stroke"][ids], "general": torch.zeros(len(ids), device=dev), "label": t["label"][ids] > 0}
                image[ids] = self.draw.shade(technique, sdf[ids], part, severity)
        rules = t["rules"][:, None].float() / 255 * torch.rand(b, 1, 1, 1, device=dev)
        image = image * (1 - rules) + rules * torch.rand(b, 1, 1, 1, device=dev)
        centre = torch.arange(SIDE, device=dev) + 0.5
        yy, xx = torch.meshgrid(centre, centre, indexing="ij")
        p = torch.stack([xx, yy, torch.ones_like(xx)], -1).reshape(-1, 3) @ t["inverse"].transpose(1, 2)
        p = (p[..., :2] / p[..., 2:]).view(b, SIDE, SIDE, 2)
        inside = ((p > 0) & (p < t["size"].view(b, 1, 1, 2))).all(-1).float()[:, None]
        grid = p / torch.tensor([PLATE_W, PLATE_H], device=dev) * 2 - 1
        plate = F.grid_sample(image, grid, mode="bilinear", padding_mode="border", align_corners=False)
        clean = plate * inside + t["ground"].permute(0, 3, 1, 2).float() / 255 * (1 - inside)
        photo = self.draw.photograph(clean, {"w": torch.full((b,), float(SIDE), device=dev)}, severity)
        return photo, clean.clamp(0, 1), t["ids"].long(), t["core"].long()

    def canvas(self, t, batch, b):
        """All lines' distances in px on their plates."""
        dev, n = self.device, len(t["scene"])
        corner = torch.stack([t["xy"][:, 0] - 6, t["xy"][:, 1] - 38], 1).floor()
        px = torch.arange(TILE_W, device=dev).view(1, 1, -1) + 0.5 + corner[:, 0].view(n, 1, 1)
        py = torch.arange(TILE_H, device=dev).view(1, -1, 1) + 0.5 + corner[:, 1].view(n, 1, 1)
        x, y, cap = (t["xy"][:, k].view(n, 1, 1) for k in range(3))
        u, v = ((px - x) / cap).expand(n, TILE_H, TILE_W).contiguous(), ((y - py) / cap).expand(n, TILE_H, TILE_W).contiguous()
        tiles = self.draw.line(t["cells"].long(), t["starts"], torch.zeros(n, t["cells"].shape[1], 3, device=dev), t["n"], u, v) * cap
        sdf = torch.full((b, PLATE_H + 2 * TILE_H, PLATE_W + 2 * TILE_W), -20.0, device=dev)
        for k, (scene, (cx, cy)) in enumerate(zip(batch["scene"].tolist(), torch.stack([batch["xy"][:, 0] - 6, batch["xy"][:, 1] - 38], 1).floor().int().tolist())):
            where = sdf[scene, cy + TILE_H:cy + 2 * TILE_H, cx + TILE_W:cx + 2 * TILE_W]
            torch.maximum(where, tiles[k], out=where)
        return sdf[:, TILE_H:-TILE_H, TILE_W:-TILE_W].contiguous()
