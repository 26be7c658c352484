"""What a batch is asked to do, and the jobs that come of it."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

from formcheck.batch.job import Job, Setup
from formcheck.batch.sources.answers import with_answers
from formcheck.batch.sources.fetch import find_remote_clips
from formcheck.batch.sources.manifest import read_manifest
from formcheck.batch.sources.manifest_file import SUFFIXES
from formcheck.batch.sources.named import with_name
from formcheck.batch.sources.naming import Namer
from formcheck.batch.sources.recorded import Ask, Prescribed, prescribed_in
from formcheck.batch.sources.source import Clip, Found, find_clips
from formcheck.batch.sources.watch import Watch
from formcheck.batch.workers.loop import Feed, Fixed
from formcheck.errors import UsageError
from formcheck.exercises.library import load_exercise
from formcheck.exercises.schema import Exercise
from formcheck.pipeline.settings import SideChoice


@dataclass(frozen=True, slots=True)
class Request:
    """A batch as it is asked for.

    ``sources`` are folders, patterns, manifests, clips or, with ``cluster``, URLs. ``exercise`` and
    ``side`` are for clips whose manifest or name gives none. ``cluster`` is as in
    ``cluster.Cluster``. ``ask`` puts a question about a clip's name to somebody who can answer.
    ``tell`` is given a line for each name that was read and each programme that was looked up, in
    ``records``, the record of clients, if there is to be one.
    """

    sources: tuple[str, ...]
    setup: Setup
    exercise: str | None = None
    side: SideChoice | None = None
    workers: int = 1
    watch: bool = False
    cluster: str | None = None
    ask: Ask | None = None
    tell: Callable[[str], None] = lambda line: None
    records: Path | None = None


@dataclass(slots=True)
class Plan:
    """Jobs with their folders, or a feed of them, and a line for each file that was skipped."""

    feed: Feed
    jobs: list[Job] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)


def make_plan(request: Request) -> Plan:
    """Find all clips and name their folders.

    Raises UsageError with everything that is wrong with the request.
    """
    namer = Namer(request.setup.out)
    exercise = load_exercise(request.exercise) if request.exercise else None
    if request.watch:
        return Plan(_watch(request, exercise, namer))
    jobs: dict[tuple[str, ...], Job] = {}
    skipped: list[str] = []
    with prescribed_in(request.records) as prescribed:
        for source in request.sources:
            if Path(source).suffix.lower() in SUFFIXES and "://" not in source:
                listed = read_manifest(Path(source), exercise=request.exercise, side=request.side)
                found = [_prescribed_job(request, job, prescribed) for job in listed]
            else:
                clips = _clips(source, request)
                skipped += clips.skipped
                found = [_named_job(request, exercise, clip, prescribed) for clip in clips.clips]
                found = _answered(request, found, source)
            for job in found:
                jobs.setdefault(tuple(job.identity.values()), job)
    if not jobs:
        raise UsageError(f"no clips found in {', '.join(request.sources)}; nothing was done")
    named = [namer.named(job) for job in jobs.values()]
    return Plan(Fixed(named), named, skipped)


def _clips(source: str, request: Request) -> Found:
    if "://" not in source:
        return find_clips(source, request.setup.out)
    if request.cluster is None:
        raise UsageError(
            f"{source}: clips are fetched from elsewhere only with --cluster; "
            "without it nothing goes over the network"
        )
    return find_remote_clips(source)


def _plain_job(request: Request, exercise: Exercise | None, clip: Clip) -> Job:
    return Job(clip=clip.place, shown=clip.shown, exercise=exercise, side=request.side)


def _named_job(
    request: Request, exercise: Exercise | None, clip: Clip, prescribed: Prescribed | None
) -> Job:
    """The job of a clip with what its name says, and what is prescribed for its client."""
    job, told = with_name(_plain_job(request, exercise, clip), request.ask, prescribed)
    if told:
        request.tell(told)
    return _prescribed_job(request, job, prescribed)


def _prescribed_job(request: Request, job: Job, prescribed: Prescribed | None) -> Job:
    if prescribed is None:
        return job
    job, told = prescribed.applied(job, request.ask)
    if told:
        request.tell(f"{job.shown}: {told}")
    return job


def _answered(request: Request, jobs: list[Job], source: str) -> list[Job]:
    """Jobs with the answers that lie beside their clips, if their source is a folder."""
    if not Path(source).is_dir():
        return jobs
    jobs, told = with_answers(jobs, Path(source))
    for line in told:
        request.tell(line)
    return jobs


def _watch(request: Request, exercise: Exercise | None, namer: Namer) -> Watch:
    folder = Path(request.sources[0])
    if len(request.sources) != 1 or not folder.is_dir():
        raise UsageError("--watch looks at one folder; name one that is there")
    unasked = replace(request, ask=None)  # nobody sits beside a watch

    def job_of(clip: Clip) -> Job:
        with prescribed_in(request.records) as prescribed:
            job = _named_job(unasked, exercise, clip, prescribed)
        (job,), _ = with_answers([job], folder)
        return namer.named(job)

    return Watch(folder, request.setup.out, job_of)
