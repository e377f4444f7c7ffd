"""The clips of a new study: planned per condition, then cut in random order."""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from ratings.clips.alike import common_loop, condition_windows, cut_to_loop, lost_by
from ratings.clips.common_level import clip_full_scale_pa, clip_gain_db
from ratings.clips.cutting import ClipCut, CutSound, cut_clip, cut_sound
from ratings.clips.doubts import LostSignal, refuse_lost_signal
from ratings.clips.equaliser import Equaliser
from ratings.clips.masking import Mask
from ratings.clips.prepared import ClipPlace, PreparedClip, TakenRecording
from ratings.design.orders import blind_codes, plan_session
from ratings.design.streams import stream
from ratings.design.study_plan import ChosenRecording, StudyPlan
from ratings.errors import FullScaleError
from ratings.recordings.refusals import told_by_its_own_name
from ratings.study.progress import Progress
from ratings.study.sets import Condition

#: Clips are cut at the rate that the recordings share; where they differ, at this one.
COMMON_RATE_HZ = 48_000

_PLANNED, _CUT = 0.4, 0.9
_PLANNING = 0.3

Taken = Mapping[ChosenRecording, TakenRecording]


@dataclass(frozen=True, slots=True)
class PlannedCut:
    """Which stretch of a recording becomes a clip, and how it was chosen, in words."""

    cut: ClipCut
    remarks: tuple[str, ...]


def clip_places(plan: StudyPlan) -> list[ClipPlace]:
    """List the sides of all comparisons of a study; each gets a clip of its own.

    All sessions hear the same comparisons, each of them once.
    """
    control = plan.control.set_id
    pairs = plan_session(
        control=control,
        candidates=[each.set_id for each in plan.candidates],
        conditions=[each.condition_id for each in plan.conditions],
        seed=plan.seed,
        ordinal=0,
    )
    return [
        ClipPlace(
            pair.condition_id,
            pair.set_b if pair.set_a == control else pair.set_a,
            pair.role,
            is_control,
        )
        for pair in pairs
        for is_control in (False, True)
    ]


class ClipCutter:
    """Plans and cuts the clips of one study."""

    def __init__(
        self,
        clip_file: Callable[[str], Path],
        plan: StudyPlan,
        taken: Taken,
        equaliser: Equaliser | None,
        progress: Progress,
    ) -> None:
        self._clip_file = clip_file
        self._plan = plan
        self._taken = taken
        self._equaliser = equaliser
        self._progress = progress
        rates = Counter(each.facts.sample_rate_hz for each in taken.values())
        self._rate_hz = next(iter(rates)) if len(rates) == 1 else COMMON_RATE_HZ
        self._full_scale_pa = clip_full_scale_pa(taken, plan.clip_gain_db)
        self._heard_count = 0
        self._over_db: list[float] = []
        #: Of the coarsest recorder, in steps of 24 bits; all clips get its noise.
        self._step = 1.0

    def cut(self) -> list[PreparedClip]:
        """Cut every clip, in random order: no row, code or time tells which set it was.

        Raises
        ------
        RecordingError
            When a clip cannot be cut, naming its file, or would exceed full scale.
        DoubtfulClipError
            When a clip would hold lost signal, and that is not accepted.
        """
        places = clip_places(self._plan)
        rng, masks = stream(self._plan.seed, "clip codes"), stream(self._plan.seed, "masks")
        codes = blind_codes(len(places), 6, rng)
        planned = self._planned()
        refuse_lost_signal(self._lost(planned), self._plan.accepted)
        recordings = {(each.condition_id, each.set_id): each for each in self._taken}
        prepared = []
        for number, index in enumerate(rng.permutation(len(places)).tolist()):
            place = places[index]
            begin = _PLANNED + _PLANNING
            done = begin + (_CUT - begin) * number / len(places)
            self._progress(done, f"Cutting clip {number + 1} of {len(places)}")
            set_id = self._plan.control.set_id if place.is_control else place.set_id
            recording = recordings[place.condition_id, set_id]
            mask = Mask(self._step, masks.bytes(16).hex())
            prepared.append(
                self._prepared(place, recording, planned[recording], codes[number], mask)
            )
        return prepared

    def _prepared(
        self,
        place: ClipPlace,
        recording: ChosenRecording,
        planned: PlannedCut,
        code: str,
        mask: Mask,
    ) -> PreparedClip:
        source, destination = self._taken[recording].copy, self._clip_file(code)
        with told_by_its_own_name(source, recording.path):
            facts = cut_clip(source, destination, planned.cut, self._rate_hz, self._equaliser, mask)
        return PreparedClip(
            recording=recording,
            cut=planned.cut,
            code=code,
            facts=facts,
            remarks=planned.remarks,
            pa_per_full_scale=self._full_scale_pa,
            equaliser_id=self._equaliser.equaliser_id if self._equaliser else None,
            place=place,
            mask=mask,
        )

    def _lost(self, planned: Mapping[ChosenRecording, PlannedCut]) -> list[LostSignal]:
        """Say where clips would hold lost signal, one entry for each recording."""
        found = []
        for recording, each in planned.items():
            start_s, stop_s = each.cut.start_s, each.cut.stop_s
            inside = [
                lost_s
                for lost_s, end_s in lost_by(recording, self._taken[recording])
                if lost_s < stop_s and end_s > start_s
            ]
            if inside:
                found.append(LostSignal(recording.path, inside[0]))
        return found

    def _planned(self) -> dict[ChosenRecording, PlannedCut]:
        planned: dict[ChosenRecording, PlannedCut] = {}
        for condition in self._plan.conditions:
            planned |= self._planned_on(condition)
        if self._over_db:
            raise self._too_loud()
        return planned

    def _planned_on(self, condition: Condition) -> dict[ChosenRecording, PlannedCut]:
        here = {
            recording: each
            for recording, each in self._taken.items()
            if recording.condition_id == condition.condition_id
        }
        chosen = condition_windows(condition, here)
        cuts, sounds = {}, []
        for recording, window in zip(here, chosen.windows, strict=True):
            left, right = recording.ears(here[recording].facts.channels)
            gain_db = clip_gain_db(recording, self._full_scale_pa, self._plan.clip_gain_db)
            cuts[recording] = ClipCut(left, right, window.start_s, window.stop_s, gain_db)
            sounds += self._heard(recording, cuts[recording])
        if len(sounds) < len(cuts):
            return {}
        found = common_loop(sounds, condition)
        return {
            recording: PlannedCut(
                cut_to_loop(cut, found.loop, self._rate_hz), (*chosen.remarks, found.remark)
            )
            for recording, cut in cuts.items()
        }

    def _heard(self, recording: ChosenRecording, cut: ClipCut) -> list[CutSound]:
        """Give the sound of a cut; nothing, and remember by how much, when it is too loud."""
        self._heard_count += 1
        part = _PLANNING * self._heard_count / len(self._taken)
        self._progress(_PLANNED + part, f"Looking for a loop in {recording.path.name}")
        source = self._taken[recording].copy
        with told_by_its_own_name(source, recording.path):
            try:
                sound = cut_sound(source, cut, self._rate_hz, self._equaliser)
            except FullScaleError as problem:
                self._over_db.append(problem.over_db)
                return []
        self._step = max(self._step, sound.recorder_step)
        return [sound]

    def _too_loud(self) -> FullScaleError:
        equaliser, over_db = self._plan.equaliser, max(self._over_db)
        behind = f"Behind the equaliser {equaliser.name}, " if equaliser else ""
        return FullScaleError(
            f"{behind}{len(self._over_db)} of {len(self._taken)} clips would exceed full scale, "
            f"the loudest by {over_db:.1f} dB.",
            f"Lower all clips of the study by {over_db:.1f} dB: all alike, so that their "
            "differences stay. Nothing was made.",
            over_db,
        )
