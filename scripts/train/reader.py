"""The second reader: a small convolutional-recurrent recogniser (CTC), trained from nothing.

It is built differently from the tuned one on purpose (no attention, recurrent, grey, 64 px high, finer steps), so that
it fails differently. Its form is the one the ocrs engine takes: grey [B, 1, 64, W] in [-0.5, 0.5], padded with -0.5;
log-probabilities [W / 4, B, classes], class 0 blank.
"""
import torch
from torch import nn

HEIGHT = 64


class Block(nn.Module):
    def __init__(self, inputs, outputs, stride):
        super().__init__()
        self.main = nn.Sequential(nn.Conv2d(inputs, outputs, 3, stride, 1, bias=False), nn.BatchNorm2d(outputs), nn.ReLU(),
                                  nn.Conv2d(outputs, outputs, 3, 1, 1, bias=False), nn.BatchNorm2d(outputs))
        self.skip = nn.Sequential(nn.Conv2d(inputs, outputs, 1, stride, bias=False), nn.BatchNorm2d(outputs)) if inputs != outputs or stride != 1 else nn.Identity()

    def forward(self, x):
        return torch.relu(self.main(x) + self.skip(x))


class SecondReader(nn.Module):
    def __init__(self, classes):
        super().__init__()
        self.features = nn.Sequential(
            nn.Conv2d(1, 32, 3, 2, 1, bias=False), nn.BatchNorm2d(32), nn.ReLU(),  # 32 x W/2
            Block(32, 64, 2), Block(64, 64, 1),                                      # 16 x W/4
            Block(64, 96, (2, 1)), Block(96, 96, 1),                                 # 8 x W/4
            Block(96, 160, (2, 1)), Block(160, 160, 1),                              # 4 x W/4
            nn.Conv2d(160, 224, (4, 1), bias=False), nn.BatchNorm2d(224), nn.ReLU())  # 1 x W/4
        self.context = nn.GRU(224, 128, num_layers=2, bidirectional=True)
        self.head = nn.Linear(256, classes)

    def forward(self, x):
        x = self.features(x).squeeze(2).permute(2, 0, 1)
        return torch.log_softmax(self.head(self.context(x)[0]), -1)


def weights(path):
    """The state of an exported reader, so that training may go on from what ships: a convolution holds its norm's scale."""
    import convert  # only here: what exports need not know of it
    from onnx import numpy_helper
    graph = convert.load(path).graph
    values = {i.name: torch.from_numpy(numpy_helper.to_array(i).astype("float32")) for i in graph.initializer}
    net = SecondReader(len(values["head.bias"])).eval()
    modules = [m for m in net.modules() if isinstance(m, (nn.Conv2d, nn.BatchNorm2d))]
    nodes = [n for n in graph.node if n.op_type == "Conv"]
    with torch.no_grad():
        for conv, norm, node in zip((m for m in modules if isinstance(m, nn.Conv2d)), (m for m in modules if isinstance(m, nn.BatchNorm2d)), nodes):
            conv.weight.copy_(values[node.input[1]])
            norm.weight.fill_((1 + norm.eps) ** 0.5)
            norm.bias.copy_(values[node.input[2]])
        own = lambda t: torch.cat([t[128:256], t[:128], t[256:]])  # ONNX has the update gate first
        for layer, node in enumerate(n for n in graph.node if n.op_type == "GRU"):
            for back in range(2):
                w, r, b = (values[name][back] for name in node.input[1:4])
                for name, value in (("weight_ih", w), ("weight_hh", r), ("bias_ih", b[:384]), ("bias_hh", b[384:])):
                    getattr(net.context, f"{name}_l{layer}{'_reverse' * back}").copy_(own(value))
        net.head.weight.copy_(values[next(n for n in graph.node if n.op_type == "MatMul").input[1]].T)
        net.head.bias.copy_(values["head.bias"])
    return net.state_dict()


def export(model, path):
    model = model.eval().cpu()
    torch.onnx.export(model, (torch.zeros(1, 1, HEIGHT, 200),), str(path), input_names=["line"], output_names=["log_probs"], opset_version=14,
                      dynamic_axes={"line": {0: "batch", 3: "width"}, "log_probs": {0: "steps", 1: "batch"}}, dynamo=False)
