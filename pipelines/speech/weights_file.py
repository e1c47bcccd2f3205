"""The file in which CTranslate2 keeps a model: its tensors by name, read and written.

The layout is that of CTranslate2's binary version 6: a header (format, name and revision of the
specification,
number of tensors), then for each tensor its name, shape, element type, size and bytes, then the aliases.
"""

import struct
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, BinaryIO

import numpy as np
import numpy.typing as npt

FLOAT16 = 4
_FORMAT = 6


@dataclass(frozen=True)
class Tensor:
    """One tensor as it lies in the file.

    Attributes:
        shape: lengths of its axes.
        kind: CTranslate2's number of the element type.
        data: the bytes.
    """

    shape: tuple[int, ...]
    kind: int
    data: bytes

    def array(self) -> npt.NDArray[np.float16]:
        """The values of a tensor of half precision.

        Raises:
            ValueError: the tensor is of another type.
        """
        if self.kind != FLOAT16:
            raise ValueError(f"element type {self.kind}, not half precision")
        return np.frombuffer(self.data, "<f2").reshape(self.shape)


@dataclass(frozen=True)
class WeightsFile:
    """All of a file: what stands before the tensors, the tensors in their order, and what stands after."""

    head: bytes
    tensors: dict[str, Tensor]
    tail: bytes


def _number(file: BinaryIO, code: str) -> int:
    return int(struct.unpack(code, file.read(struct.calcsize(code)))[0])


def read_weights(path: Path) -> WeightsFile:
    """Read a model file.

    Raises:
        ValueError: the file is of another format.
    """
    with path.open("rb") as file:
        if (version := _number(file, "<I")) != _FORMAT:
            raise ValueError(f"{path.name} is of format {version}, not {_FORMAT}")
        name = file.read(_number(file, "<H"))
        revision, count = _number(file, "<I"), _number(file, "<I")
        head = struct.pack("<IH", version, len(name)) + name + struct.pack("<II", revision, count)
        tensors = {}
        for _ in range(count):
            title = file.read(_number(file, "<H"))[:-1].decode("ascii")
            rank = _number(file, "<B")
            shape = struct.unpack(f"<{rank}I", file.read(4 * rank))
            kind, size = _number(file, "<B"), _number(file, "<I")
            tensors[title] = Tensor(shape, kind, file.read(size))
        return WeightsFile(head, tensors, file.read())


def write_weights(weights: WeightsFile, path: Path) -> None:
    """Write a model file; reading it gives the same weights."""
    with path.open("wb") as file:
        file.write(weights.head)
        for title, tensor in weights.tensors.items():
            name = title.encode("ascii") + b"\0"
            rank = len(tensor.shape)
            file.write(struct.pack("<H", len(name)) + name + struct.pack(f"<B{rank}I", rank, *tensor.shape))
            file.write(struct.pack("<BI", tensor.kind, len(tensor.data)) + tensor.data)
        file.write(weights.tail)


def in_8_bits(matrix: npt.NDArray[Any]) -> tuple[npt.NDArray[np.int8], npt.NDArray[np.float32]]:
    """A matrix (rows, columns) as bytes, and the factor of each row (rows, 1)."""
    rows = matrix.astype(np.float32)
    scale = np.maximum(np.abs(rows).max(axis=1, keepdims=True), 1e-8) / 127
    return np.round(rows / scale).astype(np.int8), scale


def update_matrix(update: Mapping[str, npt.NDArray[Any]], title: str) -> npt.NDArray[np.float32]:
    """A thin matrix of an update as numbers, also where it is kept in 8 bits."""
    values = update[title].astype(np.float32)
    return values * update[f"{title}:scale"] if f"{title}:scale" in update else values


def updated(
    weights: WeightsFile, update: Mapping[str, npt.NDArray[Any]], strength: float = 1.0
) -> WeightsFile:
    """The weights with a low-rank update added.

    Args:
        weights: tensors of half precision by name.
        update: for a matrix ``NAME:up`` (rows, rank) and ``NAME:down`` (rank, columns), whose product is
            added to the tensor ``NAME``; for a vector ``NAME``, which is added as it is. What is in 8 bits
            has a factor for each row beside it, ``TITLE:scale`` (rows, 1).
        strength: factor of all that is added; 0 leaves the weights as they are.

    Raises:
        KeyError: the update names a tensor that the weights lack.
        ValueError: a shape does not fit.
    """
    tensors = dict(weights.tensors)
    for title, values in update.items():
        name, _, part = title.partition(":")
        if part not in ("", "up"):
            continue
        before = tensors[name].array()
        added = values.astype(np.float32)
        if part == "up":
            added = update_matrix(update, title) @ update_matrix(update, f"{name}:down")
        sum_ = before.astype(np.float32) + strength * added.reshape(before.shape)
        tensors[name] = replace(tensors[name], data=sum_.astype("<f2").tobytes())
    return replace(weights, tensors=tensors)
