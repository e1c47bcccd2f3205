# mypy: ignore-errors
"""Whisper in PyTorch under CTranslate2's names of the weights, with a low-rank update on every matrix.

Architecture: Radford et al. 2022, "Robust Speech Recognition via Large-Scale Weak Supervision"; low-rank
updates: Hu et al. 2021, "LoRA: Low-Rank Adaptation of Large Language Models".
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import torch
from torch import Tensor, nn
from torch.nn import functional as F

HEADS = 8


def load_packed(folder: Path, device: str) -> dict[str, Tensor]:
    """The frozen weights of ``pack``, in half precision."""
    weights: dict[str, Tensor] = {}
    for part in ("layers", "tokens"):
        with np.load(folder / f"{part}.npz") as stored:
            for name in (n for n in stored.files if not n.endswith(":scale")):
                values = torch.from_numpy(stored[name]).to(device).float()
                if name + ":scale" in stored.files:
                    scale = torch.from_numpy(stored[name + ":scale"]).to(device)
                    values = (values.reshape(len(values), -1) * scale).reshape(values.shape)
                weights[name] = values
    return weights


def _adaptable(name: str, values: Tensor) -> bool:
    return values.ndim >= 2 and "embeddings" not in name and "encodings" not in name


class Whisper(nn.Module):
    """The model: frozen weights, a trained pair of thin matrices for each, trained shifts of the vectors."""

    def __init__(self, weights: Mapping[str, Tensor], rank: int) -> None:
        """Begin at the frozen weights: every update is zero.

        Args:
            weights: by CTranslate2's names.
            rank: columns of the thin matrices.
        """
        super().__init__()
        self.names = {name.replace("/", "__"): name for name in weights}
        self.down, self.up, self.shift = nn.ParameterDict(), nn.ParameterDict(), nn.ParameterDict()
        for key, name in self.names.items():
            values = weights[name]
            frozen = values if not _adaptable(name, values) else values.to(torch.bfloat16)
            self.register_buffer("w_" + key, frozen, persistent=False)
            if _adaptable(name, values):
                rows, columns = len(values), values[0].numel()
                self.down[key] = nn.Parameter(torch.randn(rank, columns) / columns**0.5)
                self.up[key] = nn.Parameter(torch.zeros(rows, rank))
            elif values.ndim == 1:
                self.shift[key] = nn.Parameter(torch.zeros_like(values))

    def weight(self, name: str) -> Tensor:
        """A weight with its update."""
        key = name.replace("/", "__")
        frozen: Tensor = getattr(self, "w_" + key)
        if key in self.down:
            return frozen + (self.up[key] @ self.down[key]).to(frozen.dtype).reshape(frozen.shape)
        return frozen + self.shift[key] if key in self.shift else frozen

    def update(self) -> dict[str, npt.NDArray[Any]]:
        """What was learnt: ``NAME:up``, ``NAME:down`` for matrices, ``NAME`` for vectors; half precision."""
        learnt = {}
        for kind, parts in (("up", self.up), ("down", self.down), ("", self.shift)):
            for key, values in parts.items():
                title = self.names[key] + (f":{kind}" if kind else "")
                learnt[title] = values.detach().float().cpu().numpy().astype(np.float16)
        return learnt

    def resume(self, learnt: Mapping[str, npt.NDArray[Any]]) -> None:
        """Go on from an earlier update of the same rank."""
        parts = {"up": self.up, "down": self.down, "": self.shift}
        with torch.no_grad():
            for title, values in learnt.items():
                name, _, kind = title.partition(":")
                parts[kind][name.replace("/", "__")].copy_(torch.from_numpy(values).float())

    def _linear(self, x: Tensor, name: str) -> Tensor:
        return F.linear(x, self.weight(f"{name}/weight").to(x.dtype), self.weight(f"{name}/bias").to(x.dtype))

    def _norm(self, x: Tensor, name: str) -> Tensor:
        gamma, beta = self.weight(f"{name}/gamma"), self.weight(f"{name}/beta")
        return F.layer_norm(x.float(), x.shape[-1:], gamma, beta).to(x.dtype)

    @staticmethod
    def _heads(x: Tensor) -> Tensor:
        return x.unflatten(-1, (HEADS, -1)).transpose(1, 2)

    def _attend(self, q: Tensor, k: Tensor, v: Tensor, name: str, causal: bool) -> Tensor:
        out = F.scaled_dot_product_attention(self._heads(q), self._heads(k), self._heads(v), is_causal=causal)
        return self._linear(out.transpose(1, 2).flatten(2), name)

    def _self_attention(self, x: Tensor, name: str, causal: bool) -> Tensor:
        normed = self._norm(x, f"{name}/layer_norm")
        q, k, v = self._linear(normed, f"{name}/linear_0").chunk(3, dim=-1)
        return x + self._attend(q, k, v, f"{name}/linear_1", causal)

    def _cross_attention(self, x: Tensor, sound: Tensor, name: str) -> Tensor:
        q = self._linear(self._norm(x, f"{name}/layer_norm"), f"{name}/linear_0")
        k, v = self._linear(sound, f"{name}/linear_1").chunk(2, dim=-1)
        return x + self._attend(q, k, v, f"{name}/linear_2", False)

    def _feed(self, x: Tensor, name: str) -> Tensor:
        inner = F.gelu(self._linear(self._norm(x, f"{name}/layer_norm"), f"{name}/linear_0"))
        return x + self._linear(inner, f"{name}/linear_1")

    def encode(self, mel: Tensor) -> Tensor:
        """Features (batch, 80, 3000) to states (batch, 1500, 512)."""
        x = mel
        for name, stride in (("encoder/conv1", 1), ("encoder/conv2", 2)):
            w, b = self.weight(f"{name}/weight").to(x.dtype), self.weight(f"{name}/bias").to(x.dtype)
            x = F.gelu(F.conv1d(x, w, b, stride=stride, padding=1))
        x = x.transpose(1, 2)
        x = x + self.weight("encoder/position_encodings/encodings")[: x.shape[1]].to(x.dtype)
        for i in range(6):
            x = self._self_attention(x, f"encoder/layer_{i}/self_attention", False)
            x = self._feed(x, f"encoder/layer_{i}/ffn")
        return self._norm(x, "encoder/layer_norm")

    def decode(self, tokens: Tensor, sound: Tensor) -> Tensor:
        """Token numbers (batch, length) to states (batch, length, 512) before the projection on tokens."""
        x = F.embedding(tokens, self.weight("decoder/embeddings/weight")).to(sound.dtype)
        x = x + self.weight("decoder/position_encodings/encodings")[: x.shape[1]].to(x.dtype)
        for i in range(6):
            x = self._self_attention(x, f"decoder/layer_{i}/self_attention", True)
            x = self._cross_attention(x, sound, f"decoder/layer_{i}/attention")
            x = self._feed(x, f"decoder/layer_{i}/ffn")
        return self._norm(x, "decoder/layer_norm")

    def logits(self, states: Tensor) -> Tensor:
        """States to scores of every token."""
        return F.linear(states, self.weight("decoder/embeddings/weight").to(states.dtype)).float()
