"""Draw sentences, let synthesisers speak them, and pack the clips for training.

    python -m pipelines.speech.training.clips OUT --count 14000 --seed 1

Writes shards ``OUT/0000.ogg`` (all clips of the shard one after another, 16 kHz, Opus) and ``OUT/0000.json``:
for each clip its first sample, its length, the run of one voice that it belongs to and the two written
forms.
"""

import argparse
import json
from multiprocessing import Pool
from pathlib import Path
from random import Random
from typing import Any

import numpy as np

from pipelines.speech.training.sentences import Speaker
from samples.sound import RATE, Sound, write_sound
from samples.speech import Voice, speak_as

_SHARD = 500
_FLITE = ("slt", "rms", "awb", "kal16", "kal")
_FESTIVAL = ("cmu_us_slt_arctic_hts", "kal_diphone")
_ESPEAK = (
    "en-us",
    "en-us",
    "en-us",
    "en-gb",
    "en-gb-scotland",
    "en-gb-x-rp",
    "en-gb-x-gbclan",
    "en-gb-x-gbcwmd",
)
_ESPEAK_KINDS = (
    *("", "", "+m1", "+m2", "+m3", "+m4", "+m5", "+m6", "+m8", "+f1", "+f2", "+f3", "+f4", "+f5"),
    *(
        "+klatt",
        "+klatt2",
        "+klatt4",
        "+Andy",
        "+Annie",
        "+Denis",
        "+Gene",
        "+Jacky",
        "+Lee",
        "+Michael",
        "+steph",
    ),
)


def draw_voice(rng: Random) -> Voice:
    """One way of speaking: engine, voice, pace, pitch."""
    pace, pitch = rng.uniform(0.85, 1.3), rng.uniform(0.88, 1.12)
    engine = rng.choices(("piper", "flite", "pico", "festival", "espeak"), (26, 28, 16, 2, 28))[0]
    if engine == "piper":
        return Voice("piper", "joe", pace, pitch, variation=rng.uniform(0.0, 0.9))
    if engine == "flite":
        return Voice("flite", rng.choice(_FLITE), pace, pitch)
    if engine == "pico":
        return Voice("pico", "en-US", pace, pitch)
    if engine == "festival":
        return Voice("festival", rng.choice(_FESTIVAL), pace, pitch)
    return Voice("espeak", rng.choice(_ESPEAK) + rng.choice(_ESPEAK_KINDS), pace * 1.12, pitch)


def make_shard(out: Path, number: int, seed: int) -> int:
    """Write one shard; returns the number of clips in it."""
    rng = Random(seed * 100_003 + number)  # noqa: S311 - draws lessons
    speaker = Speaker(rng)
    sounds: list[Sound] = []
    rows: list[dict[str, Any]] = []
    at = run = 0
    while len(rows) < _SHARD:
        # A few sentences in a row by the same voice, so that training can set them one after another.
        voice, run = draw_voice(rng), run + 1
        for _ in range(rng.randint(4, 8)):
            said = speaker.sentence()
            sound = speak_as(said.say, voice)
            if not RATE // 5 < len(sound) < 14 * RATE:
                continue
            row = {"at": at, "length": len(sound), "run": run, "words": said.words, "digits": said.digits}
            rows.append(row)
            sounds.append(sound)
            at += len(sound)
    write_sound(out / f"{number:04d}.ogg", np.concatenate(sounds))
    (out / f"{number:04d}.json").write_text(json.dumps(rows), encoding="utf-8")
    return len(rows)


def _make(job: tuple[Path, int, int]) -> Any:
    return make_shard(*job)


def main() -> None:
    """Draw the clips asked for on the command line."""
    parser = argparse.ArgumentParser(description="Draw sentences and let synthesisers speak them.")
    parser.add_argument("out", type=Path)
    parser.add_argument("--count", type=int, default=14_000)
    parser.add_argument("--first", type=int, default=0, help="number of the first shard")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=2)
    arguments = parser.parse_args()
    arguments.out.mkdir(parents=True, exist_ok=True)
    wanted = range(arguments.first, arguments.first - (-arguments.count // _SHARD))
    jobs = [
        (arguments.out, n, arguments.seed) for n in wanted if not (arguments.out / f"{n:04d}.json").exists()
    ]
    with Pool(arguments.processes) as pool:
        for done, _ in enumerate(pool.imap_unordered(_make, jobs), 1):
            print(f"{done} of {len(jobs)} shards", flush=True)


if __name__ == "__main__":
    main()
