"""Papers kept as files: what is taken and what is refused, who reads them, what is left of them."""

import hashlib
from io import BytesIO

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from PIL import Image

from tests.book import paper_of
from treatments.models import KeptPaper
from treatments.papers import path_of


def picture():
    written = BytesIO()
    Image.new("RGB", (8, 8)).save(written, "PNG")
    return written.getvalue()


LABEL = paper_of("An invented label")


@pytest.fixture(autouse=True)
def files_apart(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def hand_in(client, product, content, name="label.pdf", kind="label"):
    file = SimpleUploadedFile(name, content)
    url = reverse("treatments:new_product_paper", args=[product.pk])
    return client.post(url, {"file": file, "kind": kind, "dated": "2026-02-01", "version": "3"})


@pytest.fixture
def kept(client, owner, soap):
    client.force_login(owner)
    hand_in(client, soap, LABEL)
    return KeptPaper.objects.get()


@pytest.mark.parametrize(
    ("content", "name", "media_type"),
    [
        pytest.param(LABEL, "label.pdf", "application/pdf", id="a PDF"),
        pytest.param(picture(), "label.png", "image/png", id="a picture"),
        pytest.param(picture(), "../../label.pdf", "image/png", id="a name that lies"),
    ],
)
def test_a_paper_is_kept_under_its_hash(client, owner, soap, content, name, media_type):
    client.force_login(owner)

    assert hand_in(client, soap, content, name).status_code == 302

    paper = KeptPaper.objects.get()
    assert (paper.media_type, paper.size) == (media_type, len(content))
    assert paper.sha256 == hashlib.sha256(content).hexdigest()
    assert "/" not in paper.name
    assert path_of(paper).read_bytes() == content
    assert not path_of(paper).stat().st_mode & 0o222


@pytest.mark.parametrize(
    "content",
    [
        pytest.param(b"<html><script>alert(1)</script>", id="a page"),
        pytest.param(b"MZ\x90\x00", id="a program"),
        pytest.param(picture()[:20], id="half a picture"),
        pytest.param(b"GIF89a" + b"\0" * 40, id="another kind of picture"),
    ],
)
def test_what_is_no_paper_is_refused(client, owner, soap, content):
    client.force_login(owner)

    answer = hand_in(client, soap, content)

    assert answer.status_code == 422
    assert "file" in answer.context["form"].errors
    assert not KeptPaper.objects.exists()


def test_what_is_too_large_is_refused(client, owner, soap, monkeypatch):
    monkeypatch.setattr("treatments.papers.LARGEST", 100)
    client.force_login(owner)

    assert hand_in(client, soap, LABEL).status_code == 422
    assert not KeptPaper.objects.exists()


def test_the_same_paper_twice_is_one(client, kept, soap):
    hand_in(client, soap, LABEL, name="again.pdf")

    assert KeptPaper.objects.count() == 1


def test_it_comes_as_a_download_that_runs_nowhere(client, kept):
    answer = client.get(reverse("treatments:paper", args=[kept.pk]))

    assert b"".join(answer.streaming_content) == LABEL
    assert answer["Content-Disposition"].startswith("attachment")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "no-store" in answer["Cache-Control"]


def test_the_product_shows_it_with_version_and_day(client, kept, soap):
    page = client.get(reverse("treatments:product", args=[soap.pk])).content.decode()

    assert reverse("treatments:paper", args=[kept.pk]) in page
    assert "label.pdf" in page


def test_a_persons_paper_is_not_for_the_crew(client, owner, technician, applicator):
    client.force_login(owner)
    url = reverse("treatments:new_person_paper", args=[applicator.pk])
    client.post(url, {"file": SimpleUploadedFile("c.pdf", LABEL), "kind": "certificate"})
    paper = KeptPaper.objects.get()

    client.force_login(technician)
    assert client.get(reverse("treatments:paper", args=[paper.pk])).status_code == 404
    client.force_login(owner)
    assert client.get(reverse("treatments:paper", args=[paper.pk])).status_code == 200


def test_a_removed_paper_takes_its_file_along(client, kept, django_capture_on_commit_callbacks):
    path = path_of(kept)
    with django_capture_on_commit_callbacks(execute=True):
        client.post(reverse("treatments:remove_paper", args=[kept.pk]))

    assert not KeptPaper.objects.exists()
    assert not path.exists()


@pytest.mark.parametrize("content", [None, b"%PDF-another"], ids=["gone", "changed"])
def test_a_file_that_is_not_the_one_that_was_kept_is_not_handed_out(client, kept, content):
    path = path_of(kept)
    path.unlink()
    if content:
        path.write_bytes(content)

    assert client.get(reverse("treatments:paper", args=[kept.pk])).status_code == 404
