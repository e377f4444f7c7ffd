"""The clips of a study: where each is played, and where it came from."""

from dataclasses import dataclass

from ratings.clips.alike import PlannedClip
from ratings.clips.cutting import ClipFacts
from ratings.clips.masking import Mask
from ratings.design.orders import Role as PairRole
from ratings.design.study_plan import ChosenRecording


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
    place
        Where it is played.
    mask
        The noise under which it lies.
    """

    recording: ChosenRecording
    planned: PlannedClip
    code: str
    facts: ClipFacts
    remarks: tuple[str, ...]
    pa_per_full_scale: float | None
    place: ClipPlace
    mask: Mask
