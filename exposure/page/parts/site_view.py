"""On site: the worst elevation, three numbers, what to do in order with boxes to tick, and the cautions.

Derived from the builder's question: what do I do on this wall, in which order, to which dimension. Large, dark on
light, targets for a thumb; the map, the rose and the chain stay at the desk. A site has no network and this page
needs its server, so the same view can be taken along as one file.
"""

from functools import partial

import streamlit as st
from markupsafe import Markup

from exposure.assess.details import BuildingDetails, ElevationDetails
from exposure.draw.assessment_pictures import codes_of, plan_of
from exposure.draw.marked import dimensions, mark_meanings
from exposure.draw.palette import CLASS_LOOKS
from exposure.figures import litres_with_band, millimetres, pascals
from exposure.page.choices.address import asks, view_button, writes
from exposure.page.choices.answer import Answer, details_mark
from exposure.page.markup import Marked, caution, doubts, folded, plain_label, plate, say, tally
from exposure.page.parts.assumed_panel import assumed_words
from exposure.page.parts.take_along import site_button
from exposure.page.parts.wall_panels import to_check
from exposure.paper.sheet_words import class_words, level_words
from exposure.paper.site_file import CAVITIES, site_work
from exposure.rain.pressure import head_of_water
from exposure.wall.name_list import in_turn

TICKS = (
    "Ticks made here stay while you change views; they are gone when this page is reloaded or closed. The file from "
    "Take to site keeps them on the phone."
)
LISTS = {"look_first": "Look first", "steps": "Do in this order", "places": "Then check each place"}
LEAST = "Least a designer starts from"
TICKED = "ticked"  # of this session: what is done, by building, wall and step


def show_site_view(answer: Answer, details: BuildingDetails) -> None:
    """The builder's view of the chosen elevation."""
    one = details.of(answer.chosen.wall.name)
    worst = one is details.elevations[0]
    st.html(f'<h2 class="where">{say(answer.building.name)}, {say(answer.spot.name)}</h2>')
    site_button(answer, details)
    seal = answer.seal
    st.html(
        seal.on(
            _hero(one, codes_of(answer.assessment)[one.name], worst=worst)
            + _three_numbers(one)
            + assumed_words(answer, one.name, at_desk=False)
        )
    )
    _steps(answer, one)
    st.html(seal.on("".join(map(caution, one.schedule.cautions))))
    st.html(
        "<h2>Where you are</h2>"
        + seal.on(
            plate(
                plan_of(answer.assessment, chosen=one.name, size=346, callouts=False, prefix="site-plan"),
                caption="North is up. Thick wall: worst. Deeper stripes: more rain, L/m² in the worst spell.",
            )
        )
    )
    _others(answer, one)
    st.html("<h2>Wrap standing bare?</h2>" + seal.on(f"<p>{say(one.bare_wrap.in_words)}</p>"))
    st.html(
        seal.on(f"<p>Clad first: {say(in_turn(details.clad_first[:3]))}.</p>" + doubts(one.bare_wrap.flags))
    )
    with st.expander("Site water check"):
        st.html(seal.on(_check(one)))
    with st.expander("Why these figures, and what to doubt"):
        st.html(
            seal.on(
                f"<p>{say(level_words(one.schedule))} {say(class_words(one.exposure))}, "
                f"{say(litres_with_band(one.exposure.wall_spell_index, one.exposure.spell_band))} in the worst spell.</p>"
                + doubts(
                    dict.fromkeys(
                        [
                            *(doubt.sentence for doubt in one.exposure.doubts),
                            *one.schedule.flags,
                            *details.flags,
                        ]
                    )
                )
            )
        )
        meanings = "".join(
            f"<li>{one['sign']} {one['words']}: {one['meaning']}.</li>" for one in mark_meanings()
        )
        st.html(f'<h3>Who says so</h3><ul class="marks">{meanings}</ul>')
        view_button("All the reasons, at the desk", "desk")


def _hero(one: ElevationDetails, code: str, *, worst: bool) -> Marked:
    exposure = one.exposure
    name = one.name[:1].upper() + one.name[1:]
    sign = tally(CLASS_LOOKS[exposure.exposure_class].rank, class_words(exposure))
    return (
        f'<div class="hero"><div class="k">{"Worst elevation" if worst else "Elevation"}, {say(code)} on the plan</div><div class="w">{say(name)}</div>'
        f"{sign}<p>{say(litres_with_band(exposure.wall_spell_index, exposure.spell_band))} {exposure.spell_label}. "
        f"{say(level_words(one.schedule))}</p></div>"
    )


def _three_numbers(one: ElevationDetails) -> Marked:
    found = {line.key: line for line in one.schedule.lines}
    pressure = one.design_pressure
    cells = []
    cavity = next((key for key in CAVITIES if key in found), "")
    for key, words in (("back_dam", "sill tray turned up at the back"), (cavity, "drained cavity")):
        line = found.get(key)
        figure = f"{float(line.value):.0f} <small>mm</small>" if line else "ask"
        cells.append(f"<div><dd><b>{figure}</b></dd><dt>{words}</dt></div>")
    mean = say(pascals(pressure)).replace("Pa", "<small>Pa</small>")
    head = say(millimetres(float(head_of_water(pressure))))
    cells.insert(1, f"<div><dd><b>{mean}</b></dd><dt>wind with heavy rain, {head} of water</dt></div>")
    return f'<dl class="trio">{"".join(cells)}</dl>'


@st.fragment
def _steps(answer: Answer, one: ElevationDetails) -> None:
    """What is done and checked, in the order and the words of the file from Take to site."""
    schedule = one.schedule
    if schedule.specific_design:
        st.html("<h2>Have it designed</h2>")
        st.html(caution(f"{schedule.lines[0].build} {schedule.specific_design}"))
    work = _work(details_mark(answer), one.name, one)
    lists = [(title, work[part]) for part, title in LISTS.items() if work[part]]
    ticked: set[tuple[str, str, str]] = st.session_state.setdefault(TICKED, set())
    boxes = [(answer.building.name, one.name, _words(step)) for _, steps in lists for step in steps]
    done = sum(box in ticked for box in boxes)
    st.html(
        answer.seal.on(
            f'<p role="status" class="note">{done} of {len(boxes)} done on the {say(one.name)}. {say(TICKS)}</p>'
        )
    )
    first = 1
    for title, steps in lists:
        if title == LISTS["places"]:
            _sections(answer, work["drawings"])
            st.html(f"<h2>{LEAST if schedule.specific_design else title} ({len(steps)})</h2>")
        else:
            st.html(f"<h2>{title}</h2>")
        with st.container(key=f"steps-{first}"):
            for number, step in enumerate(steps, start=first):
                _step(answer, one, number, step)
        first += len(steps)


# Kept as it is, not as a copy: it is never changed, and drawing it again would hold up every tick.
@st.cache_resource(max_entries=64, show_spinner=False)
def _work(mark: str, elevation: str, _one: ElevationDetails) -> dict[str, list[dict]]:
    return site_work(_one, drawn=True)


def _sections(answer: Answer, drawings: list[dict]) -> None:
    shown = "".join(
        folded(f"Drawn: {say(one['title'])}", plate(str(one["picture"]).strip())) for one in drawings
    )
    if shown:
        st.html(answer.seal.on(shown))


def _step(answer: Answer, one: ElevationDetails, number: int, step: dict) -> None:
    ticked = st.session_state[TICKED]
    box = (answer.building.name, one.name, _words(step))
    said = " (done)" if box in ticked else ""
    st.checkbox(
        f"{number}. {plain_label(step['title'].striptags())}{said}",
        **asks(answer.seal.tick(number), box in ticked, partial(_tick, box)),
    )
    rest = f"<p>{step['rest']}</p>" if step["rest"] else ""
    drawing = plate(str(step["drawing"])) if "drawing" in step else ""
    hold = f"<p><b>Before it is covered:</b> {step['hold']}</p>" if step["hold"] else ""
    warned = f'<p class="caution"><b>Caution</b> {step["caution"]}</p>' if step["caution"] else ""
    if rest or drawing or hold or warned:
        st.html(answer.seal.on(f'<div class="step">{rest}{drawing}{hold}{warned}</div>'))


def _words(step: dict) -> str:
    """A step in plain words, by which its tick is kept."""
    return f"{step['title'].striptags()}. {Markup(step['rest']).striptags()}"


def _tick(box: tuple[str, str, str], done: bool) -> None:
    ticked = st.session_state.setdefault(TICKED, set())
    ticked.add(box) if done else ticked.discard(box)


def _others(answer: Answer, one: ElevationDetails) -> None:
    st.html("<h2>The other elevations</h2>")
    names = [found.wall.name for found in answer.assessment.elevations]
    codes = codes_of(answer.assessment)
    words = {
        found.wall.name: f"**{codes[found.wall.name]}** {plain_label(found.wall.name)}: "
        + plain_label(f"{class_words(found)}, {litres_with_band(found.wall_spell_index, found.spell_band)}")
        for found in answer.assessment.elevations
    }
    with st.container(key="others"):
        st.radio(
            "Show the elevation",
            names,
            format_func=words.__getitem__,
            **asks(answer.seal.key("site-elevation"), one.name, writes("elevation")),
        )


def _check(one: ElevationDetails) -> Marked:
    check = one.water_check
    if check.stop:
        return caution(check.stop)
    steps = "".join(
        f"<li>{dimensions(step.text)}"
        + (f'<span class="hold">{say(step.hold)}</span>' if step.hold else "")
        + (caution(step.caution) if step.caution else "")
        + "</li>"
        for step in check.steps
    )
    return (
        "".join(map(caution, check.cautions))
        + f"<p>{say(to_check(check))} Pressure: {dimensions(check.pressure_words)} Spray: {dimensions(check.rate_words)}.</p>"
        + f'<ol class="order">{steps}</ol><p><b>Pass.</b> {say(check.pass_rule)}</p><p><b>If it leaks.</b> {say(check.on_failure)}</p>'
    )
