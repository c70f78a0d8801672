"""Hostile names and uploads: nothing runs, the former record stays, the refusal has three parts."""

import urllib.parse

import pytest

HOSTILE = "\"><img src=x onerror=window.hurt=1><script>window.hurt=1</script>'`${1}</style>\u202eright"


@pytest.mark.parametrize("view", ["desk", "site", "print"])
def test_a_hostile_name_is_only_text(screen, view):
    one = screen().open(f"?view={view}&name={urllib.parse.quote(HOSTILE)}", wait="h1").settled()
    one.page.wait_for_selector("text=onerror", state="attached")
    assert one.page.evaluate("window.hurt === undefined")
    assert one.page.locator("img[src='x']").count() == 0
    assert "\u202e" not in one.words()


def open_record_form(one):
    one.page.get_by_role("button", name="Change weather record").click()
    return one.page.locator(".st-key-record-file input[type=file]")


def test_a_file_that_is_no_record_is_refused_and_the_record_before_stays(screen, tmp_path):
    wrong = tmp_path / "<b>notes.csv"
    wrong.write_text("time,rain\n1,2\n")
    one = screen().open("?view=print", wait=".st-key-project").settled()
    open_record_form(one).set_input_files(wrong)
    alert = one.page.get_by_role("alert")
    alert.wait_for()
    for word in ("Came", "Expected", "Do"):
        assert word in alert.inner_text()
    assert "<b>notes.csv" in alert.inner_text()
    assert "Invented grid" in one.words()
    one.page.get_by_role("button", name="Keep the record before").click()
    alert.wait_for(state="detached")


def test_a_record_of_ones_own_is_read_and_used(screen, tmp_path):
    lines = ["time,wind_speed [m/s],wind_from_direction [degree],rain [mm]"]
    for hour in range(8760):
        day, clock = divmod(hour, 24)
        month, date = _date(day)
        lines.append(f"2021-{month:02d}-{date:02d}T{clock:02d}:00Z,8,240,{0.5 if hour % 50 < 5 else 0}")
    mine = tmp_path / "mine.csv"
    mine.write_text("\n".join(lines))
    one = screen().open("?view=print", wait=".st-key-project").settled()
    open_record_form(one).set_input_files(mine)
    one.page.wait_for_url("**w=file-*")
    one.settled()
    assert "mine.csv" in one.words()
    other = screen().open(one.page.url.partition("?")[2].join(["?", ""]), wait="h1").settled()
    other.page.wait_for_selector("text=does not hold")  # the record does not travel in the address


def _date(day: int) -> tuple[int, int]:
    for month, days in enumerate((31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31), start=1):
        if day < days:
            return month, day + 1
        day -= days
    raise AssertionError(day)
