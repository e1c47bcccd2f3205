"""The networks as they run: loaded once, on the first photo."""

from functools import lru_cache
from importlib.resources import files
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float32]
Part = Literal["locate", "read", "again", "unit", "word"]

THREADS = 2


@lru_cache(maxsize=5)
def _session(part: Part) -> Any:
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = THREADS
    options.inter_op_num_threads = 1
    options.log_severity_level = 3
    # Threads that wait for work at full speed take the cores from the other networks and from OpenCV.
    options.add_session_config_entry("session.intra_op.allow_spinning", "0")
    # Photos differ in size, so memory kept for the last shape would only pile up.
    options.enable_cpu_mem_arena = False
    data = files("pipelines.displays").joinpath("weights", f"{part}.onnx").read_bytes()
    return onnxruntime.InferenceSession(data, options, providers=["CPUExecutionProvider"])


def run(part: Part, pixels: Floats) -> Floats:
    """The output of one network.

    Args:
        part: which network.
        pixels: batch x 3 x height x width, scaled as that network was taught.
    """
    out = _session(part).run(None, {"pixels": np.ascontiguousarray(pixels, np.float32)})[0]
    return np.asarray(out, np.float32)
