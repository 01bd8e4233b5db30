"""Progress where there is no terminal: the first stages, then a line now and then and no more."""

import pytest

from leaguesim.cli import talk


@pytest.fixture
def clock(monkeypatch):
    now = [0.0]
    monkeypatch.setattr(talk, "monotonic", lambda: now[0])
    monkeypatch.setattr(talk, "tell_compiling", lambda: None)
    return now


def test_a_pipe_hears_the_stages_and_twice_a_minute_how_far_it_is(clock, capsys):
    with talk.progress(quiet=False) as show:
        for k in range(101):
            clock[0] = float(k)
            show(k, 100, "playing")
    lines = capsys.readouterr().err.splitlines()
    assert lines == ["playing ...", "playing ... 30 %", "playing ... 60 %", "playing ... 90 %"]


def test_a_stage_of_unknown_length_has_no_share(clock, capsys):
    with talk.progress(quiet=False) as show:
        show(0, 0, "reading")
        clock[0] = talk.QUIET_S
        show(0, 0, "reading")
    assert capsys.readouterr().err.splitlines() == ["reading ...", "reading ..."]


def test_quiet_says_nothing(clock, capsys):
    with talk.progress(quiet=True) as show:
        show(0, 1, "playing")
    assert capsys.readouterr().err == ""
