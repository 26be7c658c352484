"""What a batch is asked to do, and the jobs that come of it."""

from dataclasses import dataclass, field, replace
from pathlib import Path

from formcheck.batch.job import Job, Setup
from formcheck.batch.sources.answers import with_answers
from formcheck.batch.sources.fetch import find_remote_clips
from formcheck.batch.sources.manifest import read_manifest
from formcheck.batch.sources.manifest_file import SUFFIXES
from formcheck.batch.sources.named import Ask, with_name
from formcheck.batch.sources.naming import Namer
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
    """

    sources: tuple[str, ...]
    setup: Setup
    exercise: str | None = None
    side: SideChoice | None = None
    workers: int = 1
    watch: bool = False
    cluster: str | None = None
    ask: Ask | None = None


@dataclass(slots=True)
class Plan:
    """Jobs with their folders, or a feed of them, and a line for each file that was skipped.

    ``read`` has a line for each clip whose name says what it is.
    """

    feed: Feed
    jobs: list[Job] = field(default_factory=list)
    skipped: list[str] = field(default_factory=list)
    read: list[str] = field(default_factory=list)


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
    read: list[str] = []
    for source in request.sources:
        if Path(source).suffix.lower() in SUFFIXES and "://" not in source:
            found = read_manifest(Path(source), exercise=request.exercise, side=request.side)
        else:
            clips = _clips(source, request)
            skipped += clips.skipped
            found = [_named_job(request, exercise, clip, read) for clip in clips.clips]
            if Path(source).is_dir():
                found, told = with_answers(found, Path(source))
                read += told
        for job in found:
            jobs.setdefault(tuple(job.identity.values()), job)
    if not jobs:
        raise UsageError(f"no clips found in {', '.join(request.sources)}; nothing was done")
    named = [replace(job, folder=namer.name(job)) for job in jobs.values()]
    return Plan(Fixed(named), named, skipped, read)


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


def _named_job(request: Request, exercise: Exercise | None, clip: Clip, read: list[str]) -> Job:
    """The job of a clip with what its name says, which is added to ``read`` in words."""
    job, told = with_name(_plain_job(request, exercise, clip), request.ask)
    read += [told] if told else []
    return job


def _watch(request: Request, exercise: Exercise | None, namer: Namer) -> Watch:
    folder = Path(request.sources[0])
    if len(request.sources) != 1 or not folder.is_dir():
        raise UsageError("--watch looks at one folder; name one that is there")
    unasked = replace(request, ask=None)  # nobody sits beside a watch

    def job_of(clip: Clip) -> Job:
        job = _named_job(unasked, exercise, clip, [])
        return replace(job, folder=namer.name(job))

    return Watch(folder, request.setup.out, job_of)
