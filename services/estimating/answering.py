"""A client's answer to an estimate: once, logged; what was accepted becomes the course."""

from datetime import date, datetime

from django.conf import settings
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import translation
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from services.courses import put_on
from services.journaling import journal_answer
from services.models import ClientLink, Course, Estimate, EstimateAnswer
from treatments.checking import check_course
from treatments.rules.findings import Finding, Severity


@transaction.atomic
def answer(
    estimate: Estimate,
    *,
    accepts: bool,
    link: ClientLink,
    paper_sha256: str,
    today: date,
    at: datetime,
    words: str = "",
) -> EstimateAnswer:
    """Keep a client's answer; what was accepted is put on at once where the rules say nothing.

    The first answer stands: the same again changes nothing, another is refused.
    paper_sha256: of the paper that the client was shown
    Raise ValidationError for one that is withdrawn, expired, answered otherwise, or not this paper.
    """
    estimate = Estimate.objects.select_for_update(of=("self",)).get(pk=estimate.pk)
    wanted = EstimateAnswer.Answer.ACCEPTED if accepts else EstimateAnswer.Answer.DECLINED
    known = EstimateAnswer.objects.filter(estimate=estimate).first()
    if known is not None and known.answer == wanted:
        return known
    _refuse_what_is_over(estimate, paper_sha256, today)
    kept = EstimateAnswer(
        estimate=estimate,
        answer=wanted,
        at=at,
        link=link,
        paper_sha256=paper_sha256,
        words=words,
    )
    kept.full_clean()
    kept.save()
    journal_answer(kept)
    if accepts:
        # What stands against it is kept for the office, whatever the client speaks.
        with translation.override(settings.LANGUAGE_CODE):
            _begin_at_once(estimate, today, at)
    return kept


def _refuse_what_is_over(estimate: Estimate, paper_sha256: str, today: date) -> None:
    state = estimate.state_on(today)
    if state != Estimate.State.OPEN:
        raise ValidationError(
            _("This estimate is %(state)s; nothing was changed. Call us if you see it otherwise."),
            params={"state": state.label},
            code="over",
        )
    if paper_sha256 != estimate.sha256:
        raise ValidationError(_("Read the estimate again before you answer."), code="other_paper")


def may_begin_at_once(findings: list[Finding]) -> bool:
    """Say whether a course may be put on without a person's look: nothing warns or refuses."""
    return all(finding.severity is Severity.NOTE for finding in findings)


def _begin_at_once(estimate: Estimate, today: date, at: datetime) -> None:
    plantings = list(estimate.plantings.select_related("property__client"))
    if estimate.first_day < today:
        _stop(estimate, [gettext("The first day that was proposed has passed.")])
        return
    findings = check_course(estimate.rotation, plantings, estimate.first_day, today)
    if not may_begin_at_once(findings):
        against = [each for each in findings if each.severity is not Severity.NOTE]
        _stop(estimate, [each.say(gettext) for each in against])
        return
    try:
        with transaction.atomic():
            _put_on(estimate, estimate.first_day, estimate.written_by, today, at)
    except ValidationError as refused:
        _stop(estimate, [str(message) for message in refused.messages])


def _stop(estimate: Estimate, sentences: list[str]) -> None:
    Estimate.objects.filter(pk=estimate.pk).update(stopped_by=sentences)


@transaction.atomic
def begin(
    estimate: Estimate, *, first_day: date, by: User | None, today: date, at: datetime
) -> Course:
    """Put an accepted estimate on its plantings, by the office; twice does it once.

    Raise ValidationError where the client has not accepted, or a rule refuses the course.
    """
    estimate = Estimate.objects.select_for_update(of=("self",)).get(pk=estimate.pk)
    if estimate.course is not None:
        return estimate.course
    if estimate.state_on(today) != Estimate.State.ACCEPTED:
        raise ValidationError(_("The client has not accepted this estimate."), code="not_accepted")
    return _put_on(estimate, first_day, by, today, at)


def _put_on(
    estimate: Estimate, first_day: date, by: User | None, today: date, at: datetime
) -> Course:
    (course,) = put_on(
        rotation=estimate.rotation,
        plantings=list(estimate.plantings.select_related("property__client")),
        first_day=first_day,
        by=by,
        today=today,
        at=at,
    )
    Estimate.objects.filter(pk=estimate.pk).update(course=course, stopped_by=[])
    return course
