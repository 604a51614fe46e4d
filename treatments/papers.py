"""Keeps papers as files: looked at before they are kept, the same file once, removed by hand.

A paper is a PDF or a picture.  It lies under its SHA-256, read-only, outside what a web server
serves, and is handed out as a download.
"""

import hashlib
import warnings
from io import BytesIO
from pathlib import Path

from django.conf import settings
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import UploadedFile
from django.db import transaction
from django.utils import timezone
from django.utils.text import get_valid_filename
from django.utils.translation import gettext_lazy as _
from PIL import Image, UnidentifiedImageError

from treatments.models import KeptPaper

LARGEST = 20 * 1024 * 1024
MOST_PIXELS = 60_000_000
PICTURES = {"JPEG": "image/jpeg", "PNG": "image/png"}
PDF_BEGINS = b"%PDF-"
READ_ALONE = 0o400
NO_PICTURE = (
    UnidentifiedImageError,
    OSError,
    SyntaxError,
    Image.DecompressionBombWarning,
    Image.DecompressionBombError,
)


class PaperLost(LookupError):
    """The file of a paper is not there any more, or is not the one that was kept."""


def path_of(paper: KeptPaper) -> Path:
    """Return where the file of a paper lies."""
    return Path(settings.MEDIA_ROOT) / "papers" / paper.sha256[:2] / paper.sha256


@transaction.atomic
def keep_paper(paper: KeptPaper, file: UploadedFile, *, by: User) -> KeptPaper:
    """Keep a file as the paper that was told; the same file of the same kind is kept once.

    Raise ValidationError where it is too large or neither a PDF nor a picture.
    """
    content = _content_of(file)
    paper.media_type = media_type_of(content)
    paper.sha256 = hashlib.sha256(content).hexdigest()
    known = KeptPaper.objects.filter(
        product=paper.product, applicator=paper.applicator, kind=paper.kind, sha256=paper.sha256
    ).first()
    if known:
        return known
    paper.name = get_valid_filename(Path(file.name or "paper").name)[-200:]
    paper.size, paper.kept_at, paper.kept_by = len(content), timezone.now(), by
    paper.full_clean()
    _write(path_of(paper), content)
    paper.save()
    return paper


def remove_paper(paper: KeptPaper) -> None:
    """Take a paper out of the book; its file goes once no other paper is the same."""
    path = path_of(paper)
    paper.delete()
    if not KeptPaper.objects.filter(sha256=paper.sha256).exists():
        transaction.on_commit(lambda: path.unlink(missing_ok=True))


def media_type_of(content: bytes) -> str:
    """Return what a file is by its own first bytes; raise ValidationError where it is neither."""
    if content.startswith(PDF_BEGINS):
        return "application/pdf"
    kind = _picture(content)
    if kind is None:
        raise ValidationError(_("This is neither a PDF nor a picture (JPEG, PNG)."), code="kind")
    return kind


def content_of(paper: KeptPaper) -> bytes:
    """Return the bytes of a paper; raise PaperLost where the file is gone or another one."""
    path = path_of(paper)
    content = path.read_bytes() if path.is_file() else b""
    if hashlib.sha256(content).hexdigest() != paper.sha256:
        raise PaperLost(path)
    return content


def _content_of(file: UploadedFile) -> bytes:
    if file.size is None or file.size > LARGEST:
        raise ValidationError(_("A paper has at most 20 MB."), code="size")
    return file.read()


def _picture(content: bytes) -> str | None:
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(BytesIO(content)) as picture:
                if picture.width * picture.height > MOST_PIXELS:
                    return None
                picture.verify()
                return PICTURES.get(picture.format or "")
    except NO_PICTURE:
        return None


def _write(path: Path, content: bytes) -> None:
    """Write a file whole or not at all; one that is there already is the same one."""
    if path.exists():
        return
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    part = path.with_suffix(".part")
    part.write_bytes(content)
    part.chmod(READ_ALONE)
    part.replace(path)
