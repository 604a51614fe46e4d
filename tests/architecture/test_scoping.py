"""What belongs to a client is read through the person who asks.

Pages and the API begin with `for_user`; where they do not, the place stands here with its reason.
"""

import ast
from pathlib import Path

import pytest
from django.apps import apps

ROOT = Path(__file__).resolve().parents[2]
ASKED_FROM_OUTSIDE = ["clients/views*", "clients/api*", "treatments/views*", "treatments/api*"]
ASKED_FROM_OUTSIDE += ["services/views*", "services/api*"]

# What hangs on a client or on a crew's day; the rest belongs to the business.
SOMEBODYS = {
    *("Client", "Property", "Planting", "AccessWindow", "Neighbour"),
    *("ScoutingCount", "ApplicationRecord", "EarlierApplication", "WaterTest", "LeftoverNote"),
    *("Course", "Visit", "Hold", "Dispatch", "Outbox", "ClientLink"),
    *("Statement", "Payment", "ChargeCorrection", "Estimate"),
    "DayAsked",
}

OF_ITS_KIND = "get_queryset of its kind asks for_user"
SEES_ALL = "only those come here who see every client and every crew"
OF_THEIR_PLACES = "picked among the properties that the person may see"
OF_THE_CLIENT = "picked by the client whose link was opened"
WITHOUT_CONTENT = "nothing of a row is told"
EXCEPTIONS = {
    "clients/api:AccessWindowViewSet.AccessWindow": OF_ITS_KIND,
    "clients/api:ClientViewSet.Client": OF_ITS_KIND,
    "clients/api:NeighbourViewSet.Neighbour": OF_ITS_KIND,
    "clients/api:PlantingViewSet.Planting": OF_ITS_KIND,
    "clients/api:PropertyViewSet.Property": OF_ITS_KIND,
    "clients/views:how_many_plantings.Planting": OF_THEIR_PLACES,
    "clients/views:remove_access.AccessWindow": OF_THEIR_PLACES,
    "clients/views:remove_neighbour.Neighbour": OF_THEIR_PLACES,
    "services/api/asking:DayAskedViewSet.DayAsked": SEES_ALL,
    "services/api/courses:CourseViewSet.Course": SEES_ALL,
    "services/api/dispatches:DispatchViewSet.Dispatch": "get_queryset picks the own crew's",
    "services/api/dispatches:HandOutSerializer.validate.Visit": SEES_ALL,
    "services/api/dispatches:handed_out.Visit": SEES_ALL,
    "services/api/estimates:EstimateViewSet.Estimate": OF_ITS_KIND,
    "services/api/clients:CopyMailViewSet.ApplicationRecord": OF_ITS_KIND,
    "services/api/notices:NoticeViewSet.Visit": OF_ITS_KIND,
    "services/api/opened:ClientLinkViewSet.ClientLink": SEES_ALL,
    "services/api/outbox:OutboxViewSet.Outbox": SEES_ALL,
    "services/api/signs:SignViewSet.ApplicationRecord": OF_ITS_KIND,
    "services/api/statements:ChargeCorrectionViewSet.ChargeCorrection": OF_ITS_KIND,
    "services/api/statements:PaymentViewSet.Payment": OF_ITS_KIND,
    "services/api/statements:StatementViewSet.Statement": OF_ITS_KIND,
    "services/api/statements:PeriodSerializer.Client": WITHOUT_CONTENT,
    "services/api/visits:VisitViewSet.Visit": OF_ITS_KIND,
    "services/views/courses:_courses.Course": SEES_ALL,
    "services/views/day:recall_dispatch.Dispatch": SEES_ALL,
    "services/views/days_asked:days_asked.DayAsked": SEES_ALL,
    "services/views/days_asked:keep_day.DayAsked": SEES_ALL,
    "services/views/holds:lift_hold.Hold": SEES_ALL,
    "services/views/letter:ask_day.Visit": OF_THE_CLIENT,
    "services/views/client_estimates:estimate_for.Estimate": OF_THE_CLIENT,
    "services/views/letter:client_season.Planting": OF_THE_CLIENT,
    "services/views/letter:client_summary.Visit": OF_THE_CLIENT,
    "services/views/letter:client_statement.Statement": OF_THE_CLIENT,
    "services/views/letter:link_opened.ClientLink": "picked by the signed cookie",
    "services/views/letter:open_link.ClientLink": "picked by the digest of the token",
    "services/views/links:revoke_link.ClientLink": SEES_ALL,
    "services/views/outgoing:outgoing.Outbox": SEES_ALL,
    "services/views/outgoing:preview.Outbox": SEES_ALL,
    "services/views/outgoing:try_again.Outbox": SEES_ALL,
    "services/views/removing:remove_client.Client": SEES_ALL,
    "services/views/week:week.Course": WITHOUT_CONTENT,
    "treatments/api/calibrating:WaterTestViewSet.WaterTest": OF_ITS_KIND,
    "treatments/api/ladders:LadderViewSet.Planting": OF_ITS_KIND,
    "treatments/api/leftovers:LeftoverViewSet.LeftoverNote": OF_ITS_KIND,
    "treatments/api/records:ApplicationRecordViewSet.ApplicationRecord": OF_ITS_KIND,
    "treatments/api/scouting:ScoutingCountViewSet.ScoutingCount": OF_ITS_KIND,
    "treatments/views/disposing:_disposed.ApplicationRecord": SEES_ALL,
    "treatments/views/rulesets:places.Property": WITHOUT_CONTENT,
}


def modules():
    for pattern in ASKED_FROM_OUTSIDE:
        for found in sorted(ROOT.glob(pattern)):
            yield from sorted(found.rglob("*.py")) if found.is_dir() else [found]


def unscoped_in(node, within=()):
    """Yield each place that reads rows of somebody's without asking for whom."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        within = (*within, node.name)
    model, names, rest = chain(node)
    if model in SOMEBODYS and "objects" in names and "for_user" not in names:
        yield ".".join((*within, model))
    if getattr(getattr(node, "func", None), "id", "") == "get_object_or_404":
        asked = getattr(node.args[0], "id", "")
        if asked in SOMEBODYS:
            yield ".".join((*within, asked))
    for each in rest:
        yield from unscoped_in(each, within)


def chain(node):
    """Return what a chain such as Visit.objects.open() begins with, its names, and its arguments.

    Of anything else only the parts are returned.
    """
    names, rest, inner = [], [], node
    while isinstance(inner, ast.Call | ast.Attribute):
        if isinstance(inner, ast.Call):
            rest += [*inner.args, *(each.value for each in inner.keywords)]
            inner = inner.func
        else:
            names.append(inner.attr)
            inner = inner.value
    if not names or not isinstance(inner, ast.Name):
        return None, [], list(ast.iter_child_nodes(node))
    return inner.id, names, rest


def unscoped():
    return {
        f"{path.relative_to(ROOT).with_suffix('')}:{place}"
        for path in modules()
        for place in unscoped_in(ast.parse(path.read_text(encoding="utf-8")))
    }


def test_what_is_read_without_asking_for_whom_has_a_reason():
    assert sorted(unscoped() - set(EXCEPTIONS)) == []


def test_no_reason_is_left_over():
    assert sorted(set(EXCEPTIONS) - unscoped()) == []


@pytest.mark.parametrize("label", ["clients", "treatments", "services"])
def test_every_model_that_knows_its_readers_is_watched(label):
    knowing = {
        model.__name__
        for model in apps.get_app_config(label).get_models()
        if hasattr(model._default_manager.all(), "for_user")
    }

    assert knowing <= SOMEBODYS
