"""The clips of a new study: alike within each condition, then cut in random order."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

from ratings.clips.alike import AlikeClips, PlannedClip, cut_alike, scale_of, wish_for
from ratings.clips.cutting import write_cut
from ratings.clips.doubts import refuse_lost_signal
from ratings.clips.equaliser import Equaliser
from ratings.clips.masking import Mask
from ratings.clips.prepared import ClipPlace, PreparedClip
from ratings.clips.sources import ClipSource, common_rate_hz
from ratings.design.orders import blind_codes, plan_session
from ratings.design.streams import stream
from ratings.design.study_plan import ChosenRecording, StudyPlan
from ratings.errors import FullScaleError
from ratings.study.progress import Progress
from ratings.study.sets import Condition

_PLANNED, _CUT = 0.4, 0.9
_PLANNING = 0.3

Sources = Mapping[ChosenRecording, ClipSource]


class _Planned(NamedTuple):
    """A clip that is planned, and how its stretch was chosen, in words."""

    clip: PlannedClip
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
        sources: Sources,
        equaliser: Equaliser | None,
        progress: Progress,
    ) -> None:
        self._clip_file = clip_file
        self._plan = plan
        self._sources = sources
        self._equaliser = equaliser
        self._progress = progress
        self._rate_hz = common_rate_hz(list(sources.values()))
        self._scale = scale_of(list(sources.values()), plan.clip_gain_db)
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
        refuse_lost_signal([each.clip for each in planned.values()], self._plan.accepted)
        recordings = {(each.condition_id, each.set_id): each for each in self._sources}
        prepared = []
        for number, index in enumerate(rng.permutation(len(places)).tolist()):
            place = places[index]
            begin = _PLANNED + _PLANNING
            done = begin + (_CUT - begin) * number / len(places)
            self._progress(done, f"Cutting clip {number + 1} of {len(places)}")
            set_id = self._plan.control.set_id if place.is_control else place.set_id
            recording = recordings[place.condition_id, set_id]
            clip, remarks = planned[recording]
            mask = Mask(self._step, masks.bytes(16).hex())
            facts = write_cut(clip.sound(mask), self._clip_file(codes[number]))
            scale_pa = self._scale.pa_per_full_scale
            prepared.append(
                PreparedClip(recording, clip, codes[number], facts, remarks, scale_pa, place, mask)
            )
        return prepared

    def _planned(self) -> dict[ChosenRecording, _Planned]:
        planned: dict[ChosenRecording, _Planned] = {}
        too_loud = []
        for condition in self._plan.conditions:
            here = [each for each in self._sources if each.condition_id == condition.condition_id]
            try:
                alike = self._alike(condition, [self._sources[each] for each in here])
            except FullScaleError as problem:
                too_loud.append(problem)
                continue
            remarks = (*alike.window_remarks, alike.loop_remark)
            planned |= {
                recording: _Planned(clip, remarks)
                for recording, clip in zip(here, alike.clips, strict=True)
            }
            self._step = max(self._step, alike.recorder_step)
        if too_loud:
            raise self._too_loud(too_loud)
        return planned

    def _alike(self, condition: Condition, sources: list[ClipSource]) -> AlikeClips:
        before = self._plan.conditions.index(condition) / len(self._plan.conditions)

        def progress(part: float, words: str) -> None:
            done = before + part / len(self._plan.conditions)
            self._progress(_PLANNED + _PLANNING * done, words)

        wish = replace(
            wish_for(condition, sources), equaliser=self._equaliser, sample_rate_hz=self._rate_hz
        )
        return cut_alike(sources, wish, self._scale, progress)

    def _too_loud(self, problems: list[FullScaleError]) -> FullScaleError:
        equaliser = self._plan.equaliser
        over_db = max(problem.over_db for problem in problems)
        clips = sum(problem.clips for problem in problems)
        behind = f"Behind the equaliser {equaliser.name}, " if equaliser else ""
        return FullScaleError(
            f"{behind}{clips} of {len(self._sources)} clips would exceed full scale, "
            f"the loudest by {over_db:.1f} dB.",
            f"Lower all clips of the study by {over_db:.1f} dB: all alike, so that their "
            "differences stay. Nothing was made.",
            over_db,
            clips,
        )
