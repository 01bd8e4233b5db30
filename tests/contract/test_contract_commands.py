"""Every command is documented, and every example in its help is a command line that parses."""

import re
import shlex

import pytest
from typer.main import get_command

from leaguesim.cli.main import app, main

COMMANDS = {"demo", "new", "check", "compare", "lane", "validate", "merge", "rerun"}
WITH_CONDITION = {"--now", "--next", "--condition"}
GROUP = get_command(app)


def help_of(capsys, *words: str) -> str:
    assert main([*words, "--help"]) == 0
    return capsys.readouterr().out


def examples(text: str) -> list[list[str]]:
    return [shlex.split(line) for line in re.findall(r"^ +leaguesim (\S.*)$", text, re.M)]


def test_the_commands_are_these():
    assert set(GROUP.commands) >= COMMANDS


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


@pytest.mark.parametrize("name", ["demo", "compare", "lane"])
def test_common_options(name):
    options = {o for p in GROUP.commands[name].params for o in p.opts}
    assert {"--seed", "--out", "--force", "--json", "--quiet", "--debug"} <= options


@pytest.mark.parametrize("name", ["demo", "compare"])
def test_options_of_a_run(name):
    options = {o for p in GROUP.commands[name].params for o in p.opts}
    assert {"--nights", "--workers"} <= options
