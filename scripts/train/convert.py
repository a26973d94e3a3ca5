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
    model = onnx.shape_inference.infer_shapes(model)  # before fusing: the fused operator has no shape rule
    nodes = fuse(model.graph, list(model.graph.node))
    del model.graph.node[:]
    model.graph.node.extend(nodes)
    return model


def fuse(graph, nodes):
    """Fewer, larger operators for training speed: a convolution takes the bias added after it, Div-Erf-Add-Mul-Mul is one Gelu."""
    inits = {i.name: i for i in graph.initializer}
    made_by, users = {n.output[0]: n for n in nodes}, {}
    for n in nodes:
        for name in n.input:
            users.setdefault(name, []).append(n)
    only = lambda name: users[name][0] if len(users.get(name, [])) == 1 else None
    gone, replaced = set(), {}
    for n in nodes:
        after = only(n.output[0])
        if n.op_type == "Conv" and len(n.input) == 2 and after is not None and after.op_type == "Add":
            bias = inits.get(next((i for i in after.input if i in inits), None))
            if bias is not None and bias.dims[:1] + bias.dims[2:] == [1, 1, 1]:
                flat = bias.name + ".flat"
                graph.initializer.append(numpy_helper.from_array(numpy_helper.to_array(bias).reshape(-1), flat))
                n.input.append(flat)
                n.output[0] = after.output[0]
                gone.add(id(after))
        if n.op_type == "Erf":
            first, chain = made_by[n.input[0]], [n]
            for _ in range(3):
                chain.append(only(chain[-1].output[0]))
            if first.op_type == "Div" and [c.op_type for c in chain] == ["Erf", "Add", "Mul", "Mul"] and first.input[0] in chain[2].input:
                gone.update(id(c) for c in [first, *chain])
                replaced[id(chain[-1])] = helper.make_node("Gelu", [first.input[0]], [chain[-1].output[0]])
    return [replaced.get(id(n), n) for n in nodes if id(n) not in gone or id(n) in replaced]


def register_gelu(version):
    """Teaches onnx2torch the fused operator (in ONNX itself since opset 20)."""
    from onnx2torch.node_converters.registry import _CONVERTER_REGISTRY, OperationDescription, add_converter
    from onnx2torch.utils.common import OperationConverterResult, onnx_mapping_from_node
    if OperationDescription("", "Gelu", version) not in _CONVERTER_REGISTRY:
        add_converter("Gelu", version)(lambda node, graph: OperationConverterResult(torch.nn.GELU(), onnx_mapping_from_node(node)))


def to_torch(model):
    """The module, in eval mode, with every float weight a parameter; gives logits."""
    from onnx2torch import convert

    register_gelu(next(o.version for o in model.opset_import if o.domain == ""))
    module = convert(simplify(model)).eval()
    for holder in list(module.modules()):  # weights of generic operators come as buffers
        for name, buffer in list(holder.named_buffers(recurse=False)):
            if buffer.is_floating_point() and buffer.numel() > 1 and not isinstance(holder, torch.nn.BatchNorm2d):
                delattr(holder, name)
                holder.register_parameter(name, torch.nn.Parameter(buffer.clone()))
    return module


class Tunable:
    """A published graph, the module made of it, and the way back. `start` may hold weights to go on from."""

    def __init__(self, base, start=None):
        self.graph = load(base)
        self.module = to_torch(self.graph)
        self.names = weight_map(self.graph, self.module)
        if start:
            values = {i.name: numpy_helper.to_array(i) for i in load(start).graph.initializer}
            with torch.no_grad():
                for name, p in self.module.named_parameters():
                    p.copy_(torch.from_numpy(values[self.names[name][0]].copy()).view_as(p))

    def save(self, module, path):
        onnx.save(write_back(self.graph, module, self.names), path)


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
