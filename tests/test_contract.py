"""The results contract: what scripts rely on, and how the commands end."""

from __future__ import annotations

import io
import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import fastjsonschema
import jsonschema
import pytest
from contracted import SCHEMA, agreed, kinds
from rigs import shipped

import grammar
from analyser.checking.contract import lay
from analyser.checking.foremost import verdict_head, verdict_line
from analyser.checking.shapes import Check
from analyser.doors.commands.main import main
from analyser.doors.commands.schemas import documents, texts
from analyser.pages.writers.terminal import plain
from analyser.pages.writing.short_check import short_page

EXAMPLES = Path(__file__).parent.parent / "examples"
LOWER = str(EXAMPLES / "litter-lower-strap-left-off.rig")


def test_the_schema_and_its_page_are_what_the_shapes_say() -> None:
    for name, text in texts().items():
        assert grammar.text(name) == text, "python -m analyser.doors.commands.schemas"


def test_the_schema_is_one() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    assert set(kinds()) == set(documents())


def test_figures_have_their_unit_and_every_key_is_there() -> None:
    for name, part in SCHEMA["$defs"].items():
        optional = {"file"} if "document" in part.get("properties", {}) else set()
        assert set(part.get("properties", {})) - set(part.get("required", ())) <= optional, name
        for key, one in part.get("properties", {}).items():
            units = set(re.findall(r"'unit': '(\w+)'", str(one)))
            assert all(key.endswith(f"_{unit}") for unit in units), f"{name}.{key}"
            assert not re.search(r"_(n|N|kn|mm|lbf)$", key), f"{name}.{key}"


def test_what_is_not_as_agreed_is_found(capsys: pytest.CaptureFixture[str]) -> None:
    """The check that the tests run on every document can fail."""
    data = document(capsys, LOWER)
    agreed(data)
    for spoil in ({"more": 1}, {"verdict": "safe"}, {"accepted": "3"}):
        with pytest.raises(fastjsonschema.JsonSchemaException):
            agreed({**data, **spoil})
    data["states"][0]["bodies"][0].pop("held")
    with pytest.raises(fastjsonschema.JsonSchemaException):
        agreed(data)


def test_two_libraries_agree_on_a_document(capsys: pytest.CaptureFixture[str]) -> None:
    main(["forces", str(EXAMPLES / "slack-second-line.rig"), "--json"])
    data = json.loads(capsys.readouterr().out)
    jsonschema.Draft202012Validator({"$defs": SCHEMA["$defs"], "$ref": "#/$defs/ForcesTold"}).validate(data)


def test_a_shape_that_does_not_fit_is_said() -> None:
    with pytest.raises(AttributeError):
        lay(Check, object())


def document(capsys: pytest.CaptureFixture[str], *arguments: str) -> Any:
    main(["check", *arguments, "--json"])
    return json.loads(capsys.readouterr().out)


def test_the_keys_that_scripts_rely_on(capsys: pytest.CaptureFixture[str]) -> None:
    data = document(capsys, LOWER)
    assert data["format"] == "stillheld/2"
    assert {"rig", "revision", "assumptions", "states", "requirements", "verdict", "on", "accepted", "assumed"} <= set(
        data
    )
    (state,) = data["states"]
    assert (state["number"], state["stage"], state["step"]) == (0, None, None)
    for body in state["bodies"]:
        assert {"name", "kind", "held", "only_by_person", "tips", "attachments", "independent"} <= set(body)
        assert "smallest_failure_set" in body
    for failure in state["failures"]:
        assert {"id", "part", "mode", "falls", "only_by_person", "tips", "down_to_one"} <= set(failure)
        assert failure["id"] == f"{failure['part']} {failure['mode']}"
    assert [one["id"] for one in state["failures"]] == sorted(one["id"] for one in state["failures"])
    for sets in state["failure_sets"].values():
        assert all(cut == sorted(cut) for cut in sets)
        assert sets == sorted(sets, key=lambda cut: (len(cut), cut))
    for finding in state["findings"]:
        assert {"rule", "severity", "about", "bodies", "line", "accepted", "text"} <= set(finding)
        assert finding["severity"] in ("danger", "caution", "note")
    assert (data["verdict"], data["on"]) == ("not met", "connections only")
    assert data["declared"]["edges"] == 1


def test_single_failures_and_failure_sets_tell_one_story(capsys: pytest.CaptureFixture[str]) -> None:
    data = document(capsys, LOWER)
    (state,) = data["states"]
    sets = state["failure_sets"]
    for failure in state["failures"]:
        for body in sets:
            assert (body in failure["falls"]) == ([failure["id"]] in sets[body])
            in_a_pair = any(len(cut) == 2 and failure["id"] in cut for cut in sets[body])
            single = any(len(cut) == 1 for cut in sets[body])
            down = body not in failure["falls"] and (single or in_a_pair)
            assert (body in failure["down_to_one"]) == down


@pytest.mark.parametrize(("order", "sizes"), [("1", {1}), ("2", {1, 2}), ("3", {1, 2, 3})])
def test_order(order: str, sizes: set[int], capsys: pytest.CaptureFixture[str]) -> None:
    data = document(capsys, LOWER, "--order", order)
    assert {len(cut) for sets in data["states"][0]["failure_sets"].values() for cut in sets} <= sizes
    assert data["complete_to_order"] == int(order)
    sam = next(body for body in data["states"][0]["bodies"] if body["name"] == "sam")
    assert sam["smallest_failure_set"] == 1
    assert any(failure["down_to_one"] for failure in data["states"][0]["failures"])


def test_exit_status(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    bad = tmp_path / "bad.rig"
    bad.write_text("rig 5\n")
    good = str(EXAMPLES / "litter-lower.rig")
    assert main(["check", good]) == 0
    assert main(["check", LOWER]) == 1
    assert main(["check", str(bad)]) == 2
    assert main(["check", good, LOWER, str(bad)]) == 2
    assert main(["check", good, LOWER]) == 1
    capsys.readouterr()
    main(["check", good, str(bad), "--json"])
    first, second = json.loads(capsys.readouterr().out)
    assert first["verdict"] == "met"
    assert second["errors"][0]["line"] == 1


def test_house_defaults_are_said_to_be_assumed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    text = b'rig "x"\nanchor bolt\nperson sam\nattach bolt - strap s - sam\n'
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text)))
    data = document(capsys, "-")
    asked = {one["text"]: (one["met"], one["assumed"], one["line"]) for one in data["requirements"]}
    assert asked == {
        "every person has 2 independent attachments": (False, True, None),
        "everyone held after any 1 failure": (False, True, None),
    }
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text)))
    main(["check", "-"])
    assert "house defaults" in capsys.readouterr().out


def test_a_verdict_never_stands_bare(capsys: pytest.CaptureFixture[str]) -> None:
    """What is not met is told first without that on which it rests, which stands last; never so what is met."""
    for number, example in enumerate(sorted(EXAMPLES.glob("*.rig"))):
        out = plain(short_page(shipped(example), example.name))
        if number % 3 == 0:
            main(["check", str(example)])
            assert capsys.readouterr().out == out, "as the command prints it"
        flowing = " ".join(out.split("\n")[1:])  # a verdict may go on in the lines below it
        verdict = " ".join(verdict_line(shipped(example)).split())
        first = verdict if shipped(example).met else " ".join(verdict_head(shipped(example)).split())
        assert flowing.startswith(first) and flowing.count(first) == 2 and flowing.rstrip().endswith(verdict)
        assert re.search(r"on connections (only|and forces); \d+ accepted, \d+ assumed", verdict)
        if number % 3 == 0:
            main(["check", str(example), "--full"])
            assert " ".join(capsys.readouterr().out.split("\n")[1:]).count(verdict) == 2, "first and last in full, too"
        assert "qualified practice come first" in out.replace("\n", " ")
        assert " safe" not in out.lower()


def test_what_is_read_and_not_analysed_is_said(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "staged.rig"
    path.write_text(
        'rig "x"\nanchor a, b\nload bag\nattach a - strap s - bag\nattach b - strap t - bag\n'
        "require everyone held after any 1 failure\nrequire strength factor at least 10\n"
        'stage "Move"\n    detach s from bag\nobserved\n    fell bag\n'
    )
    assert main(["check", str(path)]) == 1
    assert "1 observed fact not looked at" in " ".join(capsys.readouterr().out.split())
    assert main(["check", str(path), "--full"]) == 1
    page = capsys.readouterr().out
    assert page.count("NOT CHECKED") == 1
    assert "1 facts: for `stillheld reconstruct`" in " ".join(page.split())
    data = document(capsys, str(path))
    assert [(one["met"], one["states"]) for one in data["requirements"]] == [(False, [1]), (None, [0, 1])]
    assert data["not_analysed"] == {"observed": 1}
    assert data["verdict"] == "not met"


def test_no_colour_in_a_pipe() -> None:
    command = [sys.executable, "-m", "analyser.doors.commands.main", "check", LOWER]
    run = subprocess.run(command, capture_output=True, cwd=EXAMPLES.parent, check=False)
    assert run.returncode == 1
    assert b"\x1b" not in run.stdout
    assert run.stderr == b""
    again = subprocess.run(command, capture_output=True, cwd=EXAMPLES.parent, check=False)
    assert again.stdout == run.stdout


def test_whatif(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["whatif", LOWER, "left-bolt fails"]) == 0
    assert "down to one" in capsys.readouterr().out
    assert main(["whatif", LOWER, "left-bolt fails", "right-bolt fails"]) == 1
    assert "FALLS" in capsys.readouterr().out
    assert main(["whatif", LOWER, "left-bolt fails", "right-bolt fails", "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["falls"] == ["basket", "sam", "vic"]
    assert main(["whatif", LOWER, "left-blot fails"]) == 2
    assert "did you mean `left-bolt fails`" in capsys.readouterr().err


def test_kinds(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["kinds"]) == 0
    assert "friction-hitch" in capsys.readouterr().out
    assert main(["kinds", "--json"]) == 0
    kinds = {one["kind"]: one["like"] for one in json.loads(capsys.readouterr().out)["kinds"]}
    assert kinds["tripod"] == "frame"
    assert kinds["frame"] is None


def test_draw_refuses_what_it_cannot_write(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["draw", LOWER, "-o", str(tmp_path / "a.pdf")]) == 2
    assert "ends in .svg, .png or .dot" in capsys.readouterr().err
    assert main(["draw", LOWER, "-o", str(tmp_path / "nowhere" / "a.dot")]) == 2
    assert "cannot be written" in capsys.readouterr().err
    assert main(["draw", LOWER, "-o", str(tmp_path / "a.dot")]) == 0
    assert (tmp_path / "a.dot").read_text(encoding="utf-8").startswith("digraph")


def test_nobody_to_hold_is_never_met(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "empty.rig"
    path.write_text('rig "x"\nanchor bolt\nperson jo: standing\n')
    assert main(["check", str(path)]) == 1
    assert "nobody that it speaks of has to be held" in capsys.readouterr().out.replace("\n                ", " ")


def test_a_stopper_is_told_as_what_it_is(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "stopper.rig"
    path.write_text(
        'rig "x"\nanchor a\nperson pia: points waist\nrope w\n    tied to a with figure-eight\n'
        "    gripped by descender d - pia.waist\n    stopper\nd: operated by pia\n"
        "require everyone held with hands off\n"
    )
    main(["check", str(path)])
    assert "when hands let go: pia runs to w-stopper, how far isn't told" in " ".join(capsys.readouterr().out.split())
    main(["whatif", str(path), "pia lets go"])
    assert "RUNS to w-stopper, how far isn't told" in " ".join(capsys.readouterr().out.split())


def test_lines_of_an_included_file_are_told_with_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "kit.rig").write_text('\n\nsound s fails: "from the kit"\n')
    path = tmp_path / "main.rig"
    path.write_text('rig "x"\ninclude "kit.rig"\nanchor a\nload bag\nattach a - sling s - bag\n')
    data = document(capsys, str(path))
    assert [(one["file"], one["line"]) for one in data["assumptions"]] == [("kit.rig", 3)]
    main(["check", str(path), "--full"])
    assert "(kit.rig line 3)" in capsys.readouterr().out
