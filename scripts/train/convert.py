"""ONNX to a trainable PyTorch module and back into the same ONNX graph.

The published graphs are kept as they are (names, shapes, operators): after training only the values of their weights
are replaced, so whatever runtime loads the original loads the tuned model. onnx2torch turns a graph into a module;
three of its inputs need help: SAME_UPPER padding is written out as explicit Pad nodes, the Identity wrappers around
weights are dropped, and each parameter is matched with the initializer that it came from.
"""
import numpy as np
import onnx
import torch
from onnx import helper, numpy_helper


def load(path):
    """A graph with plain float32 weights, also from a file that stores them in half precision behind Cast nodes."""
    model = onnx.load(path)
    inits = {i.name: i for i in model.graph.initializer}
    nodes = list(model.graph.node)
    del model.graph.node[:]
    for node in nodes:
        stored = inits.get(node.input[0]) if node.op_type == "Cast" else None
        if stored is not None and stored.data_type == onnx.TensorProto.FLOAT16:
            stored.CopyFrom(numpy_helper.from_array(numpy_helper.to_array(stored).astype(np.float32), node.output[0]))
        else:
            model.graph.node.append(node)
    return model


def characters(model):
    return next(p.value for p in model.metadata_props if p.key == "character").split("\n")


def cut_head(model, alphabet):
    """Keeps only the classes of `alphabet` (class 0 stays blank, class i + 1 is alphabet[i])."""
    known = characters(model)
    classes = [0] + [len(known) + 1 if ch == " " else known.index(ch) + 1 for ch in alphabet]
    for init in model.graph.initializer:
        array = numpy_helper.to_array(init)
        if array.ndim and array.shape[-1] == len(known) + 2:
            init.CopyFrom(numpy_helper.from_array(np.ascontiguousarray(array[..., classes]), init.name))
    shape = model.graph.output[0].type.tensor_type.shape.dim[2]
    shape.dim_value = len(classes)
    del model.graph.value_info[:]  # inferred shapes still tell the old number of classes
    for prop in model.metadata_props:
        if prop.key == "character":
            prop.value = "\n".join(a for a in alphabet if a != " ")
    return model


def simplify(model):
    """A copy for training: no Identity nodes, no SAME_UPPER, no final activation (the losses want logits)."""
    model = onnx.ModelProto.FromString(model.SerializeToString())
    graph, source, nodes = model.graph, {}, []
    output = graph.output[0].name
    for node in graph.node:
        for i, name in enumerate(node.input):
            node.input[i] = source.get(name, name)
        if node.op_type == "Identity" and node.output[0] != output:
            source[node.output[0]] = node.input[0]
            continue
        if node.output[0] == output and node.op_type in ("Softmax", "Sigmoid"):
            last = next(n for n in nodes if n.output[0] == node.input[0])
            last.output[0] = output
            continue
        auto = next((a for a in node.attribute if a.name == "auto_pad" and a.s == b"SAME_UPPER"), None)
        if auto:  # kernel 2, stride 1: one row below and one column right; zeros serve max-pooling too, after a Relu
            node.attribute.remove(auto)
            padded = node.input[0] + ".padded." + node.output[0]
            pads = padded + ".pads"
            graph.initializer.append(numpy_helper.from_array(np.array([0, 0, 0, 0, 0, 0, 1, 1], np.int64), pads))
            nodes.append(helper.make_node("Pad", [node.input[0], pads], [padded], mode="constant"))
            node.input[0] = padded
        nodes.append(node)
    del graph.node[:]
    graph.node.extend(nodes)
    return model


def to_torch(model):
    """The module, in eval mode, with every float weight a parameter; gives logits."""
    from onnx2torch import convert

    module = convert(simplify(model)).eval()
    for holder in list(module.modules()):  # weights of generic operators come as buffers
        for name, buffer in list(holder.named_buffers(recurse=False)):
            if buffer.is_floating_point() and buffer.numel() > 1 and not isinstance(holder, torch.nn.BatchNorm2d):
                delattr(holder, name)
                holder.register_parameter(name, torch.nn.Parameter(buffer.clone()))
    return module


def weight_map(model, module):
    """Initializer name of every parameter, found by equal values before training."""
    by_value = {}
    for init in model.graph.initializer:
        array = numpy_helper.to_array(init)
        if array.dtype == np.float32:
            by_value.setdefault((array.size, array.tobytes()), []).append(init.name)
    names = {}
    for name, p in module.named_parameters():
        found = by_value.get((p.numel(), p.detach().cpu().numpy().tobytes()))
        if found:
            names[name] = found
    return names


def write_back(model, module, names):
    """A copy of the original graph with the module's weights."""
    model = onnx.ModelProto.FromString(model.SerializeToString())
    inits = {i.name: i for i in model.graph.initializer}
    parameters = dict(module.named_parameters())
    for parameter, targets in names.items():
        for target in targets:
            array = parameters[parameter].detach().float().cpu().numpy().reshape(tuple(inits[target].dims))
            inits[target].CopyFrom(numpy_helper.from_array(np.ascontiguousarray(array), target))
    return model
