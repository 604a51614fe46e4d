"""Photos from the field: kept as they came and sealed, shown as a copy without its metadata.

They lie outside what a web server serves, under their own hash.  A piece goes to the end of what
has come; the whole must have the hash that was announced, and be a picture of a known format.
"""

import hashlib
import os
import shutil
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from django.conf import settings
from django.utils import timezone
from django.utils.translation import gettext as _
from PIL import Image, ImageOps, UnidentifiedImageError

from services.models import FieldPhoto

LARGEST_PIECE = 512 * 1024
MOST_PIXELS = 40_000_000
FORMATS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp"}
LONGEST_SIDE = 1600  # px of the copy that is shown
LEAST_FREE = 1024**3  # bytes of the disk below which photos wait
LEAST_SHARE = 0.05
READ_ALONE, READ_AND_WRITE = 0o400, 0o600


class OutOfPlace(ValueError):
    """A piece does not begin where the last one ended."""


class NoPhoto(ValueError):
    """What came is no picture that is kept."""


class DiskFull(RuntimeError):
    """There is no room for photos just now."""


def folder() -> Path:
    """Return where photos lie."""
    return Path(settings.MEDIA_ROOT) / "photos"


def original_of(photo: FieldPhoto, within: Path | None = None) -> Path:
    """Return where the photo lies as it came, in the folder of photos or in a copy of it."""
    return (within or folder()) / photo.sha256[:2] / f"{photo.sha256}.original"


def part_of(photo: FieldPhoto) -> Path:
    """Return where what has come of a photo lies, for the phone that sends it."""
    return folder() / photo.sha256[:2] / f"{photo.sha256}.{photo.device_id}.part"


def copy_of(photo: FieldPhoto) -> Path:
    """Return where the copy lies that is shown."""
    return folder() / photo.sha256[:2] / f"{photo.sha256}.shown.jpg"


def received_of(photo: FieldPhoto) -> int:
    """Return how many bytes of a photo have come."""
    if original_of(photo).exists():
        return photo.size
    part = part_of(photo)
    return part.stat().st_size if part.exists() else 0


def add_piece(photo: FieldPhoto, offset: int, piece: bytes) -> None:
    """Add a piece to a photo, and keep the photo when it was the last one.

    Raise OutOfPlace, NoPhoto or DiskFull; a photo that is here already is kept at once.
    """
    if original_of(photo).exists():
        _keep(photo)
        return
    refuse_on_full_disk()
    received = received_of(photo)
    if offset != received:
        raise OutOfPlace(_("%(n)d bytes have come.") % {"n": received})
    if received + len(piece) > photo.size:
        raise NoPhoto(_("More bytes came than were announced."))
    _append(part_of(photo), piece, offset)
    if received + len(piece) == photo.size:
        _close(photo)


def keep_known(photo: FieldPhoto) -> None:
    """Keep a photo at once whose file is here already: two stops may show the same picture."""
    if original_of(photo).exists():
        _keep(photo)


def _append(part: Path, piece: bytes, offset: int) -> None:
    part.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    handle = os.open(part, os.O_WRONLY | os.O_CREAT, READ_AND_WRITE)
    with os.fdopen(handle, "wb") as file:
        file.seek(offset)
        file.write(piece)
        file.flush()
        os.fsync(file.fileno())


def _close(photo: FieldPhoto) -> None:
    """Look at what has come, and seal it; what is none is thrown away and may come again."""
    part = part_of(photo)
    try:
        if hashlib.sha256(part.read_bytes()).hexdigest() != photo.sha256:
            raise NoPhoto(_("The photo was damaged on its way."))
        with opened(part):
            pass
    except NoPhoto:
        part.unlink(missing_ok=True)
        raise
    part.chmod(READ_ALONE)
    part.replace(original_of(photo))
    _keep(photo)


def _keep(photo: FieldPhoto) -> None:
    """Note that a photo is here, for every event that announced it."""
    with opened(original_of(photo)) as picture:
        kind = FORMATS[str(picture.format)]
    same = FieldPhoto.objects.filter(sha256=photo.sha256, size=photo.size, kept_at__isnull=True)
    same.update(kept_at=timezone.now(), kind=kind)
    photo.refresh_from_db()


@contextmanager
def opened(path: Path) -> Iterator[Image.Image]:
    """Open a picture by its content; its size is read from the header before anything else."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            picture = Image.open(path, formats=list(FORMATS))
        except (UnidentifiedImageError, OSError, ValueError, SyntaxError) as error:
            raise NoPhoto(_("Photos are JPEG, PNG or WebP.")) from error
        except (Image.DecompressionBombWarning, Image.DecompressionBombError) as error:
            raise NoPhoto(_too_many_pixels()) from error
    with picture:
        if picture.width * picture.height > MOST_PIXELS:
            raise NoPhoto(_too_many_pixels())
        yield picture


def _too_many_pixels() -> str:
    return _("A photo has at most %(n)d million pixels.") % {"n": MOST_PIXELS // 1_000_000}


def shown(photo: FieldPhoto) -> Path:
    """Return the copy that is shown, made when it is first asked for; raise NoPhoto for damage.

    Its metadata, place and camera among them, are left behind.
    """
    copy = copy_of(photo)
    if copy.exists():
        return copy
    with opened(original_of(photo)) as picture:
        picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        try:
            upright = ImageOps.exif_transpose(picture).convert("RGB")
        except (OSError, ValueError, SyntaxError) as error:
            raise NoPhoto(_("The photo cannot be read.")) from error
        upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
        made = copy.with_suffix(f".{os.getpid()}.made")
        upright.save(made, "JPEG", quality=82, exif=b"", icc_profile=None)
    made.replace(copy)
    return copy


def refuse_on_full_disk() -> None:
    """Raise DiskFull where the disk is nearly full: photos give way to records."""
    place = folder()
    place.mkdir(mode=0o700, parents=True, exist_ok=True)
    disk = shutil.disk_usage(place)
    if disk.free < min(LEAST_FREE, disk.total * LEAST_SHARE):
        raise DiskFull
