"""Footprints of the houses of the invented island, as GeoJSON: a village, a small-town estate, a terrace, lone houses.

Heights are to the top of the wall, in metres. One house has an inside corner, one stands close to a taller one.
"""

import json
from dataclasses import dataclass
from functools import cache
from math import cos, radians, sin

import numpy as np

from exposure.invented.geography import SEED, Place, metres_per_degree, places

_BOX = ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5))
_BRICK = {"wall_type": "cavity masonry", "window_position": "in the masonry cavity"}
WRACK_ROOF = {
    "gables": ["north-west", "north-east", "south-east"],
    "ridge_height": 8.6,
}  # a ridge over each wing
_ELL = ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.06), (0.0, 0.06), (0.0, 0.5), (-0.5, 0.5))  # an inside corner


def house_footprints() -> dict:
    """All houses as a GeoJSON FeatureCollection in longitude and latitude (RFC 7946)."""
    spot = {place.name: place for place in places()}
    houses = [
        _House(
            "Wrack House",
            spot["Quern Bay"],
            at=(0, 0),
            size=(15.0, 12.5),
            turn=52,
            storeys=2,
            shape=_ELL,
            told={"eaves": 350, **WRACK_ROOF},
        ),
        *_village(spot["Quern Bay"]),
        *_estate(spot["Saltmar"]),
        *_terrace(spot["Purlin Haven"]),
        _House("Ness Light Cottage", spot["Pellin Ness"], at=(0, 0), size=(14.0, 7.5), turn=20, storeys=1),
        _House("Strand House", spot["Tavisk Strand"], at=(0, 0), size=(12.0, 8.0), turn=330, storeys=2),
        _House(
            "Boat Store",
            spot["Tavisk Strand"],
            at=(26, -14),
            size=(16.0, 9.0),
            turn=330,
            storeys=1,
            kind="store",
            roof="flat",
        ),
        _House("Fold Farm", spot["Ullin Fold"], at=(0, 0), size=(13.0, 8.5), turn=75, storeys=2),
        _House(
            "Fold Barn", spot["Ullin Fold"], at=(-22, 16), size=(24.0, 11.0), turn=75, storeys=2, kind="barn"
        ),
        _House(
            "Hestwick Mill",
            spot["Hestwick"],
            at=(0, 0),
            size=(16.0, 10.0),
            turn=10,
            storeys=3,
            details=_BRICK,
        ),
        _House("Mill Cottage", spot["Hestwick"], at=(24, 6), size=(9.0, 7.0), turn=15, storeys=2),
        _House("Top Shelter", spot["Ashlar Top"], at=(0, 0), size=(9.0, 6.0), turn=40, storeys=1),
    ]
    return {
        "type": "FeatureCollection",
        "name": "houses of an invented island",
        "note": "Invented: no house, name or place here is real.",
        "features": [_feature(house) for house in houses],
    }


@cache
def houses_text() -> str:
    """The houses as the text of their file."""
    return json.dumps(house_footprints(), ensure_ascii=False)


@dataclass(frozen=True)
class _House:
    """One house of the island.

    ``at`` is metres east and north of the place's spot, ``turn`` clockwise [degree]; ``told`` is what is known of eaves
    and ridge, by default eaves of 350 mm, and gables of 40 degrees.
    """

    name: str
    place: Place
    at: tuple[float, float]
    size: tuple[float, float]  # [m]
    turn: float
    storeys: int
    shape: tuple = _BOX
    kind: str = "house"
    roof: str = "gable"
    details: dict | None = None
    told: dict | None = None


def _feature(house: _House) -> dict:
    """Its footprint."""
    told = house.told
    if told is None:
        told = {} if house.roof == "flat" else {"eaves": 350, "pitch": 40}
    turn = radians(house.turn)
    along, up = metres_per_degree()
    ring = []
    for x, y in (*house.shape, house.shape[0]):
        right, forward = x * house.size[0], y * house.size[1]
        east = house.at[0] + right * cos(turn) + forward * sin(turn)
        north = house.at[1] - right * sin(turn) + forward * cos(turn)
        ring.append(
            [round(house.place.longitude + east / along, 8), round(house.place.latitude + north / up, 8)]
        )
    height = {1: 2.9, 2: 5.6, 3: 8.4}[house.storeys]
    return {
        "type": "Feature",
        "properties": {
            "name": house.name,
            "height": height,
            "storeys": house.storeys,
            "roof": house.roof,
            **told,
            "place": house.place.name,
            "kind": house.kind,
            "invented": True,
            **({"details": house.details} if house.details else {}),
        },
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }


def _village(place: Place) -> list[_House]:
    """Houses along a lane that bends round the bay, north-east of Wrack House, the open side left free."""
    rng = np.random.default_rng(SEED + 5)
    found = []
    for number in range(1, 25):
        side = 1 if number % 2 else -1
        run = 34 + 11.5 * number
        bend = radians(38 + 0.9 * number)
        east = run * sin(bend) + side * 13 * cos(bend) + rng.normal(0, 1.5)
        north = run * cos(bend) - side * 13 * sin(bend) + rng.normal(0, 1.5)
        size = (float(rng.uniform(8.5, 12)), float(rng.uniform(6.5, 8)))
        turn = 38 + 0.9 * number + 90 + rng.normal(0, 4)
        found.append(
            _House(
                f"{number} Bay Lane",
                place,
                at=(east, north),
                size=size,
                turn=turn,
                storeys=int(rng.choice([1, 2, 2])),
            )
        )
    return found


def _estate(place: Place) -> list[_House]:
    """Forty pairs of houses in four rows, 20 m from row to row."""
    found = []
    for row in range(4):
        for column in range(10):
            number = row * 10 + column + 1
            at = (-100.0 + 19.0 * column, -30.0 + 26.0 * row)
            found.append(_House(f"{number} Salt Row", place, at=at, size=(13.0, 8.0), turn=0, storeys=2))
    return found


def _terrace(place: Place) -> list[_House]:
    """Eight houses wall to wall along the quay."""
    turn = radians(25)
    return [
        _House(
            f"{number} Quay Terrace",
            place,
            at=(-60 + 5.4 * number * cos(turn), -5.4 * number * sin(turn)),
            size=(5.4, 8.5),
            turn=25,
            storeys=2,
            kind="terrace",
            told={},  # nobody told its eaves: the demo shows what that leaves open
            roof="hip",  # the ridge runs along the row: front and back are eaves walls
        )
        for number in range(1, 9)
    ]
