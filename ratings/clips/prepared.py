"""Recordings from which the clips of a study are cut, and the clips that came of them."""

from dataclasses import dataclass
from pathlib import Path

from ratings.clips.cutting import ClipCut, ClipFacts
from ratings.clips.masking import Mask
from ratings.design.orders import Role as PairRole
from ratings.design.study_plan import ChosenRecording
from ratings.recordings.read import SoundFacts


@dataclass(frozen=True, slots=True)
class TakenRecording:
    """A recording in the folder of the study.

    Attributes
    ----------
    copy
        Named by its content.
    speed_copy, speed_hash
        The copy of the file that its speed comes from, and that file's SHA-256; None without one.
    """

    facts: SoundFacts
    copy: Path
    speed_copy: Path | None = None
    speed_hash: str | None = None


@dataclass(frozen=True, slots=True)
class ClipPlace:
    """The one side of a comparison that a clip is made for.

    A set's sound stands in as many clips as it has comparisons, so that neither a count of the
    pairs nor the same file on many sides finds the control.

    Attributes
    ----------
    condition_id, set_id, role
        The comparison of this set with the control, its repeat, or the control with itself.
    is_control
        Whether it is the control's side; of a null pair, the other one.
    """

    condition_id: int
    set_id: int
    role: PairRole
    is_control: bool


@dataclass(frozen=True, slots=True)
class PreparedClip:
    """A clip that has been cut, with where it came from.

    Attributes
    ----------
    remarks
        How its stretch was chosen, in words.
    pa_per_full_scale
        Of the clip, the same for all; None when not calibrated.
    equaliser_id
        SHA-256 of the equaliser's file; None without one.
    place
        Where it is played.
    mask
        The noise under which it lies.
    """

    recording: ChosenRecording
    cut: ClipCut
    code: str
    facts: ClipFacts
    remarks: tuple[str, ...]
    pa_per_full_scale: float | None
    equaliser_id: str | None
    place: ClipPlace
    mask: Mask
