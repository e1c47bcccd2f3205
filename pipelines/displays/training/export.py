# mypy: ignore-errors
"""Make an ONNX file small: weights in half precision, turned back to single when it is loaded."""

from pathlib import Path

import numpy as np
import onnx
from onnx import TensorProto, helper, numpy_helper


def shrink(path: Path, least: int = 256) -> None:
    """Store every weight of ``least`` or more numbers as float16 behind a cast; arithmetic stays float32."""
    model = onnx.load(str(path))
    graph = model.graph
    casts = []
    for tensor in graph.initializer:
        if tensor.data_type != TensorProto.FLOAT or np.prod(tensor.dims) < least:
            continue
        values = numpy_helper.to_array(tensor).astype(np.float16)
        name = tensor.name
        tensor.CopyFrom(numpy_helper.from_array(values, f"{name}.half"))
        casts.append(helper.make_node("Cast", [f"{name}.half"], [name], to=TensorProto.FLOAT))
    nodes = [*casts, *graph.node]
    del graph.node[:]
    graph.node.extend(nodes)
    onnx.checker.check_model(model)
    onnx.save(model, str(path))
