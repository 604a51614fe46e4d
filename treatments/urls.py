"""The addresses of the pages of products, store, rotations and records."""

from django.urls import path, register_converter
from django.urls.converters import StringConverter

from treatments.calibrating import WORKSHEETS
from treatments.views import (
    calibrating,
    composing,
    corrections,
    disposing,
    handing,
    inspecting,
    leftovers,
    mixing,
    papers,
    people,
    products,
    proposing,
    protection,
    records,
    records_due,
    rotations,
    rulesets,
    scouting,
    signing_off,
    spills,
    store,
    water_tests,
    weather,
)


class GlossaryKind(StringConverter):
    """One of the short lists of names: pests or active ingredients."""

    regex = "pests|ingredients"


class WorksheetName:
    """A worksheet of calibration by the name it has in an address."""

    methods = {sheet.name: sheet.method for sheet in WORKSHEETS.values()}
    regex = "|".join(methods)

    def to_python(self, value):
        return self.methods[value]

    def to_url(self, value):
        return WORKSHEETS[value].name


register_converter(GlossaryKind, "glossary")
register_converter(WorksheetName, "worksheet")

app_name = "treatments"

urlpatterns = [
    path("products/", products.products, name="products"),
    path("products/new/", products.edit_product, name="new_product"),
    path("products/<int:product_id>/", products.product, name="product"),
    path("products/<int:product_id>/edit/", products.edit_product, name="edit_product"),
    path("<glossary:kind>/", products.glossary, name="glossary"),
    path("<glossary:kind>/new/", products.edit_glossary, name="new_glossary"),
    path("<glossary:kind>/<int:thing_id>/", products.edit_glossary, name="edit_glossary"),
    path("applicators/new/", people.edit_applicator, name="new_applicator"),
    path("applicators/<int:applicator_id>/", people.applicator, name="applicator"),
    path("applicators/<int:applicator_id>/edit/", people.edit_applicator, name="edit_applicator"),
    path(
        "applicators/<int:applicator_id>/certificates/new/",
        people.edit_certificate,
        name="new_certificate",
    ),
    path(
        "applicators/<int:applicator_id>/certificates/<int:certificate_id>/",
        people.edit_certificate,
        name="edit_certificate",
    ),
    path(
        "applicators/<int:applicator_id>/protection/new/",
        protection.edit_protection,
        name="new_protection",
    ),
    path(
        "applicators/<int:applicator_id>/protection/<int:issued_id>/",
        protection.edit_protection,
        name="edit_protection",
    ),
    path(
        "applicators/<int:applicator_id>/fit-tests/new/",
        protection.edit_fit_test,
        name="new_fit_test",
    ),
    path(
        "applicators/<int:applicator_id>/fit-tests/<int:test_id>/",
        protection.edit_fit_test,
        name="edit_fit_test",
    ),
    path(
        "applicators/<int:applicator_id>/papers/new/",
        papers.new_person_paper,
        name="new_person_paper",
    ),
    path(
        "products/<int:product_id>/papers/new/",
        papers.new_product_paper,
        name="new_product_paper",
    ),
    path("papers/<int:paper_id>/", papers.paper, name="paper"),
    path("papers/<int:paper_id>/remove/", papers.remove_paper, name="remove_paper"),
    path("sprayers/", people.sprayers, name="sprayers"),
    path("sprayers/new/", people.edit_sprayer, name="new_sprayer"),
    path("sprayers/<int:sprayer_id>/edit/", people.edit_sprayer, name="edit_sprayer"),
    path(
        "sprayers/<int:sprayer_id>/calibrations/new/",
        calibrating.worksheets,
        name="worksheets",
    ),
    path(
        "sprayers/<int:sprayer_id>/calibrations/new/<worksheet:method>/",
        calibrating.new_calibration,
        name="new_calibration",
    ),
    path("mix/", mixing.mix, name="mix"),
    path("mix/hose-end/", mixing.hose_end, name="hose_end"),
    path("leftovers/", leftovers.leftovers, name="leftovers"),
    path("leftovers/new/", leftovers.new_leftover, name="new_leftover"),
    path(
        "leftovers/concentrate/",
        leftovers.return_concentrate,
        name="return_concentrate",
    ),
    path("spills/", spills.spills, name="spills"),
    path("spills/what-to-do/", spills.what_to_do, name="spill_steps"),
    path("spills/new/", spills.new_spill, name="new_spill"),
    path("business/", people.business, name="business"),
    path("plantings/<int:planting_id>/counts/", scouting.counts, name="counts"),
    path("plantings/<int:planting_id>/counts/new/", scouting.new_count, name="new_count"),
    path("weather-stations/", weather.stations, name="stations"),
    path("weather-stations/new/", weather.edit_station, name="new_station"),
    path("weather-stations/<int:station_id>/", weather.station, name="station"),
    path("weather-stations/<int:station_id>/edit/", weather.edit_station, name="edit_station"),
    path("weather-stations/<int:station_id>/table/", weather.table, name="weather_table"),
    path("plantings/<int:planting_id>/water/", water_tests.water_tests, name="water_tests"),
    path("resistance/", scouting.resistance, name="resistance"),
    path("store/", store.store, name="store"),
    path("store/disposals/", store.disposals, name="disposals"),
    path("store/receive/", store.receive, name="receive"),
    path("store/lots/<int:lot_id>/", store.lot, name="lot"),
    path("store/lots/<int:lot_id>/count/", store.move, {"kind": "count"}, name="count_lot"),
    path(
        "store/lots/<int:lot_id>/dispose/",
        store.move,
        {"kind": "dispose"},
        name="dispose_of_lot",
    ),
    path("store/lots/<int:lot_id>/move/", store.move, {"kind": "move"}, name="move_lot"),
    path(
        "store/lots/<int:lot_id>/return/",
        store.move,
        {"kind": "return"},
        name="return_to_store",
    ),
    path("rotations/", rotations.rotations, name="rotations"),
    path("rotations/new/", composing.compose, name="compose"),
    path("rotations/propose/", proposing.propose_rotations, name="propose"),
    path("rotations/<int:rotation_id>/", rotations.rotation, name="rotation"),
    path("rotations/<int:rotation_id>/approve/", rotations.approve, name="approve_rotation"),
    path("rotations/<int:rotation_id>/edit/", composing.compose, name="edit_rotation"),
    path(
        "rotations/<int:rotation_id>/copy/",
        composing.compose,
        {"is_copy": True},
        name="copy_rotation",
    ),
    path("inspectors/", inspecting.inspectors, name="inspectors"),
    path("inspectors/new/", inspecting.new_grant, name="new_grant"),
    path("inspectors/<int:grant_id>/end/", inspecting.end, name="end_grant"),
    path("rules/", rulesets.rulesets, name="rulesets"),
    path("rules/<str:code>/", rulesets.ruleset, name="ruleset"),
    path("rules/<str:code>/confirm/", rulesets.confirm_rules, name="confirm_rules"),
    path("rules/<str:code>/choose/", rulesets.choose, name="choose_rules"),
    path("rules/<str:code>/own/", rulesets.enter_own, name="enter_ruleset"),
    path("records/", records.records, name="records"),
    path("records/due/", records_due.records_due, name="records_due"),
    path("records/copies/", handing.note_copies, name="note_copies"),
    path("records/sign/", signing_off.sign, name="sign_records"),
    path("records/past/", disposing.records_past, name="records_past"),
    path("corrections/", corrections.corrections, name="corrections"),
    path("corrections/<int:correction_id>/agree/", corrections.agree_to, name="agree"),
    path("corrections/<int:correction_id>/decline/", corrections.decline_it, name="decline"),
    path("records/<int:number>/", records.record, name="record"),
    path("records/<int:number>/amend/", records.amend, name="amend"),
    path("records/<int:number>/void/", records.void, name="void"),
]
