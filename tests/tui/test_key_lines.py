import doctest

from knitlog.tui import key_lines
from knitlog.tui.screens.needles import NeedlesScreen


def test_the_examples_are_right():
    assert doctest.testmod(key_lines).failed == 0


def test_a_screen_s_help_names_each_deed_once_with_all_its_keys():
    lines = key_lines.key_lines(b for b in NeedlesScreen.BINDINGS)
    keys = {words: shown for shown, words in lines}
    assert keys["Take back the last thing logged."] == "u Ctrl+Z"
    assert keys["This help."] == "? F1"
    assert len(keys) == len(lines)
