"""Papers kept as files: handed in beside a product or a person, handed out as downloads."""

import logging
from io import BytesIO

from django.contrib import messages
from django.http import FileResponse, Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import CERTIFIED, CREW, OFFICE, STAFF, Role, allow, has_role
from clients.views import entry
from treatments import papers
from treatments.forms.papers import PaperForm
from treatments.models import Applicator, KeptPaper, Product

logger = logging.getLogger(__name__)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(CERTIFIED)
def new_product_paper(request, product_id):
    """Keep the label or the safety data sheet of a product."""
    product = get_object_or_404(Product, pk=product_id)
    return _new(request, KeptPaper(product=product), KeptPaper.OF_PRODUCT)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def new_person_paper(request, applicator_id):
    """Keep the proof of a certificate, a training or a fit test."""
    applicator = get_object_or_404(Applicator, pk=applicator_id)
    return _new(request, KeptPaper(applicator=applicator), KeptPaper.OF_PERSON)


@require_safe
@allow(CREW)
@cache_control(private=True, no_store=True)
def paper(request, paper_id):
    """Hand out a paper: those of a product to every crew, those of a person to the office."""
    kept = get_object_or_404(KeptPaper, pk=paper_id)
    if kept.applicator_id and not has_role(request.user, STAFF):
        raise Http404
    try:
        content = papers.content_of(kept)
    except papers.PaperLost as lost:
        logger.error("a paper is lost", extra={"paper": kept.pk})
        raise Http404 from lost
    file = BytesIO(content)
    return FileResponse(file, as_attachment=True, filename=kept.name, content_type=kept.media_type)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(frozenset({Role.OWNER}))
def remove_paper(request, paper_id):
    """Take a paper out of the book after a look at it."""
    kept = get_object_or_404(KeptPaper.objects.select_related("product", "applicator"), pk=paper_id)
    if request.method != "POST":
        return render(request, "treatments/remove_paper.html", {"paper": kept})
    papers.remove_paper(kept)
    messages.success(request, _("The paper is gone."))
    return redirect(*_home_of(kept))


def _new(request, paper, kinds):
    form = PaperForm(request.POST or None, request.FILES or None, instance=paper, kinds=kinds)
    if form.is_valid() and form.keep(request.user):
        messages.success(request, _("The paper is kept."))
        return redirect(*_home_of(paper))
    return entry(request, form, "treatments/new_paper.html", paper=paper)


def _home_of(paper):
    if paper.product_id:
        return "treatments:product", paper.product_id
    return "treatments:applicator", paper.applicator_id
