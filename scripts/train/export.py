"""Writes the second reader's ONNX file from a training state and checks it against PyTorch; the tuned models are saved as
ONNX by the training itself.   python export.py DATA STATE/second.pt OUT.onnx
"""
import sys
from pathlib import Path

import numpy as np
import onnxruntime
import torch

import reader
from layout import read_alphabet


def main(data, state, out):
    net = reader.SecondReader(len(read_alphabet(Path(data) / "alphabet.txt")) + 1)
    net.load_state_dict(torch.load(state, map_location="cpu")["weights"])
    reader.export(net, out)
    x = torch.rand(2, 1, reader.HEIGHT, 350) - 0.5
    session = onnxruntime.InferenceSession(str(out))
    got = session.run(None, {session.get_inputs()[0].name: x.numpy()})[0]
    print(out, Path(out).stat().st_size, "bytes; largest difference to PyTorch", np.abs(got - net(x).detach().numpy()).max())


if __name__ == "__main__":
    main(*sys.argv[1:])
