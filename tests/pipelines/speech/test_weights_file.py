"""The model file: read, written, brought up to date; a small one in the same layout stands in."""

import struct
from pathlib import Path

import numpy as np
import pytest

from pipelines.speech.training.shrink import cut, shrink
from pipelines.speech.weights_file import (
    FLOAT16,
    Tensor,
    WeightsFile,
    in_8_bits,
    read_weights,
    update_matrix,
    updated,
    write_weights,
)

HEAD = struct.pack("<IH", 6, 5) + b"Spec\0" + struct.pack("<II", 3, 3)
TAIL = struct.pack("<I", 0)


def small() -> WeightsFile:
    matrix = np.arange(6, dtype="<f2").reshape(2, 3)
    return WeightsFile(
        HEAD,
        {
            "layer/weight": Tensor((2, 3), FLOAT16, matrix.tobytes()),
            "layer/bias": Tensor((2,), FLOAT16, np.array([1, -1], "<f2").tobytes()),
            "heads": Tensor((), 2, b"\x08"),
        },
        TAIL,
    )


def test_what_is_written_is_read_again(tmp_path: Path) -> None:
    write_weights(small(), tmp_path / "model.bin")
    assert read_weights(tmp_path / "model.bin") == small()


def test_another_format_is_refused(tmp_path: Path) -> None:
    (tmp_path / "model.bin").write_bytes(struct.pack("<I", 5) + bytes(20))
    with pytest.raises(ValueError, match="format 5, not 6"):
        read_weights(tmp_path / "model.bin")


def test_an_update_is_the_product_of_two_thin_matrices_and_a_shift() -> None:
    update = {
        "layer/weight:up": np.array([[1.0], [2.0]], np.float16),
        "layer/weight:down": np.array([[1.0, 0.0, -1.0]], np.float16),
        "layer/bias": np.array([0.5, 0.5], np.float16),
    }
    after = updated(small(), update)
    assert after.tensors["layer/weight"].array().tolist() == [[1, 1, 1], [5, 4, 3]]
    assert after.tensors["layer/bias"].array().tolist() == [1.5, -0.5]
    assert after.tensors["heads"] == small().tensors["heads"]


def test_an_update_in_8_bits_is_the_same_to_a_part_in_a_hundred() -> None:
    up, down = np.array([[1.0, 0.3], [2.0, -7.0]]), np.array([[1.0, 0.0, -1.0], [0.25, 3.0, 0.01]])
    whole = {"layer/weight:up": up, "layer/weight:down": down}
    small_parts = {}
    for title, matrix in whole.items():
        small_parts[title], small_parts[f"{title}:scale"] = in_8_bits(matrix)
    assert {v.dtype for t, v in small_parts.items() if not t.endswith("scale")} == {np.dtype(np.int8)}
    found = updated(small(), small_parts).tensors["layer/weight"].array()
    expected = updated(small(), whole).tensors["layer/weight"].array()
    assert np.abs(found - expected).max() <= 0.01 * np.abs(up @ down).max()


def test_strength_scales_what_is_added() -> None:
    update = {"layer/bias": np.array([1.0, 1.0], np.float16)}
    assert updated(small(), update, 0.5).tensors["layer/bias"].array().tolist() == [1.5, -0.5]
    assert updated(small(), update, 0.0) == small()


def test_an_update_of_other_weights_is_refused() -> None:
    with pytest.raises(KeyError):
        updated(small(), {"other/bias": np.zeros(2, np.float16)})
    with pytest.raises(ValueError, match="element type 2"):
        updated(small(), {"heads": np.zeros(1, np.float16)})


def test_values_of_another_type_are_not_read_as_half_precision() -> None:
    with pytest.raises(ValueError, match="not half precision"):
        small().tensors["heads"].array()


def test_a_sum_of_updates_is_cut_to_the_nearest_of_a_rank() -> None:
    rng = np.random.default_rng(1)
    up, down = rng.normal(size=(40, 12)), rng.normal(size=(12, 30))
    left, right = cut(up, down, 12)
    assert np.allclose(left @ right, up @ down)
    # Eckart and Young 1936: no other matrix of the rank is nearer than what the singular values leave.
    left, right = cut(up, down, 5)
    assert left.shape == (40, 5)
    lost = np.linalg.svd(up @ down, compute_uv=False)[5:]
    assert np.isclose(np.linalg.norm(up @ down - left @ right), np.linalg.norm(lost))


def test_updates_are_added_up_each_with_its_strength() -> None:
    one = {
        "a:up": np.ones((4, 1), np.float16),
        "a:down": np.ones((1, 3), np.float16),
        "b": np.ones(2, np.float16),
    }
    other = {
        "a:up": np.full((4, 1), 2, np.float16),
        "a:down": np.ones((1, 3), np.float16),
        "b": np.ones(2, np.float16),
    }
    shipped = shrink([(one, 0.5), (other, 0.25)], rank=1)
    assert np.allclose(update_matrix(shipped, "a:up") @ update_matrix(shipped, "a:down"), 1.0, atol=0.02)
    assert np.allclose(shipped["b"], 0.75)
