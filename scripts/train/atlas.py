"""Builds the glyph atlas that render.py draws text lines from: signed-distance cells of every face, stroke (centre
line) faces for engraving, and dot lists for dot-peen marking.

Run once on a machine that has the font packages of README.md:  python atlas.py ALPHABET OUT.npz

A cell is S x S pixels with a cap height of CAP pixels; the pen origin lies at (ORIGIN_X, BASELINE_Y). A stored byte b
means a distance of (b - 128) / 16 cell pixels, positive inside the ink. Stroke cells hold minus the distance to the
centre line: the drawing side adds the stroke's half width.
"""
import gzip
import io
import json
import sys
import unicodedata
from multiprocessing import Pool
from pathlib import Path

import numpy as np
from fontTools.ttLib import TTFont
from PIL import Image, ImageDraw, ImageFont, PcfFontFile
from scipy.ndimage import distance_transform_edt
from skimage.morphology import skeletonize

S, CAP, ORIGIN_X, BASELINE_Y = 56, 24, 8, 40
SCALE = 4  # cells are measured at four times their size
FONT_DIR, HERSHEY_DIR, X11_DIR = Path("/usr/share/fonts"), Path("/usr/share/hershey-fonts"), Path("/usr/share/fonts/X11/misc")
SKELETON = {"routed-gothic.ttf", "routed-gothic-narrow.ttf", "routed-gothic-wide.ttf", "osifont.ttf", "DejaVuSans-ExtraLight.ttf",
            "Dosis-Medium.otf", "Jura-Medium.otf", "BebasNeue-Book.otf", "Quicksand-Medium.ttf", "Karla-Regular.otf", "RG2014B.ttf",
            "OpenSans-CondLight.ttf", "OSP-DIN.ttf", "Lato-Light.ttf",
            "RobotoCondensed-Light.ttf"}
HERSHEY = {"futural": "plate", "rowmand": "plate", "futuram": "plate", "rowmans": "held"}
BITMAPS = {"5x7-ISO8859-1": "plate", "6x9-ISO8859-1": "plate", "6x10-ISO8859-1": "plate", "7x13-ISO8859-1": "plate", "5x8-ISO8859-1": "held"}
DOTS_PER_CAP = (6.5, 9, 12, 16)
# Drawn as printed and read as the letters that they are made of: no class of the alphabet is one of them.
ACCENTED = "ÀÁÂÃÄÅÇÈÉÊËÍÎÑÓÔÕÖÚÜàáâãäåçèéêëíîñóôõöúüº"


def plain(text):
    """The text in characters of the alphabet: accents dropped, the ordinal's ring as a degree sign."""
    return "".join("°" if c == "º" else unicodedata.normalize("NFD", c)[0] if c in ACCENTED else c for c in text)


def find_font(name):
    return next(iter(sorted(FONT_DIR.rglob(name))), None)


def encode(distance):
    """Distances at SCALE times cell size to bytes at cell size (block mean)."""
    d = distance.reshape(S, SCALE, S, SCALE).mean((1, 3)) / SCALE
    return np.clip(np.round(128 + 16 * d), 0, 255).astype(np.uint8)


def signed_distance(mask):
    return distance_transform_edt(mask) - distance_transform_edt(~mask)


def outline_masks(path, alphabet):
    """Yields (index, mask at SCALE, advance in caps) of every glyph the font has."""
    probe = ImageFont.truetype(str(path), 400, layout_engine=ImageFont.Layout.BASIC)
    box = probe.getbbox("H", anchor="ls")
    font = ImageFont.truetype(str(path), round(400 * CAP * SCALE / -box[1]), layout_engine=ImageFont.Layout.BASIC)
    cmap = TTFont(str(path), fontNumber=0, lazy=True).getBestCmap()
    for i, ch in enumerate(alphabet):
        if ord(ch) not in cmap:
            continue
        image = Image.new("L", (S * SCALE, S * SCALE))
        ImageDraw.Draw(image).text((ORIGIN_X * SCALE, BASELINE_Y * SCALE), ch, 255, font=font, anchor="ls")
        yield i, np.asarray(image) > 127, font.getlength(ch) / (CAP * SCALE)


def hershey_masks(path, alphabet):
    """The same for a single-stroke vector font (JHF): 21 units of cap height, baseline at y = 9."""
    text, pos, glyphs = path.read_text().replace("\n", "").replace("\r", ""), 0, []
    while pos + 8 <= len(text):
        pairs = int(text[pos + 5:pos + 8])
        glyphs.append(text[pos + 8:pos + 8 + 2 * pairs])
        pos += 8 + 2 * pairs
    unit = CAP * SCALE / 21
    for i, ch in enumerate(alphabet):
        if not 32 <= ord(ch) < 127 or ord(ch) - 32 >= len(glyphs):
            continue
        data = glyphs[ord(ch) - 32]
        left, right = ord(data[0]) - 82, ord(data[1]) - 82
        image = Image.new("L", (S * SCALE, S * SCALE))
        draw, last = ImageDraw.Draw(image), None
        for k in range(2, len(data), 2):
            if data[k:k + 2] == " R":
                last = None
                continue
            point = (ORIGIN_X * SCALE + (ord(data[k]) - 82 - left) * unit, BASELINE_Y * SCALE + (ord(data[k + 1]) - 82 - 9) * unit)
            if last:
                draw.line([last, point], fill=255)
            last = point
        yield i, np.asarray(image) > 127, (right - left) / 21


def centre_line_dots(mask, pitch):
    """Dots along the centre line, about `pitch` apart: a depth-first walk that keeps a pixel far enough from all kept ones."""
    left = {tuple(p) for p in np.argwhere(mask)}
    neighbours = lambda p: [(p[0] + a, p[1] + b) for a in (-1, 0, 1) for b in (-1, 0, 1) if (a or b)]
    dots = []
    while left:
        ends = [p for p in left if sum(q in left for q in neighbours(p)) <= 1]
        stack = [min(ends) if ends else min(left)]
        while stack:
            p = stack.pop()
            if p not in left:
                continue
            left.discard(p)
            if all((p[0] - y) ** 2 + (p[1] - x) ** 2 >= (0.93 * pitch) ** 2 for y, x in dots):
                dots.append(p)
            stack.extend(q for q in neighbours(p) if q in left)
    return np.array(dots, np.float32).reshape(-1, 2)[:, ::-1] / SCALE


def bitmap_dots(path, alphabet):
    """A dot-matrix face from an X11 bitmap font: (index, dots, advance)."""
    with gzip.open(path) as f:
        font = PcfFontFile.PcfFontFile(io.BytesIO(f.read()))
    pixels = {}
    for i, ch in enumerate(alphabet):
        if ord(ch) > 255 or not font.glyph[ord(ch)]:
            continue
        (advance, _), dst, _, image = font.glyph[ord(ch)]
        ys, xs = np.nonzero(np.asarray(image))
        pixels[i] = (xs + dst[0], ys + dst[1], advance)
    cap = -pixels[alphabet.index("H")][1].min() - 1  # rows between the first and last dot of an H
    for i, (xs, ys, advance) in pixels.items():
        yield i, np.stack([ORIGIN_X + xs * CAP / cap, BASELINE_Y + (ys + 1) * CAP / cap], 1).astype(np.float32), advance / cap


def build_face(job):
    kind, name, role, alphabet = job
    n = len(alphabet)
    face = {"kind": kind, "name": name, "role": role, "cells": np.zeros((n, S, S), np.uint8), "advance": np.zeros(n, np.float32),
            "box": np.zeros((n, 4), np.float32), "dots": []}
    if kind == "bitmap":
        for i, dots, advance in bitmap_dots(X11_DIR / f"{name}.pcf.gz", alphabet):
            face["advance"][i] = advance
            face["dots"].append((0, i, dots))
            if len(dots):
                face["box"][i] = (*dots.min(0), *dots.max(0))
        return face
    path = HERSHEY_DIR / f"{name}.jhf" if kind == "hershey" else find_font(name)
    if path is None:
        return None
    for i, mask, advance in (hershey_masks if kind == "hershey" else outline_masks)(path, alphabet):
        face["advance"][i] = advance
        if not mask.any():
            continue
        ys, xs = np.nonzero(mask)
        face["box"][i] = np.array([xs.min(), ys.min(), xs.max() + 1, ys.max() + 1]) / SCALE
        if kind == "outline":
            face["cells"][i] = encode(signed_distance(mask))
        else:
            line = skeletonize(mask) if kind == "skeleton" else mask
            face["cells"][i] = encode(-distance_transform_edt(~line))
            face["dots"] += [(k, i, centre_line_dots(skeletonize(line), CAP * SCALE / per)) for k, per in enumerate(DOTS_PER_CAP)]
    # The glyphs must fit their cells, or the face draws clipped letters.
    wide = [alphabet[i] for i in range(n) if face["box"][i, 2] > S - 1 and alphabet[i].isascii() and alphabet[i].isalnum()]
    return None if wide else face


def main(alphabet_path, out):
    alphabet = [*Path(alphabet_path).read_text(encoding="utf8").split("\n")[:-1], *ACCENTED]
    jobs = []
    for line in (Path(__file__).parent / "data/faces.tsv").read_text().splitlines():
        if line and not line.startswith("#"):
            role, name = line.split("\t")
            jobs.append(("outline", name, role, alphabet))
            if name in SKELETON:
                jobs.append(("skeleton", name, "held" if role == "held" else "plate", alphabet))
    jobs += [("hershey", n, r, alphabet) for n, r in HERSHEY.items()] + [("bitmap", n, r, alphabet) for n, r in BITMAPS.items()]
    with Pool() as pool:
        built = pool.map(build_face, jobs, chunksize=2)
    for job, face in zip(jobs, built):
        if face is None:
            print("left out:", job[1], file=sys.stderr)
    faces = [f for f in built if f]
    dots = [(f, k, i, d) for f, face in enumerate(faces) for k, i, d in face["dots"] if len(d)]
    np.savez(out, cells=np.stack([f["cells"] for f in faces]), advance=np.stack([f["advance"] for f in faces]).astype(np.float16),
                        box=np.stack([f["box"] for f in faces]).astype(np.float16),
                        dot_index=np.array([(f, k, i, len(d)) for f, k, i, d in dots], np.int32),
                        dot_xy=np.concatenate([d for *_, d in dots]).astype(np.float16),
                        faces=json.dumps([{k: f[k] for k in ("kind", "name", "role")} for f in faces]))
    print(len(faces), "faces", Path(out).stat().st_size >> 20, "MiB")


if __name__ == "__main__":
    main(*sys.argv[1:])
