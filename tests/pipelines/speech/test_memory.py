"""What the real recogniser of speech takes does not grow with the length of a note."""

import json
import subprocess
import sys

import pytest

from pipelines.speech.memory import give_back
from pipelines.speech.weights import model_folder

_MB = 1 << 20
# Its own process, as the memory of this one has other users. Silence is heard fast; its lengths all differ.
_HEAR = """
import json, sys
from pathlib import Path
import numpy as np
from pipelines.speech.listener import WhisperListener
from pipelines.speech.memory import give_back

def resident():
    return int(Path("/proc/self/statm").read_text().split()[1]) * 4096

listener = WhisperListener(Path(sys.argv[1]), 2, "en")
taken = []
for k in range(20):
    listener.hear(np.zeros(8_000 + 1_600 * k, np.float32))
    taken.append(resident())
give_back()
print(json.dumps([*taken, resident()]))
"""


def test_giving_back_does_no_harm_where_nothing_is_held() -> None:
    give_back()
    give_back()


@pytest.mark.model
@pytest.mark.skipif(sys.platform != "linux", reason="asks Linux what it takes")
def test_windows_of_many_lengths_take_no_more_than_a_few() -> None:
    done = subprocess.run(
        [sys.executable, "-c", _HEAR, str(model_folder("base"))], check=True, capture_output=True, timeout=900
    )
    *taken, least = json.loads(done.stdout)
    assert len(taken) == 20
    assert max(taken[-5:]) - max(taken[:5]) < 12 * _MB
    assert taken[-1] - least < 12 * _MB  # nothing is held in reserve between windows
