"""Records from site: what was recorded reaches the handover sheet, whatever cannot be trusted is refused with its reason."""

import base64
import hashlib
import importlib.abc
import io
import json
import sys
import zlib
from dataclasses import replace
from datetime import datetime

import pytest

from exposure.assess.record_merge import MergedOpening, MergedStep, Said, merge_records
from exposure.assess.site_photo import photo_type
from exposure.assess.site_record import (
    LARGEST_FILE,
    LARGEST_PHOTO,
    OpeningRecord,
    Photo,
    PlaceRecord,
    SiteRecord,
    StepRecord,
    house_key,
    read_record,
    read_register,
)
from exposure.checks import RefusalError
from exposure.cli import main
from exposure.cli.example_command import example_text
from exposure.paper.handover import handover_html, write_handover
from exposure.paper.register import HoldPoint, Register, RegisteredOpening, RegisteredWall, register_json
from tests.test_show_sheet import Parts

# The place of the example house, as its file says it.
KEY = house_key(house="Wrack House", place="Quern Bay", latitude=48.435, longitude=-29.680)
HOSTILE = '"><script>alert(1)</script><img src=x onerror=alert(2)>\u202e{{ 7*7 }}'


def png(width=3, height=2, *, told=None):
    """A small picture, put together by the format's own rules; its head may tell another width and height."""

    def chunk(name, body):
        return len(body).to_bytes(4, "big") + name + body + zlib.crc32(name + body).to_bytes(4, "big")

    wide, tall = told or (width, height)
    head = wide.to_bytes(4, "big") + tall.to_bytes(4, "big") + b"\x08\x02\0\0\0"
    rows = zlib.compress((b"\0" + b"\x80\x60\x40" * width) * height)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def jpeg(size=(8, 6)):
    image = pytest.importorskip("PIL.Image")
    out = io.BytesIO()
    image.new("RGB", size, (120, 90, 60)).save(out, "JPEG")
    return out.getvalue()


def step(number, **told):
    return {
        "step": number, "done": "2026-05-04T10:00:00", "result": "as drawn", "by": "A. Invented",
        "at": "2026-05-04T10:01:00", "moisture": "17.5", "note": "", "changed": "2026-05-04T10:01:00",
    } | told  # fmt: skip


def opening(mark="SW1", *steps, **told):
    return {
        "mark": mark, "elevation": "SW", "kind": "window", "size": "900 × 1200", "added": False, "signed_by": "",
        "signed_at": "", "holds": [1, 5], "steps": list(steps),
    } | told  # fmt: skip


def photo(content, number=1, mark="SW1", **told):
    return {
        "number": number, "mark": mark, "step": 5, "taken": "2026-05-04T10:02:00",
        "sha256": hashlib.sha256(content).hexdigest(), "picture": base64.b64encode(content).decode(),
    } | told  # fmt: skip


def record(*openings, photos=(), **told):
    return {
        "key": KEY, "inputs": "1234-5678", "house": "Wrack House, Quern Bay", "phone": "AAAA",
        "exported": "2026-05-04T17:00:00", "openings": list(openings), "places": [], "photos": list(photos),
    } | told  # fmt: skip


def sealed(whole, **told):
    """The file as a phone writes it: the checksum is of the record without its pictures, in letters, one by one."""
    bare = whole
    if isinstance(whole["photos"], list) and all(isinstance(one, dict) for one in whole["photos"]):
        shown = [{k: v for k, v in one.items() if k != "picture"} for one in whole["photos"]]
        bare = {**whole, "photos": shown}
    letters = json.dumps(bare, ensure_ascii=False, separators=(",", ":")).encode()
    head = {"format": "exposure-site-record", "version": 2, "sha256": hashlib.sha256(letters).hexdigest()}
    return json.dumps(head | told | {"record": whole}, ensure_ascii=False)


def written(tmp_path, text, name="record.json"):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def refused(path, **told):
    with pytest.raises(RefusalError) as caught:
        read_record(path, **({"key": KEY} | told))
    assert caught.value.expected
    assert caught.value.cure
    assert path.name in caught.value.came
    return caught.value.came


# ------------------------------------------------------------------ what is read


def test_a_record_comes_back_as_it_was_told(tmp_path):
    note = 'Dry & plumb, é 😀 \u2028 "so" \\ \t.'
    whole = record(
        opening("SW1", step(5, note=note, moisture="17,5")), photos=[photo(png()), photo(jpeg(), 2)]
    )
    told = read_record(written(tmp_path, sealed(whole)), key=KEY)
    assert (told.phone, told.openings[0].mark, told.openings[0].holds) == ("AAAA", "SW1", (1, 5))
    assert told.openings[0].steps[0].note == note
    assert told.openings[0].steps[0].moisture == "17.5"
    assert [one.type for one in told.photos] == ["image/png", "image/jpeg"]
    laid_out = json.dumps(
        json.loads(sealed(whole)), indent=2
    )  # another layout of the same words is no change
    assert read_record(written(tmp_path, laid_out), key=KEY).openings == told.openings


def test_every_word_of_a_record_comes_back_in_its_place(tmp_path):
    done = "2026-05-04T09:00:00"
    place = {"elevation": "NW", "what": "Tray laid", "done": done}
    mine = opening(
        "SW1", step(5, note="dry"), added=True, signed_by="C. Invented", signed_at="2026-05-04T12:00:00"
    )
    path = written(tmp_path, sealed(record(mine, photos=[photo(png(), 7)], places=[place])))
    ticked, set_at = "2026-05-04T10:00:00", "2026-05-04T10:01:00"
    one = StepRecord(5, ticked, "as drawn", "A. Invented", set_at, "17.5", "dry", set_at)
    assert read_record(path, key=KEY) == SiteRecord(
        "record.json", KEY, "1234-5678", "Wrack House, Quern Bay", "AAAA", "2026-05-04T17:00:00",
        (OpeningRecord("SW1", "SW", "window", "900 × 1200", True, "C. Invented", "2026-05-04T12:00:00", (1, 5), (one,)),),
        (PlaceRecord("NW", "Tray laid", done),),
        (Photo(7, "SW1", 5, "2026-05-04T10:02:00", hashlib.sha256(png()).hexdigest(), "image/png", png()),),
    )  # fmt: skip


def test_a_house_is_known_to_four_decimals_of_a_degree():
    told = {"house": "Wrack House", "place": "Quern Bay"}
    assert house_key(latitude=48.43504, longitude=-29.68004, **told) == KEY
    assert house_key(latitude=48.4351, longitude=-29.68, **told) != KEY
    assert house_key(latitude=48.435, longitude=-29.6801, **told) != KEY


# ------------------------------------------------------------------ what is refused


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "cannot be read"),
        ("{", "cannot be read"),
        ("\ufffe\0", "cannot be read"),
        ('{"type":"FeatureCollection","features":[]}', "is no record of this program"),
        ("[]", "is no record of this program"),
        ("[" * 100_000, "cannot be read"),
        ('{"a":' * 100_000, "cannot be read"),
        ("[" * 500_000, "lists without end"),
        ('{"format":"exposure-site-record","version":1e400}', "cannot be read"),
        ('{"format":"exposure-site-record","version":' + "9" * 5000 + "}", "cannot be read"),
        ('{"format":"exposure-site-record","version":NaN}', "cannot be read"),
        ('{"format":"exposure-site-record","version":0}', "version 0"),
        (
            '{"format":"exposure-site-record","version":1}',
            "version 1",
        ),
        ('{"format":"exposure-site-record","version":true}', "version True"),
        ('{"format":"exposure-site-record","version":2}', "has no 'record'"),
        ('{"format":"exposure-site-record","format":"x","version":2}', "cannot be read"),
    ],
    ids=range(16),
)
def test_what_is_no_record_of_ours_is_refused(tmp_path, text, why):
    assert why in refused(written(tmp_path, text))


@pytest.mark.parametrize(
    ("old", "new"),
    [('"as drawn"', '"to mend"'), ("17.5", "7.5"), ("A. Invented", "B. Invented"), ('"SW1"', '"SW2"')],
)
def test_a_record_changed_after_its_export_is_refused(tmp_path, old, new):
    text = sealed(record(opening("SW1", step(5))))
    assert "changed or damaged" in refused(written(tmp_path, text.replace(old, new)))


def test_a_photo_put_in_the_place_of_another_is_refused(tmp_path):
    whole = record(opening("SW1", step(5)), photos=[photo(png())])
    text = sealed(whole).replace(photo(png())["picture"], photo(png(4, 4))["picture"])
    assert "another photo 1 than the phone took" in refused(written(tmp_path, text))


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>", "neither JPEG nor PNG"),
        (b"GIF89a" + b"\0" * 40, "neither JPEG nor PNG"),
        (b"\xff\xd8\xff\xe0 no picture \xff\xd9", "cut short or damaged"),
        (png()[:-9], "cut short or damaged"),
        (png().replace(b"IDAT", b"IDAX"), "cut short or damaged"),
        (
            png()[:-14] + bytes([png()[-14] ^ 1]) + png()[-13:],
            "cut short or damaged",
        ),  # one bit of the data's checksum
        (png(told=(70_000, 70_000)), "pixels"),
        (b"", "neither JPEG nor PNG"),
    ],
)
def test_a_photo_that_is_none_is_refused(tmp_path, content, why):
    text = sealed(record(opening(), photos=[photo(content)]))
    assert why in refused(written(tmp_path, text))


def test_a_jpeg_cut_short_is_no_photo():
    with pytest.raises(ValueError, match="cut short"):
        photo_type(jpeg()[:-2])
    assert photo_type(jpeg()) == "image/jpeg"


@pytest.mark.parametrize("size", [1_600_000, pytest.param(50_000_000, marks=pytest.mark.slow)])
def test_a_photo_too_large_is_refused(tmp_path, size):
    big = {**photo(png()), "picture": "A" * (size // 3 * 4)}
    assert f"larger than {LARGEST_PHOTO / 1e6:g} MB" in refused(
        written(tmp_path, sealed(record(opening(), photos=[big])))
    )


def test_a_photo_is_taken_up_to_its_largest_size(tmp_path):
    # 1.5 MB are 2,000,000 letters of base64; zeros after the end of a JPEG are no harm
    large = jpeg() + bytes(1_500_000 - len(jpeg()))
    path = written(tmp_path, sealed(record(opening(), photos=[photo(large, 100_000)])))
    assert read_record(path, key=KEY).photos[0].content == large
    for content, number, why in (
        (large + b"\0", 1, "has a photo 1 larger"),
        (png(), 100_001, "'100001' for 'number'"),
    ):
        spoilt = written(tmp_path, sealed(record(opening(), photos=[photo(content, number)])))
        assert why in refused(spoilt)


@pytest.mark.parametrize("head", [png, lambda told: jpeg_head(*told)])
def test_pixels_are_width_times_height(head):
    for told in ((8000, 5000), (1, 1)):
        assert photo_type(head(told=told))
    for told, why in (
        ((8000, 5001), "8,000 × 5,001 pixels"), ((0, 9), "0 × 9 pixels"), ((9, 0), "9 × 0 pixels"),
    ):  # fmt: skip
        with pytest.raises(ValueError, match=why):
            photo_type(head(told=told))


def jpeg_head(width, height, *, segment=8):
    """A JPEG of a frame's head, a scan of nothing and its end, by ITU-T T.81."""
    sizes = height.to_bytes(2, "big") + width.to_bytes(2, "big")
    frame = b"\xff\xc0" + segment.to_bytes(2, "big") + b"\x08" + sizes + b"\0" * (segment - 7)
    return b"\xff\xd8" + frame + b"\xff\xda\0\2" + b"\xff\xd9"


def test_photos_are_taken_up_to_the_sum_of_their_sizes(tmp_path, monkeypatch):
    path = written(tmp_path, sealed(record(opening(), photos=[photo(png()), photo(png(), 2)])))
    monkeypatch.setattr("exposure.assess.site_record.MOST_PHOTO_BYTES", 2 * len(png()))
    assert len(read_record(path, key=KEY).photos) == 2
    monkeypatch.setattr("exposure.assess.site_record.MOST_PHOTO_BYTES", 2 * len(png()) - 1)
    assert "MB of photos" in refused(path)


def test_a_folder_or_a_name_of_nothing_is_no_record(tmp_path):
    assert "is no file" in refused(tmp_path)
    assert "is no file" in refused(tmp_path / "absent.json")


def test_no_record_at_all_is_not_merged():
    with pytest.raises(RefusalError, match="no record"):
        merge_records([])


def test_a_file_without_end_is_not_read(tmp_path):
    path = tmp_path / "record.json"
    with path.open("wb") as file:
        file.truncate(LARGEST_FILE + 1)  # holds no bytes on the disk
    assert "larger than 100 MB" in refused(path)


@pytest.mark.parametrize(
    ("whole", "why"),
    [
        (record(opening("SW1", step(5, moisture="900"))), "moisture"),
        (record(opening("SW1", step(5, moisture="1e9"))), "moisture"),
        (record(opening("SW1", step(10**30))), "whole number"),
        (record(opening("SW1", step(-1))), "whole number"),
        (record(opening("SW1", step(5, result="<b>fine</b>"))), "result"),
        (record(opening("SW1", step(5, at="yesterday"))), "time"),
        (record(opening("SW1", step(5, note="x" * 5000))), "characters"),
        (record(opening("SW1", step(5), step(5))), "twice"),
        (record(opening("SW1"), opening("SW1")), "twice"),
        (record(opening(), photos=[photo(png(), mark="XX9")]), "does not hold"),
        (record(opening(), photos=[photo(png(), number=True)]), "whole number"),
        (record({**opening(), "extra": 1}), "unknown"),
        (record(opening(steps="none")), "no list"),
        (record("SW1"), "no table"),
        (record(opening(added=1)), "added on site"),
        (record(*[{}] * 3000), "more than"),
    ],
)  # fmt: skip
def test_values_that_cannot_be_are_refused(tmp_path, whole, why):
    assert why in refused(written(tmp_path, sealed(whole)))


def full():
    """A record that holds one of everything."""
    place = {"elevation": "SW", "what": "Tray laid", "done": "2026-05-04T09:00:00"}
    return record(opening("SW1", step(5)), photos=[photo(png())], places=[place])


def leaves(value, way=()):
    """Every table, list and value below ``value``, by the way to it."""
    parts = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in parts:
        yield (*way, key)
        yield from leaves(part, (*way, key))


def with_at(way, value):
    """The full record with another value at ``way``."""
    whole = full()
    table = whole
    for key in way[:-1]:
        table = table[key]
    table[way[-1]] = value
    return whole


@pytest.mark.parametrize("way", list(leaves(full())), ids=str)
def test_a_value_of_another_kind_is_refused_wherever_it_stands(tmp_path, way):
    whole = full()
    for key in way:
        whole = whole[key]
    wrong = "3" if isinstance(whole, int | list | dict) else 3
    assert refused(written(tmp_path, sealed(with_at(way, wrong))))


@pytest.mark.parametrize(
    ("way", "most"),
    [
        (("openings",), 2000), (("places",), 2000), (("photos",), 150), (("openings", 0, "steps"), 60),
        (("openings", 0, "holds"), 60),
    ],
)  # fmt: skip
def test_lists_are_taken_up_to_their_length(tmp_path, way, most):
    # the first part over and over; openings and steps each under a name of their own
    own = {
        "openings": lambda n: {"mark": f"SW{n + 1}"},
        "steps": lambda n: {"step": n},
    }.get(way[-1], lambda _: {})
    first = full()
    for key in (*way, 0):
        first = first[key]

    def parts(count):
        return [{**first, **own(n)} if isinstance(first, dict) else first for n in range(count)]

    read_record(written(tmp_path, sealed(with_at(way, parts(most)))), key=KEY)
    assert f"{most + 1:,} " in refused(written(tmp_path, sealed(with_at(way, parts(most + 1)))))


def test_a_file_of_too_many_parts_is_not_read(tmp_path):
    assert "cannot be read" in refused(written(tmp_path, "[{" * 200_000))
    assert "lists without end" in refused(written(tmp_path, "[{" * 200_000 + "["))


@pytest.mark.parametrize(
    ("way", "most"),
    [
        (("house",), 200), (("phone",), 80), (("inputs",), 80), (("openings", 0, "elevation"), 80),
        (("openings", 0, "kind"), 80), (("openings", 0, "size"), 40), (("openings", 0, "signed_by"), 80),
        (("openings", 0, "steps", 0, "by"), 80), (("openings", 0, "steps", 0, "note"), 600),
        (("places", 0, "elevation"), 80), (("places", 0, "what"), 200),
    ],
)  # fmt: skip
def test_words_are_taken_up_to_their_length(tmp_path, way, most):
    read_record(written(tmp_path, sealed(with_at(way, "x" * most))), key=KEY)
    assert f"{most + 1} characters for {way[-1]!r}, more than {most}" in refused(
        written(tmp_path, sealed(with_at(way, "x" * (most + 1))))
    )


@pytest.mark.parametrize("marker", range(0xC0, 0xD0))
def test_only_a_frame_tells_the_size_of_a_jpeg(marker):
    # ITU-T T.81, table B.1: C4 is for Huffman tables, C8 kept free, CC for arithmetic coding; all others are frames
    segment = bytes([0xFF, marker, 0, 8, 8, 0, 6, 0, 8, 0])
    content = b"\xff\xd8" + segment + b"\xff\xda\0\2" + b"\xff\xd9"
    if marker in (0xC4, 0xC8, 0xCC):
        with pytest.raises(ValueError, match="cut short"):
            photo_type(content)
    else:
        assert photo_type(content) == "image/jpeg"


def test_filling_and_markers_without_a_length_are_passed_over():
    # ITU-T T.81, B.1.1.2: any number of FF may stand before a marker; B.1.1.3: TEM and RST stand alone
    frame, ends = b"\xff\xc0\0\x08\x08\0\x06\0\x08\0", b"\xff\xda\0\2\xff\xd9"
    for between in (b"\xff", b"\xff\xff\xff", b"\xff\x01", b"\xff\xd0\xff\xd7", b"\xff\xfe\0\2"):
        for content in (between + frame + ends, frame + between + ends):
            assert photo_type(b"\xff\xd8" + content) == "image/jpeg"
    with pytest.raises(ValueError, match="cut short"):  # a length counts its own two bytes
        photo_type(b"\xff\xd8" + frame + b"\xff\xda\0\1\xff\xd9")


def other_head(content):
    """The head's chunk from its name on under another name, its checksum right."""
    named = b"IHDX" + content[16:29]
    return named + zlib.crc32(named).to_bytes(4, "big")


@pytest.mark.parametrize(
    "spoilt",
    [
        lambda content: content[:43] + b"?" + content[44:],  # a byte of the picture, which its checksum tells
        lambda content: content.replace(
            content[12:33], other_head(content)
        ),  # whole, but begins with no head
        lambda content: content[:33] + content[-12:],  # no picture in it
        lambda content: content[:8] + content[33:],  # no head
        lambda content: content[:-12],  # no end
        lambda content: content[:-1],
    ],
)
def test_a_png_is_whole_or_none(spoilt):
    assert photo_type(png()) == "image/png"
    with pytest.raises(ValueError, match="cut short"):
        photo_type(spoilt(png()))


def test_the_record_of_another_house_is_refused(tmp_path):
    path = written(tmp_path, sealed(record(opening("SW1", step(5)))))
    other = house_key(house="Wrack House", place="Quern Bay", latitude=48.5, longitude=-29.680)
    assert "another house ('Wrack House, Quern Bay')" in refused(path, key=other)
    path = written(tmp_path, sealed(record(house="H" * 61)))
    assert f"another house ('{'H' * 60}')" in refused(path, key=other)


# ------------------------------------------------------------------ two phones


def both(tmp_path, one, two):
    paths = [written(tmp_path, sealed(each), f"record-{n}.json") for n, each in enumerate((one, two))]
    return merge_records([read_record(path, key=KEY) for path in paths])


def test_two_phones_are_merged_by_opening_and_differences_stand_side_by_side(tmp_path):
    one = record(opening("SW1", step(1), step(5, result="as drawn")), opening("SW2"), photos=[photo(png())])
    two = record(
        opening("SW1", step(5, result="to mend", by="B. Invented")), opening("SW2", step(1)), opening("SW9-BBBB", added=True),
        photos=[photo(png()), photo(png(5, 5), 2)], phone="BBBB",
    )  # fmt: skip
    merged = both(tmp_path, one, two)
    first, second, added = merged.openings
    assert [one.mark for one in merged.openings] == ["SW1", "SW2", "SW9-BBBB"]
    assert [(told.result, told.by, phones) for phones, told in first.steps[1].told] == [
        ("as drawn", "A. Invented", ("AAAA",)),
        ("to mend", "B. Invented", ("BBBB",)),
    ]
    assert first.conflict
    assert not second.conflict
    assert [(phone, each.number) for phone, each in first.steps[1].photos] == [
        ("AAAA", 1),
        ("BBBB", 2),
    ]  # one twice
    assert second.steps[0].told[0][0] == ("BBBB",)
    assert added.added
    # by hand: both hold points have results, step 1 no photo, one result is to mend, nobody signed
    assert set(first.missing) == {
        "no photo at step 1", "to mend at step 5", "two records differ at step 5", "not signed",
    }  # fmt: skip
    html = handover_html(merged)
    assert html.index("phone AAAA: <b>as drawn</b></td><td>A. Invented") < html.index(
        "phone BBBB: <b>to mend</b></td><td>B. Invented"
    )
    assert "Two phones differ at SW1" in html


def house_of_two_phones(tmp_path):
    """Two phones and a register; the record of BBBB is the earlier one."""
    may = "2026-05-04T"
    one = record(
        opening("SW1", step(1, moisture=""), step(5, moisture="19", changed=f"{may}12:00:01"),
                signed_by="A. Invented", signed_at=f"{may}12:00:00"),
        opening("SW9-AAAA", step(3, done="", result="", by="", at="", moisture="", changed=""), added=True),
        photos=[photo(png(), 4, taken=f"{may}11:00:00"), photo(png(5, 5), 5, "SW9-AAAA", step=7)],
        places=[{"elevation": "SW", "what": "Tray laid", "done": ""}],
    )  # fmt: skip
    two = record(
        opening("SW1", step(5, result="to mend", by="", done=f"{may}09:55:00"), kind="door", size="900 × 2100"),
        opening("NE1", elevation="NE"),
        photos=[photo(png(), 1, taken=f"{may}14:00:00"), photo(png(4, 4), 2, taken=f"{may}13:00:00")],
        places=[{"elevation": "NE", "what": "Sill set", "done": f"{may}09:00:00"}],
        phone="BBBB", exported=f"{may}16:00:00",
    )  # fmt: skip
    told = json.loads(register_of_example(tmp_path).read_text())
    told["walls"][0]["points"].append({"step": 1, "words": "Look at the frame."})
    told["walls"].append({"name": "north-east", "code": "NE", "asked": "5", "points": [{"step": 5, "words": "Photograph the sill."}]})  # fmt: skip
    told["openings"].append({"mark": "NE2", "elevation": "north-east", "kind": "door", "asked": "5"})
    records = [
        read_record(written(tmp_path, sealed(each), f"{name}.json"), key=KEY)
        for each, name in ((one, "a"), (two, "b"))
    ]
    return records, read_register(written(tmp_path, json.dumps(told), "register.json"))


def test_two_phones_and_a_register_are_one_record_by_hand(tmp_path):
    records, register = house_of_two_phones(tmp_path)
    merged = merge_records(records, register=register)
    assert (merged.house, merged.key, merged.notes) == ("Wrack House, Quern Bay", KEY, ())
    assert merged.records == (records[1], records[0])  # by their export
    assert merged.walls == {"SW": "south-west", "NE": "north-east"}
    assert merged.places == (("NE", "Sill set", True), ("SW", "Tray laid", False))
    # elevation by elevation, in the order in which the phones name them; the register's last on each
    first, added, unseen, bare, other = merged.openings
    both_hold, sill = "Look at the frame.", "Photograph the tray."
    set_at = "2026-05-04T10:01:00"
    theirs, mine = records[1].photos, records[0].photos
    assert first == MergedOpening(
        "SW1", "SW", (Said("door", ("BBBB",)), Said("window", ("AAAA",))),
        (Said("900 × 2100", ("BBBB",)), Said("900 × 1200", ("AAAA",))), False,
        (Said("A. Invented, 2026-05-04 12:00", ("AAAA",)),),
        (
            MergedStep(
                1, True, both_hold, "2026-05-04T10:00:00",
                ((("AAAA",), StepRecord(1, "", "as drawn", "A. Invented", set_at)),), (),
            ),
            MergedStep(
                5, True, sill, "2026-05-04T09:55:00",  # the earlier tick
                (
                    (("BBBB",), StepRecord(5, "", "to mend", "", set_at, "17.5")),
                    (("AAAA",), StepRecord(5, "", "as drawn", "A. Invented", set_at, "19")),
                ),
                # the photo that both hold is told of the phone that comes first, and stands where that one took it
                (("BBBB", theirs[1]), ("BBBB", theirs[0])),
            ),
        ),
        (
            "kind door, in the register window", "size 900 × 2100, in the register 900 × 1200",
            "no name at step 5", "no photo at step 1", "to mend at step 5", "two records differ at step 5",
            "changed after it was signed",
        ),
    )  # fmt: skip
    assert added == MergedOpening(
        "SW9-AAAA", "SW", (Said("window", ("AAAA",)),), (Said("900 × 1200", ("AAAA",)),), True, (),
        (
            MergedStep(1, True, both_hold, "", (), ()), MergedStep(3, False, "", "", (), ()),
            MergedStep(5, True, sill, "", (), ()), MergedStep(7, False, "", "", (), (("AAAA", mine[1]),)),
        ),
        ("no result at step 1, 5", "no photo at step 1, 5", "not signed"),
    )  # fmt: skip
    none = ("on no phone's record",)
    window, wide = (Said("window", ("",)),), (Said("900 × 1200", ("",)),)
    assert unseen == MergedOpening("SW2", "SW", window, wide, False, (), (), none)
    assert (bare.mark, bare.elevation, bare.missing[-1]) == ("NE1", "NE", "not signed")
    assert bare.missing[0] == "not in the register"
    assert other == MergedOpening("NE2", "NE", (Said("door", ("",)),), (), False, (), (), none)
    assert [one.conflict for one in merged.openings] == [True, False, False, False, False]
    assert [one.begun for one in merged.openings] == [True, True, False, False, False]


def test_an_opening_is_begun_and_differs_by_any_of_its_parts():
    told, size = (Said("window", ("A",)), Said("door", ("B",))), (Said("1", ("A",)), Said("2", ("B",)))
    bare = MergedOpening("SW1", "SW", told[:1], size[:1], False, (), (), ())
    blank = MergedStep(5, True, "", "", (), ())
    drawn = (("A",), StepRecord(5, result="as drawn", moisture="17"))

    def at(one):
        return replace(bare, steps=(blank, one, blank))

    photo_there = replace(blank, photos=(("A", Photo(1, "SW1", 5, "", "", "", b"")),))
    for one in (replace(bare, signed=told[:1]), at(replace(blank, told=(drawn,))), at(replace(blank, done="9")), at(photo_there)):  # fmt: skip
        assert one.begun
        assert not one.conflict
    assert not at(blank).begun
    other = {word: (("B",), replace(drawn[1], **{word: value})) for word, value in (("result", "to mend"), ("moisture", "18"), ("by", "B"), ("note", "n"))}  # fmt: skip
    for word, differs in (("result", True), ("moisture", True), ("by", False), ("note", False)):
        assert at(replace(blank, told=(drawn, other[word]))).conflict is differs
    silent = (("B",), StepRecord(5, note="nothing read"))
    assert not at(replace(blank, told=(drawn, silent))).conflict
    assert replace(bare, kind=told).conflict
    assert replace(bare, size=size).conflict


@pytest.mark.parametrize("done", [(True, False), (False, True), (True, True), (False, False)])
def test_a_place_is_done_where_any_phone_says_so(tmp_path, done):
    one, two = (
        record(
            places=[{"elevation": "SW", "what": "Tray laid", "done": "2026-05-04T09:00:00" if mine else ""}],
            phone=phone,
        )
        for mine, phone in zip(done, ("AAAA", "BBBB"), strict=True)
    )
    assert both(tmp_path, one, two).places == (("SW", "Tray laid", any(done)),)


def test_of_one_phone_the_later_export_is_used(tmp_path):
    early = record(opening("SW1", step(5, note="first")))
    late = record(opening("SW1", step(5, note="second")), exported="2026-05-05T09:00:00")
    merged = both(tmp_path, late, early)
    assert [told.note for _, told in merged.openings[0].steps[1].told] == ["second"]
    assert merged.notes == ("Of phone AAAA the later export is used, record-0.json; not record-1.json.",)


def test_records_of_different_houses_are_not_merged(tmp_path):
    path = written(tmp_path, sealed(record(opening())))
    other = written(tmp_path, sealed(record(opening(), key="another", house="Other House")), "other.json")
    with pytest.raises(RefusalError, match=r"different houses \(Other House, Wrack House, Quern Bay\)"):
        merge_records([read_record(path, key=KEY), read_record(other, key="another")])


def test_a_change_after_signing_is_told(tmp_path):
    signed = {"signed_by": "A. Invented", "signed_at": "2026-05-04T12:00:00"}
    before = both(tmp_path, record(opening("SW1", step(1), step(5), **signed)), record(phone="BBBB"))
    assert "changed after it was signed" not in before.openings[0].missing
    late = step(5, changed="2026-05-04T12:00:01")
    after = both(tmp_path, record(opening("SW1", step(1), late, **signed)), record(phone="BBBB"))
    assert "changed after it was signed" in after.openings[0].missing


# ------------------------------------------------------------------ the handover sheet


def test_hostile_words_of_a_record_stay_words(tmp_path):
    whole = record(
        opening(HOSTILE[:40], step(5, note=HOSTILE, by=HOSTILE[:60]), elevation=HOSTILE[:40], kind=HOSTILE[:40], signed_by=HOSTILE[:60], signed_at="2026-05-04T12:00:00"),
        house=HOSTILE, phone=HOSTILE[:30], places=[{"elevation": HOSTILE[:40], "what": HOSTILE, "done": ""}],
    )  # fmt: skip
    html = handover_html(both(tmp_path, whole, record(phone="BBBB")))
    assert "<script" not in html
    assert "<img src=x" not in html
    assert "\u202e" not in html
    assert "&lt;script&gt;" in html
    for tag, key, value in Parts(html).attributes:
        assert not key.startswith("on"), (tag, key)
        assert key not in ("src", "href") or value.startswith(("data:image/", "#o")), (tag, value)


def register_of_example(tmp_path):
    walls = [
        {"name": "south-west", "code": "SW", "asked": "8, 370 Pa", "points": [{"step": 5, "words": "Photograph the tray."}]},
    ]  # fmt: skip
    listed = [
        {
            "mark": mark,
            "elevation": "south-west",
            "kind": "window",
            "asked": "8",
            "width": 900,
            "height": 1200,
        }
        for mark in ("SW1", "SW2")
    ]
    told = {
        "format": "exposure-opening-register", "version": 2, "key": KEY, "inputs": "1234-5678", "house": "Wrack House",
        "place": "Quern Bay", "walls": walls, "openings": listed,
    }  # fmt: skip
    return written(tmp_path, json.dumps(told), "register.json")


def test_the_register_names_what_no_phone_has(tmp_path):
    register = read_register(register_of_example(tmp_path))
    path = written(tmp_path, sealed(record(opening("SW1", step(5)), inputs="9999-9999")))
    merged = merge_records([read_record(path, key=KEY)], register=register)
    assert [one.mark for one in merged.openings] == ["SW1", "SW2"]
    assert merged.openings[1].missing == ("on no phone's record",)
    assert any("another issue" in note for note in merged.notes)
    html = handover_html(merged)
    assert "Photograph the tray." in html
    assert "on no phone" in html


def test_the_register_as_it_is_written_is_read_back(tmp_path):
    """Sizes come from a list as numbers with a point; what a phone shows of them is what the register prints."""
    listed = [
        RegisteredOpening(mark, "south-west", "window", width, height, "8", "", 3, "sill")
        for mark, width, height in (("SW1", 900.0, 1200.0), ("SW2", 612.5, 1200.0), ("SW3", None, None))
    ]
    wall = RegisteredWall("south-west", "SW", 2, "8, 370 Pa", 7, (HoldPoint(5, "Photograph the tray."),))
    register = Register(KEY, "1234-5678", "Wrack House", "Quern Bay", tuple(listed), (wall,))
    told = read_register(written(tmp_path, register_json(register), "register.json"))
    path = written(
        tmp_path, sealed(record(opening("SW1", size=listed[0].size), opening("SW2", size="900 × 1200")))
    )
    merged = merge_records([read_record(path, key=KEY)], register=told)
    assert [one.size[0].value for one in merged.openings[:2]] == ["900 × 1200", "900 × 1200"]
    assert not any("in the register" in words for words in merged.openings[0].missing)
    assert "size 900 × 1200, in the register 612.5 × 1200" in merged.openings[1].missing
    assert merged.openings[2].size == ()


@pytest.mark.parametrize(("width", "height"), [(900, None), (None, 1200), ("900", 1200), (0, 1200), (True, 1200), (1e9, 1200), ([], {})])  # fmt: skip
def test_a_register_of_impossible_sizes_is_refused(tmp_path, width, height):
    told = json.loads(register_of_example(tmp_path).read_text())
    told["openings"][0] |= {"width": width, "height": height}
    with pytest.raises(RefusalError, match="has a width and height of"):
        read_register(written(tmp_path, json.dumps(told), "register.json"))


def test_an_opening_twice_in_a_register_is_refused(tmp_path):
    told = json.loads(register_of_example(tmp_path).read_text())
    told["openings"][1]["mark"] = "SW1"
    with pytest.raises(RefusalError, match="one opening twice"):
        read_register(written(tmp_path, json.dumps(told), "register.json"))


def one_opening(tmp_path, *openings, whole=None, register=False, now=None, **told):
    """The one opening of a record, merged; with the register of the example where asked."""
    listed = read_register(register_of_example(tmp_path)) if register else None
    path = written(tmp_path, sealed(whole or record(*openings, **told)))
    return merge_records([read_record(path, key=KEY)], register=listed, now=now)


SIGNED = {"signed_by": "A. Invented", "signed_at": "2026-05-04T12:00:00"}


def test_a_phone_cannot_leave_out_the_hold_points_of_the_register(tmp_path):
    whole = record(opening("SW1", holds=[], **SIGNED))
    assert one_opening(tmp_path, whole=whole).openings[0].missing == ()
    first = one_opening(tmp_path, whole=whole, register=True).openings[0]
    assert first.missing == ("no result at step 5", "no photo at step 5")
    # nor by saying that the opening is on another elevation
    moved = record(opening("SW1", holds=[], elevation="NE", **SIGNED))
    first = one_opening(tmp_path, whole=moved, register=True).openings[0]
    assert first.elevation == "SW"
    assert first.missing == (
        "elevation NE, in the register SW",
        "no result at step 5",
        "no photo at step 5",
    )


def test_a_window_is_not_held_at_a_step_of_doors(tmp_path):
    """By the register that holds step 7 at doors alone; one of before the word ``door`` holds every opening at it."""
    told = json.loads(register_of_example(tmp_path).read_text("utf-8"))
    told["walls"][0]["points"] = [{"step": 7, "words": "Photograph the board.", "door": True}]
    told["openings"][1]["kind"] = "door, level"
    path = written(
        tmp_path, sealed(record(opening("SW1", holds=[]), opening("SW2", kind="door, level", holds=[])))
    )
    lacking = {}
    for door in (True, False):
        told["walls"][0]["points"][0]["door"] = door
        register = read_register(written(tmp_path, json.dumps(told), "register.json"))
        merged = merge_records([read_record(path, key=KEY)], register=register)
        lacking[door] = ["no result at step 7" in one.missing for one in merged.openings]
    assert lacking == {True: [False, True], False: [True, True]}


def test_an_opening_the_register_does_not_hold_is_told(tmp_path):
    renamed = one_opening(tmp_path, opening("SW1b", step(5)), register=True)
    assert [one.missing[0] for one in renamed.openings] == [
        "not in the register", "on no phone's record", "on no phone's record",
    ]  # fmt: skip
    added = one_opening(tmp_path, opening("SW3-AAAA", step(5), added=True), register=True)
    assert "not in the register" not in added.openings[0].missing


def test_a_time_still_to_come_is_told_of_its_phone(tmp_path):
    told = {"exported": "2026-05-04T17:00:00", "now": datetime(2026, 5, 4, 18)}
    assert one_opening(tmp_path, opening("SW1", step(5)), **told).notes == ()
    for late in ({"done": "2027-01-01T00:00:00"}, {"at": "2027-01-01T00:00:00"}):
        [note] = one_opening(tmp_path, opening("SW1", step(5, **late)), **told).notes
        assert "2027-01-01 00:00, which is still to come" in note
    # a phone a day ahead by its zone alone is none: 14 h and -12 h from UTC are 26 h apart
    assert one_opening(tmp_path, opening("SW1", step(5, at="2026-05-05T19:59:00")), **told).notes == ()


@pytest.mark.parametrize("word", ["done", "at", "changed"])
def test_any_time_of_a_step_after_the_signature_is_told(tmp_path, word):
    late = step(5, **{word: "2026-05-04T12:00:01"})
    assert (
        "changed after it was signed"
        in one_opening(tmp_path, opening("SW1", late, **SIGNED)).openings[0].missing
    )


def test_what_another_phone_recorded_after_the_signature_is_told(tmp_path):
    signed = record(opening("SW1", step(5), **SIGNED))
    for hour, told in (("11", False), ("13", True)):
        at = f"2026-05-04T{hour}:00:00"
        other = record(opening("SW1", step(5, at=at, changed=at)), phone="BBBB")
        missing = both(tmp_path, signed, other).openings[0].missing
        assert ("changed after it was signed" in missing) is told


def test_blanks_are_no_name_and_a_signature_has_a_date(tmp_path):
    blank = one_opening(tmp_path, opening("SW1", step(5, by="  "), signed_by="  ")).openings[0]
    assert {"no name at step 5", "not signed"} <= set(blank.missing)
    undated = one_opening(tmp_path, opening("SW1", step(5), signed_by="A. Invented")).openings[0]
    assert "signed without a date" in undated.missing
    assert undated.signed[0].value == "A. Invented, no date"


def test_one_picture_at_two_places_is_told(tmp_path):
    two = [opening("SW1", step(5)), opening("SW2", step(5))]
    same = record(*two, photos=[photo(png()), photo(png(), 2, "SW2")])
    [note] = one_opening(tmp_path, whole=same).notes
    assert note == "One and the same picture stands at SW1 step 5, SW2 step 5: it cannot show them all."
    other = record(*two, photos=[photo(png()), photo(png(9), 2, "SW2")])
    assert one_opening(tmp_path, whole=other).notes == ()


def test_what_the_later_export_of_a_phone_lacks_is_told(tmp_path):
    full = record(opening("SW1", step(5), **SIGNED), opening("SW2", step(5)), photos=[photo(png())])
    blank = {"done": "", "result": "", "by": "", "at": "", "changed": ""}
    cleared = record(
        opening("SW1", step(5, **blank)), opening("SW2", step(5)), exported="2026-05-05T09:00:00"
    )
    _, lost = both(tmp_path, full, cleared).notes
    assert "lacks what record-0.json holds: 1 photo, signature of SW1, results at SW1." in lost
    grown = full | {"exported": "2026-05-05T09:00:00"}
    assert len(both(tmp_path, full, grown).notes) == 1


@pytest.mark.parametrize("words", ["[]", '{"format":"exposure-opening-register","version":2}', "{" * 9])
def test_a_register_that_is_none_is_refused(tmp_path, words):
    with pytest.raises(RefusalError):
        read_register(written(tmp_path, words, "register.json"))


def registered(tmp_path, way, value):
    """The register with another value at ``way``."""
    told = json.loads(register_of_example(tmp_path).read_text())
    *tables, last = way
    table = told
    for key in tables:
        table = table[key]
    table[last] = value
    return written(tmp_path, json.dumps(told), "register.json")


LISTS = {("openings",): 20_000, ("walls",): 20_000, ("walls", 0, "points"): 60}
WORDS = {
    **{(word,): 200 for word in ("key", "inputs", "house", "place")},
    **{("openings", 0, word): 200 for word in ("mark", "elevation", "kind", "asked")},
    **{("walls", 0, word): 200 for word in ("name", "code", "asked")},
    ("walls", 0, "points", 0, "words"): 2000,
}  # fmt: skip


@pytest.mark.parametrize(
    "way", [*LISTS, *WORDS, ("openings", 1), ("walls", 0), ("walls", 0, "points", 0), ("walls", 0, "points", 0, "step")]
)  # fmt: skip
def test_a_value_of_another_kind_in_a_register_is_refused(tmp_path, way):
    for wrong in (None, "x" if way not in WORDS else 3):
        with pytest.raises(RefusalError, match=r"^register\.json has"):
            read_register(registered(tmp_path, way, wrong))


@pytest.mark.parametrize("way", WORDS)
def test_words_of_a_register_are_taken_up_to_their_length(tmp_path, way):
    assert read_register(registered(tmp_path, way, "x" * WORDS[way]))
    with pytest.raises(RefusalError, match=f"more than {WORDS[way]}"):
        read_register(registered(tmp_path, way, "x" * (WORDS[way] + 1)))


@pytest.mark.parametrize("way", LISTS)
def test_lists_of_a_register_are_taken_up_to_their_length(tmp_path, way):
    told = json.loads(register_of_example(tmp_path).read_text())
    for key in way:
        told = told[key]
    first = told[0] | {"points": []} if way == ("walls",) else told[0]
    every = [
        first | {"mark": f"SW{number}"} if way == ("openings",) else first for number in range(LISTS[way])
    ]
    assert read_register(registered(tmp_path, way, every))
    with pytest.raises(RefusalError, match=f"more than {LISTS[way]:,}"):
        read_register(registered(tmp_path, way, [first] * (LISTS[way] + 1)))


def test_a_register_of_a_step_beyond_the_last_is_refused(tmp_path):
    way = ("walls", 0, "points", 0, "step")
    told = read_register(registered(tmp_path, way, 60))
    assert told["walls"][0]["points"][0]["step"] == 60
    with pytest.raises(RefusalError, match="a whole number up to 60"):
        read_register(registered(tmp_path, way, 61))


def test_the_command_takes_a_house_or_its_folder(tmp_path, capsys):
    house = written(tmp_path, example_text("house.toml"), "house.toml")
    path = written(tmp_path, sealed(record(opening("SW1", step(5)), photos=[photo(jpeg())])))
    out = tmp_path / "out"
    assert main(["record", str(path), "--house", str(house), "--out", str(out)]) == 0
    said = capsys.readouterr().out
    assert "SW1: no result at step 1; no photo at step 1; not signed." in said  # by hand
    html = (out / "handover.html").read_text("utf-8")
    assert html.count("data:image/jpeg;base64,") == 1
    (tmp_path / "folder").mkdir()
    register_of_example(tmp_path / "folder")
    assert main(["record", str(path), "--folder", str(tmp_path / "folder"), "--out", str(out)]) == 0
    assert "SW2: on no phone's record." in capsys.readouterr().out
    assert main(["record", str(path), "--folder", str(out), "--out", str(tmp_path / "two")]) == 2
    assert "holds no register.json" in capsys.readouterr().err
    other = written(tmp_path, example_text("house.toml").replace("Quern Bay", "Far Bay"), "other.toml")
    assert main(["record", str(path), "--house", str(other), "--out", str(tmp_path / "two")]) == 2
    assert "another house" in capsys.readouterr().err


def test_a_writer_without_its_library_leaves_the_pdf_out(tmp_path, monkeypatch):
    """As on a machine that has the extra, and not the system's library for letters: the rest is written all the same."""

    class Broken(importlib.abc.MetaPathFinder):
        def find_spec(self, name, path=None, target=None):
            if name == "weasyprint":
                raise OSError("cannot load library 'libpango-1.0-0'")

    monkeypatch.delitem(sys.modules, "weasyprint", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Broken(), *sys.meta_path])
    merged = merge_records([read_record(written(tmp_path, sealed(record(opening()))), key=KEY)])
    assert [path.name for path in write_handover(merged, tmp_path / "out")] == ["handover.html"]


def test_photos_reach_the_pdf(tmp_path):
    pytest.importorskip("weasyprint")
    whole = record(opening("SW1", step(5)), photos=[photo(jpeg())])
    merged = merge_records([read_record(written(tmp_path, sealed(whole)), key=KEY)])
    _, pdf = write_handover(merged, tmp_path / "out")
    assert b"/DCTDecode" in pdf.read_bytes()  # how a PDF keeps a JPEG
