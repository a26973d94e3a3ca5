"""Tunes the published text detector on synthetic plates; same calls and states as train.py.

The target is the published detector's own answer on the photo before the light's and the camera's wear, so that its
notion of a line (where words join, how tight boxes are) stays; where it misses a line even there, the truth's shrunk
area stands in, and where there is no line nothing does. On signs and on text too small to be lines its answer is kept as
it is. The input is normalised as src/text/detect.rs does it.
python train_det.py --data DIR --out DIR --seconds 560 --plan 560
--student FILE teaches a lighter copy (narrow.py) of data/base_det.onnx, --student own the detector of small_det.py.
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
from layout import load_words, loader, read_alphabet
from render import Renderer
from scene import TEACHER, SceneRenderer, Scenes
from small_det import Own


MEAN, DEVIATION = (0.485, 0.456, 0.406), (0.229, 0.224, 0.225)


def normal(image):
    shape = lambda v: torch.tensor(v, device=image.device).view(1, 3, 1, 1)
    return (image - shape(MEAN)) / shape(DEVIATION)


def line_share(mask, ids, core):
    """Share of every line's shrunk area where `mask` holds, [B, 256]; and the areas."""
    b = len(ids)
    flat = torch.where(core == ids, ids, 0).view(b, -1)
    area = torch.zeros(b, 256, device=ids.device).scatter_add_(1, flat, torch.ones_like(flat, dtype=torch.float))
    hit = torch.zeros(b, 256, device=ids.device).scatter_add_(1, flat, mask.view(b, -1).float())
    area[:, 0] = hit[:, 0] = 0
    return hit / area.clamp(min=1), area


def loss_of(logits, target):
    """Balanced cross entropy (three hard negatives a positive) and dice, as in differentiable binarisation."""
    each = F.binary_cross_entropy_with_logits(logits, target, reduction="none")
    positive = (target > 0.3).float()
    each = each / (1 + positive * (each.detach() / 3).square())  # what nobody can see teaches little
    n = positive.sum()
    negative = (each * (1 - positive)).flatten()
    worst = torch.topk(negative, int(min(negative.numel() // 4, 3 * n.item() + 2000)))[0]
    p = torch.sigmoid(logits)
    dice = 1 - 2 * (p * target).sum() / (p.sum() + target.sum() + 1)
    return ((each * positive).sum() + worst.sum()) / (n + len(worst)) * 5 + dice


@torch.no_grad()
def measure(net, batches):
    """Share of lines found, and of marked area that lies on no line."""
    found = lines = stray = marked = 0
    for photo, _, ids, core, hold in batches:
        on = torch.sigmoid(net(normal(photo)))[:, 0] > 0.3
        on, ids, core = on[~hold], ids[~hold], core[~hold]
        share, area = line_share(on, ids, core)
        found, lines = found + (share > 0.5).sum().item(), lines + (area > 8).sum().item()
        stray, marked = stray + (on & (ids == 0)).sum().item(), marked + on.sum().item()
    return f"found {found / lines:.3f} stray {stray / max(1, marked):.4f}"


def main():
    p = argparse.ArgumentParser()
    p.add_argument("--data", type=Path, required=True)
    p.add_argument("--out", type=Path, required=True)
    p.add_argument("--resume", type=Path)
    p.add_argument("--seconds", type=float, default=560)
    p.add_argument("--plan", type=float, default=560)
    p.add_argument("--rate", type=float, default=2e-4)
    p.add_argument("--student", help="a lighter copy of data/base_det.onnx, or own")
    p.add_argument("--workers", type=int, default=8)
    p.add_argument("--scenes", type=int, default=12)
    p.add_argument("--seed", type=int, default=3)
    a = p.parse_args()
    begin = time.time()
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    torch.backends.cudnn.benchmark = True
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    torch.manual_seed(a.seed)
    alphabet, words = read_alphabet(a.data / "alphabet.txt"), load_words(a.data / "words.txt")
    teacher = convert.Tunable(a.data / "base_det.onnx").module.to(device).requires_grad_(False)
    elapsed, steps, warm, start = 0.0, 0, 0, None
    if a.resume and (a.resume / "det.pt").exists():
        state, start = torch.load(a.resume / "det.pt"), a.resume / "det.onnx"
        elapsed, steps = state["elapsed"], state["steps"]
        print("det goes on from", round(elapsed), "s", flush=True)
    own = a.student == "own"
    tunable = Own(start and start.with_suffix(".weights")) if own else convert.Tunable(a.student or a.data / "base_det.onnx", start)
    net = tunable.module.to(device).train(own)
    ema = copy.deepcopy(net).requires_grad_(False).eval()
    if a.student and not own:
        watched = [narrow.Watch(m, narrow.blocks(net)) for m in (net, teacher)]
    scenes = iter(loader(Scenes(a.data / "atlas.npz", alphabet, words, a.seed + steps, a.scenes), a.workers))
    render = SceneRenderer(Renderer(a.data / "atlas.npz", device))
    held = loader(Scenes(a.data / "atlas.npz", alphabet, words, 77, a.scenes, held=True), 0)
    held = [render(batch, 0.45) for batch, _ in zip(held, range(5 if device.type == "cuda" else 1))]
    print(f"det ready after {time.time() - begin:.0f} s; published: {measure(teacher, held)}", flush=True)
    optimizer = torch.optim.AdamW(net.parameters(), lr=a.rate, weight_decay=0.0, betas=(0.9, 0.98))
    trained = clock = time.time()

    def save(net, elapsed):
        a.out.mkdir(parents=True, exist_ok=True)
        tunable.save(net, a.out / "det.onnx")
        torch.save({"elapsed": elapsed, "steps": steps}, a.out / "det.pt")

    skipped, running = 0, torch.zeros((), device=device)
    while time.time() - begin < a.seconds:
        done = min(1.0, (elapsed + time.time() - trained) / a.plan)
        warm += 1
        for group in optimizer.param_groups:
            group["lr"] = a.rate * (0.02 + 0.98 * 0.5 * (1 + math.cos(math.pi * done))) * min(1.0, warm / 200)
        photo, clean, ids, core, hold = render(next(scenes), float(torch.rand(()) * 0.5 + 0.05))
        with torch.no_grad():
            before = torch.sigmoid(teacher(normal(clean)))[:, 0]
            share, _ = line_share(before > 0.3, ids, core)
            sees = share.gather(1, ids.view(len(ids), -1)).view_as(ids) > 0.6
            truth = (core > 0).float() * (core == ids)
            kept = (ids == TEACHER) | sees | hold.view(-1, 1, 1)
            target = torch.where(kept, before, truth)
        logits = net(normal(photo))[:, 0]
        loss = loss_of(logits, target)
        if a.student:
            with torch.no_grad():
                answer = torch.sigmoid(teacher(normal(photo)))[:, 0]
            loss = loss + 5 * F.binary_cross_entropy_with_logits(logits, answer)
            if not own:
                loss = loss + narrow.apart(*watched)
        optimizer.zero_grad(set_to_none=True)
        loss.backward()
        if not torch.isfinite(torch.nn.utils.clip_grad_norm_([q for q in net.parameters() if q.grad is not None], 5.0)):
            skipped += 1
            continue
        optimizer.step()
        steps += 1
        running += loss.detach()
        with torch.no_grad():
            torch._foreach_lerp_(list(ema.parameters()), list(net.parameters()), 1 - min(0.999, (1 + warm) / (20 + warm)))
            for e, b in zip(ema.buffers(), net.buffers()):
                e.copy_(b)
        if steps % 25 == 0:
            if time.time() - clock > 45:
                clock = time.time()
                save(ema, elapsed + clock - trained)
                print(f"det {clock - begin:.0f} s step {steps} done {done:.2f} loss {running / 25:.3f} skipped {skipped} | {measure(ema, held)}", flush=True)
            running.zero_()
    elapsed += time.time() - trained
    save(ema, elapsed)
    print(f"det stopped: {steps} steps, {elapsed:.0f} s, skipped {skipped} | {measure(ema, held)}", flush=True)


if __name__ == "__main__":
    main()
