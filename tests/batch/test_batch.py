"""A batch from a folder of clips to results, whatever the clips are like."""


def test_every_clip_gets_a_folder_and_a_second_run_does_nothing(add_clip, run_quick, out):
    for name in ("one.mp4", "two.mp4", "monday/one.mp4"):
        add_clip(name)
    done = run_quick()
    assert sorted(run_quick.checked) == ["one.mp4", "one.mp4", "two.mp4"]
    assert len({outcome.folder for outcome in done.values()}) == 3
    for outcome in done.values():
        assert (out / outcome.folder / "result.json").is_file()
    again = run_quick()
    assert run_quick.checked == []
    assert {name: o.folder for name, o in again.items()} == {n: o.folder for n, o in done.items()}
    assert all(outcome.kept for outcome in again.values())
