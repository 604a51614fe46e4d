"""An estimate on the client's own page: read, and accepted or declined by a form, once."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from services import estimating
from services.dispatching import today_at_yard
from services.forms.estimates import AnswerForm
from services.models import Estimate, EstimateAnswer
from services.views.estimates import paper_of
from services.views.letter import for_client, link_opened


@require_safe
@for_client
def client_estimate(request, client, estimate_id):
    """Show a client what is proposed; looking changes nothing."""
    return shown(request, client, estimate_for(client, estimate_id))


@require_safe
@for_client
def client_estimate_paper(request, client, estimate_id):
    """Hand a client the paper of an estimate."""
    return paper_of(estimate_for(client, estimate_id))


@require_POST
@for_client
def answer_estimate(request, client, estimate_id):
    """Keep a client's answer; the first one stands."""
    found, form = estimate_for(client, estimate_id), AnswerForm(request.POST)
    if not form.is_valid():
        return shown(request, client, found, form, status=422)
    typed = form.cleaned_data
    accepts = typed["answer"] == EstimateAnswer.Answer.ACCEPTED
    try:
        estimating.answer(
            found,
            accepts=accepts,
            link=link_opened(request),
            paper_sha256=typed["paper"],
            words=typed["words"],
            today=today_at_yard(),
            at=timezone.now(),
        )
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
        return shown(request, client, estimate_for(client, estimate_id), status=409)
    if accepts:
        messages.success(request, _("You accepted it. We tell you before each visit."))
    else:
        messages.success(request, _("You declined it. Nothing is done."))
    return redirect("services:client_estimate", estimate_id)


def estimate_for(client, estimate_id):
    """Return an estimate of the client whose link was opened."""
    found = Estimate.objects.of_client(client).select_related("property", "rotation", "answer")
    return get_object_or_404(found.prefetch_related("weeks", "plantings"), pk=estimate_id)


def shown(request, client, found, form=None, status=200):
    """Show an estimate as the client reads it."""
    state = found.state_on(today_at_yard())
    context = {
        "client": client,
        "estimate": found,
        "state": state,
        "is_open": state == Estimate.State.OPEN,
        "answer": getattr(found, "answer", None),
        "form": form or AnswerForm(),
    }
    return render(request, "services/client_estimate.html", context, status=status)
