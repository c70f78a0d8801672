"""The region's map: right place, right colour, right figure, no request, and text that stays text."""

import base64
import io
import json
import re

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from pyproj import Transformer

from exposure.checks import RefusalError
from exposure.draw.palette import RASTER_STEPS, raster_colours
from exposure.draw.raster_picture import Scale, palette_png, raster_picture, round_scale
from exposure.map.base_map import asset
from exposure.map.folium_map import as_json
from exposure.map.map_layers import WORST, field_of, legend, place_marks, raster_layer
from exposure.map.region_map import draw_region_map, write_region_map

HOSTILE = [
    "</script><script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "=1+1\t'\"&<>",
    "\u202egnihtyna\u202c",
    "é" * 10_000,
    "line\u2028break\u2029 {{7*7}} ${7*7} %s",
]


def rgb(colour):
    return tuple(bytes.fromhex(colour[1:]))


def picture_of(uri):
    head, data = uri.split(",", 1)
    assert head == "data:image/png;base64"
    return Image.open(io.BytesIO(base64.b64decode(data))).convert("RGBA")


def region(rows=6, columns=8, orientations=4, **attributes):
    rng = np.random.default_rng(5)
    values = rng.uniform(100, 900, (orientations, rows, columns))
    axes = ("orientation", "latitude", "longitude")
    return xr.Dataset(
        {"airfield_annual_index": (axes, values), "airfield_spell_index": (axes, values / 3)},
        {
            "orientation": np.arange(orientations) * 360.0 / orientations,
            "latitude": 50 + 0.5 * np.arange(rows),
            "longitude": -20 + 0.5 * np.arange(columns),
        },
        {"source": "a made-up field", "licence": "none", "kind": "invented", "flags": [], **attributes},
    )


def finely(index):
    """The same on cells of 0.01 degree, so that a large grid stays on the earth."""
    return index.assign_coords(
        latitude=50 + 0.01 * np.arange(index.sizes["latitude"]),
        longitude=-20 + 0.01 * np.arange(index.sizes["longitude"]),
    )


class Spot:
    def __init__(self, name, latitude=50.6, longitude=-19.4, note=""):
        self.name, self.latitude, self.longitude, self.note = name, latitude, longitude, note


@pytest.mark.parametrize(
    ("years", "called"),
    [(1, "the worst spell of the one year of this record"), (12, "the worst spell in three years,")],
)
def test_a_map_calls_its_spell_what_the_years_of_its_grid_carry(years, called):
    page = draw_region_map(region().assign_coords(year=np.arange(years)), title="Made up")
    assert called in page
    assert ("in three years" in page) == (years == 12)


class TestPicture:
    def test_png_is_read_back_by_a_general_library(self):
        indices = np.array([[0, 1, 2], [2, 2, 1]], dtype=np.uint8)
        image = Image.open(io.BytesIO(palette_png(indices, ["#010203", "#FFEE00"]))).convert("RGBA")
        assert image.size == (3, 2)
        assert image.getpixel((0, 0)) == (1, 2, 3, 255)
        assert image.getpixel((1, 0)) == (255, 238, 0, 255)
        assert image.getpixel((2, 0))[3] == 0  # one past the palette is clear

    def test_first_and_last_colour_are_the_ends_of_the_ramp(self):
        field = np.array([[0.0, 10.0], [5.0, np.nan]])
        axis = np.array([0.0, 1.0])
        image = picture_of(
            raster_picture(field, latitudes=axis, longitudes=axis, scale=Scale((0.0, 10.0))).uri
        )
        bottom, top = image.height - 1, 0
        assert image.getpixel((0, bottom))[:3] == rgb(RASTER_STEPS[0])
        assert image.getpixel((1, bottom))[:3] == rgb(RASTER_STEPS[-1])
        assert image.getpixel((1, top))[3] == 0

    @pytest.mark.parametrize("turned", [False, True])
    def test_rows_lie_where_the_projection_of_web_maps_puts_them(self, turned):
        # by PROJ (EPSG:3857): the pixel row of each cell's middle, for a field from 10 to 70 degrees north
        latitudes = np.arange(10.0, 71.0, 5.0)
        field = np.arange(latitudes.size, dtype=float)[:, None] * np.ones((1, 3))
        axis = latitudes
        if turned:
            axis, field = latitudes[::-1], field[::-1]
        made = raster_picture(
            field, latitudes=axis, longitudes=np.array([0.0, 5.0, 10.0]), scale=Scale((0.0, 12.0))
        )
        assert made.bounds == ((7.5, -2.5), (72.5, 12.5))
        image = picture_of(made.uri)
        project = Transformer.from_crs("EPSG:4326", "EPSG:3857", always_xy=True)
        north, south = (project.transform(0, edge)[1] for edge in (72.5, 7.5))
        ramp = raster_colours(64)
        for number, latitude in enumerate(latitudes):
            share = (north - project.transform(0, latitude)[1]) / (north - south)
            seen = image.getpixel((1, int(share * image.height)))[:3]
            assert seen == rgb(ramp[round(number / 12 * 63)])

    def test_longitudes_counted_to_360_are_put_where_they_are(self):
        field = np.array([[1.0, 2.0, 3.0, 4.0]] * 2)
        made = raster_picture(
            field,
            latitudes=np.array([0.0, 1.0]),
            longitudes=np.array([0.0, 90.0, 180.0, 270.0]),
            scale=Scale((1.0, 4.0)),
        )
        assert made.bounds[0][1] == -225.0  # -180 first, whose cell reaches 45 degrees west of it
        image = picture_of(made.uri)
        ramp = raster_colours(64)
        order = [image.getpixel((column, 0))[:3] for column in range(4)]
        assert order == [rgb(ramp[place]) for place in (42, 63, 0, 21)]  # 180, 270 (= -90), 0, 90

    def test_a_piece_across_180_stays_whole(self):
        made = raster_picture(
            np.array([[1.0, 2.0, 3.0]] * 2),
            latitudes=np.array([-41.0, -40.0]),
            longitudes=np.array([179.0, 180.0, -179.0]),
            scale=Scale((1.0, 3.0)),
        )
        assert made.bounds == ((-41.5, 178.5), (-39.5, 181.5))

    def test_an_uneven_grid_and_a_turned_field_are_refused(self):
        axis = np.array([0.0, 1.0, 3.0])
        with pytest.raises(RefusalError, match="evenly spaced"):
            raster_picture(np.zeros((3, 3)), latitudes=axis, longitudes=axis, scale=Scale((0, 1)))
        with pytest.raises(RefusalError, match="Put latitude first"):
            raster_picture(
                np.zeros((3, 2)), latitudes=axis[:2], longitudes=np.arange(3.0), scale=Scale((0, 1))
            )

    def test_a_global_grid_stays_small(self):
        field = np.random.default_rng(1).uniform(0, 1, (181, 360))
        made = raster_picture(
            field, latitudes=np.arange(-90.0, 91.0), longitudes=np.arange(0.0, 360.0), scale=Scale((0, 1))
        )
        assert made.bounds[0][0] == -85.0
        assert len(made.uri) < 300_000


class TestScale:
    @settings(max_examples=60, deadline=None)
    @given(st.floats(0, 1e4), st.floats(1e-3, 1e4))
    def test_holds_every_figure_in_round_even_steps(self, low, span):
        scale = round_scale(np.array([low, low + span, np.nan]))
        assert scale.low <= low * (1 + 1e-9) + 1e-9
        assert scale.high >= (low + span) * (1 - 1e-9)
        assert 1 <= len(scale.steps) - 1 <= 12
        steps = np.diff(scale.steps)
        np.testing.assert_allclose(steps, steps[0], rtol=1e-6)
        assert f"{steps[0]:.3e}"[:4] in ("1.00", "2.00", "2.50", "5.00")

    def test_one_figure_and_none_at_all(self):
        assert round_scale(np.array([412.0])).low <= 412 <= round_scale(np.array([412.0])).high
        assert round_scale(np.array([np.nan])).steps == (0.0, 1.0)

    def test_the_legend_names_first_and_last_step_and_keeps_figures_apart(self):
        for last in range(1, 13):
            scale = Scale(tuple(100.0 * step for step in range(last + 1)))
            ticks = legend(title="", note="", scale=scale)["ticks"]
            assert ticks[0]["place"] == 0
            assert ticks[-1] == {"place": 1.0, "words": f"{100 * last:,}"}
            assert len(ticks) <= 6
            assert min(np.diff([tick["place"] for tick in ticks])) > 0.12


class TestField:
    def test_the_worst_way_is_each_cells_largest(self):
        index = region()
        values, words = field_of(index, "airfield_annual_index", WORST)
        np.testing.assert_array_equal(values, index["airfield_annual_index"].values.max(0))
        assert "worst" in words

    def test_the_nearest_orientation_answers_and_says_how_far_off_it_is(self):
        values, words = field_of(region(), "airfield_annual_index", 350.0)
        np.testing.assert_array_equal(values, region()["airfield_annual_index"].values[0])
        assert words == "facing north (0°), 10° off the 350° asked"

    def test_a_cell_without_figures_stays_without(self):
        index = region()
        index["airfield_annual_index"][:, 2, 3] = np.nan
        values, _ = field_of(index, "airfield_annual_index", WORST)
        assert np.isnan(values[2, 3])
        assert np.isnan(values).sum() == 1
        layer = raster_layer(index, quantity="airfield_annual_index")
        assert unpacked(layer["figures"])[2 * 8 + 3] == 65_535

    def test_figures_under_the_pointer_read_as_everywhere_else(self):
        index = region(rows=2, columns=3, orientations=1)
        index["airfield_annual_index"][0] = [[1234.0, 999.4, 999.6], [412.3, 0.2, 5005.0]]
        told = unpacked(raster_layer(index, quantity="airfield_annual_index")["figures"])
        # by hand: whole litres, from 1,000 to the nearest ten
        assert told[:5] == [1230, 999, 1000, 412, 0]
        assert told[5] in (5000, 5010)

    @pytest.mark.parametrize(("quantity", "facing"), [("rain", WORST), ("airfield_annual_index", "best")])
    def test_an_unknown_quantity_or_facing_is_refused(self, quantity, facing):
        with pytest.raises(RefusalError):
            field_of(region(), quantity, facing)


def unpacked(figures):
    return np.frombuffer(base64.b64decode(figures["packed"]), "<u2").tolist()


def data_of(page):
    (words,) = re.findall(r'<script type="application/json" id="data">(.*?)</script>', page, flags=re.S)
    return json.loads(words)


class TestPage:
    def test_it_asks_no_server_for_anything(self):
        page = draw_region_map(region(), title="Somewhere", places=[Spot("One")])
        own = page.replace(asset("leaflet.js"), "").replace(asset("land.js"), "")
        own = re.sub(r"/\*.*?\*/", "", own, flags=re.S)  # remarks load nothing
        assert "default-src 'none'" in page
        assert not re.findall(r"""(?:src|href)\s*=\s*["'](?!data:)""", own)
        assert "url(" not in own.replace("url(data:", "")
        assert "@import" not in own
        outside = set(re.findall(r"https?://[^\s\"'<>)]+", own))
        assert outside == set()

    def test_figures_at_the_places_are_those_of_the_nearest_cell(self):
        index = region()
        data = data_of(draw_region_map(index, title="T", places=[Spot("One"), Spot("Far", latitude=70)]))
        # by hand: 50.6 N 19.4 W is nearest to row 1 (50.5), column 1 (-19.5)
        expected = index["airfield_annual_index"].values[2, 1, 1]
        told = data["layers"]["airfield_annual_index/180"]["at_places"]
        assert told == [f"{expected:.0f}", "not known"]

    def test_every_index_and_facing_can_be_chosen_on_one_scale(self):
        data = data_of(draw_region_map(region(), title="T"))
        assert set(data["layers"]) == {
            f"airfield_{name}_index/{facing}"
            for name in ("annual", "spell")
            for facing in ("worst", "0", "90", "180", "270")
        }
        for name in ("annual", "spell"):
            scales = {
                tuple(re.findall(r"left:([\d.]+)%\">([\d,]+)<", layer["legend"]))
                for key, layer in data["layers"].items()
                if name in key
            }
            assert len(scales) == 1
            ticks = scales.pop()
            assert len(ticks) >= 3
            figures = np.array([float(words.replace(",", "")) for _, words in ticks])
            assert figures[0] == 0
            places = [float(place) / 100 for place, _ in ticks]
            np.testing.assert_allclose(places, figures / figures[-1], atol=1e-3)

    def test_the_invented_label_and_the_cautions_are_there(self):
        page = draw_region_map(region(), title="T")
        assert page.count("Invented place and weather") >= 2
        assert "do not build from it" in page
        assert "classes are not read from this map" in page
        real = draw_region_map(region(kind="reanalysis"), title="T")
        assert "Invented place" not in real

    @pytest.mark.parametrize("words", HOSTILE)
    def test_hostile_words_stay_text(self, words):
        spot = Spot(words, note=words)
        index = region(source=words, licence=words, flags=[words])
        page = draw_region_map(index, title=words, places=[spot])
        plain = draw_region_map(region(), title="T", places=[Spot("One")])
        assert page.count("<script") == plain.count("<script")
        assert page.count("</script") == plain.count("</script")
        assert "<img" not in page.replace(asset("leaflet.js"), "")
        assert "\u202e" not in page
        assert re.findall(r"L\.marker\(\s*\[50\.6, -19\.4\]", page)
        assert len(page) < 900_000

    def test_a_large_grid_keeps_every_index_facing_figure_and_place(self):
        index = finely(region(rows=300, columns=300, orientations=12))
        page = draw_region_map(index, title="T", places=[Spot("One")])
        layers = data_of(page)["layers"]
        assert len(layers) == 2 * 13
        assert len(page) < 5_000_000  # noise packs worst; a smooth field takes a fifth
        for name in ("annual", "spell"):  # what the pointer reads, in the picture the page opens with
            told = layers[f"airfield_{name}_index/worst"]
            truth = index[f"airfield_{name}_index"].values
            assert unpacked(told["figures"])[300 * 7 + 9] == round(float(truth[:, 7, 9].max()))
            ways = base64.b64decode(told["figures"]["ways"])
            assert told["figures"]["way_words"][ways[300 * 7 + 9]].startswith("facing ")
            assert ways[300 * 7 + 9] == int(truth[:, 7, 9].argmax())
            assert told["at_places"] != ["not known"]
        assert [key for key, layer in layers.items() if "reads no figures" in layer["sentence"]] == [
            key for key, layer in layers.items() if layer["figures"] is None
        ]

    def test_a_giant_grid_keeps_both_indices_and_drops_facings(self):
        index = finely(region(rows=500, columns=600)).isel(orientation=[0, 2])
        page = draw_region_map(index, title="T", quantity="airfield_spell_index", orientation=180.0)
        layers = data_of(page)["layers"]
        assert {f"airfield_{name}_index/worst" for name in ("annual", "spell")} <= set(layers)
        assert "airfield_spell_index/180" in layers
        assert len(page) < 8_000_000

    def test_a_region_of_usual_size_stays_below_the_promised_weight(self):
        page = draw_region_map(region(rows=24, columns=24, orientations=36), title="T")
        assert len(page.encode()) < 420_000

    def test_written_whole_or_not_at_all(self, tmp_path):
        target = write_region_map(tmp_path / "new" / "map.html", "words")
        assert target.read_text() == "words"
        assert [path.name for path in target.parent.iterdir()] == ["map.html"]
        (tmp_path / "file").write_text("")
        with pytest.raises(RefusalError, match="cannot be written"):
            write_region_map(tmp_path / "file" / "map.html", "words")


@settings(max_examples=80, deadline=None)
@given(st.text(max_size=60))
def test_json_in_a_script_reads_back_and_cannot_end_it(words):
    written = as_json({"name": words})
    assert json.loads(written) == {"name": words}
    assert not set("<>&\u2028\u2029") & set(written)


def test_places_are_numbered_and_the_easternmost_labelled_to_the_west():
    marks = place_marks(
        [Spot("A", longitude=-20), Spot("B", longitude=-10), Spot("C", longitude=-19)], chosen="B"
    )
    assert [mark["label"] for mark in marks] == ["1", "2", "3"]
    assert [mark["chosen"] for mark in marks] == [False, True, False]
    assert [mark["west"] for mark in marks] == [False, True, False]
