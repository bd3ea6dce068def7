"""Yarns kept by name from the command line."""

import json

import pytest

from .conftest import Knitlog

RUN = "rose 30cm, moss 45cm #117733, snow 77cm"


def test_a_yarn_is_kept_listed_shown_and_dropped(knitlog: Knitlog) -> None:
    assert "None yet" in knitlog("yarn", "list").out
    kept = knitlog("yarn", "keep", "Hut sunset", RUN, "--reel", "60in", "--note", "from the loft")
    assert kept.code == 0
    # 30 + 45 + 77 = 152 cm; 60 in = 152.4 cm
    assert "152 cm a repeat" in kept.out
    assert "that agrees" in kept.out
    listed = json.loads(knitlog("yarn", "list", "--json").out)
    (yarn,) = listed["yarns"]
    assert (yarn["name"], yarn["repeat_length_mm"]) == ("Hut sunset", pytest.approx(1520))
    assert yarn["colours"][1] == {"name": "moss", "length_mm": 450.0, "colour": "#117733"}
    shown = knitlog("yarn", "show", "hut")
    assert "from the loft" in shown.out
    assert "moss 45 cm #117733" in shown.out
    assert knitlog("yarn", "drop", "hut-sunset").code == 0
    assert json.loads(knitlog("yarn", "list", "--json").out)["yarns"] == []


def test_what_is_shown_can_be_typed_again(knitlog: Knitlog) -> None:
    knitlog("yarn", "keep", "Lake", "ice 40cm, reed 30cm, and back")
    line = knitlog("yarn", "show", "lake").out.splitlines()[1].strip()
    again = json.loads(knitlog("yarn", "check", line, "--json").out)
    assert again["turns_back"]
    assert again["repeat_length_mm"] == pytest.approx(700)


def test_a_check_says_what_is_wrong(knitlog: Knitlog) -> None:
    found = json.loads(knitlog("yarn", "check", RUN, "--reel", "120in", "--json").out)
    # 152 cm against 304.8
    assert [f["finding"] for f in found["findings"]] == ["half the reel's turn"]
    assert found["findings"][0]["serious"]
    # in words, both lengths in what the reel was measured in: 152 cm are 59.8 in
    said = knitlog("yarn", "check", RUN, "--reel", "60in").out
    assert "add up to 59.8 in and the reel turns 60 in" in said


@pytest.mark.parametrize(
    ("arguments", "hint"),
    [
        (["keep", "Hut", "rose"], "rose"),
        (["keep", "", RUN], "name"),
        (["keep", "Hut", RUN, "--reel", "60"], "unit"),
        (["show", "hut"], "No colour runs"),
        (["drop", "hut"], "No colour runs"),
        (["check", "30cm"], "30cm"),
    ],
)
def test_nonsense_is_answered_in_a_sentence(
    knitlog: Knitlog, arguments: list[str], hint: str
) -> None:
    done = knitlog("yarn", *arguments)
    assert done.code == 2
    assert hint in done.sentence


def test_every_yarn_command_has_a_json_form_and_an_example() -> None:
    from knitlog.cli.yarn import yarn

    for name, command in yarn.commands.items():
        assert any(parameter.name == "json" for parameter in command.params), name
        assert f"knitlog yarn {name}" in (command.help or ""), name
