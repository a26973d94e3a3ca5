"""A plain small detector of our own: depthwise and pointwise convolutions, a pyramid of features, a map of the picture's
size. Trained from nothing; input and output as the shipped detector's (train_det.py takes logits, the file gives
probabilities).
"""
import torch
import torch.nn.functional as F
from torch import nn

WIDTHS, DEPTHS, NECK = (32, 64, 128, 192), (1, 2, 3, 2), 48


def conv(inputs, outputs, kernel=1, stride=1, groups=1):
    return [nn.Conv2d(inputs, outputs, kernel, stride, kernel // 2, groups=groups, bias=False), nn.BatchNorm2d(outputs)]


class Block(nn.Module):
    def __init__(self, width):
        super().__init__()
        self.mix = nn.Sequential(*conv(width, width, 5, groups=width))
        self.main = nn.Sequential(*conv(width, 2 * width), nn.ReLU(), *conv(2 * width, width))

    def forward(self, x):
        x = x + self.mix(x)
        return x + self.main(x)


class SmallDetector(nn.Module):
    def __init__(self):
        super().__init__()
        self.stem = nn.Sequential(*conv(3, 16, 3, 2), nn.ReLU())
        self.stages, inputs = nn.ModuleList(), 16
        for width, depth in zip(WIDTHS, DEPTHS):
            down = [*conv(inputs, inputs, 3, 2, inputs), *conv(inputs, width)] if inputs != 16 else [*conv(16, width, 3, 2), nn.ReLU()]
            self.stages.append(nn.Sequential(*down, *(Block(width) for _ in range(depth))))
            inputs = width
        self.sides = nn.ModuleList(nn.Sequential(*conv(width, NECK)) for width in WIDTHS)
        self.merge = nn.Sequential(*conv(NECK, NECK, 7, groups=NECK), *conv(NECK, NECK), nn.ReLU(), *conv(NECK, 24, 3), nn.ReLU())
        self.grow = nn.Sequential(nn.ConvTranspose2d(24, 16, 2, 2), nn.ReLU(), nn.ConvTranspose2d(16, 1, 2, 2))

    def forward(self, x):
        x, levels = self.stem(x), []
        for stage in self.stages:
            x = stage(x)
            levels.append(x)
        x = 0
        for side, level in zip(reversed(self.sides), reversed(levels)):
            x = F.interpolate(x, scale_factor=2.0, mode="nearest") + side(level) if torch.is_tensor(x) else side(level)
        return self.grow(self.merge(x))


class Own:
    """The same face as convert.Tunable: a module that gives logits, and its way into a file."""

    def __init__(self, start=None):
        self.module = SmallDetector()
        if start:
            self.module.load_state_dict(torch.load(start, map_location="cpu"))

    @staticmethod
    def save(module, path):
        import copy
        torch.save(module.state_dict(), path.with_suffix(".weights"))
        net = nn.Sequential(copy.deepcopy(module), nn.Sigmoid()).eval().cpu()
        torch.onnx.export(net, (torch.zeros(1, 3, 64, 96),), str(path), input_names=["x"], output_names=["map"], opset_version=14,
                          dynamic_axes={"x": {0: "n", 2: "height", 3: "width"}, "map": {0: "n", 2: "height", 3: "width"}}, dynamo=False)
