# mypy: ignore-errors
"""Windows of sound for training: sentences in a row, a room, a microphone, machines; then Whisper's features.

All on the GPU, a batch at a time.
"""

from collections.abc import Sequence
from random import Random
from typing import Any, Protocol

import numpy.typing as npt
import torch
from torch import Tensor

RATE = 16_000
SAMPLES = 15 * RATE
_FRAMES = 3000


class Spoken(Protocol):
    """Where a clip lies in the row of all clips."""

    @property
    def at(self) -> int:
        """Its first sample."""

    @property
    def length(self) -> int:
        """Its samples."""


class Mixer:
    """Lays clips out in windows, dirties them, and computes features."""

    def __init__(
        self, sound: npt.NDArray[Any], noise: npt.NDArray[Any], mel: npt.NDArray[Any], device: str, seed: int
    ) -> None:
        """Put everything on the device.

        Args:
            sound: all clips in a row, 16 bits, 16 kHz.
            noise: noise of the same kind.
            mel: filters (80, 201).
            device: where to compute.
            seed: of the dirt.
        """
        self.sound, self.noise = torch.from_numpy(sound).to(device), torch.from_numpy(noise).to(device)
        self.mel, self.device = torch.from_numpy(mel).to(device), device
        self.hann = torch.hann_window(400, device=device)
        self.reset(seed)

    def reset(self, seed: int) -> None:
        """Begin the row of random numbers anew."""
        self.rng = Random(seed)  # noqa: S311 - draws lessons
        self.random = torch.Generator(self.device).manual_seed(seed)

    def features(self, windows: Sequence[Sequence[Spoken]], snr_db: float | None = None) -> Tensor:
        """Features (batch, 80, 3000) of the windows; with random dirt, or only noise at the given ratio."""
        speech, ends = self._lay(windows)
        if snr_db is None:
            speech, ends = self._paced(speech, ends)
        alive = torch.arange(SAMPLES, device=self.device)[None] < ends[:, None]
        if snr_db is None:
            speech = self._room(speech) * alive
        loud = self._rms(speech, alive)
        speech = torch.where(loud > 1e-5, speech / loud.clamp(min=1e-5), speech)
        mixed = speech + self._noise(len(windows), loud, snr_db)
        if snr_db is None:
            mixed = self._microphone(mixed)
        features = self._log_mel(mixed * alive, ends, snr_db is None)
        return self._masked(features) if snr_db is None else features

    def _paced(self, x: Tensor, ends: Tensor) -> tuple[Tensor, Tensor]:
        """Played faster or slower, so that pace, pitch and resonances shift together."""
        factor = 0.88 + 0.26 * torch.rand(len(x), 1, generator=self.random, device=self.device)
        at = torch.arange(SAMPLES, device=self.device)[None] * factor
        low = at.long().clamp(max=SAMPLES - 2)
        share = (at - low).clamp(max=1.0)
        paced = x.gather(1, low) * (1 - share) + x.gather(1, low + 1) * share
        return paced * (at < SAMPLES - 1), (ends / factor[:, 0]).long().clamp(max=SAMPLES)

    def _masked(self, features: Tensor) -> Tensor:
        """Some bands and short stretches blanked (Park et al. 2019, SpecAugment)."""
        count, bands, frames = features.shape
        out = features
        for axis, size, widest, rounds in ((1, bands, 14, 2), (2, frames, 14, 3)):
            index = torch.arange(size, device=self.device)
            for _ in range(rounds):
                width = torch.rand(count, 1, generator=self.random, device=self.device) * widest
                reach = size if axis == 1 else 1400
                start = torch.rand(count, 1, generator=self.random, device=self.device) * reach
                hidden = (index >= start) & (index < start + width)
                shape = (count, size, 1) if axis == 1 else (count, 1, size)
                out = out.masked_fill(hidden.reshape(shape), 0.0)
        return out

    def _lay(self, windows: Sequence[Sequence[Spoken]]) -> tuple[Tensor, Tensor]:
        rows = torch.zeros(len(windows), SAMPLES, device=self.device)
        ends = []
        for row, window in zip(rows, windows, strict=True):
            at = round(self.rng.uniform(0.0, 0.35) * RATE)
            for clip in window:
                piece = self.sound[clip.at : clip.at + min(clip.length, SAMPLES - at)]
                row[at : at + len(piece)] = piece / 32768 * 10 ** self.rng.uniform(-0.15, 0.15)
                at = min(SAMPLES - 1, at + len(piece) + round(self.rng.uniform(0.08, 0.9) * RATE))
            ends.append(at if window else round(self.rng.uniform(3, 14) * RATE))
        return rows, torch.tensor(ends, device=self.device).clamp(max=SAMPLES)

    def _rms(self, x: Tensor, alive: Tensor) -> Tensor:
        """RMS where somebody speaks: frames of 20 ms at most 25 dB under the loud ones."""
        power = (x * alive).reshape(len(x), -1, 320).square().mean(-1)
        floor = torch.quantile(power, 0.95, dim=1, keepdim=True) * 10**-2.5
        heard = power >= floor.clamp(min=1e-12)
        return ((power * heard).sum(1) / heard.sum(1).clamp(min=1)).sqrt()[:, None]

    def _room(self, x: Tensor) -> Tensor:
        """Echo in about a third of the windows: noise that dies away, behind the direct sound."""
        count, length = len(x), RATE // 2
        t = torch.arange(length, device=self.device) / RATE
        decay = 0.03 + 0.15 * torch.rand(count, 1, generator=self.random, device=self.device)
        tail = torch.randn(count, length, generator=self.random, device=self.device) * torch.exp(-t / decay)
        strength = torch.rand(count, 1, generator=self.random, device=self.device) * 1.4
        on = (torch.rand(count, 1, generator=self.random, device=self.device) < 0.35).float()
        tail = tail / tail.square().sum(1, keepdim=True).sqrt() * strength * on
        tail[:, 0] = 1.0
        size = SAMPLES + length
        return torch.fft.irfft(torch.fft.rfft(x, size) * torch.fft.rfft(tail, size), size)[:, :SAMPLES]

    def _noise(self, count: int, loud: Tensor, snr_db: float | None) -> Tensor:
        starts = torch.randint(
            len(self.noise) - SAMPLES, (count, 2), generator=self.random, device=self.device
        )
        index = torch.arange(SAMPLES, device=self.device)
        pieces = self.noise[starts[..., None] + index].float() / 32768
        rms = self._rms(pieces.flatten(0, 1), torch.ones_like(index, dtype=torch.bool)[None])
        pieces = pieces / rms.reshape(count, 2, 1).clamp(min=1e-5)
        if snr_db is not None:
            return pieces[:, 0] * 10 ** (-snr_db / 20)
        second = torch.rand(count, 1, generator=self.random, device=self.device)
        both = pieces[:, 0] + pieces[:, 1] * (second - 0.5).clamp(min=0)
        snr = torch.rand(count, 1, generator=self.random, device=self.device) * 30 - 4
        clean = torch.rand(count, 1, generator=self.random, device=self.device) < 0.12
        return both * torch.where(clean, 10.0**-2.5, 10 ** (-snr / 20))

    def _microphone(self, x: Tensor) -> Tensor:
        """A smooth random colour, and overload now and then."""
        bands = torch.randn(len(x), 1, 9, generator=self.random, device=self.device) * 3.0
        gain = torch.nn.functional.interpolate(bands, SAMPLES // 2 + 1, mode="linear", align_corners=True)[
            :, 0
        ]
        x = torch.fft.irfft(torch.fft.rfft(x) * 10 ** (gain / 20), SAMPLES)
        drive = 10 ** (torch.rand(len(x), 1, generator=self.random, device=self.device) * 1.2 - 1.4)
        over = torch.rand(len(x), 1, generator=self.random, device=self.device) < 0.2
        return torch.where(over, torch.tanh(x * drive * 4) / (drive * 4), x)

    def _other_throats(self, spectrum: Tensor) -> Tensor:
        """Frequencies stretched by up to an eighth, as other throats do (Jaitly and Hinton 2013)."""
        count, bins, frames = spectrum.shape
        factor = 0.875 + 0.25 * torch.rand(count, 1, generator=self.random, device=self.device)
        bin_ = torch.arange(bins, device=self.device)[None].float()
        # Up to three fifths of the band by the factor, from there straight on to the top, which stays.
        knee, top = 0.6 * bins, float(bins - 1)
        above = knee * factor + (bin_ - knee) * (top - knee * factor) / (top - knee)
        at = torch.where(bin_ <= knee, bin_ * factor, above)
        low = at.long().clamp(max=bins - 2)
        share = (at - low)[..., None]
        index = low[..., None].expand(-1, -1, frames)
        return spectrum.gather(1, index) * (1 - share) + spectrum.gather(1, index + 1) * share

    def _log_mel(self, x: Tensor, ends: Tensor, stretched: bool) -> Tensor:
        """Whisper's features; behind the end of a window they are zero, as the program pads them."""
        x = x * 0.05
        spectrum = torch.stft(x, 400, 160, window=self.hann, return_complex=True)[..., :-1].abs().square()
        if stretched:
            spectrum = self._other_throats(spectrum)
        log = torch.log10((self.mel @ spectrum).clamp(min=1e-10))
        frames = torch.arange(log.shape[-1], device=self.device)[None, None]
        inside = frames < (ends[:, None, None] // 160 + 1)
        top = torch.where(inside, log, torch.full_like(log, -10.0)).amax(dim=(1, 2), keepdim=True)
        features = (torch.maximum(log, top - 8.0) + 4.0) / 4.0 * inside
        return torch.nn.functional.pad(features, (0, _FRAMES - features.shape[-1]))
