"""The handover sheet: what phones recorded at each opening, with photos, what differs side by side, what is missing first."""

import base64
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from jinja2 import DictLoader, Environment, StrictUndefined
from markupsafe import Markup

from exposure.assess.record_merge import MergedOpening, MergedRecord, MergedStep, Said
from exposure.assess.site_record import Photo
from exposure.checks import RefusalError
from exposure.draw.lettering import clean
from exposure.draw.marked import name, say
from exposure.paper.page_foot import style_string
from exposure.paper.pdf import pdf_at_hand, write_pdf
from exposure.paper.provenance import made_words, version_words
from exposure.paper.sheet import template_part, write_text


def handover_html(merged: MergedRecord, *, made: date | None = None) -> str:
    """The handover sheet as one HTML document that asks for nothing.

    Parameters
    ----------
    merged
        From :func:`exposure.assess.record_merge.merge_records`.
    made
        Day on the sheet; today by default.
    """
    several = len(merged.records) > 1
    foot = style_string(f"{merged.house}: handover of openings", most=90)
    feet = f"@page{{@bottom-left{{content:{foot}}}@bottom-right{{content:'page ' counter(page) ' of ' counter(pages)}}}}"
    openings = [_opening(one, merged, several) for one in merged.openings]
    template = Environment(
        loader=DictLoader({"handover": template_part("handover.jinja")}),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
    ).get_template("handover")
    return template.render(
        title=clean(f"Handover of openings: {merged.house}", most=140),
        css=Markup(template_part("handover.css") + feet),
        house=name(merged.house, most=120),
        made=made_words(made or date.today()),
        version=version_words(),
        key=merged.key,
        records=[
            {
                "phone": say(one.phone), "file": say(one.file, most=120), "exported": say(_clock(one.exported)),
                "inputs": say(one.inputs), "photos": len(one.photos),
            }
            for one in merged.records
        ],
        notes=[say(note) for note in merged.notes],
        openings=openings,
        complete=sum(not one["missing"] for one in openings),
        conflicts=[one["mark"] for one in openings if one["conflict"]],
        places=_places(merged),
    )  # fmt: skip


def write_handover(merged: MergedRecord, folder: str | Path, *, made: date | None = None) -> tuple[Path, ...]:
    """Write ``handover.html``, and ``handover.pdf`` where the PDF writer is installed, into ``folder``.

    Raises
    ------
    RefusalError
        When the folder cannot be written.
    """
    target = Path(folder)
    html = handover_html(merged, made=made)
    try:
        target.mkdir(parents=True, exist_ok=True)
        written = [write_text(target / "handover.html", html)]
        if pdf_at_hand():
            written.append(write_pdf(target / "handover.pdf", html))
    except OSError as error:
        raise RefusalError(
            f"{target} cannot be written ({error.strerror})", "a folder you may write to", "Choose another."
        ) from error
    return tuple(written)


def _opening(one: MergedOpening, merged: MergedRecord, several: bool) -> dict:
    wall = merged.walls.get(one.elevation, "")
    return {
        "mark": say(one.mark, most=40),
        "wall": name(wall, most=60) if wall else say(one.elevation, most=40),
        "what": [say(each) for each in _both(one.kind, several)],
        "size": [say(each) for each in _both(one.size, several)],
        "added": one.added,
        "begun": one.begun,
        "conflict": one.conflict,
        "missing": [say(each) for each in one.missing],
        "signed": [say(each, most=200) for each in _both(one.signed, several)],
        "steps": [_step(step, several) for step in one.steps],
        "photos": [_photo(phone, photo, several) for step in one.steps for phone, photo in step.photos],
    }


def _step(step: MergedStep, several: bool) -> dict:
    return {
        "number": step.step,
        "hold": step.hold,
        "words": say(step.words, most=400),
        "conflict": step.conflict,
        "done": say(_clock(step.done)),
        "told": [
            {
                "phones": say(f"phone {', '.join(phones)}") if several and len(step.told) > 1 else "",
                "result": say(one.result),
                "who": say(one.by),
                "when": say(_clock(one.at)),
                "moisture": f"{one.moisture}\u00a0%" if one.moisture else "",
                "note": say(one.note, most=800),
            }
            for phones, one in step.told
        ],
        "photos": ", ".join(_number(phone, photo.number, several) for phone, photo in step.photos),
    }


def _photo(phone: str, photo: Photo, several: bool) -> dict:
    return {
        "src": Markup(f"data:{photo.type};base64,{base64.b64encode(photo.content).decode('ascii')}"),
        "number": say(_number(phone, photo.number, several)),
        "step": photo.step,
        "taken": say(_clock(photo.taken)),
    }


def _number(phone: str, number: int, several: bool) -> str:
    return f"{clean(phone, most=12)} {number}" if several else str(number)


def _both(said: Sequence[Said], several: bool) -> list[str]:
    """Values as printed; where phones differ, each with the phones that hold it."""
    if len(said) > 1 and several:
        return [f"{one.value} (phone {', '.join(one.phones)})" for one in said]
    return [one.value for one in said]


def _places(merged: MergedRecord) -> list[dict]:
    """The places of each elevation's list that nobody ticked."""
    found: dict[str, list[tuple[str, bool]]] = {}
    for code, place, done in merged.places:
        found.setdefault(code, []).append((place, done))
    return [
        {
            "wall": name(merged.walls.get(code, code), most=60),
            "of": len(places),
            "ticked": sum(done for _, done in places),
            "open": say("; ".join(place for place, done in places if not done), most=4000),
        }
        for code, places in found.items()
    ]


def _clock(time: str) -> str:
    return time[:16].replace("T", " ")
