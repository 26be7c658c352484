"""When a clip was begun is read where the phone that recorded it wrote it down, and nowhere else."""

from datetime import UTC, datetime, timedelta

import av
import pytest

from formcheck.clips.start_time import begun_at
from tests.clips.maker import write_clip

AT = datetime(2026, 3, 1, 10, 0, 0, tzinfo=UTC)
LENGTH_S = 3.0


def clip_that_says(tmp_path, **said):
    """A clip of LENGTH_S whose file says so of itself."""
    plain = write_clip(tmp_path / "plain.mp4", [k / 10 for k in range(round(LENGTH_S * 10))])
    path = tmp_path / "clip.mp4"
    with (
        av.open(str(plain)) as made,
        av.open(str(path), "w", options={"movflags": "use_metadata_tags"}) as container,
    ):
        container.metadata.update(said)
        stream = container.add_stream_from_template(made.streams.video[0])
        for packet in made.demux(video=0):
            if packet.dts is not None:
                packet.stream = stream
                container.mux(packet)
    return path


def test_a_phone_that_states_the_beginning_is_taken_at_its_word(tmp_path):
    said = {"com.apple.quicktime.creationdate": "2026-03-01T12:00:00+0200"}
    assert begun_at(clip_that_says(tmp_path, **said)) == AT


def test_of_a_phone_that_states_the_end_the_length_is_taken_off(tmp_path):
    ended = AT + timedelta(seconds=LENGTH_S)
    path = clip_that_says(
        tmp_path, **{"com.android.version": "15", "creation_time": ended.isoformat()}
    )
    assert begun_at(path).timestamp() == pytest.approx(AT.timestamp(), abs=1.2)


def test_when_a_program_exported_a_clip_is_not_when_it_was_begun(tmp_path):
    assert begun_at(clip_that_says(tmp_path, creation_time=AT.isoformat())) is None
    assert begun_at(clip_that_says(tmp_path)) is None


@pytest.mark.parametrize("text", ["", "yesterday", "1904-01-01T00:00:00Z"])
def test_a_clock_that_was_never_set_says_nothing(tmp_path, text):
    path = clip_that_says(tmp_path, **{"com.apple.quicktime.creationdate": text})
    assert begun_at(path) is None
