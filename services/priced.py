"""By which price a visit is charged, in words."""

from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _

from services.figures import VisitFigures
from services.models import PriceRule


def priced_in_words(each: VisitFigures) -> str:
    """Return by which price a visit is charged, in the language that is spoken now."""
    if each.charge.is_agreed:
        return _("as agreed in the estimate")
    if each.charge.rule is None:
        return ""
    rule = each.charge.rule
    by, amount = PriceRule.By(rule.by).label, rule.amount
    if rule.by == PriceRule.By.PRODUCT:
        told = _("%(by)s of %(percent)s%%") % {"by": capfirst(by), "percent": f"{amount:f}"}
    else:
        told = _("%(by)s: %(amount)s USD") % {"by": capfirst(by), "amount": f"{amount:.2f}"}
    return f"{told} ({reach_in_words(each)})"


def reach_in_words(each: VisitFigures) -> str:
    """Return for whom the price holds that counted."""
    rule, course = each.charge.rule, each.visit.course
    if rule is None:
        return ""
    reach = []
    if rule.property is not None:
        reach.append(_("for %(place)s") % {"place": course.property.name})
    elif rule.client is not None:
        reach.append(_("for %(place)s") % {"place": course.property.client.name})
    if rule.rotation is not None:
        reach.append(_("for %(place)s") % {"place": course.rotation.name})
    day = date_format(rule.from_day, "SHORT_DATE_FORMAT").replace("\xa0", " ")
    since = _("from %(day)s") % {"day": day}
    return ", ".join([*(reach or [_("for all")]), since])
