"""Nothing from a file is obeyed by a terminal."""

from knitlog.journal.actions import add_note, change_facts, log_round, make_fix
from knitlog.journal.store import JournalFile

HOSTILE = "\x1b]0;owned\x07\x1b[2J\u202egnp.exe\u200b\x9b31m\r\nline\tend\x00"


def test_a_state_holds_plain_text_only(journal: JournalFile) -> None:
    log_round(journal, [37], note=HOSTILE)
    add_note(journal, HOSTILE)
    make_fix(journal, 1, how=HOSTILE, note=HOSTILE)
    change_facts(journal, name=HOSTILE, about=HOSTILE)
    state = JournalFile.open(journal.path).state
    texts = [state.name, state.about, *(n.text for n in state.notes), state.fixes[0].how]
    assert len(texts) == 6
    for text in texts:
        assert "line end" in text
        assert not set(text) & set("\x1b\x07\u202e\u200b\x9b\r\t\x00")


def test_hostile_text_in_a_file_is_plain_once_read(journal: JournalFile) -> None:
    line = (
        '{"schema":1,"id":"' + "a" * 32 + '","at":"2031-01-05T19:00:00Z","kind":"note",'
        '"text":"\\u001b[2J\\u202egnp"}\n'
    )
    with journal.path.open("a") as file:
        file.write(line)
    assert [n.text for n in JournalFile.open(journal.path).state.notes] == ["␛[2J\ufffdgnp"]
