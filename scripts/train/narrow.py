"""Lighter copies of the shipped networks: in every block the pair of pointwise convolutions keeps only part of its
inner channels; everything else, with its weights, stays. What was one operator stays one operator.

Which channels go is chosen on lines or plates of our own generator by the surgeon's rule (Hassibi and Stork 1993): one
after the other the channel whose loss changes the pair's output least, the others taking over what they can.

python narrow.py rec|det BASE.onnx DATA SHARE OUT.onnx      SHARE: of the inner channels kept
"""
import sys
from pathlib import Path

import numpy as np
import onnx
import torch
from onnx import numpy_helper
from torch import nn

import convert

BATCHES, PIXELS = 6, 20000  # what the channels are chosen on


def pairs(module):
    """(name of the first convolution, of its activation, of the second convolution) of every pair, in order."""
    modules, found = dict(module.named_modules()), []
    for node in module.graph.nodes:
        second = modules.get(node.target) if node.op == "call_module" else None
        act = node.args[0] if isinstance(second, nn.Conv2d) and second.kernel_size == (1, 1) and node.args else None
        if act is None or act.op != "call_module" or not isinstance(modules[act.target], nn.GELU) or len(act.users) != 1:
            continue
        first = act.args[0]
        if first.op == "call_module" and isinstance(modules[first.target], nn.Conv2d) and len(first.users) == 1:
            found.append((first.target, act.target, node.target))
    return found


def blocks(module):
    """Names of the modules whose outputs a narrow copy should give as well: the second convolution of every pair."""
    return [second for _, _, second in pairs(module)]


class Watch:
    """Keeps what the named modules give in a forward pass."""

    def __init__(self, module, names):
        self.kept, modules = {}, dict(module.named_modules())
        for name in names:
            modules[name].register_forward_hook(lambda _, __, out, name=name: self.kept.__setitem__(name, out))


def apart(copy, original):
    """Mean squared difference of watched outputs, each relative to the original's variance."""
    each = []
    for name, want in original.kept.items():
        want = want.float()
        each.append((copy.kept[name].float() - want).square().mean() / want.var().clamp(min=1e-6))
    return torch.stack(each).mean()


def keep_best(gram, weight, count):
    """(channels kept, their weights [count, outputs], of the constant [outputs]) from the Gram matrix of the inner
    channels and a constant, and the second convolution's weights with the bias as their last row."""
    n = len(gram) - 1
    damp = 1e-3 * np.trace(gram) / len(gram)
    inverse, weight, left = np.linalg.inv(gram + damp * np.eye(len(gram))), weight.copy(), np.ones(n + 1, bool)
    for _ in range(n - count):
        cost = np.square(weight[:n]).sum(1) / np.maximum(np.diag(inverse)[:n], 1e-12)
        j = int(np.argmin(np.where(left[:n], cost, np.inf)))
        column = inverse[:, j].copy()
        weight -= np.outer(column / column[j], weight[j])
        inverse -= np.outer(column, column) / column[j]
        left[j], weight[j], inverse[j], inverse[:, j], inverse[j, j] = False, 0, 0, 0, 1
    kept = np.nonzero(left[:n])[0]
    return kept, weight[kept], weight[n]


@torch.no_grad()
def narrow(tunable, inputs, share, out):
    """Writes the narrow copy of a network; `inputs`: batches in its input form."""
    module, found = tunable.module, pairs(tunable.module)
    modules, watch = dict(module.named_modules()), Watch(module, [act for _, act, _ in pairs(module)])
    grams = {}
    for x in inputs:
        module(x)
        for name, h in watch.kept.items():
            h = h.float().permute(0, 2, 3, 1).reshape(-1, h.shape[1])
            h = h[torch.randperm(len(h), device=h.device)[:PIXELS]].double()
            h = torch.cat([h, torch.ones_like(h[:, :1])], 1)
            grams[name] = grams.get(name, 0) + (h.T @ h).cpu().numpy()
    graph = onnx.ModelProto.FromString(tunable.graph.SerializeToString())
    inits = {i.name: i for i in graph.graph.initializer}

    def put(parameter, value):
        for name in tunable.names[parameter]:
            old = inits[name]
            shape = list(value.shape) if len(old.dims) == len(value.shape) else [1, len(value), 1, 1]
            old.CopyFrom(numpy_helper.from_array(np.ascontiguousarray(value.reshape(shape), np.float32), name))

    for first, act, second in found:
        a, b = modules[first], modules[second]
        weight = np.concatenate([b.weight[:, :, 0, 0].detach().T.double().cpu().numpy(), b.bias[None].detach().double().cpu().numpy()])
        count = round(share * len(a.bias))
        kept, new, constant = keep_best(grams[act], weight, count)
        put(f"{first}.weight", a.weight.detach().cpu().numpy()[kept]), put(f"{first}.bias", a.bias.detach().cpu().numpy()[kept])
        put(f"{second}.weight", new.T[:, :, None, None]), put(f"{second}.bias", constant)
        print(first, second, f"{len(a.bias)} to {count}", flush=True)
    del graph.graph.value_info[:]
    onnx.checker.check_model(graph)
    onnx.save(graph, out)


def inputs_of(kind, data, device):
    """A few batches of lines or plates, in the network's input form."""
    from layout import Lines, load_words, loader, read_alphabet
    from render import Renderer
    alphabet, words = read_alphabet(data / "alphabet.txt"), load_words(data / "words.txt")
    if kind == "rec":
        lines = loader(Lines(data / "atlas.npz", alphabet, words, 41, share_general=0.5, pixels=24576), 0)
        draw = Renderer(data / "atlas.npz", device)
        for batch, _ in zip(lines, range(BATCHES)):
            image, inside = draw(batch, 0.4)
            yield (image - 0.5) / 0.5 * inside
    else:
        from scene import SceneRenderer, Scenes
        from train_det import normal
        draw = SceneRenderer(Renderer(data / "atlas.npz", device))
        for batch, _ in zip(loader(Scenes(data / "atlas.npz", alphabet, words, 41, 3), 0), range(BATCHES)):
            yield normal(draw(batch, 0.3)[0])


def main(kind, base, data, share, out):
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    tunable = convert.Tunable(base)
    tunable.module.to(device)
    narrow(tunable, inputs_of(kind, Path(data), device), float(share), out)


if __name__ == "__main__":
    main(*sys.argv[1:])
