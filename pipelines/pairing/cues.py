"""Words that announce a photo that never came."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta

from models.capture import Capture
from models.notes import SpokenNotes
from pipelines.pairing.assignment import best_pairs
from pipelines.pairing.moments import PairingRules


def unfulfilled(
    captures: Mapping[str, Capture],
    notes: Sequence[SpokenNotes],
    taken: Sequence[datetime],
    rules: PairingRules,
) -> list[str]:
    """A sentence for each announced photo that nobody took.

    Args:
        captures: the audio files by their hash.
        notes: what was said in them.
        taken: when photos were taken, by the recorder's clock; each answers one announcement.
        rules: how long before and after the word a photo counts.
    """
    cues = [
        (note, cue, captures[note.capture].captured_at + timedelta(seconds=cue))
        for note in notes
        for cue in note.photo_cues
    ]
    costs = {}
    for c, (_, _, at) in enumerate(cues):
        for p, moment in enumerate(taken):
            late = (moment - at).total_seconds()
            if -rules.photo_before_s <= late <= rules.photo_after_s:
                costs[c, p] = abs(late)
    answered = best_pairs(costs)
    return [
        _sentence(captures[note.capture].original_name, note, cue, rules)
        for c, (note, cue, _) in enumerate(cues)
        if c not in answered
    ]


def _sentence(name: str, note: SpokenNotes, cue: float, rules: PairingRules) -> str:
    before = [f for f in note.findings if f.end_s <= cue + 1]
    about = ""
    if before:
        last = max(before, key=lambda f: f.end_s)
        about = f", after the {f'{last.position.words()} {last.component}'.strip().replace('_', ' ')},"
    minutes, seconds = divmod(int(cue), 60)
    return (
        f"A photo was announced at {minutes}:{seconds:02d} in {name}{about or ','} but none was taken within"
        f" {rules.photo_after_s:.0f} s: take it, or check the clocks."
    )
