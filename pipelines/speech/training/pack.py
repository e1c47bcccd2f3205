"""Pack what the training machine needs: the base weights in 8 bits, the clips' tokens, the prompts.

    python -m pipelines.speech.training.pack CLIPS MODEL OUT

Writes ``OUT/layers.npz`` and ``OUT/tokens.npz`` (8 bits, one scale a row) and ``OUT/clips.json``.
"""

import argparse
import json
from pathlib import Path
from typing import Any

import numpy as np

from pipelines.speech.listener import PROMPTS
from pipelines.speech.weights_file import FLOAT16, in_8_bits, read_weights


def pack_weights(model: Path, out: Path) -> None:
    """The tensors of half precision: matrices in 8 bits, the rest as they are."""
    parts: dict[str, dict[str, Any]] = {"layers": {}, "tokens": {}}
    for name, tensor in read_weights(model / "model.bin").tensors.items():
        if tensor.kind != FLOAT16:
            continue
        part = parts["tokens" if name.startswith("decoder/embeddings") else "layers"]
        values = tensor.array()
        if values.ndim < 2 or "encodings" in name:
            part[name] = values
            continue
        rows, part[name + ":scale"] = in_8_bits(values.reshape(len(values), -1))
        part[name] = rows.reshape(values.shape)
    for title, part in parts.items():
        np.savez(out / f"{title}.npz", **part)


def pack_clips(clips: Path, model: Path, out: Path) -> None:
    """Offsets and token numbers of every clip, the prompts' tokens, the mel filters."""
    import tokenizers
    from faster_whisper.feature_extractor import FeatureExtractor

    tokenizer = tokenizers.Tokenizer.from_file(str(model / "tokenizer.json"))

    def ids(text: str) -> list[int]:
        return list(tokenizer.encode(" " + text, add_special_tokens=False).ids)

    rows = []
    for shard in sorted(clips.glob("*.json")):
        for row in json.loads(shard.read_text(encoding="utf-8")):
            rows.append(
                [int(shard.stem), row["at"], row["length"], row["run"], ids(row["words"]), ids(row["digits"])]
            )
    names = ("startofprev", "startoftranscript", "en", "transcribe", "notimestamps", "endoftext", "nospeech")
    special = {name: tokenizer.token_to_id(f"<|{name}|>") for name in names}
    # Whisper's token for a window without speech was renamed in between.
    special["nospeech"] = special["nospeech"] or tokenizer.token_to_id("<|nocaptions|>")
    data = {
        "clips": rows,
        "special": special,
        "prompts": {style: ids(text) for style, text in PROMPTS.items()},
    }
    (out / "clips.json").write_text(json.dumps(data), encoding="utf-8")
    np.save(out / "mel.npy", FeatureExtractor().mel_filters.astype(np.float32))


def main() -> None:
    """Pack the folders named on the command line."""
    parser = argparse.ArgumentParser(description="Pack weights and clips for the training machine.")
    parser.add_argument("clips", type=Path)
    parser.add_argument("model", type=Path)
    parser.add_argument("out", type=Path)
    arguments = parser.parse_args()
    arguments.out.mkdir(parents=True, exist_ok=True)
    pack_weights(arguments.model, arguments.out)
    pack_clips(arguments.clips, arguments.model, arguments.out)


if __name__ == "__main__":
    main()
