"""Eight-bit copies of the shipped networks, for measuring: weights stored, activations at run time.

python quantise.py MODEL.onnx OUT.onnx [all]     pointwise convolutions, or all convolutions and matrix products

Weights have seven bits: without VNNI the runtime's eight-bit product may saturate. One factor serves a whole tensor: asked for
one per channel, the quantiser (onnxruntime 1.30) wrote convolutions that read the same to the last figure.
"""
import sys

import onnx
from onnxruntime.quantization import QuantType, quantize_dynamic

import convert

POOLED = ("GlobalAveragePool", "ReduceMean")


def pointwise(model):
    """Names of the pointwise convolutions on maps; those on pooled vectors cost nothing and stay as they are."""
    shapes, made = {i.name: i.dims for i in model.graph.initializer}, {n.output[0]: n for n in model.graph.node}

    def pooled(name, depth=4):
        node = made.get(name)
        return node is not None and depth > 0 and (node.op_type in POOLED or pooled(node.input[0], depth - 1))

    convolutions = (n for n in model.graph.node if n.op_type == "Conv")
    return [n.name for n in convolutions if list(shapes[n.input[1]][2:]) == [1, 1] and not pooled(n.input[0])]


def main(path, out, which="pointwise"):
    model = convert.load(path)
    for i, node in enumerate(model.graph.node):
        node.name = f"n{i}"
    every = which == "all"
    quantize_dynamic(model, out, reduce_range=True, weight_type=QuantType.QInt8, nodes_to_quantize=None if every else pointwise(model),
                     op_types_to_quantize=["Conv", "MatMul"] if every else ["Conv"])


if __name__ == "__main__":
    main(*sys.argv[1:])
