"""The clips of a new study: planned per condition, then cut in random order."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from ratings.design.orders import blind_codes
from ratings.design.streams import stream
from ratings.errors import FullScaleError
from ratings.recordings.clips.cutting import ClipCut, CutSound, cut_clip, cut_sound
from ratings.recordings.clips.equaliser import Equaliser
from ratings.storage.blind_study import StudyFolder
from ratings.storage.clip_levels import clip_full_scale_pa, clip_gain_db
from ratings.storage.condition_cuts import common_loop, condition_windows, cut_to_loop
from ratings.storage.file_copies import told_by_its_own_name
from ratings.storage.progress import Progress
from ratings.storage.study_plan import ChosenRecording, StudyPlan
from ratings.storage.study_rows import PreparedClip
from ratings.storage.taking_in import TakenRecording
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


class ClipCutter:
    """Plans and cuts the clips of one study."""

    def __init__(
        self,
        folder: StudyFolder,
        plan: StudyPlan,
        taken: Taken,
        equaliser: Equaliser | None,
        progress: Progress,
    ) -> None:
        self._folder = folder
        self._plan = plan
        self._taken = taken
        self._equaliser = equaliser
        self._progress = progress
        rates = Counter(each.facts.sample_rate_hz for each in taken.values())
        self._rate_hz = next(iter(rates)) if len(rates) == 1 else COMMON_RATE_HZ
        self._full_scale_pa = clip_full_scale_pa(taken, plan.clip_gain_db)
        self._heard_count = 0
        self._over_db: list[float] = []

    def cut(self) -> list[PreparedClip]:
        """Cut every clip, in random order: no row, code or time tells which set it was.

        Raises
        ------
        RecordingError
            When a clip cannot be cut, naming its file.
        FullScaleError
            When any would exceed full scale, with what all have to be lowered by.
        """
        rng = stream(self._plan.seed, "clip codes")
        codes = blind_codes(len(self._taken), 6, rng)
        planned = self._planned()
        recordings = list(self._taken)
        prepared = []
        for number, index in enumerate(rng.permutation(len(recordings)).tolist()):
            recording = recordings[index]
            done = number / len(recordings)
            begin = _PLANNED + _PLANNING
            self._progress(begin + (_CUT - begin) * done, f"Cutting clip {number + 1}")
            source, cut = self._taken[recording].copy, planned[recording].cut
            destination = self._folder.clip_file(codes[number])
            with told_by_its_own_name(source, recording.path):
                facts = cut_clip(source, destination, cut, self._rate_hz, self._equaliser)
            prepared.append(
                PreparedClip(
                    recording=recording,
                    cut=cut,
                    code=codes[number],
                    facts=facts,
                    remarks=planned[recording].remarks,
                    pa_per_full_scale=self._full_scale_pa,
                    equaliser_id=self._equaliser.equaliser_id if self._equaliser else None,
                )
            )
        return prepared

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
                return [cut_sound(source, cut, self._rate_hz, self._equaliser)]
            except FullScaleError as problem:
                self._over_db.append(problem.over_db)
                return []

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
