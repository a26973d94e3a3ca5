"""Turns a training state into the ONNX file that ships, and checks it against PyTorch.

  python export.py rec DATA STATE OUT.onnx      python export.py second DATA STATE OUT.onnx      python export.py det DATA STATE OUT.onnx
"""
import sys
from pathlib import Path

import numpy as np
import onnx
import onnxruntime
import torch

import convert
import reader
from layout import read_alphabet


def main(kind, data, state, out):
    data = Path(data)
    weights = torch.load(state, map_location="cpu")
    weights = weights.get("weights", weights)
    if kind == "second":
        net = reader.SecondReader(len(read_alphabet(data / "alphabet.txt")) + 1)
        net.load_state_dict(weights)
        reader.export(net, out)
        x = torch.rand(2, 1, reader.HEIGHT, 350) - 0.5
        expected = net.eval()(x)
    else:
        base = convert.load(data / f"base_{kind}.onnx")
        net = convert.to_torch(base)
        names = convert.weight_map(base, net)
        net.load_state_dict(weights)
        onnx.save(convert.write_back(base, net, names), out)
        x = torch.randn(2, 3, *((48, 328) if kind == "rec" else (160, 224)))
        expected = torch.softmax(net(x), 2) if kind == "rec" else torch.sigmoid(net(x))
    session = onnxruntime.InferenceSession(str(out))
    got = session.run(None, {session.get_inputs()[0].name: x.numpy()})[0]
    print(out, Path(out).stat().st_size, "bytes; largest difference to PyTorch", np.abs(got - expected.detach().numpy()).max())


if __name__ == "__main__":
    main(*sys.argv[1:])
