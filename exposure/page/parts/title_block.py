"""The title block: place, weather record, building and local rules in force, each with the way to change it.

Derived from the planner's question how exposed a place is, and the designer's which elevation is worst: both
answers hang on four inputs, so the inputs stand on top, said in words, each with one line that proves it.
"""

from collections.abc import Callable

import streamlit as st

from exposure.page.markup import Marked, say


def show_title_block(cells: list[tuple[str, str, str, Callable[[], None]]]) -> None:
    """Draw the rows: what it is, the choice in force, its proof, and the form that changes it, opened in the flow.

    A form stands right behind the button that opens it, so that the next key stroke is in its first field.
    """
    with st.container(border=True, key="title-block"):
        for name, value, line, form in cells:
            with st.container(key=f"input-{name.lower().replace(' ', '-')}"):
                st.html(cell(name, value, line))
                with st.expander(f"Change {name.lower()}", key=f"change-{name.lower().replace(' ', '-')}"):
                    form()


def cell(name: str, value: str, line: str) -> Marked:
    """One row of the block."""
    return f'<div class="title-cell"><em>{say(name)}</em><b>{say(value)}</b><span>{say(line)}</span></div>'
