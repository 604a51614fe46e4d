"""Drawings as SVG: well-formed, told in words, to scale, allowed under a strict page policy."""

import re
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from reportlab.pdfbase.pdfmetrics import stringWidth

from services.sheets.charts import (
    Count,
    PlantingShape,
    as_svg,
    day_figure,
    plan_figure,
    planting_figure,
    season_figure,
)
from services.sheets.typefaces import SANS, SANS_BOLD

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(params=["season", "day", "planting", "plan"])
def figure(request, season, run, hedge):
    return {
        "season": lambda: season_figure(season),
        "day": lambda: day_figure(run),
        "planting": lambda: planting_figure(hedge),
        "plan": lambda: plan_figure((hedge, hedge)),
    }[request.param]()


def parsed(figure, key=""):
    return ElementTree.fromstring(as_svg(figure, key))  # noqa: S314 - our own text


def lettered(figure):
    return [text.text or "" for text in parsed(figure).iter(f"{SVG}text")]


def test_a_figure_is_well_formed_and_has_title_and_description(figure):
    root = parsed(figure, "one")

    assert root.find(f"{SVG}title").text == figure.title
    assert root.find(f"{SVG}desc").text == figure.description
    assert root.get("aria-labelledby") == root.find(f"{SVG}title").get("id") == "one-title"
    assert root.get("role") == "img"


# Content Security Policy Level 3: style-src 'self' blocks style attributes and elements.
def test_a_figure_carries_no_style_attribute_and_no_script(figure):
    elements = list(parsed(figure).iter())

    assert not any("style" in element.attrib for element in elements)
    assert not any(name.startswith("on") for element in elements for name in element.attrib)
    assert not {element.tag for element in elements} & {f"{SVG}script", f"{SVG}style"}


def test_ids_are_unique_and_differ_between_keys(figure):
    one, two = (re.findall(r' id="([^"]+)"', as_svg(figure, key)) for key in ("one", "two"))

    assert len(one) == len(set(one))
    assert not set(one) & set(two)


def test_every_reference_leads_to_an_id(figure):
    svg = as_svg(figure)

    assert set(re.findall(r"url\(#([^)]+)\)", svg)) <= set(re.findall(r' id="([^"]+)"', svg))


def test_colours_can_turn_with_the_page(figure):
    assert "var(--ink, #1f1a24)" in as_svg(figure)
    assert "rgb(" not in as_svg(figure)


def test_the_same_figure_gives_the_same_text(season):
    assert as_svg(season_figure(season)) == as_svg(season_figure(season))


def test_markup_in_a_name_stays_text(hedge):
    figure = plan_figure((replace(hedge, name='<script>"&'),))

    assert '<script>"&' in lettered(figure)
    assert "<script>" not in as_svg(figure)


def test_the_season_names_products_groups_bloom_and_threshold(season):
    words = lettered(season_figure(season))

    assert {"Quietleaf Oil", "Mitestop 2 SC", "10B", "bloom", "act at 5"} <= set(words)


@pytest.mark.parametrize("width", [246, 500])
@pytest.mark.parametrize("values", [["8", "3", "1", "4.8", "5.6"], ["1", "3", "5", "5.4", "9"]])
def test_the_level_at_which_to_act_is_named_beside_the_curve(season, values, width):
    days = [date(2026, 5, 4), date(2026, 5, 20), date(2026, 6, 10), date(2026, 6, 28)]
    days.append(season.last)
    counts = tuple(Count(day, Decimal(value)) for day, value in zip(days, values, strict=True))
    drawn = season_figure(replace(season, counts=counts), width=width)
    root = parsed(drawn)
    name = next(text for text in root.iter(f"{SVG}text") if text.text == "act at 5")
    curve = next(root.iter(f"{SVG}polyline")).get("points").replace(",", " ").split()
    places = [(float(x), float(y)) for x, y in zip(curve[::2], curve[1::2], strict=True)]
    (left, right), base = extent(name), float(name.get("y"))
    between = [
        y1 + (y2 - y1) * (x - x1) / (x2 - x1)
        for (x1, y1), (x2, y2) in pairwise(places)
        for x in (x1 + (x2 - x1) * part / 40 for part in range(41))
        if left <= x <= right
    ]

    assert not [y for y in between if base - 1 <= y <= base + 6]


def test_the_season_tells_its_counts_in_words(season):
    described = season_figure(season).description

    assert "Monday, May 11, 2026: 8.2" in described
    assert "Wednesday, May 20, 2026: Mitestop 2 SC, group 10B" in described


def test_a_season_for_a_phone_keeps_within_its_width_and_names_its_products_whole(season):
    figure = season_figure(season, width=246)
    texts = {text.text: text for text in parsed(figure).iter(f"{SVG}text") if text.text}

    assert {"Quietleaf Oil", "Mitestop 2 SC"} <= set(texts)
    assert parsed(figure).get("viewBox").startswith("0 0 246 ")
    extents = [extent(text) for text in texts.values()]
    assert min(left for left, _right in extents) >= 0
    assert max(right for _left, right in extents) < 246


def extent(text):
    """Return where a line of lettering begins and ends, by the widths of its own face."""
    face = SANS_BOLD if text.get("font-weight") else SANS
    wide = stringWidth(text.text, face, float(text.get("font-size").removesuffix("px")))
    part = {"start": 0, "middle": 0.5, "end": 1}[text.get("text-anchor", "start")]
    left = float(text.get("x")) - part * wide
    return left, left + wide


def test_a_drawing_by_itself_is_as_large_as_its_window(season):
    root = ElementTree.fromstring(as_svg(season_figure(season), fills=True))  # noqa: S314

    assert (root.get("width"), root.get("height")) == ("100%", "100%")


@pytest.mark.parametrize("value", ["0", "0.04", "1", "9.99", "10", "99", "12345"])
def test_a_count_of_any_size_has_a_scale(season, value):
    counts = (Count(date(2026, 5, 4), Decimal(value)),)
    figure = season_figure(replace(season, counts=counts, threshold=None))

    assert 2 <= sum(bool(re.fullmatch(r"[\d,.]+", word)) for word in lettered(figure)) <= 8


def test_a_season_of_one_day_without_counts_can_be_drawn(season):
    bare = replace(season, last=season.first, counts=(), treatments=(), spans=(), threshold=None)

    assert parsed(season_figure(bare)) is not None


def test_the_day_names_its_stops_and_hours(run):
    words = lettered(day_figure(run))

    assert {"Yard", "214 Fairview Lane", "8:30 pm – 9:00 pm"} <= set(words)
    assert "Leaves Yard at 7:45 pm" in day_figure(run).description


def test_the_legend_names_only_the_windows_that_are_there(run):
    words = lettered(day_figure(run))

    assert {"driving", "waiting", "working", "access", "dusk"} <= set(words)
    assert "weather" not in words


def test_a_crew_that_is_back_at_once_can_be_drawn(run):
    still = replace(run, stops=(), returns_at=run.leaves_at)

    assert parsed(day_figure(still)) is not None


# By arithmetic: what is twice as long is drawn twice as wide.
def test_a_bed_is_drawn_to_scale():
    bed = PlantingShape("Rose bed", "bed", Decimal(24), Decimal(8))
    rectangle = parsed(planting_figure(bed)).find(f".//{SVG}g//{SVG}rect")

    assert float(rectangle.get("width")) / float(rectangle.get("height")) == pytest.approx(3)


def test_a_hedge_shows_its_measures_and_faces(hedge):
    words = lettered(planting_figure(hedge))

    assert {"60 ft", "6 ft", "4 ft", "front, top"} <= set(words)


@pytest.mark.parametrize("kind", ["hedge", "bed", "tree", "lawn", "container", "other"])
def test_every_kind_of_planting_can_be_drawn_without_a_size(kind):
    nothing = PlantingShape("Bed", kind, Decimal(0), Decimal(0))

    assert parsed(planting_figure(nothing)) is not None


def test_a_plan_of_many_plantings_numbers_them(hedge):
    words = lettered(plan_figure((hedge,) * 12))

    assert {"1", "12"} <= set(words)
    assert "Burning bush hedge" not in words


def test_a_plan_without_plantings_is_empty():
    assert parsed(plan_figure(())) is not None
