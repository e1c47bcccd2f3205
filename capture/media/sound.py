"""Sound: decoding to one channel, with proof that the end was reached."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, BinaryIO

import av
import numpy as np

from capture.containers import Fault, counts_mp3_frames, fault, is_heic, is_mp4
from capture.identity import printable_name
from capture.media.kinds import SAMPLE_RATE, Samples
from capture.media.unreadable import COPY_AGAIN, UnreadableMedia
from capture.moments import Moment, container_moment

LONGEST_S = 4 * 3600.0

# Nothing else: FFmpeg also knows playlists and scripts that would open further files.
_DEMUXERS = "wav,w64,flac,ogg,mp3,amr,aac,matroska,webm,mov,mp4,m4a,3gp,3g2,mj2"
# Seconds by which a decoded length may fall short of the stated one; AAC and Opus state whole frames. Formats
# that are not here state no length, only a guess from the size of the file.
_SHORT_BY_S = {"flac": 0.001, "mp3": 0.06, "ogg": 0.1, "matroska,webm": 0.1, "mov,mp4,m4a,3gp,3g2,mj2": 0.1}
# Seconds that the file's clock may jump; a longer jump is sound that got lost. Opus stops sending in silence,
# but for no longer than 0.4 s (RFC 7587, 3.1.3); FLAC never does.
_LONGEST_JUMP_S = {"flac": 0.005, "ogg": 0.5, "matroska,webm": 0.5, "mov,mp4,m4a,3gp,3g2,mj2": 0.5}


def load_audio(path: Path) -> Samples:
    """The whole sound of a file, -1 to 1, one channel, 16,000 samples a second.

    Raises:
        UnreadableMedia: it cannot be read to its end.
    """
    return np.concatenate(list(_samples(path)))


def audio_blocks(path: Path, block_s: float) -> Iterator[Samples]:
    """The sound of a file in pieces of ``block_s`` seconds, the last one shorter; like :func:`load_audio`.

    Memory stays that of a few blocks however long the file is.
    """
    size = max(1, round(block_s * SAMPLE_RATE))
    held: list[Samples] = []
    count = 0
    for piece in _samples(path):
        held.append(piece)
        count += piece.size
        if count >= size:
            joined = np.concatenate(held)
            whole = count - count % size
            yield from np.split(joined[:whole], whole // size)
            held, count = [joined[whole:]], count - whole
    if count:
        yield np.concatenate(held)


def write_review_audio(src: Path, dst: Path) -> None:
    """Write the sound as AAC in an MP4 file, which every browser plays and can seek in.

    Raises:
        UnreadableMedia: ``src`` cannot be read to its end; ``dst`` is not written.
    """
    part = dst.with_name(f".{dst.name}.part")
    try:
        with av.open(str(part), "w", format="ipod", options={"movflags": "+faststart"}) as container:
            stream: Any = container.add_stream("aac", rate=SAMPLE_RATE, layout="mono")
            stream.bit_rate = 48_000
            for block in audio_blocks(src, 1.0):
                frame = av.AudioFrame.from_ndarray(block[None], format="fltp", layout="mono")
                frame.rate = SAMPLE_RATE
                container.mux(stream.encode(frame))
            container.mux(stream.encode(None))
        part.replace(dst)
    finally:
        part.unlink(missing_ok=True)


def probe_sound(path: Path) -> tuple[float, Moment | None]:
    """Decode to the end: seconds of sound, and when its container says it was recorded.

    Raises:
        UnreadableMedia: it cannot be read to its end.
    """
    count = sum(piece.size for piece in _samples(path))
    with path.open("rb") as file, _container(file, printable_name(path.name), None) as container:
        tags = {**_tags(container.streams.audio[0].metadata), **_tags(container.metadata)}
    return count / SAMPLE_RATE, container_moment(tags)


def _tags(metadata: Any) -> dict[str, str]:
    return {str(key): str(value) for key, value in metadata.items()}


@contextmanager
def _container(file: BinaryIO, name: str, wrong: Fault | None) -> Iterator[Any]:
    head = file.read(16)
    file.seek(0)
    try:
        container = av.open(
            file, metadata_errors="replace", options={"format_whitelist": _DEMUXERS, "err_detect": "crccheck"}
        )
    except (av.FFmpegError, ValueError):
        if wrong is not None:
            raise UnreadableMedia(f"{name} {wrong}: {COPY_AGAIN}.") from None
        if is_mp4(head) and not is_heic(head):
            raise UnreadableMedia(f"{name} ends early: its index is missing, {COPY_AGAIN}.") from None
        raise UnreadableMedia(
            f"{name} does not hold sound that can be read, whatever its name says: "
            "record it again or convert it."
        ) from None
    with container:
        if any(stream.codec_context is None for stream in container.streams.audio):
            raise UnreadableMedia(
                f"{name} {wrong}: {COPY_AGAIN}."
                if wrong
                else f"{name} holds a kind of sound that cannot be read: convert it to wav."
            )
        if not container.streams.audio:
            raise UnreadableMedia(f"{name} holds no sound: record it again.")
        yield container


def _samples(path: Path) -> Iterator[Samples]:
    """Decode to the end in small pieces, then check that it was the end."""
    name = printable_name(path.name)
    with path.open("rb") as file:
        wrong = fault(file)
        exact = counts_mp3_frames(file)
        file.seek(0)
        with _container(file, name, wrong) as container:
            stated_s = (container.duration or 0) / 1e6
            if stated_s > LONGEST_S:
                raise _too_long(name)
            sound = _Sound(container, name)
            yield from sound.pieces()
            guessed = container.format.name == "mp3" and not exact
            sound.check_end(wrong, None if guessed else stated_s)


def _too_long(name: str) -> UnreadableMedia:
    return UnreadableMedia(f"{name} is longer than {LONGEST_S / 3600:.0f} hours: cut it into shorter notes.")


class _Sound:
    """One pass over the sound of an open container."""

    def __init__(self, container: Any, name: str) -> None:
        self._container = container
        self._stream = container.streams.audio[0]
        decoder = self._stream.codec_context
        # FLAC has a checksum for every frame; other formats carry wrong ones that do not matter.
        decoder.options = {"err_detect": "crccheck+explode" if decoder.name == "flac" else "crccheck"}
        self._name = name
        self._resampler = av.AudioResampler(format="fltp", rate=SAMPLE_RATE)
        self._packets = 0
        self._failed = False  # the last packet could not be decoded
        self._heard_s = 0.0  # by the file's own clock
        self._begin_s: float | None = None
        self._written = 0

    def pieces(self) -> Iterator[Samples]:
        """Everything, at most a frame at a time."""
        for packet in self._demuxed():
            if self._failed and packet.size:
                raise UnreadableMedia(
                    f"{self._name} is damaged {self._heard_s:.1f} seconds in: {COPY_AGAIN}."
                )
            self._packets += packet.size > 0
            try:
                frames = packet.decode()
            except av.FFmpegError:
                if silence_s := self._pause(packet):
                    yield from self._silence(silence_s)
                else:  # an MP3 may begin inside a frame
                    self._failed = self._heard_s > 0 or self._packets > 3
                continue
            for frame in frames:
                yield from self._placed(frame)
        yield from self._out(self._resampler.resample(None))

    def check_end(self, wrong: Fault | None, stated_s: float | None) -> None:
        """Refuse a file whose end was not reached.

        Args:
            wrong: what the container itself says is wrong.
            stated_s: the length its container states, None when it states none.
        """
        tolerance = _SHORT_BY_S.get(self._container.format.name)
        if stated_s is None or tolerance is None:
            lost = self._failed
        else:
            lost = self._heard_s + tolerance < stated_s or (self._failed and not self._may_end_in_a_tag())
        # An MP4 may leave out packets on purpose (an edit list), but then its stated length does as well.
        if wrong == "is damaged":
            raise UnreadableMedia(f"{self._name} is damaged: {COPY_AGAIN}.")
        if wrong or lost or (self._written == 0 and self._stream.frames):
            raise _ends_early(self._name, self._heard_s)
        if self._written == 0:
            raise UnreadableMedia(f"{self._name} holds no sound: record it again.")

    def _may_end_in_a_tag(self) -> bool:
        return bool(self._container.format.name == "mp3")

    def _demuxed(self) -> Iterator[Any]:
        try:
            yield from self._container.demux(self._stream)
        except av.FFmpegError:
            raise UnreadableMedia(
                f"{self._name} is damaged {self._heard_s:.1f} seconds in: {COPY_AGAIN}."
            ) from None

    def _pause(self, packet: Any) -> float:
        # Phones send comfort noise (NB 8, WB 9) or nothing (15) in silence; the decoder refuses both.
        codec = self._stream.codec_context.name
        if not codec.startswith("amr") or not packet.size:
            return 0.0
        kind = bytes(packet)[0] >> 3 & 15
        return 0.02 if kind == 15 or kind == (9 if "wb" in codec else 8) else 0.0

    def _placed(self, frame: Any) -> Iterator[Samples]:
        """The samples of a frame, after the silence that the file's clock puts before it."""
        if frame.time is not None:
            if self._begin_s is None:
                self._begin_s = frame.time
            gap = frame.time - self._begin_s - self._heard_s
            # The table of an unfragmented MP4 places every packet: there a jump is meant.
            longest = _LONGEST_JUMP_S.get(self._container.format.name)
            if longest is not None and gap > longest and self._stream.frames == 0:
                raise UnreadableMedia(
                    f"{self._name} is damaged: {gap:.2f} seconds are missing {self._heard_s:.1f} seconds in, "
                    f"{COPY_AGAIN}."
                )
            if gap > 0.05:
                yield from self._silence(gap)
        self._heard_s += frame.samples / frame.sample_rate
        try:
            pieces = self._resampler.resample(frame)
        except ValueError:
            raise UnreadableMedia(
                f"{self._name} changes its kind of sound half way: convert it to wav."
            ) from None
        yield from self._out(pieces)

    def _silence(self, length_s: float) -> Iterator[Samples]:
        if self._heard_s + length_s > LONGEST_S:
            raise _too_long(self._name)
        self._heard_s += length_s
        count = round(length_s * SAMPLE_RATE)
        self._written += count
        yield np.zeros(count, np.float32)

    def _out(self, frames: Any) -> Iterator[Samples]:
        for frame in frames:
            # The mean, because FFmpeg's own mix of two channels may exceed 1.
            piece = frame.to_ndarray().mean(axis=0, dtype=np.float32)
            self._written += piece.size
            if self._written > LONGEST_S * SAMPLE_RATE:
                raise _too_long(self._name)
            yield piece


def _ends_early(name: str, heard_s: float) -> UnreadableMedia:
    return UnreadableMedia(
        f"{name} ends early: only {heard_s:.1f} seconds of its sound are there, {COPY_AGAIN}."
    )
