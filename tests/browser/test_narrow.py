"""On a narrow screen nothing runs off sideways: a schedule's row becomes one block, its columns small labels."""

import pytest

WIDER = (
    "() => [...document.querySelectorAll('[data-testid=stMain] *')]"
    ".map(e => [e, e.getBoundingClientRect()])"
    ".filter(([e, box]) => box.width > 0 && (box.right > innerWidth + 1 || box.left < -1))"
    ".filter(([e]) => !e.closest('.plate.scroll'))"  # pictures of bars are moved sideways inside their own frame
    ".map(([e, box]) => `${e.tagName}.${e.className} ends at ${Math.round(box.right)}`).slice(0, 5)"
)


@pytest.mark.parametrize("width", [390, 320])
def test_no_table_runs_off_sideways_on_a_phone(screen, width):
    one = screen(phone=True)
    page = one.page
    page.set_viewport_size({"width": width, "height": 844})
    one.open("?view=desk", wait="table.schedule").settled()
    for words in ("The whole schedule", "Plan and chain as tables"):
        page.locator("summary", has_text=words).first.click()
        one.settled()
    page.get_by_text("Factors of the south-west elevation").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    tables = page.evaluate(
        "() => [...document.querySelectorAll('table.stack')].filter(e => e.offsetParent)"
        ".map(e => [e.caption.innerText, e.scrollWidth, e.parentElement.clientWidth])"
    )
    assert len(tables) >= 3
    assert [table for table in tables if table[1] > table[2] or table[2] > width] == []
    assert page.evaluate(WIDER) == []


def test_a_row_of_the_schedule_is_a_block_on_a_phone_and_a_row_at_the_desk(screen):
    across = (
        "() => [...document.querySelector('table.schedule tbody tr').children].map(e => e.getBoundingClientRect())"
        ".map(box => [Math.round(box.left), Math.round(box.top)])"
    )
    desk = screen().open("?view=desk", wait="table.schedule").settled().page.evaluate(across)
    assert len({left for left, _ in desk}) == 5
    assert len({top for _, top in desk}) == 1
    one = screen(phone=True).open("?view=desk", wait="table.schedule").settled()
    phone = one.page.evaluate(across)
    assert len({left for left, _ in phone}) == 1
    assert [top for _, top in phone] == sorted({top for _, top in phone})
    cell = one.page.locator("table.schedule tbody tr").first.get_by_role("cell").first
    assert cell.evaluate("e => getComputedStyle(e, '::before').content") == '"Build this"'
    # what is laid out as blocks is still told as a table
    table = one.page.locator("table.schedule").first
    assert table.get_by_role("columnheader").count() == 5
    assert table.get_by_role("rowheader").count() == table.get_by_role("row").count() - 1
