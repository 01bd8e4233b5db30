"""Every command is documented, and every example in its help is a command line that parses."""

import re
import shlex
from pathlib import Path

import pytest
from typer.main import get_command

from leaguesim.cli.main import app, main

COMMANDS = {
    "demo", "new", "check", "compare", "lane", "validate", "fit", "fairness", "tournament", "tune",
    "index", "merge", "rerun",
}  # fmt: skip
WITH_CONDITION = {"--now", "--next", "--condition"}
GROUP = get_command(app)


def help_of(capsys, *words: str) -> str:
    assert main([*words, "--help"]) == 0
    return capsys.readouterr().out


def examples(text: str) -> list[list[str]]:
    return [shlex.split(line) for line in re.findall(r"^ +leaguesim (\S.*)$", text, re.M)]


def test_the_commands_are_these():
    assert set(GROUP.commands) == COMMANDS


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_has_help_and_an_example(capsys, name):
    text = help_of(capsys, name)
    assert "Example" in text
    assert any(words[0] == name for words in examples(text))
    assert max(map(len, text.splitlines())) <= 80


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_option_has_help(name):
    for option in GROUP.commands[name].params:
        assert getattr(option, "help", None), option.name


@pytest.mark.parametrize("name", ["", *sorted(COMMANDS)])
def test_examples_parse(capsys, name):
    found = examples(help_of(capsys, *([name] if name else [])))
    assert found
    for words in found:
        command = GROUP.commands[words[0]]
        command.make_context(words[0], words[1:])  # raises if an option is unknown or missing


def test_examples_name_conditions_that_new_writes(capsys):
    from leaguesim.center import starter_folder

    there = {p.stem for p in (starter_folder() / "starter" / "conditions").glob("*.toml")}
    for name in ("compare", "lane"):
        for words in examples(help_of(capsys, name)):
            asked = {words[k + 1] for k, w in enumerate(words) if w in WITH_CONDITION}
            assert asked
            assert asked <= there


class ReachedError(BaseException):
    """The work would begin now: everything that was asked has been read and found."""


WORK = {  # what each command hands its inputs to, as a command finds it
    "demo": "compare", "compare": "compare", "lane": "look", "fit": "fit", "fairness": "fairness",
    "tune": "tune", "tournament": "tournament",
}  # fmt: skip
ON_DISK = {"new", "check", "index"}
OF_EARLIER_RUNS = {"merge", "rerun"}


@pytest.mark.parametrize("name", ["", *sorted(COMMANDS)])
def test_examples_run_up_to_the_work(capsys, monkeypatch, tmp_path, name):
    """In an empty folder after ``new my-center``: each example gets as far as its study."""
    import shutil

    import leaguesim.outside.validate as checks
    from leaguesim import study
    from leaguesim.center import demo_center

    def reached(*_: object, **__: object) -> None:
        raise ReachedError

    found = examples(help_of(capsys, *([name] if name else [])))
    for what in {*WORK.values(), "across_surfaces"}:
        monkeypatch.setattr(study, what, reached, raising=False)
    monkeypatch.setattr(checks, "all_checks", reached)
    monkeypatch.chdir(tmp_path)
    assert main(["new", "my-center"]) == 0
    for file in ("season.csv", "my-center/scores.csv"):
        shutil.copy(demo_center() / "scores.csv", file)
    for folder in ("reports", "my-reports"):
        shutil.copytree(next(demo_reports()), f"{folder}/one")
    for words in found:
        if words[0] in OF_EARLIER_RUNS:
            continue  # parsed above; their runs are tested whole in test_run_parts and test_cli_*
        if words[0] in ON_DISK:
            if words[:2] == ["new", "my-center"]:
                shutil.rmtree("my-center")
            assert main(words) == 0, words
            continue
        with pytest.raises(ReachedError):
            main(words)
        said = capsys.readouterr()
        assert not [line for line in said.err.splitlines() if line.startswith("leaguesim:")], words
    capsys.readouterr()


def demo_reports():
    yield from sorted((Path(__file__).parents[2] / "reports").glob("sample-*/"))


README = Path(__file__).parents[2] / "README.md"
INLINE = re.compile(r"`((?:leaguesim )?(?:[a-z]+) DIR[^`]*|rerun [^`]*\.json|index [^`]*)`")


def readme_lines() -> list[list[str]]:
    """Each command of leaguesim in the README's blocks, in order."""
    text = README.read_text(encoding="utf-8")
    blocks = re.findall(r"^```\n(.*?)^```", text, re.M | re.S)
    found = [re.findall(r"(?:^|&& )(?:\.venv/bin/)?leaguesim (\S.*)$", b, re.M) for b in blocks]
    return [shlex.split(line) for lines in found for line in lines]


def test_readme_commands_parse(monkeypatch, tmp_path):
    """Those in blocks and those in sentences, where DIR, A and B stand for the reader's own."""
    monkeypatch.chdir(tmp_path)
    text = README.read_text(encoding="utf-8")
    sentences = [shlex.split(" ".join(line.split())) for line in INLINE.findall(text)]
    assert len(sentences) >= 8
    for words in [*readme_lines(), *sentences]:
        words = words[words[0] == "leaguesim" :]
        command = GROUP.commands[words[0]]
        given = {o for p in command.params if p.required for o in p.opts if o.startswith("-")}
        lacking = [w for o in sorted(given - set(words)) for w in (o, "x")]
        command.make_context(words[0], [*words[1:], *lacking])


def test_readme_commands_run_up_to_the_work(capsys, monkeypatch, tmp_path):
    """From top to bottom in an empty folder, as a reader would."""
    import shutil

    from leaguesim import study
    from leaguesim.center import demo_center

    def reached(*_: object, **__: object) -> None:
        raise ReachedError

    for what in {*WORK.values(), "across_surfaces", "read_fitted"}:
        monkeypatch.setattr(study, what, reached, raising=False)
    monkeypatch.chdir(tmp_path)
    shutil.copytree(next(demo_reports()), "reports/one")
    shutil.copytree(demo_center(), "profiles/demo")
    lines = readme_lines()
    assert {"demo", "new", "check", "compare", "lane", "fit", "index"} <= {w[0] for w in lines}
    for words in lines:
        if words[0] == "fit":  # the README says that the reader has made one by now
            shutil.copy(demo_center() / "scores.csv", "my-center/scores.csv")
        if words[0] in ON_DISK:
            assert main(words) == 0, words
            continue
        with pytest.raises(ReachedError):
            main(words)
        said = capsys.readouterr()
        assert not [line for line in said.err.splitlines() if line.startswith("leaguesim:")], words


@pytest.mark.parametrize("excel", [False, True], ids=["as printed", "as a spreadsheet saves it"])
def test_the_readme_files_are_read(capsys, tmp_path, excel):
    text = README.read_text(encoding="utf-8")
    assert main(["new", str(tmp_path / "c")]) == 0
    for name in ("roster.csv", "scores.csv"):
        held = re.search(rf"<!-- {name} -->\n```\n(.*?)```", text, re.S)
        assert held, name
        if excel:
            rows = held[1].replace(".4\n", ";4\n").replace("17.2", "17;2")
            rows = (
                rows.replace(",", "\0").replace(";", ",").replace("\0", ";").replace("\n", "\r\n")
            )
            (tmp_path / "c" / name).write_bytes(b"\xef\xbb\xbf" + rows.encode())
        else:
            (tmp_path / "c" / name).write_text(held[1], encoding="utf-8")
    (tmp_path / "c" / "tournaments" / "club_open.toml").unlink()  # two people make no tournament
    capsys.readouterr()
    assert main(["check", str(tmp_path / "c"), "--json"]) == 0
    told = capsys.readouterr().out
    assert '"not_used": []' in told
    assert main(["check", str(tmp_path / "c")]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "2 bowlers" in said
    assert "5 games of 2 of 2 bowlers on 1 night; every row can be used." in said


def test_the_list_of_commands_cuts_no_sentence_off(capsys):
    told = help_of(capsys)
    assert "..." not in told.partition("Commands:")[2]
    assert max(map(len, told.splitlines())) <= 80


def completed(monkeypatch, words: str) -> list[str]:
    """What a shell is offered after some words."""
    import os
    import subprocess
    import sys

    line = ["leaguesim", *words.split(" ")]
    env = {
        **os.environ, "_LEAGUESIM_COMPLETE": "complete_bash", "COMP_WORDS": " ".join(line),
        "COMP_CWORD": str(len(line) - 1), "COLUMNS": "80",
    }  # fmt: skip
    code = "from leaguesim.cli.main import run; run()"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=env)
    assert done.stderr == ""
    return done.stdout.split()


def test_a_shell_completes_commands_and_names_of_the_center(monkeypatch):
    from leaguesim.center import demo_center

    demo = demo_center()
    assert set(completed(monkeypatch, "t")) == {"tune", "tournament"}
    assert completed(monkeypatch, f"compare {demo} --now th") == ["thursday_42"]
    assert completed(monkeypatch, f"compare {demo} --surface o") == ["older"]
    assert completed(monkeypatch, f"tune {demo} --goal field") == ["field_165"]


def test_completion_can_be_installed(capsys):
    told = help_of(capsys)
    assert "--install-completion" in told
    assert "--show-completion" in told


@pytest.mark.parametrize(
    ("words", "meant"),
    [
        (["compair"], "compare"),
        (["lane", "my-centr", "--condition", "tuesday_40"], "my-center?"),
        (["lane", "my-center", "--condition", "tuesday_4O"], "did you mean tuesday_40?"),
        (["compare", "my-center", "--now", "tuesday_40", "--next", "thursday_24"], "thursday_42?"),
        (["fit", "my-center", "--scores", "my-center/score.csv"], "my-center/scores.csv?"),
        (["tune", "my-center", "--goal", "kept-hapy"], "did you mean kept-happy?"),
        (["tournament", "my-center", "--format", "club_opne"], "did you mean club_open?"),
        (["fit", "my-center", "--scores", "wrong.csv"], "did you mean Ada K.?"),
        (["lane", "my-center", "--conditoin", "tuesday_40"], "--condition"),
    ],
    ids=lambda value: " ".join(value[:1] + value[-1:]) if isinstance(value, list) else None,
)
def test_the_nearest_name_is_offered(capsys, monkeypatch, tmp_path, words, meant):
    """For commands, options, folders, files, conditions, goals, formats and bowlers."""
    import shutil

    from leaguesim.center import demo_center

    monkeypatch.chdir(tmp_path)
    shutil.copytree(demo_center(), "my-center")
    shutil.copy("my-center/tournaments/spring_open.toml", "my-center/tournaments/club_open.toml")
    Path("wrong.csv").write_text("week,bowler,game1\n1,Ada J.,150\n", encoding="utf-8")
    assert main(words) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert meant in said.err


@pytest.mark.parametrize("name", ["demo", "compare", "lane"])
def test_common_options(name):
    options = {o for p in GROUP.commands[name].params for o in p.opts}
    assert {"--seed", "--out", "--force", "--json", "--quiet", "--debug"} <= options


@pytest.mark.parametrize("name", ["demo", "compare"])
def test_options_of_a_run(name):
    options = {o for p in GROUP.commands[name].params for o in p.opts}
    assert {"--nights", "--workers"} <= options
