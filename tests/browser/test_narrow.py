"""On a narrow screen nothing runs off sideways: a schedule's row becomes one block, its columns small labels."""

import pytest

WIDER = (
    "() => [...document.querySelectorAll('[data-testid=stMain] *')]"
    ".map(e => [e, e.getBoundingClientRect()])"
    ".filter(([e, box]) => box.width > 0 && (box.right > innerWidth + 1 || box.left < -1))"
    ".filter(([e]) => !e.closest('.plate.scroll, .wide.keep'))"  # these are moved sideways inside their own frame
    ".map(([e, box]) => `${e.tagName}.${e.className} ends at ${Math.round(box.right)}`).slice(0, 5)"
)

WORDS_SEEN = """() => { let count = 0;
            const walk = document.createTreeWalker(document.querySelector('[data-testid=stMain]'), NodeFilter.SHOW_TEXT);
            while (walk.nextNode()) {
                const node = walk.currentNode, range = document.createRange();
                range.selectNodeContents(node);
                const box = range.getBoundingClientRect();
                const seen = node.parentElement.checkVisibility({checkVisibilityCSS: true, opacityProperty: true});
                if (seen && node.parentElement.tagName !== 'STYLE' && box.height > 1 && box.top < 900 && box.bottom > 0
                    && !node.parentElement.closest('[data-testid=stIconMaterial], .told'))
                    count += node.data.split(/\\s+/).filter(word => /[\\p{L}\\p{N}]/u.test(word)).length;
            }
            return count; }"""  # on a screen 900 high


@pytest.mark.parametrize("part", ["place", "why", "work", "windows", "ground", "built", "build"])
def test_no_table_runs_off_sideways_on_a_phone(screen, part):
    one = screen(phone=True).open(f"?part={part}", wait=f".st-key-open-{part}").settled()
    page = one.page
    if part == "why":
        page.get_by_text("Factors of the south-west elevation").wait_for()
    for width in (390, 320):
        page.set_viewport_size({"width": width, "height": 844})
        page.wait_for_function("width => innerWidth === width", arg=width)
        page.wait_for_timeout(200)  # a picture or a map follows the new width
        assert page.evaluate("document.documentElement.scrollWidth") <= width, part
        assert page.evaluate(WIDER) == [], part
        if part in ("why", "build"):
            tables_fit(page, width)


def tables_fit(page, width: int) -> None:
    page.wait_for_function("() => [...document.querySelectorAll('table.stack')].some(e => e.offsetParent)")
    tables = page.evaluate(
        "() => [...document.querySelectorAll('table.stack')].filter(e => e.offsetParent)"
        ".map(e => [e.caption.innerText, e.scrollWidth, e.parentElement.clientWidth])"
    )
    assert tables
    assert [table for table in tables if table[1] > table[2] or table[2] > width] == []


def test_a_row_of_the_schedule_is_a_block_on_a_phone_and_a_row_at_the_desk(screen):
    across = (
        "() => [...document.querySelector('table.schedule tbody tr').children].map(e => e.getBoundingClientRect())"
        ".map(box => [Math.round(box.left), Math.round(box.top)])"
    )
    desk = screen().open("?part=build", wait="table.schedule").settled().page.evaluate(across)
    assert len({left for left, _ in desk}) == 4
    assert len({top for _, top in desk}) == 1
    one = screen(phone=True).open("?part=build", wait="table.schedule").settled()
    phone = one.page.evaluate(across)
    assert len({left for left, _ in phone}) == 1
    assert [top for _, top in phone] == sorted({top for _, top in phone})
    cell = one.page.locator("table.schedule tbody tr").first.get_by_role("cell").first
    assert cell.evaluate("e => getComputedStyle(e, '::before').content") == '"Why this elevation"'
    # what is laid out as blocks is still told as a table
    table = one.page.locator("table.schedule").first
    assert table.get_by_role("columnheader").count() == 4
    assert table.get_by_role("rowheader").count() == table.get_by_role("row").count() - 1


def test_the_first_screen_answers_at_the_desk_and_two_screens_on_a_phone(screen):
    """120 words or fewer on 1440 by 900 with the plan wholly there; worst wall, level and drawing within two phones."""
    one = screen()
    one.page.set_viewport_size({"width": 1440, "height": 900})
    page = one.open("", wait=".answer .figures").settled().page
    page.get_by_role("radio", name="Print", exact=True).wait_for()
    words = page.evaluate(WORDS_SEEN)
    assert 60 < words <= 120
    plan = page.locator(".plan .roomy img").bounding_box()
    assert plan["y"] + plan["height"] <= 900
    drawing = page.locator(".first .plate img").bounding_box()
    assert drawing["y"] + drawing["height"] <= 900
    assert page.evaluate("document.querySelector('[data-testid=stMain]').scrollHeight") < 3000
    phone = screen(phone=True).open("", wait=".answer .figures").settled().page
    for part in (".lead", ".levels", ".first .plate"):
        box = phone.locator(part).first.bounding_box()
        assert box["y"] + box["height"] <= 2 * 844, part


@pytest.mark.parametrize(
    ("width", "height"), [(320, 640), (720, 450), (1024, 768)], ids=["least", "200 %", "small"]
)
def test_a_picture_is_shown_in_its_own_size(screen, width, height):
    """Words in a picture keep their 12 pixels: on the narrowest phone, beside a map, and at 200 %, with half the pixels."""
    one = screen()
    one.page.set_viewport_size({"width": width, "height": height})
    for part in ("why", "build", "place", "work", ""):
        query, wait = (
            (f"?part={part}", f".st-key-open-{part}") if part else ("?view=print", ".st-key-project")
        )
        page = one.open(query, wait=wait).settled().page
        small = page.evaluate(
            """() => [...document.querySelectorAll('[data-testid=stHtml] .plate img')]
                .filter(e => e.checkVisibility() && e.naturalWidth).map(e => [e.alt.slice(0, 40), e.clientWidth / e.naturalWidth])
                .filter(([_, share]) => share < 0.98)"""
        )
        assert small == [], part
