"""One number for each noun of a printed house: what several sheets tell is the same on all of them."""

import re
from collections import defaultdict

import pytest
from test_show_sheet import Parts, sheets_of, weather

from exposure.assess import assess_building
from exposure.assess.details import detail_building
from exposure.detail.openings import Opening
from exposure.paper.sheet import sheet_html
from exposure.wall import Building, Site, Wall

pytestmark = pytest.mark.usefixtures("quick_rings")

N = r"(under 10|[\d,]+(?:\.\d+)?)"
NOUNS = {  # of a house of one elevation: noun -> the ways in which sheets tell it
    "back of the tray": [rf"back of the tray up {N} mm", rf"back of the tray at least {N} mm", rf"back upstand {N} mm"],
    "ends of the tray": [rf"both ends of the tray at least {N} mm", rf"within the floor instead\), ends {N} mm"],
    "fall of the tray": [rf"fall of the tray {N} %", rf"Give the tray a fall of at least {N} %",
                         rf"(?:Form the fall of|tray first: fall|tray with a fall of) {N} %"],
    "level lap": [rf"upper over lower {N} mm", rf"Lap each sheet at least {N} mm", rf"upper sheet {N} mm over the lower"],
    "upright lap": [rf"sheet over sheet {N} mm", rf"Lap upright joints at least {N} mm", rf"upright joints {N} mm"],
    "tape": [rf"tape wide {N} mm", rf"Use tape at least {N} mm wide", rf"(?:flange|in the opening), {N} mm wide"],
    "head flashing": [rf"flashing up the wall {N} mm", rf"flashing or cavity tray at least {N} mm up", rf"(?:over it:|leg|head flashing) {N} mm up"],
    "cavity tray": [rf"rise of the cavity tray {N} mm", rf"every opening: rise at least {N} mm", rf"rise {N} mm"],
    "pressure followed": [rf"{N} Pa, [\d,]+ mm of water(?:; the window tray its gust, [\d,]+ Pa, [\d,]+ mm)? E?\d+, gust", rf"Upstands follow {N} Pa, [\d,]+ mm of water",
                          rf"{N} Pa, this elevation's pressure"],
    "its head": [rf"Pa, {N} mm of water(?:; the window tray its gust, [\d,]+ Pa, [\d,]+ mm)? E?\d+, gust", rf"Upstands follow (?:under 10|[\d,]+) Pa, {N} mm of water"],
    "gust of the tray": [rf"the window tray its gust, {N} Pa"],
    "gust": [rf"for {N} Pa, the gust", rf", gust {N} Pa", rf"in a gust from any side {N} Pa", rf"SW1 [^→]*→ 2 E?\d+, {N} Pa"],
    "class": [r"to class (E?\d+) for", r"(E?\d+), gust", r"SW1 [^→]*→ 2 (E?\d+), "],
    "openings": [rf"{N} openings on the list", rf"\d+ of {N} openings"],
    "days bare": [rf"Cover the membrane within {N} days"],
    "spray": [rf"{N} L/\(m²·min\)"],
}  # fmt: skip


def numbers_of(words):
    """Every noun of :data:`NOUNS` with the numbers that the words tell of it, and in how many ways."""
    found, ways = defaultdict(set), defaultdict(int)
    for noun, patterns in NOUNS.items():
        for pattern in patterns:
            told = re.findall(pattern, words)
            found[noun] |= set(told)
            ways[noun] += bool(told)
    return found, ways


def words_of(**told):
    """The words of the sheets of a house of one elevation, drawings left out."""
    climate = weather(years=2)
    wall = Wall("south-west", 225.0, 9.0, 5.6)
    site = Site(name="Quern Bay", latitude=48.4, longitude=-29.7, terrain="II", ground_height=24.0)
    listed = (
        Opening("south-west", 900, 1200, 5, rated=900.0),
        Opening("south-west", 950, 2100, 1, door=True),
    )
    details = detail_building(
        assess_building(climate, Building("House", (wall,)), site), climate, told, openings=listed
    )
    html = re.sub(r"<svg.*?</svg>", " ", sheet_html(details), flags=re.DOTALL)
    words = " ".join(Parts("<x " + piece).words for piece in sheets_of(html).values())
    return re.sub(r"\s+([.,;:)])", r"\1", words), details


def check_one_number_each(words, details, *, told_twice):
    found, ways = numbers_of(words)
    assert {noun: sorted(numbers) for noun, numbers in found.items() if len(numbers) > 1} == {}
    assert {noun for noun in told_twice if ways[noun] < 2} == set()  # else nothing was compared
    marks = set(re.findall(r"\bSW\d+\b", words))
    assert found["openings"] == {str(len(marks))}
    photos = int(re.search(r"Take at least (\d+) photos", words).group(1))
    assert photos >= len({found for found in re.findall(r"Hold point at step (\d+): Photograph", words)})


TIMBER = ("back of the tray", "ends of the tray", "fall of the tray", "level lap", "upright lap", "tape", "head flashing",
          "pressure followed", "its head", "gust", "class")  # fmt: skip


def test_a_timber_house_tells_each_number_once():
    words, details = words_of(rooms="heated through cold winters", snow_depth=300)
    check_one_number_each(words, details, told_twice=TIMBER)
    back = next(line.value for line in details.elevations[0].schedule.lines if line.key == "back_dam")
    broken = words.replace(f"back upstand {back:g} mm", f"back upstand {back + 5:g} mm")
    assert len(numbers_of(broken)[0]["back of the tray"]) == 2  # so a second number is seen
    assert len(numbers_of(words.replace("6 openings on", "7 openings on"))[0]["openings"]) == 2


@pytest.mark.parametrize(
    ("told", "told_twice"),
    [
        ({"wall_type": "cavity masonry", "air_seal_tested": True}, ("back of the tray", "cavity tray", "gust", "class")),
        ({"wall_type": "masonry veneer", "local_rules": ["united kingdom"]}, ("back of the tray", "level lap", "cavity tray")),
        ({"sheathing": "open studs", "later_access": "scaffold or lift needed"}, TIMBER[:4]),
        ({"window_position": "over the cavity", "frame_type": "box frame with straps", "local_rules": ["canada"]}, TIMBER[:4]),
    ],
)  # fmt: skip
def test_every_wall_tells_each_number_once(told, told_twice):
    check_one_number_each(*words_of(**told), told_twice=told_twice)
