"""Measures recognisers (ONNX, through onnxruntime, as they ship).

  python evaluate.py words FOLDER MODEL...         word accuracy on real crops (labels.tsv: file, label, set), letters and digits only
  python evaluate.py draw DATA SET.npz [COUNT]     draws lines in held-out faces, COUNT of a kind, for the next command
  python evaluate.py lines DATA SET.npz MODEL...   character error rate and whole lines right, by kind, on such lines
  python evaluate.py plates FOLDER MODEL...        the same on the lines of plate photos (truth.jsonl of the fixtures), cut out by their true quads
  python evaluate.py mix BASE TUNED SHARE [TUNED SHARE ...] OUT    weights BASE + SHARE (TUNED - BASE) + ...
  python evaluate.py sharpen MODEL FACTOR OUT      the last layer's weights and bias times FACTOR: surer, without another reading

A model whose input has one channel is read in the second reader's form, any other in the published one's.
"""
import csv
import math
import sys
from pathlib import Path

import numpy as np
import onnxruntime

from train import edits


class Model:
    def __init__(self, path, alphabet):
        options = onnxruntime.SessionOptions()
        options.log_severity_level, options.intra_op_num_threads = 3, 2
        self.session, self.alphabet = onnxruntime.InferenceSession(str(path), options, providers=["CPUExecutionProvider"]), alphabet
        self.input = self.session.get_inputs()[0]
        self.second = self.input.shape[1] == 1
        self.height = self.input.shape[2]

    def read(self, crop):
        """Text of a BGR byte crop, resized to the model's height; the published form is padded to 320 px as RapidOCR does."""
        import cv2
        h, w = crop.shape[:2]
        wide = max(8, math.ceil(self.height * w / h))
        image = cv2.resize(crop, (wide, self.height)).astype(np.float32) / 255
        if self.second:
            x = np.full((1, 1, self.height, -(-wide // 50) * 50), -0.5, np.float32)
            x[0, 0, :, :wide] = image @ np.array([0.114, 0.587, 0.299], np.float32) - 0.5
        else:
            x = np.zeros((1, 3, self.height, max(320, wide)), np.float32)
            x[0, :, :, :wide] = (image.transpose(2, 0, 1) - 0.5) / 0.5
        out = self.session.run(None, {self.input.name: x})[0]
        best = (out[:, 0] if self.second else out[0]).argmax(-1)
        return "".join(self.alphabet[c - 1] for i, c in enumerate(best) if c and (i == 0 or best[i - 1] != c))


def words(folder, models):
    import cv2
    rows = list(csv.DictReader((Path(folder) / "labels.tsv").open(encoding="utf8"), delimiter="\t", quoting=csv.QUOTE_NONE))
    plain = lambda s: "".join(c for c in s.lower() if c.isascii() and c.isalnum())
    crops = [cv2.imread(str(Path(folder) / r["file"])) for r in rows]
    for name, model in models:
        right = {}
        for row, crop in zip(rows, crops):
            right.setdefault(row["set"], []).append(plain(model.read(crop)) == plain(row["label"]))
        every = [x for xs in right.values() for x in xs]
        print(f"{name}: {100 * np.mean(every):.2f} %", " ".join(f"{k} {100 * np.mean(v):.2f} %" for k, v in right.items()), f"({len(every)} words)", flush=True)


def draw(data, out, count):
    import cv2
    import torch

    from layout import TECHNIQUES, Lines, load_words, loader, read_alphabet
    from render import Renderer
    torch.manual_seed(77), np.random.seed(77)
    alphabet, text = read_alphabet(data / "alphabet.txt"), load_words(data / "words.txt")
    renderer = Renderer(data / "atlas.npz", "cuda" if torch.cuda.is_available() else "cpu", 64)
    sets = [(name, {"share_general": 0.0, "technique": i}, (5, 13)) for i, name in enumerate(TECHNIQUES)] + [("general", {"share_general": 1.0}, (5, 13))]
    sets += [(f"headings, caps {low} to {high} px", {"share_general": 0.0, "share_labels": 1.0, "small": (1, 1, 1)}, (low, high)) for low, high in ((5, 7), (7, 9.5), (9.5, 13))]
    sets += [("small print, other text of plates", {"share_general": 0.0, "small": (1, 1, 1)}, (5, 13)), ("small print, general", {"share_general": 1.0, "small": (1, 1, 1)}, (5, 13))]
    crops, labels, kinds = [], [], []
    for i, (kind, what, renderer.caps) in enumerate(sets):
        lines = Lines(data / "atlas.npz", alphabet, text, 500 + i, 64, True, pixels=16384, flips=False, **what)
        have = 0
        for batch in loader(lines, 0):
            image, _ = renderer(batch, 0.45)
            pixels = (image.permute(0, 2, 3, 1).cpu().numpy() * 255).round().astype(np.uint8)
            for x, w, target in zip(pixels, batch["w"], batch["target"].split(batch["target_n"].tolist())):
                crops.append(cv2.imencode(".jpg", x[:, :int(w)], [cv2.IMWRITE_JPEG_QUALITY, 95])[1]), labels.append("".join(alphabet[t - 1] for t in target.tolist())), kinds.append(kind)
            have += len(image)
            if have >= count:
                break
    np.savez(out, pixels=np.concatenate(crops), sizes=np.array([len(c) for c in crops]), labels=labels, kinds=kinds)


def lines(path, models):
    import cv2
    z = np.load(path)
    crops = [cv2.imdecode(c, cv2.IMREAD_COLOR) for c in np.split(z["pixels"], np.cumsum(z["sizes"])[:-1])]
    for name, model in models:
        read = [model.read(c) for c in crops]
        out = []
        for kind in dict.fromkeys(z["kinds"].tolist()):
            pairs = [(a, b) for a, b, k in zip(read, z["labels"].tolist(), z["kinds"].tolist()) if k == kind]
            wrong, total = sum(edits(a, b) for a, b in pairs), sum(len(b) for _, b in pairs)
            out.append(f"{kind} CER {wrong / total:.3f} right {np.mean([a == b for a, b in pairs]):.3f}")
        print(f"{name}: " + " | ".join(out), flush=True)


def plates(folder, models):
    """Every piece of text set in one go, by how it was marked; quads are widened by a sixth of their height, about as a detector does."""
    import json

    import cv2
    crops = []
    for row in map(json.loads, (Path(folder) / "truth.jsonl").open(encoding="utf8")):
        photo = cv2.imread(str(Path(folder) / row["file"]))
        for line in row["lines"]:
            q = np.array(line["quad"], np.float32)
            w, h = np.linalg.norm(q[1] - q[0]), np.linalg.norm(q[3] - q[0])
            along, down = (q[1] - q[0]) / w * h / 6, (q[3] - q[0]) / h * h / 6
            q += np.array([-along - down, along - down, along + down, -along + down])
            size = max(8, int(round(48 * (w + h / 3) / (h + h / 3)))), 48
            corners = np.float32([[0, 0], [size[0], 0], [size[0], size[1]], [0, size[1]]])
            crops.append((cv2.warpPerspective(photo, cv2.getPerspectiveTransform(q, corners), size, flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE), line["text"], row["technique"], row["tier"]))
    for name, model in models:
        read = [(model.read(c), text, technique, tier) for c, text, technique, tier in crops]
        out = []
        for key in ("all", *dict.fromkeys(r[2] for r in read), *dict.fromkeys(r[3] for r in read)):
            rows = [r for r in read if key in ("all", r[2], r[3])]
            wrong, total = sum(edits(a, b) for a, b, *_ in rows), sum(len(b) for _, b, *_ in rows)
            out.append(f"{key} CER {wrong / total:.3f} right {np.mean([a == b for a, b, *_ in rows]):.3f}")
        print(f"{name} ({len(read)} lines): " + " | ".join(out), flush=True)


def mix(base, *others):
    """others: tuned weights and their shares, and the file to write."""
    import onnx
    from onnx import numpy_helper

    import convert
    *tuned, out = others
    model = convert.load(base)
    values = lambda path: {i.name: numpy_helper.to_array(i) for i in convert.load(path).graph.initializer}
    tuned = [(values(path), np.float32(share)) for path, share in zip(tuned[::2], tuned[1::2])]
    for weight in model.graph.initializer:
        x = numpy_helper.to_array(weight)
        if x.dtype == np.float32:
            mixed = x + sum(share * (other[weight.name] - x) for other, share in tuned)
            weight.CopyFrom(numpy_helper.from_array(np.ascontiguousarray(mixed), weight.name))
    onnx.save(model, out)


def sharpen(source, factor, out):
    """Makes a recogniser surer, or less sure, without another reading: its last layer times a factor."""
    import onnx
    from onnx import numpy_helper

    import convert
    model = convert.load(source)
    weights = {weight.name: weight for weight in model.graph.initializer}
    last = []
    for node in reversed(model.graph.node):
        if node.op_type in ("MatMul", "Add", "Gemm"):
            last += [weights[name] for name in node.input if name in weights]
        if len(last) >= 2:
            break
    for weight in last[:2]:
        scaled = numpy_helper.to_array(weight) * np.float32(factor)
        weight.CopyFrom(numpy_helper.from_array(np.ascontiguousarray(scaled), weight.name))
    onnx.save(model, out)


def main():
    command, *rest = sys.argv[1:]
    if command == "mix":
        mix(*rest)
    elif command == "sharpen":
        sharpen(*rest)
    elif command == "draw":
        draw(Path(rest[0]), rest[1], int(rest[2]) if len(rest) > 2 else 300)
    else:
        from layout import read_alphabet
        where = Path(rest[0]) if command == "lines" else Path(__file__).parents[2] / "models"
        alphabet = read_alphabet(where / "alphabet.txt")
        models = [(Path(m).stem, Model(m, alphabet)) for m in rest[2 if command == "lines" else 1:]]
        lines(rest[1], models) if command == "lines" else {"words": words, "plates": plates}[command](rest[0], models)


if __name__ == "__main__":
    main()
