"""Places as GeoJSON [RFC7946], for any program that draws maps."""

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Feature:
    """A place: degrees east and north in WGS 84, None where not known, and what is told of it."""

    key: str
    longitude: Decimal | None
    latitude: Decimal | None
    told: Mapping[str, object]


def geojson_lines(features: Iterable[Feature]) -> Iterator[str]:
    """Yield a FeatureCollection, a feature a line; a place not known has no geometry."""
    yield '{"type": "FeatureCollection", "features": ['
    for place, feature in enumerate(features):
        yield ("," if place else "") + "\n" + json.dumps(_feature(feature), ensure_ascii=False)
    yield "\n]}\n"


def _feature(feature: Feature) -> dict[str, object]:
    geometry = None
    if feature.longitude is not None and feature.latitude is not None:
        # Longitude stands first [RFC7946 3.1.1].
        where = [float(feature.longitude), float(feature.latitude)]
        geometry = {"type": "Point", "coordinates": where}
    told = dict(feature.told)
    return {"type": "Feature", "id": feature.key, "geometry": geometry, "properties": told}
