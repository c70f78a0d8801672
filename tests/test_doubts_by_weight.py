"""Doubts in the order of their weight: what forbids building, what may move a class, and the others."""

from types import SimpleNamespace

from exposure.assess.doubts import BUILD_NOT, MAY_MOVE_CLASS, by_weight
from exposure.cli import details_words
from exposure.cli.details_words import MOST_DOUBTS, details_in_brief
from exposure.doubts import doubt, sentences

LIGHT = [
    doubt("climate.stamps_without_zone"), doubt("climate.trace_rain", hours=2, spell="2 hours"),
    doubt("climate.values_dropped", values=3), doubt("climate.reports_gathered", reports=4, hours=3),
]  # fmt: skip
CLASS = doubt("detail.class_by_band", "north", could_be="severe", level=4)
DESIGN = doubt("detail.check_needs_design", "north")


def test_weighty_doubts_come_first_and_equals_keep_their_order():
    assert by_weight([*LIGHT, CLASS, "a sentence from a file", DESIGN, CLASS]) == [
        DESIGN, CLASS, *LIGHT, "a sentence from a file",
    ]  # fmt: skip


def test_every_weighty_key_exists():
    for key in BUILD_NOT | MAY_MOVE_CLASS:
        room, _, name = key.partition(".")
        assert name in sentences(room), key
    assert not BUILD_NOT & MAY_MOVE_CLASS


def test_the_short_answer_shows_a_doubt_on_the_class_before_notes_on_the_record(monkeypatch):
    for words in ("inside_words", "build_words", "cost_words"):
        monkeypatch.setattr(details_words, words, lambda _details: [])
    monkeypatch.setattr(details_words, "take_off_words", lambda _total: "")
    details = SimpleNamespace(
        assessment=SimpleNamespace(building=SimpleNamespace(name="House")), elevations=(), clad_first=("north",),
        total=None, flags=(*LIGHT, CLASS, DESIGN),
    )  # fmt: skip
    told = [line for line in details_in_brief(details).splitlines() if line.startswith("Doubt: ")]
    assert len(told) == MOST_DOUBTS == 4
    assert told[:2] == [f"Doubt: {DESIGN}", f"Doubt: {CLASS}"]
