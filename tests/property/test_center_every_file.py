"""Every kind of TOML file of a center: drawn from the exported schema, written, and read back as it was.

The schema says which keys and limits there are; what no schema can say (ends in order, shares that add up,
names that stand for something) is drawn here.  A document whose one key is moved out of its limits, given
another type or misspelt ends in faults that name file, line and key.
"""

import json
import math
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from leaguesim.center import schemas

SCHEMAS = schemas()
Doc = dict[str, Any]
ROUNDS = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
words = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "S")), min_size=1, max_size=12)  # fmt: skip


def leaf(schema: Doc) -> st.SearchStrategy[Any]:
    """Any value that the schema of one key allows."""
    if "anyOf" in schema:
        return leaf(next(part for part in schema["anyOf"] if part.get("type") != "null"))
    if "enum" in schema:
        return st.sampled_from(schema["enum"])
    if "const" in schema:
        return st.just(schema["const"])
    kind = schema["type"]
    if kind == "boolean":
        return st.booleans()
    if kind == "string":
        return words
    low, high = schema.get("minimum", schema.get("exclusiveMinimum")), schema["maximum"]
    if kind == "integer":
        return st.integers(int(low), int(high))
    above = "exclusiveMinimum" in schema
    return st.floats(low, high, exclude_min=above, allow_subnormal=False).map(lambda x: x + 0.0)


def table(kind: Doc, **known: st.SearchStrategy[Any]) -> st.SearchStrategy[Doc]:
    """A table: the known keys as given, any of the plain others that may be left out, or not."""
    plain = {
        key: leaf(part)
        for key, part in kind["properties"].items()
        if key not in known and part.get("type") not in ("object", "array")
        and not any(p.get("type") in ("object", "array") for p in part.get("anyOf", ()))
    }  # fmt: skip
    needed = set(kind.get("required", ()))
    return st.fixed_dictionaries(
        {k: plain[k] for k in plain if k in needed} | known,
        optional={k: v for k, v in plain.items() if k not in needed},
    )


def part(kind: str, *keys: str) -> Doc:
    """The schema of a table inside a file."""
    found = SCHEMAS[kind]
    for key in keys:
        found = found["properties"][key]
        found = found.get("items", found)
        found = next((p for p in found.get("anyOf", ()) if p.get("type") == "object"), found)
    return found


def in_order(kind: Doc) -> st.SearchStrategy[Doc]:
    """mean from low to high, and a spread."""

    def sort(made: Doc) -> Doc:
        low, mean, high = sorted((made["low"], made["mean"], made["high"]))
        return made | {"low": low, "mean": mean, "high": high}

    return table(kind).map(sort)


AFTER = st.fixed_dictionaries(
    {"games_per_lane": st.integers(0, 100), "styles": st.just({"stroker": 1.0})}
)
LEAGUE = part("center", "league")
CENTER = table(
    SCHEMAS["center"],
    today=st.sampled_from(["house", "tape"]),
    league=table(LEAGUE) | table(LEAGUE, after=AFTER),
    **{
        key: table(part("center", key))
        for key in ("surface", "friction", "doubts", "kept_happy", "fairness", "prices")
    },
)
LANE = table(part("center", "single_lane"))


@st.composite
def centers(draw: st.DrawFn) -> Doc:
    made = draw(CENTER)
    numbers = draw(st.lists(st.integers(1, made["lanes"]), unique=True, max_size=3))
    made["single_lane"] = [draw(LANE) | {"number": n} for n in numbers]
    if "switch_week" in made["league"]:
        made["league"]["weeks"] = draw(st.integers(made["league"]["switch_week"], 60))
    filled = [made["league"].pop(key, None) for key in ("population", "people")]
    if None not in filled:
        more = 4 * (made["lanes"] // 2 * 2 - 2)  # a team of four on each lane that two teams leave
        made["league"] |= {"population": "mixed", "people": draw(st.integers(2, 2 + more))}
    return made


SPREADS = ("speed_mph", "rev_rate_rpm", "axis_rotation_deg", "axis_tilt_deg", "accuracy_deg")
BALLS = st.sampled_from(["medium", "spare"])
STYLE = table(
    SCHEMAS["style"],
    bag=st.lists(BALLS, min_size=1, max_size=3),
    spare_ball=BALLS,
    laydown_low_board=st.floats(1, 20),
    laydown_high_board=st.floats(20, 39, exclude_min=True),
    **{key: in_order(part("style", key)) for key in SPREADS},
)
LIMITS = table(part("goal", "limits"))
GOAL = table(
    SCHEMAS["goal"],
    conditioners=st.lists(st.sampled_from(["amber", "slate"]), unique=True),
    population=st.sampled_from(["", "mixed"]),
    machine=table(part("goal", "machine")),
)
STARTING = {
    "length": (34.0, 46.0), "volume": (15.0, 32.0), "ratio_right": (1, 12), "ratio_left": (1, 12),
}  # fmt: skip
SPANS = {
    what: [k for k in part("goal", "limits")["properties"] if k.startswith(what)]
    for what in STARTING
}


@st.composite
def goals(draw: st.DrawFn) -> Doc:
    made, limits = draw(GOAL), draw(LIMITS)
    for what, ends in STARTING.items():
        values = sorted(limits.get(k, end) for k, end in zip(SPANS[what], ends, strict=True))
        limits |= dict(zip(SPANS[what], values, strict=True))
    if made["goal"] == "average":
        made["target"] = draw(st.floats(60, 290))
    return made | {"limits": limits}


FORMAT = table(
    SCHEMAS["tournament"], conditions=st.lists(st.sampled_from(["house", "tape"]), max_size=2)
)


@st.composite
def tournaments(draw: st.DrawFn) -> Doc:
    field = draw(st.sampled_from(["roster", "styles", "population"]))
    people = 2 if field == "roster" else draw(st.integers(4, 400))  # the tiny roster has two
    cut = draw(st.integers(1, people - 1))
    return draw(FORMAT) | {
        "field": field,
        "population": "mixed" if field == "population" else "",
        "entrants": max(people, 4),
        "squads": draw(st.integers(1, min(8, people // 2))),
        "cut": cut,
        "finalists": draw(st.integers(0, min(16, cut))),
    }


@st.composite
def conditions(draw: st.DrawFn) -> Doc:
    made = []
    for _ in range(draw(st.integers(1, 5))):
        start, right = draw(st.floats(0, 55)), draw(st.floats(1, 39))
        amber = draw(st.sampled_from([0.0, 0.125, 0.5, 1.0]))
        band = {
            "from_ft": start, "to_ft": draw(st.floats(start, 60, exclude_min=True)),
            "from_board": right, "to_board": draw(st.floats(right, 39)),
            "volume_ml": draw(st.floats(0.01, 12)), "shares": {"amber": amber, "slate": 1.0 - amber},
        }  # fmt: skip
        made.append(band)
    after = {"games_per_lane": draw(st.integers(0, 100)), "styles": {"stroker": 1.0}}
    return {"title": draw(words), "bands": made} | draw(st.sampled_from([{}, {"after": after}]))


figures = table(
    SCHEMAS["conditioner"],
    viscosity_mpas=st.floats(12, 81),
    viscosity_at_c=st.just(21.1),
    viscosity_change_per_10f=st.floats(-0.4, -0.05),
    density_g_per_ml=st.floats(0.7, 1.1),
)
WORDS = ("than", "friction", "kind", "wears")


@st.composite
def conditioners(draw: st.DrawFn) -> Doc:
    made = draw(figures)
    return {key: value for key, value in made.items() if key not in WORDS}


@st.composite
def worded(draw: st.DrawFn) -> Doc:
    """Some things in words against amber, each with no figure of its own."""
    made = draw(figures)
    made["than"] = "amber"
    said = {
        "friction": ("boundary_factor",), "wears": ("left_behind",),
        "kind": ("base_share", "critical_rate_per_s"),
    }  # fmt: skip
    for word, others in said.items():
        if word in made:
            for other in others:
                made.pop(other, None)
    return made


FILES: dict[str, tuple[str, st.SearchStrategy[Doc], Callable[[Any], Any]]] = {
    "center.toml": ("center", centers(), lambda made: made),
    "conditions/house.toml": ("condition", conditions(), lambda c: c.conditions["house"]),
    "conditioners/amber.toml": ("conditioner", conditioners(), lambda c: c.conditioners["amber"]),
    "conditioners/slate.toml": ("conditioner", worded(), lambda c: c.conditioners["slate"]),
    "balls/medium.toml": ("ball", table(SCHEMAS["ball"]), lambda c: c.balls["medium"]),
    "styles/stroker.toml": ("style", STYLE, lambda c: c.styles["stroker"]),
    "surfaces/older.toml": ("surface", table(SCHEMAS["surface"]), lambda c: c.surfaces["older"]),
    "populations/mixed.toml": (
        "population",
        table(
            SCHEMAS["population"],
            styles=st.just({"stroker": 1.0}),
            average=in_order(part("population", "average")),
        ),
        lambda c: c.populations["mixed"],
    ),
    "goals/wish.toml": ("goal", goals(), lambda made: made),
    "tournaments/open.toml": ("tournament", tournaments(), lambda made: made),
}
PLACES = {  # where a key's value lies under another name, in another unit or in another order
    "single_lane": lambda c: c.lane_states,
    "kept_happy": lambda c: c.thresholds,
    "doubts": lambda c: c.lane_doubt,
    "goal": lambda g: g.kind,
    "h_f0_um": lambda f: f.h_f0_m * 1e6,
    "pressure_mpa": lambda f: f.pressure_pa * 1e-6,
    "number": lambda lane: lane.lane,
}


def dumped(doc: Doc, path: tuple[str, ...] = ()) -> str:
    """TOML of nested tables; a JSON text is a TOML text once DEL is escaped."""
    plain, tables = "", ""
    for key, value in doc.items():
        name = ".".join(map(quoted, (*path, key)))
        if isinstance(value, dict):
            tables += f"[{name}]\n" + dumped(value, (*path, key))
        elif isinstance(value, list) and value and isinstance(value[0], dict):
            tables += "".join(f"[[{name}]]\n" + dumped(v, (*path, key)) for v in value)
        else:
            plain += f"{quoted(key)} = {scalar(value)}\n"
    return plain + tables


def quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def scalar(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return "[" + ", ".join(map(scalar, value)) + "]"
    return quoted(value) if isinstance(value, str) else repr(value)


def differs(made: Any, doc: Any, at: str = "") -> list[str]:
    """Keys of a document whose value did not come back."""
    if isinstance(doc, dict) and isinstance(made, tuple):  # shares: sorted pairs adding up to 1
        made = dict(made)
        return [] if made.keys() == doc.keys() and all(
            math.isclose(made[k], doc[k], rel_tol=1e-12) for k in doc
        ) else [at]  # fmt: skip
    if isinstance(doc, dict):
        wrong = []
        for key, value in doc.items():
            if key == "note" and not hasattr(made, "note"):
                continue  # a remark on a lane is for the file's readers only
            got = PLACES[key](made) if key in PLACES else getattr(made, key)
            wrong += differs(got, value, f"{at}.{key}")
        return wrong
    if isinstance(doc, list):
        if doc and isinstance(doc[0], dict) and "number" in doc[0]:
            doc = sorted(doc, key=lambda lane: lane["number"])
        if len(made) != len(doc):
            return [at]
        return [w for m, d in zip(made, doc, strict=True) for w in differs(m, d, at)]
    if at.endswith(("_um", "_mpa")):
        return [] if math.isclose(made, doc, rel_tol=1e-12, abs_tol=1e-300) else [at]
    return [] if made == doc else [f"{at}: {made!r} for {doc!r}"]


@pytest.fixture(scope="module")
def door(tiny: Any, tmp_path_factory: pytest.TempPathFactory) -> Any:
    return tiny.Door(tmp_path_factory.mktemp("every") / "hall")


FOR_OTHERS = ("after", "population", "people")


def asked(doc: Doc) -> Doc:
    """What a value can be asked for: words lie under ``coarse``, what is of other values lies there."""
    if "league" in doc:
        return doc | {"league": {k: v for k, v in doc["league"].items() if k not in FOR_OTHERS}}
    if doc.keys().isdisjoint({"than", "field"}):
        return doc
    rest = {k: v for k, v in doc.items() if k not in WORDS}
    if "than" in doc:
        rest["coarse"] = {k: doc[k] for k in WORDS if k in doc}
    if doc.get("field") == "roster":
        rest["entrants"] = 2
    return rest


@pytest.mark.parametrize("name", FILES)
@ROUNDS
@given(data=st.data())
def test_center_what_is_written_comes_back(door: Any, name: str, data: st.DataObject) -> None:
    _, strategy, found = FILES[name]
    doc = data.draw(strategy)
    faults, made = door.told(name, dumped(doc))
    assert faults == []
    assert differs(found(made), asked(doc)) == []
    if "after" in doc.get("league", {}):  # for conditions that have none of their own
        assert differs(made.conditions["tape"].after, doc["league"]["after"]) == []


def numbers(schema: Doc, path: tuple[str, ...] = ()) -> list[tuple[tuple[str, ...], Doc]]:
    """Every key of a file that holds a number, tables in tables included."""
    found = []
    for key, inner in schema.get("properties", {}).items():
        for p in inner.get("anyOf", [inner]):
            if p.get("type") in ("number", "integer"):
                found.append(((*path, key), p))
            elif p.get("type") == "object":
                found += numbers(p, (*path, key))
            elif p.get("type") == "array":
                found += numbers(p.get("items", {}), (*path, key))
    return found


NUMBERS = {name: numbers(SCHEMAS[kind]) for name, (kind, _, _) in FILES.items()}


def test_center_every_number_of_every_file_is_known() -> None:
    counts = {name: len(found) for name, found in NUMBERS.items()}
    assert min(counts.values()) >= 3
    assert sum(counts.values()) >= 140


def put(doc: Doc, path: tuple[str, ...], value: Any) -> None:
    """Write into a document; lists of tables at their first table."""
    for key in path[:-1]:
        inner = doc.setdefault(key, {})
        if isinstance(inner, list):
            if not inner:
                inner.append({"number": 1})
            inner = inner[0]
        doc = inner
    doc[path[-1]] = value


@pytest.mark.parametrize("name", FILES)
@ROUNDS
@given(data=st.data())
def test_center_one_wrong_number_is_named(door: Any, name: str, data: st.DataObject) -> None:
    """Out of limits, no number, not finite: one fault on the line of the key, saying what was written."""
    doc = data.draw(FILES[name][1])
    path, schema = data.draw(st.sampled_from(NUMBERS[name]))
    low, high = schema.get("minimum", schema.get("exclusiveMinimum")), schema["maximum"]
    wrong = [
        low - 1, high + 1, high * 1000 + 7, math.nan, math.inf, -math.inf, True, "12", "16,5", "=1+1",
        [], [low], "\u00a012",
    ]  # fmt: skip
    wrong += [low] if "exclusiveMinimum" in schema else []
    wrong += [low + 0.5] if schema["type"] == "integer" else []
    put(doc, path, data.draw(st.sampled_from(wrong)))
    text = dumped(doc)
    faults, made = door.told(name, text)
    assert made is None
    told = [f for f in faults if f" {path[-1]}: " in f or f".{path[-1]}: " in f]
    assert told, faults
    head = f"{door.folder.as_posix()}/{name}:"
    assert told[0].startswith(head)
    line = int(told[0].removeprefix(head).partition(":")[0])
    assert text.split("\n")[line - 1].startswith(f'"{path[-1]}" = ')
    assert "you wrote" in told[0]
    assert all(f.isprintable() and f.startswith(door.folder.as_posix()) for f in faults)


@pytest.mark.parametrize("name", FILES)
@ROUNDS
@given(data=st.data())
def test_center_a_key_that_is_none_is_named(door: Any, name: str, data: st.DataObject) -> None:
    doc = data.draw(FILES[name][1])
    known = set(SCHEMAS[FILES[name][0]]["properties"])
    key = data.draw(
        st.sampled_from(sorted(known)).map(lambda k: k + "x") | words.filter(lambda w: w not in known)
    )  # fmt: skip
    faults, made = door.told(name, dumped({key: 1} | doc))
    assert made is None
    (fault,) = faults
    assert fault.startswith(f"{door.folder.as_posix()}/{name}:1: ")
    assert "unknown key" in fault
    assert fault.isprintable()
