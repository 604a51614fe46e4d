"""The addresses of the pages of services."""

from django.urls import path, register_converter

from services.days import IsoDay, IsoWeek
from services.views import (
    air,
    beginning,
    bringing,
    client_estimates,
    copies,
    courses,
    crews,
    day,
    days_asked,
    earnings,
    enrolling,
    estimates,
    feeds,
    field,
    holds,
    home,
    hours,
    letter,
    links,
    notices,
    outgoing,
    package,
    paper,
    people,
    phones,
    physician,
    plannings,
    prices,
    programs,
    properties,
    removing,
    returns,
    review,
    searching,
    second_factor,
    sign_ins,
    signs,
    spot,
    standing_signs,
    statements,
    steps,
    stopping,
    weather,
    week,
    whole_book,
)

register_converter(IsoDay, "isoday")
register_converter(IsoWeek, "isoweek")

app_name = "services"

weeks = [
    path("week/", week.week, name="week"),
    path("week/<isoweek:monday>/", week.week, name="week"),
    path("week/<isoweek:monday>/dispatch/", week.dispatch_week, name="dispatch_week"),
    path("week/<isoweek:monday>/notices/", week.send_notices, name="send_notices"),
]
plans_in_the_making = [
    path("replan/", plannings.replan, name="replan"),
    path("plannings/<int:planning_id>/", plannings.planning, name="planning"),
    path("plannings/<int:planning_id>/stop/", plannings.stop_planning, name="stop_planning"),
    path("plannings/<int:planning_id>/choose/", plannings.choose_offer, name="choose_offer"),
]
data_brought = [
    path("bring/", bringing.bring, name="bring"),
    path("bring/blanks/<str:kind>.<str:ending>", bringing.blank, name="blank"),
    path("bring/<int:bringing_id>/", bringing.bringing_page, name="bringing"),
    path("bring/<int:bringing_id>/confirm/", bringing.confirm_bringing, name="confirm_bringing"),
    path("bring/<int:bringing_id>/undo/", bringing.undo_bringing, name="undo_bringing"),
    path("bring/<int:bringing_id>/give-up/", bringing.give_up_bringing, name="give_up_bringing"),
]
data_taken_along = [
    path("exports/", whole_book.exports, name="exports"),
    path("exports/<int:export_id>/book.zip", whole_book.export_file, name="export_file"),
    path("exports/<int:export_id>/remove/", whole_book.remove_export, name="remove_export"),
]
days = [
    path("day/", day.day, name="day"),
    path("day/<isoday:day>/", day.day, name="day"),
    path("day/<isoday:day>/map.json", day.day_map, name="day_map"),
    path("dispatches/<int:dispatch_id>/day.svg", day.day_chart, name="day_chart"),
    path("dispatches/<int:dispatch_id>/recall/", day.recall_dispatch, name="recall_dispatch"),
]
weather_of_yards = [
    path("weather/", weather.weather, name="weather"),
    path("weather/enter/", weather.enter_weather, name="enter_weather"),
]
places = [
    path("properties/<int:property_id>/", properties.property_page, name="property"),
    path("properties/<int:property_id>/physician/", physician.physician, name="physician"),
    path("properties/<int:property_id>/plan.svg", properties.property_plan, name="property_plan"),
    path(
        "plantings/<int:planting_id>/seasons/<int:pest_id>.svg",
        properties.season_chart,
        name="season_chart",
    ),
]
steps_on_plantings = [
    path("air/", air.air, name="air"),
    path("plantings/<int:planting_id>/steps/<int:pest_id>/", steps.take_step, name="take_step"),
]
courses_of_rotations = [
    path("courses/new/", courses.new_course, name="new_course"),
    path("courses/<int:course_id>/", courses.course, name="course"),
    path("courses/<int:course_id>/end/", courses.end_course, name="end_course"),
]
notices_of_visits = [
    path("notices/", notices.notices_due, name="notices_due"),
    path("visits/<int:visit_id>/notices/", notices.visit_notices, name="visit_notices"),
    path(
        "visits/<int:visit_id>/notices/send/",
        notices.send_visit_notices,
        name="send_visit_notices",
    ),
    path("visits/<int:visit_id>/notices.pdf", notices.notice_letters, name="notice_letters"),
]
visits = [
    path("visits/<int:visit_id>/move/", courses.move_visit, name="move_visit"),
    path("visits/<int:visit_id>/hold/", holds.hold_visit, name="hold_visit"),
    path("holds/<int:hold_id>/lift/", holds.lift_hold, name="lift_hold"),
]
on_the_spot = [
    path("visits/<int:visit_id>/", spot.visit, name="visit"),
    path("visits/<int:visit_id>/check/", spot.check_visit, name="check_visit"),
    path("visits/<int:visit_id>/start/", spot.start_visit, name="start_visit"),
    path("visits/<int:visit_id>/complete/", spot.complete_visit, name="complete_visit"),
    path("visits/<int:visit_id>/hold-here/", spot.hold_here, name="hold_here"),
    path("visits/<int:visit_id>/lift-here/", spot.lift_here, name="lift_here"),
]
papers = [
    path("dispatches/<int:dispatch_id>/sheets.pdf", paper.visit_sheets, name="visit_sheets"),
    path("day/<isoday:day>/sheets.pdf", paper.day_sheets, name="day_sheets"),
    path("week/<isoweek:monday>/sheets.pdf", paper.week_sheets, name="week_sheets"),
    path("records/<int:number>/record.pdf", paper.record_pdf, name="record_pdf"),
    path("signs/", standing_signs.signs, name="signs"),
    path("signs/<int:number>/down/", standing_signs.take_down, name="take_down_sign"),
    path("records/<int:number>/mail-copy/", copies.mail_copy, name="mail_copy"),
    path(
        "records/returns/<str:jurisdiction>/<isoday:day>/filed/",
        returns.note_filed,
        name="note_filed",
    ),
    path("records/returns/", returns.returns, name="returns"),
    path("records/returns/<str:jurisdiction>/<isoday:day>.csv", returns.csv, name="return_csv"),
    path("records/returns/<str:jurisdiction>/<isoday:day>.pdf", returns.paper, name="return_pdf"),
    path("records/packages/<int:package_id>/", package.asked_package, name="asked_package"),
    path(
        "records/packages/<int:package_id>/records.zip", package.take_package, name="take_package"
    ),
    path("records/records.zip", package.records_package, name="records_package"),
    path("records/records.pdf", paper.records_pdf, name="records_pdf"),
    path("visits/<int:visit_id>/summary.pdf", paper.summary_pdf, name="summary_pdf"),
    path("visits/<int:visit_id>/sign.pdf", signs.posting_sign, name="posting_sign"),
    path("properties/<int:property_id>/sign.pdf", signs.property_sign, name="property_sign"),
    path("signs/<str:jurisdiction>/own/", signs.own_sign, name="own_sign"),
    path("signs/<str:jurisdiction>/confirm/", signs.confirm, name="confirm_sign"),
]
clients_pages = [
    path("c/<str:token>", letter.open_link, name="open_link"),
    path("c/stop/<str:token>/", stopping.stop, name="stop_letters"),
    path("client/", letter.client_page, name="client_page"),
    path("client/wishes/", letter.client_wishes, name="client_wishes"),
    path("client/visits/<int:visit_id>/day/", letter.ask_day, name="ask_day"),
    path("client/visits/<int:visit_id>.pdf", letter.client_summary, name="client_summary"),
    path(
        "client/statements/<int:statement_number>.pdf",
        letter.client_statement,
        name="client_statement",
    ),
    path(
        "client/seasons/<int:planting_id>/<int:pest_id>.svg",
        letter.client_season,
        name="client_season",
    ),
    path("days-asked/", days_asked.days_asked, name="days_asked"),
    path("days-asked/<int:asked_id>/keep/", days_asked.keep_day, name="keep_day"),
    path("clients/<int:client_id>/links/", links.links, name="links"),
    path("clients/<int:client_id>/remove/", removing.remove_client, name="remove_client"),
    path("clients/<int:client_id>/links/make/", links.make_link, name="make_link"),
    path("links/<int:link_id>/revoke/", links.revoke_link, name="revoke_link"),
]
estimates_of_courses = [
    path("estimates/", estimates.estimates, name="estimates"),
    path("estimates/new/", estimates.new_estimate, name="new_estimate"),
    path("estimates/<int:estimate_id>/", estimates.estimate, name="estimate"),
    path("estimates/<int:estimate_id>.pdf", estimates.estimate_paper, name="estimate_pdf"),
    path("estimates/<int:estimate_id>/send/", estimates.send_estimate, name="send_estimate"),
    path(
        "estimates/<int:estimate_id>/withdraw/",
        estimates.withdraw_estimate,
        name="withdraw_estimate",
    ),
    path("estimates/<int:estimate_id>/begin/", estimates.begin_estimate, name="begin_estimate"),
    path(
        "client/estimates/<int:estimate_id>/",
        client_estimates.client_estimate,
        name="client_estimate",
    ),
    path(
        "client/estimates/<int:estimate_id>.pdf",
        client_estimates.client_estimate_paper,
        name="client_estimate_pdf",
    ),
    path(
        "client/estimates/<int:estimate_id>/answer/",
        client_estimates.answer_estimate,
        name="answer_estimate",
    ),
]
money = [
    path("money/", earnings.earnings, name="earnings"),
    path("money/prices/", prices.prices, name="prices"),
    path("money/prices/new/", prices.new_price, name="new_price"),
    path("money/prices/<int:price_id>/end/", prices.last_day_of_price, name="end_price"),
    path("money/costs/new/", prices.new_cost, name="new_cost"),
    path("money/taxes/new/", prices.new_tax, name="new_tax"),
    path("money/statements.csv", statements.statements_table, name="statements_table"),
    path("clients/<int:client_id>/account/", statements.account, name="account"),
    path("clients/<int:client_id>/statement/", statements.draft, name="statement_draft"),
    path("clients/<int:client_id>/statement/give/", statements.give_statement, name="give_out"),
    path("clients/<int:client_id>/payments/new/", statements.new_payment, name="new_payment"),
    path(
        "clients/<int:client_id>/charges/correct/",
        statements.new_correction,
        name="new_charge_correction",
    ),
    path("payments/<int:payment_id>/take-back/", statements.take_back, name="take_back_payment"),
    path("statements/<int:statement_number>/", statements.statement, name="statement"),
    path(
        "statements/<int:statement_number>/statement.pdf",
        statements.statement_paper,
        name="statement_pdf",
    ),
    path(
        "statements/<int:statement_number>/statement.csv",
        statements.statement_table,
        name="statement_csv",
    ),
]
people_and_crews = [
    path("people/", people.people, name="people"),
    path("people/hours/", hours.hours, name="hours"),
    path("people/hours/<isoweek:monday>/", hours.hours, name="hours"),
    path("people/hours/<isoweek:monday>.csv", hours.hours_csv, name="hours_csv"),
    path("people/new/", people.new_person, name="new_person"),
    path("people/<int:user_id>/edit/", people.edit_person, name="edit_person"),
    path("people/<int:user_id>/role/", people.change_role, name="change_role"),
    path("people/<int:user_id>/password/", people.set_password, name="set_password"),
    path("people/<int:user_id>/codes-off/", second_factor.take_off, name="take_codes_off"),
    path("people/<int:user_id>/let-go/", people.let_go, name="let_go"),
    path("crews/new/", crews.edit_crew, name="new_crew"),
    path("crews/<int:crew_id>/edit/", crews.edit_crew, name="edit_crew"),
    path("crews/<int:crew_id>/feeds/", feeds.feeds, name="feeds"),
    path("crews/<int:crew_id>/feeds/make/", feeds.make_feed, name="make_feed"),
    path("feeds/<int:feed_id>/revoke/", feeds.revoke_feed, name="revoke_feed"),
    path("feeds/<str:token>/visits.ics", feeds.feed_of_events, name="feed_of_events"),
    path("feeds/<str:token>/tasks.ics", feeds.feed_of_tasks, name="feed_of_tasks"),
    path("trucks/new/", crews.edit_truck, name="new_truck"),
    path("trucks/<int:truck_id>/edit/", crews.edit_truck, name="edit_truck"),
    path("yards/new/", crews.edit_yard, name="new_yard"),
    path("yards/<int:yard_id>/edit/", crews.edit_yard, name="edit_yard"),
]
in_the_field = [
    path("field/", field.field, name="field"),
    path("field/worker.js", field.worker, name="field_worker"),
    path("field/enrol/", enrolling.enrol_phone, name="enrol"),
    path("field/enrol/<str:code>/", enrolling.offer, name="enrol_by_code"),
    path("review/", review.review, name="review"),
    path("review/<uuid:event_id>/", review.report, name="report"),
    path("review/<uuid:event_id>/decide/", review.decide_report, name="decide_report"),
    path("review/<uuid:event_id>/visit/", review.which_visit, name="which_visit"),
    path("review/<uuid:event_id>/complete/", review.complete_draft, name="complete_draft"),
    path("field-photos/<int:photo_id>/of-sign/", standing_signs.mark_photo, name="mark_photo"),
    path("field-photos/<int:photo_id>/", review.photo, name="photo"),
    path("sign-ins/", sign_ins.sign_ins, name="sign_ins"),
    path("sign-ins/end/", sign_ins.end_sign_in, name="end_sign_in"),
    path("sign-ins/codes/", second_factor.codes, name="codes"),
    path("sign-ins/codes/on/", second_factor.turn_on, name="turn_codes_on"),
    path("sign-ins/codes/renew/", second_factor.renew, name="renew_codes"),
    path("sign-ins/codes/off/", second_factor.turn_off, name="turn_codes_off"),
    path("sign-ins/codes/wanted/", second_factor.wanted, name="codes_wanted"),
    path("phones/", phones.phones, name="phones"),
    path("phones/new/", phones.new_phone, name="new_phone"),
    path("phones/<uuid:device_id>/revoke/", phones.revoke_phone, name="revoke_phone"),
]
other_programs = [
    path("api/", programs.api_help, name="api_help"),
    path("programs/", programs.programs, name="programs"),
    path("programs/keys/new/", programs.new_key, name="new_key"),
    path("programs/keys/<int:key_id>/revoke/", programs.revoke_key, name="revoke_key"),
    path("programs/hooks/new/", programs.new_hook, name="new_hook"),
    path("programs/hooks/<int:hook_id>/end/", programs.end_hook, name="end_hook"),
]
outgoing_items = [
    path("outgoing/", outgoing.outgoing, name="outgoing"),
    path("outgoing/<int:outbox_id>/", outgoing.preview, name="outgoing_letter"),
    path("outgoing/<int:outbox_id>/again/", outgoing.try_again, name="try_again"),
]

urlpatterns = [
    path("", home.home, name="home"),
    path("begin/", beginning.begin, name="begin"),
    path("search/", searching.search_page, name="search"),
    *weeks,
    *plans_in_the_making,
    *data_brought,
    *data_taken_along,
    *days,
    *weather_of_yards,
    *places,
    *steps_on_plantings,
    *courses_of_rotations,
    *notices_of_visits,
    *visits,
    *on_the_spot,
    *papers,
    *clients_pages,
    *estimates_of_courses,
    *money,
    *people_and_crews,
    *in_the_field,
    *other_programs,
    *outgoing_items,
]
