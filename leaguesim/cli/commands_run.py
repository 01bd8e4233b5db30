"""Commands about runs: merge the parts of one, repeat one.

Does not compute: it plays commands again and compares what they give.
"""

import io
import json as jsonlib
import sys
from contextlib import redirect_stdout
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from leaguesim.cli.options import Debug, Force, Json, Out, Quiet
from leaguesim.cli.talk import out_json, progress, say
from leaguesim.errors import InputError, OutputError

if TYPE_CHECKING:
    from leaguesim.center.values import Center

RERUN_SCHEMA = "leaguesim.rerun/1"

MERGE_HELP = (
    "\b\nExamples:\n"
    "  leaguesim merge part-1 part-2 --out report\n"
    "  leaguesim merge part-1 part-2 --center my-center --json\n\n"
    "'leaguesim compare' writes a part with --shard 1/2 --nights 640 --seed 1 --out part-1."
)
RERUN_HELP = (
    "\b\nExamples:\n  leaguesim rerun reports/demo/manifest.json\n"
    "  leaguesim rerun manifest.json --center my-center --json\n\n"
    "Exit code 0 if the result is the same, 1 if it is not, 2 if it is not and input files have changed."
)

Parts = Annotated[list[Path], typer.Argument(metavar="PART", help="Files written by --shard.")]
CenterAt = Annotated[
    Path | None,
    typer.Option("--center", metavar="DIR", show_default=False,
                 help="The center's folder, if it is not where it was."),
]  # fmt: skip
ManifestFile = Annotated[
    Path, typer.Argument(metavar="MANIFEST", help="manifest.json or summary.json of a report.")
]


def play_part(
    center: "Center",
    pair: tuple[str, str],
    shard: str,
    seed: int | None,
    nights: int | None,
    workers: int | None,
    scheduler: str | None,
    out: Path | None,
    quiet: bool,
) -> None:
    """Play one part of a comparison into a file."""
    from leaguesim.cli.playing import keeping
    from leaguesim.run.blocks import write_whole
    from leaguesim.run.engine import Engine, shard_of
    from leaguesim.run.manifest import manifest
    from leaguesim.run.output import reason
    from leaguesim.run.shards import PartDoneError
    from leaguesim.study import compare as study

    which = shard_of(shard)
    if nights is None or seed is None:
        raise InputError("--shard: needs --nights and --seed, the same for every part")
    if out is None:
        raise InputError("--shard: name the part's file with --out")
    if out.exists():
        raise OutputError(f"{out}: is in the way; choose another file with --out")
    if not out.resolve().parent.is_dir():
        raise OutputError(f"{out}: there is no folder {out.resolve().parent}")
    started = datetime.now(UTC)
    keep = out.with_name(f"{out.name}.blocks")
    try:
        with progress(quiet) as show, keeping(Engine(scheduler, keep, which), seed):
            study(
                center, now=pair[0], next=pair[1], seed=seed, nights=nights, workers=workers,
                progress=show,
            )  # fmt: skip
    except PartDoneError as done:
        about = manifest(
            sys.argv[1:], center=center, seed=seed, nights=nights, workers=workers, started=started
        )
        try:
            write_whole(out, done.part.to_bytes(about))
        except OSError as error:
            raise OutputError(f"{out}: cannot be written: {reason(error)}") from error
    _remove_blocks(keep)
    typer.echo(str(out))


def _remove_blocks(folder: Path) -> None:
    """The blocks are in the part now; only files that we name so are removed."""
    for path in folder.glob(".leaguesim-blocks-*/*"):
        path.unlink(missing_ok=True)
    for inner in (*folder.glob(".leaguesim-blocks-*"), folder):
        if inner.is_dir():
            try:
                inner.rmdir()
            except OSError:
                return


def merge(
    parts: Parts,
    out: Out = None,
    center: CenterAt = None,
    force: Force = False,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Join the parts of a comparison that were played apart: the bytes of one run."""
    from leaguesim.center import read
    from leaguesim.cli.commands_study import _compare
    from leaguesim.cli.keep import place_for
    from leaguesim.cli.playing import How
    from leaguesim.run.again import words_again
    from leaguesim.run.shards import join, read_part

    told = [(str(path), *read_part(path)) for path in parts]
    joined = join([(name, part) for name, part, _ in told])
    about = told[0][2]
    cpus = sorted({str(m["cpu"]) for _, _, m in told})
    if len(cpus) > 1 and not quiet:
        say(
            f"The parts come from different processors ({', '.join(cpus)}): last digits may differ."
        )
    words = words_again(about)
    pair = (_value(words, "--now"), _value(words, "--next"))
    made = read(center or Path(words[1]))
    if any(w.partition("=")[0] == "--surface" for w in words):
        from leaguesim.center import on_surface

        made = on_surface(made, _value(words, "--surface"))
    dated = None
    if any(word.partition("=")[0] == "--sequence" for word in words):
        from leaguesim.center.sequence import find_sequence, with_sequence

        dated = find_sequence(made, _value(words, "--sequence"))
        made = with_sequence(made, dated)
    place = place_for(out, force, json, "compare", *pair)
    how = How(json=json, pseudonyms="--pseudonyms" in words, joined=joined)
    before = sys.argv
    sys.argv = ["leaguesim", *words]  # the manifest's command is the whole run's
    try:
        _compare(
            made, pair, int(about["seed"]), joined.nights, None, place, how, quiet, sequence=dated
        )
    finally:
        sys.argv = before


def _value(words: list[str], option: str) -> str:
    for k, word in enumerate(words):
        if word == option and k + 1 < len(words):
            return words[k + 1]
        if word.startswith(f"{option}="):
            return word.partition("=")[2]
    raise InputError(f"the recorded command has no {option}")


def rerun(
    manifest: ManifestFile,
    center: CenterAt = None,
    json: Json = False,
    quiet: Quiet = False,
    debug: Debug = False,
) -> None:
    """Repeat a run from its manifest and say whether the result is the same."""
    from leaguesim.run import again

    then = again.read_manifest(manifest)
    words = again.words_again(then)
    if center is not None:
        words = [words[0], str(center), *words[2:]]
    words = again.find_folder(words, manifest)
    beside = again.changed_results(then, manifest.parent)
    result = _again(words, quiet)
    now = result["manifest"]
    platform = again.other_platform(then, now)
    files = again.changed_files(then["inputs"], now["inputs"])
    same = now["result_sha256"] == then["result_sha256"]
    told: dict[str, Any] = {
        "schema": RERUN_SCHEMA, "same_result": same, "other_platform": platform,
        "changed_files": files, "changed_results": beside, "command": words,
        "largest_difference": None if same else _difference(manifest, result),
    }  # fmt: skip
    if json:
        out_json(told)
    else:
        _tell(told)
    raise typer.Exit(0 if same else 2 if files else 1)


def _again(words: list[str], quiet: bool) -> dict[str, Any]:
    from typer.main import get_command

    from leaguesim.cli.main import app

    if words[0] in {"rerun", "merge", "new", "check"}:
        raise InputError(f"rerun: {words[0]} gives no result that could be repeated")
    if not quiet:
        say("Repeating: leaguesim " + " ".join(words))
    out = io.StringIO()
    with redirect_stdout(out):
        get_command(app).main(
            args=[*words, "--json", "--quiet"], prog_name="leaguesim", standalone_mode=False
        )
    made: dict[str, Any] = jsonlib.loads(out.getvalue())
    if "manifest" not in made:
        raise InputError(f"rerun: {words[0]} writes no manifest")
    return made


def _difference(manifest: Path, result: dict[str, Any]) -> float | None:
    """The largest difference from the summary beside the manifest, if it is there and alike."""
    from leaguesim.run.again import largest_difference
    from leaguesim.run.manifest import without_manifest

    try:
        before = jsonlib.loads(manifest.with_name("summary.json").read_text(encoding="utf-8"))
        found = largest_difference(without_manifest(before), without_manifest(result))
    except (OSError, ValueError, AttributeError):
        return None
    return found if found < float("inf") else None


def _tell(told: dict[str, Any]) -> None:
    for key, title in (
        ("other_platform", "Other platform"),
        ("changed_files", "Input files"),
        ("changed_results", "Result files"),
    ):
        if told[key]:
            typer.echo(f"{title}:")
            for line in told[key]:
                typer.echo(f"  {line}")
    if told["same_result"]:
        typer.echo("Same result: every byte of the summary.")
        return
    why = ""
    if told["changed_files"]:
        why = ", as the input files are others"
    elif told["other_platform"]:
        why = ", on another platform: last digits may differ there"
    typer.echo(f"Other result{why}.")
    if told["largest_difference"] is not None:
        typer.echo(f"Largest difference of a figure: {told['largest_difference']:.3g}.")
