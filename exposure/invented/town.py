"""A town that does not exist, of as many buildings as asked: lanes of houses, terraces, courts and towers."""

import numpy as np

from exposure.invented.geography import SEED, metres_per_degree, places

BLOCK = 110.0  # m from street to street
PLACE = "Saltmar"  # where the town would stand
_L = np.array([(0, 0), (1, 0), (1, 0.5), (0.5, 0.5), (0.5, 1), (0, 1)], dtype=float)
_BOX = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], dtype=float)
_U = np.array(
    [(0, 0), (1, 0), (1, 1), (0.7, 1), (0.7, 0.4), (0.3, 0.4), (0.3, 1), (0, 1)], dtype=float
)  # round a yard
_KINDS = ("lane", "terrace", "court", "towers")
_SHARES = (0.55, 0.25, 0.15, 0.05)


def town_footprints(buildings: int, *, seed: int = SEED) -> dict:
    """A GeoJSON FeatureCollection of ``buildings`` outlines in longitude and latitude, block by block from the middle.

    Examples
    --------
    >>> town = town_footprints(60)
    >>> len(town["features"]), town["features"][0]["properties"]["invented"]
    (60, True)
    """
    rng = np.random.default_rng(seed + 77)
    place = next(one for one in places() if one.name == PLACE)
    along, up = metres_per_degree()
    side = int(np.ceil(np.sqrt(np.ceil(buildings / 10))))
    spots = [(x, y) for x in range(-side, side + 1) for y in range(-side, side + 1)]
    spots.sort(key=lambda spot: (spot[0] ** 2 + spot[1] ** 2, spot))
    features: list[dict] = []
    for x, y in spots:
        turn = 0.05 * np.hypot(x, y) + 0.35  # streets bend away from the middle
        kind = str(rng.choice(_KINDS, p=_SHARES))
        for ring, told in _block(kind, rng):
            if len(features) == buildings:
                break
            middle = np.array([x, y]) * BLOCK
            metres = middle + ring @ np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
            degrees = np.column_stack(
                [place.longitude + metres[:, 0] / along, place.latitude + metres[:, 1] / up]
            )
            features.append(_feature(len(features) + 1, kind, degrees, told))
    return {
        "type": "FeatureCollection",
        "name": "buildings of an invented town",
        "note": "Invented: no house, name or place here is real.",
        "features": features,
    }


def _feature(number: int, kind: str, degrees: np.ndarray, told: dict) -> dict:
    ring = [*degrees.round(8).tolist(), degrees[0].round(8).tolist()]
    return {
        "type": "Feature",
        "properties": {"name": f"{kind} {number}", "invented": True, **told},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }


def _block(kind: str, rng: np.random.Generator) -> list[tuple[np.ndarray, dict]]:
    """Outlines in metres round the middle of a block, counter-clockwise, with what is told of each."""
    if kind == "lane":
        return [_lane_house(k, rng) for k in range(16)]
    if kind == "terrace":
        wide = 6.0
        storeys = int(rng.choice([2, 3]))
        told = {"height": 2.8 * storeys, "storeys": storeys, "roof": "hip", "eaves": 350}
        return [
            (_placed(_BOX, (wide, 9.0), at=(-wide * 6 + wide * k, 30.0 * row - 34.0)), told)
            for row in range(3)
            for k in range(12)
        ]
    if kind == "court":
        storeys = int(rng.integers(4, 7))
        told = {"height": 3.1 * storeys, "storeys": storeys, "roof": "flat"}
        return [
            (_placed(_U, (38.0, 34.0), at=(-42.0 + 44.0 * k, -40.0 + 42.0 * row)), told)
            for row in range(2)
            for k in range(2)
        ]
    storeys = int(rng.integers(9, 15))
    told = {"height": 3.0 * storeys, "storeys": storeys, "roof": "flat"}
    return [(_placed(_BOX, (18.0, 18.0), at=(-34.0 + 50.0 * k, -9.0)), told) for k in range(2)]


def _lane_house(number: int, rng: np.random.Generator) -> tuple[np.ndarray, dict]:
    storeys = int(rng.choice([1, 2, 2]))
    shape = _L if rng.random() < 0.7 else _BOX
    size = (float(rng.uniform(9, 13)), float(rng.uniform(8, 11)))
    row, k = divmod(number, 4)
    at = (-46.0 + 24.0 * k + float(rng.normal(0, 1)), -44.0 + 24.0 * row + float(rng.normal(0, 1)))
    told: dict = {"height": {1: 2.9, 2: 5.6}[storeys], "storeys": storeys}
    if rng.random() < 0.8:
        told |= {"roof": "hip", "eaves": 350}
    return _turned(_placed(shape, size, at=at), float(rng.normal(0, 4))), told


def _placed(shape: np.ndarray, size: tuple[float, float], *, at: tuple[float, float]) -> np.ndarray:
    return shape * size + at


def _turned(ring: np.ndarray, degrees: float) -> np.ndarray:
    turn, middle = np.deg2rad(degrees), ring.mean(axis=0)
    return (ring - middle) @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + middle
