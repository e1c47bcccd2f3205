"""What a spoken note says, before photos and limits are known."""

from models.frozen import Frozen
from models.places import Position
from models.record import Alternative, Odometer, Reading


class Remark(Frozen):
    """A sentence that goes with a finding without being its value: what the play moves.

    Attributes:
        text: exactly as heard.
        start_s: where in the sound it begins (seconds).
        end_s: where it ends.
    """

    text: str
    start_s: float
    end_s: float


class SpokenFinding(Frozen):
    """One thing said about one part.

    Attributes:
        component: identifier of the vocabulary.
        position: the place said or carried over from what was said before.
        reading: the number said, or None ("torn boot").
        conditions: identifiers of the vocabulary.
        action: identifier of the vocabulary, or None.
        confidence: 0 to 1, share of the decoder's hypotheses that say the same.
        alternatives: other values heard for the same thing, best first.
        attention: plain sentences, one for each doubt.
        start_s: where in the sound it begins (seconds).
        end_s: where it ends.
        text: the words it was read from, exactly as heard.
        date_code: the last digits of a tire's identification number: week and year in which it was
            made; empty when they were said and not understood, None when no code was said.
        remarks: further sentences that go with it.
    """

    component: str
    position: Position = Position()
    reading: Reading | None = None
    conditions: tuple[str, ...] = ()
    action: str | None = None
    confidence: float
    alternatives: tuple[Alternative, ...] = ()
    attention: tuple[str, ...] = ()
    start_s: float
    end_s: float
    text: str
    date_code: str | None = None
    remarks: tuple[Remark, ...] = ()


class SpokenNotes(Frozen):
    """All that one audio file says.

    Attributes:
        capture: sha256 of the audio.
        unit: the unit or work order named in the opening, as written on the truck ("417").
        vin: the vehicle identification number said, unchecked.
        odometer: the odometer said.
        findings: in the order said.
        attention: doubts about the note as a whole.
        ended: the speaker closed the inspection.
        photo_cues: when a photo was announced ("photo", "taking a picture"), in seconds.
    """

    capture: str
    unit: str | None = None
    vin: str | None = None
    odometer: Odometer | None = None
    findings: tuple[SpokenFinding, ...] = ()
    attention: tuple[str, ...] = ()
    ended: bool = False
    photo_cues: tuple[float, ...] = ()
