"""A house and its neighbours told to scale: drawn on the map, and typed with the keyboard alone on the narrowest screen."""

import re
import urllib.parse

import pytest

NARROW = {"width": 320, "height": 700}


def asked(page, key: str) -> str:
    return urllib.parse.parse_qs(urllib.parse.urlparse(page.url).query)[key][0]


def corners_of(text: str) -> list[tuple[float, float]]:
    return [
        tuple(map(float, one.split(","))) for one in text.removeprefix("plan.").partition("_")[0].split("~")
    ]


def draw(page, corners) -> None:
    """Click corners, in pixels from the middle of the map."""
    holder = page.locator("iframe[title='Map']")
    page.frame_locator("iframe[title='Map']").locator(".exposure-draw button").first.wait_for()
    holder.scroll_into_view_if_needed()
    page.wait_for_timeout(300)
    box = holder.bounding_box()
    for x, y in corners:
        at = box["x"] + box["width"] / 2 + x, box["y"] + box["height"] / 2 + y
        page.mouse.move(*at)
        page.mouse.click(*at)
        page.wait_for_timeout(320)  # two quick clicks would be a double click, which closes


@pytest.mark.parametrize("phone", [False, True], ids=["desk", "phone"])
def test_a_house_and_a_neighbour_are_drawn_to_scale(screen, phone):
    one = screen(phone=phone).open("?part=place", wait=".answer").settled()
    page = one.page
    page.get_by_text("The building", exact=True).first.click()
    page.get_by_text("The house", exact=True).click()
    one.settled()
    draw(page, [(-90, -120), (80, -118), (81, -20), (-88, -12), (-90, -119)])
    page.wait_for_url("**b=plan*")
    one.settled()
    corners = corners_of(asked(page, "b"))
    (a, b), (c, d), (e, f), _ = corners
    # zoom 20 at 48.4 degrees north: 0.099 m a pixel, so 170 px are 16.9 m; the second corner is square
    length = ((c - a) ** 2 + (d - b) ** 2) ** 0.5
    assert length == pytest.approx(170 * 0.099, abs=0.25)
    assert abs((c - a) * (e - c) + (d - b) * (f - d)) < 0.02 * length * length
    page.get_by_text("A neighbour", exact=True).click()
    page.get_by_label("Height of the neighbour, m").fill("9")
    page.get_by_label("Height of the neighbour, m").press("Enter")
    one.settled()
    draw(page, [(-90, -150), (80, -150), (80, -110), (-90, -110), (-90, -149)])
    page.wait_for_url("**nb=*")
    one.settled()
    assert asked(page, "nb").split(",")[2] == "9"
    page.locator("[data-testid=stButtonGroup]").get_by_text(re.compile("^Neighbours:")).click()
    page.get_by_text("9.0 m high, its middle").wait_for()
    page.get_by_role("button", name="Take away 1").click()
    page.wait_for_url(lambda url: "nb=" not in url)
    assert page.evaluate("document.documentElement.scrollWidth") <= (390 if phone else 1440)


def go(page, name: str, *, role: str = "") -> None:
    """Tab until the thing of that name has the focus."""
    script = """() => { const e = document.activeElement;
        const label = e.labels && e.labels[0] ? e.labels[0].innerText : '';
        return [e.getAttribute('role') || e.tagName.toLowerCase(), (e.getAttribute('aria-label') || label || e.innerText || '').trim()]; }"""
    seen = []
    for _ in range(90):
        page.keyboard.press("Tab")
        kind, words = page.evaluate(script)
        words = re.sub(r"^keyboard_arrow_\w+\s+", "", words)  # the sign of a fold
        seen.append(words[:30])
        if words.startswith(name) and role in ("", kind):
            return
    raise AssertionError((name, seen))


def test_house_and_neighbour_are_told_by_the_keyboard_alone_on_a_narrow_screen(screen):
    one = screen()
    page = one.page
    page.set_viewport_size(NARROW)
    one.open("", wait=".answer").settled()
    go(page, "Change")
    page.keyboard.press("Enter")
    go(page, "An invented house", role="radio")
    for _ in range(2):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("Enter")
    page.get_by_label("Sides in order round").wait_for()
    one.settled()
    go(page, "Sides in order round")
    page.keyboard.type("14, 60\n9, right\n14, right")
    go(page, "Use this outline")
    page.keyboard.press("Enter")
    page.wait_for_url("**b=plan*")
    one.settled()
    sides = corners_of(asked(page, "b"))
    assert len(sides) == 4
    assert ((sides[1][0] - sides[0][0]) ** 2 + (sides[1][1] - sides[0][1]) ** 2) ** 0.5 == pytest.approx(
        14, abs=0.02
    )
    assert page.locator("img[alt*='An outline of 4 corners']").count() == 1
    go(page, "Eaves:")
    for _ in range(3):  # the arrows move among what the answer rests on
        page.keyboard.press("ArrowRight")
        one.settled()
    if not page.get_by_text("Buildings beside, drawn or typed").count():
        page.keyboard.press("Space")
    page.get_by_text("Buildings beside, drawn or typed").wait_for()
    one.settled()
    for name, value in [
        ("From the house's middle", "25"), ("Towards", "240"), ("Length", "20"), ("Width", "10"),
        ("Bearing of its long side", "150"), ("Height to its top", "15"),
    ]:  # fmt: skip
        go(page, name)
        page.keyboard.type(value)
    go(page, "Add this building")
    page.keyboard.press("Enter")
    page.wait_for_url("**nb=*")
    page.get_by_text("20.0 m by 10.0 m, 15.0 m high, its middle 25 m to the south-west").wait_for()
    one.settled()
    assert page.evaluate("document.documentElement.scrollWidth") <= 320
