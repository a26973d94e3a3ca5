"""Trains the two recognisers on synthetic lines: `--kind rec` tunes the published one, `--kind second` starts from nothing.
`--kind rec --student FILE` teaches a lighter copy (narrow.py) to answer as data/base_rec.onnx does, and to feel alike inside.

One call trains for --seconds and leaves its weights in --out; the next call with --resume goes on where it stopped, with
the learning rate and the severity of wear following the share of --plan seconds that is done. Every state file stays
below 16 MiB.  python train.py --kind rec --data DIR --out DIR --seconds 560 --plan 1100
"""
import argparse
import copy
import math
import time
from pathlib import Path

import torch
import torch.nn.functional as F

import convert
import narrow
from layout import TECHNIQUES, Lines, load_words, loader, read_alphabet
import reader
from render import Renderer

RATE = {"rec": 2e-4, "second": 1.6e-3}


class Recogniser:
    """One kind of model with its input form; log_probs() gives [steps, batch, classes]."""

    def __init__(self, kind, data, classes, device, start=None, student=None):
        self.kind, self.height = kind, 48 if kind == "rec" else reader.HEIGHT
        if kind == "rec":
            self.tunable = convert.Tunable(student or data / "base_rec.onnx", start)
            self.net = self.tunable.module.to(device)
            self.teacher = convert.Tunable(data / "base_rec.onnx").module.to(device).requires_grad_(False)
        else:
            self.net, self.teacher = reader.SecondReader(classes).to(device), None

    def input(self, image, inside):
        if self.kind == "rec":
            return (image - 0.5) / 0.5 * inside
        return (0.114 * image[:, :1] + 0.587 * image[:, 1:2] + 0.299 * image[:, 2:]) * inside - 0.5

    def log_probs(self, net, x):
        if self.kind == "rec":
            return F.log_softmax(net(x).float(), -1).permute(1, 0, 2)
        return net(x).float()


def ctc(log_probs, batch, device):
    steps = torch.full((log_probs.shape[1],), log_probs.shape[0], dtype=torch.long, device=device)
    loss = F.ctc_loss(log_probs, batch["target"].to(device), steps, batch["target_n"].to(device), reduction="none", zero_infinity=True)
    n = batch["target_n"].to(device)
    return loss / torch.where(n > 0, n, log_probs.shape[0] // 4)


def greedy(log_probs):
    """Class lists of the best path of every line."""
    best = log_probs.argmax(-1).T.cpu()
    out = []
    for row in best:
        row = torch.unique_consecutive(row)
        out.append(row[row > 0].tolist())
    return out


def edits(a, b):
    row = list(range(len(b) + 1))
    for i, x in enumerate(a, 1):
        last, row[0] = row[0], i
        for j, y in enumerate(b, 1):
            last, row[j] = row[j], min(row[j] + 1, row[j - 1] + 1, last + (x != y))
    return row[-1]


def targets(batch):
    return [t.tolist() for t in batch["target"].split(batch["target_n"].tolist())]


class Validation:
    """Fixed lines in faces that are never trained on: two batches a technique, of general text, and of small print of plates and of signs."""

    def __init__(self, data, alphabet, words, renderer, model, pixels):
        self.sets, self.model = {}, model
        kinds = [(name, {"share_general": 0.0, "technique": i}) for i, name in enumerate(TECHNIQUES)] + [("general", {"share_general": 1.0})]
        kinds += [("small-labels", {"share_general": 0.0, "share_labels": 1.0, "small": (1, 1, 1)}), ("small-general", {"share_general": 1.0, "small": (1, 1, 1)})]
        for i, (name, kind) in enumerate(kinds):
            lines = Lines(data / "atlas.npz", alphabet, words, 900 + i, model.height, True, pixels=pixels, flips=False, **kind)
            self.sets[name] = []
            for batch in loader(lines, 0):
                image, inside = renderer(batch, 0.5)
                self.sets[name].append((model.input(image, inside), targets(batch)))
                if len(self.sets[name]) == 2:
                    break

    @torch.no_grad()
    def __call__(self, net):
        was = net.training
        net.eval()
        out = []
        for name, batches in self.sets.items():
            wrong = total = 0
            for x, target in batches:
                for a, b in zip(greedy(self.model.log_probs(net, x)), target):
                    wrong, total = wrong + edits(a, b), total + len(b)
            out.append(f"{name} {wrong / total:.3f}")
        net.train(was)
        return " ".join(out)


def main():
    p = argparse.ArgumentParser()
    p.add_argument("--kind", choices=list(RATE), required=True)
    p.add_argument("--data", type=Path, required=True)
    p.add_argument("--out", type=Path, required=True)
    p.add_argument("--resume", type=Path)
    p.add_argument("--start", type=Path, help="folder with the weights that a new plan starts from: rec.onnx, second.onnx")
    p.add_argument("--student", type=Path, help="a lighter copy of data/base_rec.onnx, to be taught by it")
    p.add_argument("--truth", type=float, default=0.25, help="for a student: weight of the labels beside the teacher's answers")
    p.add_argument("--seconds", type=float, default=560)
    p.add_argument("--plan", type=float, default=1100)
    p.add_argument("--rate", type=float)
    p.add_argument("--hold", type=float, default=1.0, help="weight of staying near the published model")
    p.add_argument("--general-weight", type=float, default=1.0, help="weight of the labels of general text")
    p.add_argument("--general", type=float, default=0.45, help="share of general text")
    p.add_argument("--decisive", type=float, default=0.0, help="share, of the plates' text, of what settles a replacement")
    p.add_argument("--labels", type=float, default=0.0, help="share, of the plates' text, of headings: the labels that the tool knows")
    p.add_argument("--small", type=float, nargs=3, default=(0.0, 0.0, 0.0), metavar=("HEADINGS", "PLATES", "GENERAL"), help="shares in small print")
    p.add_argument("--workers", type=int, default=8)
    p.add_argument("--pixels", type=int, default=98304)
    p.add_argument("--seed", type=int, default=1)
    a = p.parse_args()
    begin = time.time()
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    torch.manual_seed(a.seed)
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    alphabet, words = read_alphabet(a.data / "alphabet.txt"), load_words(a.data / "words.txt")
    state, source = {}, a.start
    if a.resume and (a.resume / f"{a.kind}.pt").exists():  # goes on from the averaged weights
        state, source = torch.load(a.resume / f"{a.kind}.pt", map_location=device), a.resume
        print(a.kind, "goes on from", round(state["elapsed"]), "s,", state["steps"], "steps", flush=True)
    start = source / "rec.onnx" if source and a.kind == "rec" else None
    from_nothing = a.kind == "second" and not a.start
    model = Recogniser(a.kind, a.data, len(alphabet) + 1, device, start, a.student)
    net = model.net
    optimizer = torch.optim.AdamW((p for p in net.parameters()), lr=1e-4, weight_decay=0.0 if a.kind == "rec" else 0.01, betas=(0.9, 0.98))
    if source and a.kind == "second":
        net.load_state_dict(torch.load(source / "second.pt", map_location=device)["weights"] if state else reader.weights(source / "second.onnx"))
    ema, elapsed, steps, warm = copy.deepcopy(net).requires_grad_(False), state.get("elapsed", 0.0), state.get("steps", 0), 0
    if a.student:
        watched = [narrow.Watch(m, narrow.blocks(net)) for m in (net, model.teacher)]
    # workers are forked before the first use of the device's generator by the renderer
    lines = iter(loader(Lines(a.data / "atlas.npz", alphabet, words, a.seed + steps, model.height, share_general=a.general, pixels=a.pixels, share_decisive=a.decisive,
                             share_labels=a.labels, small=a.small), a.workers))
    renderer = Renderer(a.data / "atlas.npz", device, model.height)
    validate = Validation(a.data, alphabet, words, renderer, model, a.pixels // 2)
    print(a.kind, f"ready after {time.time() - begin:.0f} s; {sum(p.numel() for p in net.parameters()) / 1e6:.2f} M parameters", validate(ema), flush=True)
    net.train(a.kind == "second")  # the published model keeps its batch statistics
    if a.start:  # an exported reader has none to go on from: its norms stay what they are
        for m in net.modules():
            if isinstance(m, torch.nn.BatchNorm2d):
                m.eval()
    trained = clock = time.time()
    seen = skipped = 0
    running = torch.zeros(2, device=device)
    while time.time() - begin < a.seconds:
        done = min(1.0, (elapsed + time.time() - trained) / a.plan)
        warm += 1
        rate = (a.rate or RATE[a.kind]) * (0.02 + 0.98 * 0.5 * (1 + math.cos(math.pi * done))) * min(1.0, warm / 300)
        for group in optimizer.param_groups:
            group["lr"] = rate
        severity = (0.1 + 0.55 * min(1.0, done / 0.5)) if from_nothing else (0.3 + 0.3 * min(1.0, done / 0.4))
        severity *= float(torch.rand(()) * 0.8 + 0.5)
        batch = next(lines)
        image, inside = renderer(batch, severity)
        x = model.input(image, inside)
        log_probs = model.log_probs(net, x)
        each = ctc(log_probs, batch, device)
        if not from_nothing or done > 0.15:  # what nobody can read teaches little: its weight falls with its loss
            weight = 1 / (1 + (each.detach() / 2.0).square())
        else:
            weight = torch.ones_like(each)
        if model.teacher is not None:
            weight = weight * (1 + (a.general_weight - 1) * batch["general"].to(device))
        loss = (each * weight).mean()
        running[0] += each.detach().mean()
        if model.teacher is not None:  # answer as the published model does where it is right
            with torch.no_grad():
                before = model.log_probs(model.teacher, x)
                general = batch["general"].to(device)
                hold = (general + (1 - general) * 0.3) * (ctc(before, batch, device) < 0.2) * (1 - batch["flip"].to(device))
                hold = torch.ones_like(hold) if a.student else hold
            apart = (before.exp() * (before - log_probs)).sum(-1).sum(0) / batch["n"].to(device)
            kept = (apart * hold).mean()
            loss = loss * (a.truth if a.student else 1) + a.hold * kept
            if a.student:
                loss = loss + narrow.apart(*watched)
            running[1] += kept.detach()
        optimizer.zero_grad(set_to_none=True)
        loss.backward()
        norm = torch.nn.utils.clip_grad_norm_(net.parameters(), 5.0)
        if not torch.isfinite(norm):
            skipped += 1
            continue
        optimizer.step()
        steps, seen = steps + 1, seen + len(each)
        with torch.no_grad():
            keep = min(0.9995, (1 + warm) / (20 + warm))
            torch._foreach_lerp_(list(ema.parameters()), list(net.parameters()), 1 - keep)
            for e, b in zip(ema.buffers(), net.buffers()):
                e.copy_(b)
        if steps % 50 == 0 and time.time() - clock > 45:
            clock = time.time()
            print(f"{a.kind} {clock - begin:.0f} s step {steps} done {done:.2f} lines/s {seen / (clock - trained):.0f} loss {running[0] / 50:.3f} kept {running[1] / 50:.4f} skipped {skipped} | {validate(ema)}", flush=True)
        if steps % 50 == 0:
            running.zero_()
    elapsed += time.time() - trained
    a.out.mkdir(parents=True, exist_ok=True)
    if a.kind == "rec":
        model.tunable.save(ema, a.out / "rec.onnx")
    torch.save({"weights": ema.state_dict() if a.kind == "second" else None, "elapsed": elapsed, "steps": steps}, a.out / f"{a.kind}.pt")
    print(a.kind, f"stopped: {steps} steps, {seen} lines, {elapsed:.0f} s in all, skipped {skipped} |", validate(ema), flush=True)


if __name__ == "__main__":
    main()
