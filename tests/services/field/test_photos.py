"""Photos come piece by piece after their event, are looked at by content, and are sealed."""

import hashlib
import struct
import zlib
from io import BytesIO

import pytest
from django.core.management import call_command
from django.db import connection
from django.urls import reverse
from django.utils import timezone
from PIL import Image
from pypdf import PdfReader

from services.field import photos
from services.models import FieldPhoto
from services.printing import records_pdf
from services.verifying import verify
from treatments.recording import record_application

GPS = 0x8825


def picture(kind="JPEG", size=(800, 600), **options):
    file = BytesIO()
    Image.effect_noise(size, 60).convert("RGB").save(file, kind, **options)
    return file.getvalue()


def black(side):
    """Return a black square as PNG [RFC 2083], without ever holding its pixels."""
    head = struct.pack(">IIBBBBB", side, side, 1, 0, 0, 0, 0)
    rows = zlib.compress(bytes(1 + side // 8) * side, 9)
    parts = [(b"IHDR", head), (b"IDAT", rows), (b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        for name, data in parts
    )


def with_place():
    exif = Image.Exif()
    exif[0x010F] = "maker"
    exif.get_ifd(GPS)[1] = "N"
    return picture(exif=exif)


@pytest.fixture(autouse=True)
def media(settings, tmp_path):
    """Keep photos in a folder of the test."""
    settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def announced(phone, dispatched):
    """Announce a photo by a note, and return its digest."""

    def announce(content, size=None):
        sha256 = hashlib.sha256(content).hexdigest()
        photo = {"sha256": sha256, "size": size or len(content)}
        (reply,) = phone.say(phone.event("note", visit_id=dispatched.pk, photos=[photo]))
        assert reply["result"] == "accepted"
        return sha256

    return announce


def put(phone, sha256, piece, offset=0):
    return phone.api.patch(
        f"/api/v1/photos/{sha256}/",
        piece,
        content_type="application/octet-stream",
        headers={"X-Phone": str(phone.device.pk), "Upload-Offset": str(offset)},
    )


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_kept_as_it_came_and_sealed(phone, announced, kind):
    content = picture(kind)[: photos.LARGEST_PIECE * 9]
    sha256 = announced(content)

    for offset in range(0, len(content), photos.LARGEST_PIECE):
        answer = put(phone, sha256, content[offset : offset + photos.LARGEST_PIECE], offset)

    photo = FieldPhoto.objects.get()
    original = photos.original_of(photo)
    assert answer.json() == {
        "sha256": sha256,
        "size": len(content),
        "received": len(content),
        "kept": True,
    }
    assert original.read_bytes() == content
    assert original.stat().st_mode & 0o777 == 0o400


def test_a_photo_goes_on_where_it_stopped(phone, announced):
    content = picture()
    sha256 = announced(content)
    put(phone, sha256, content[:1000])

    standing = phone.api.get(f"/api/v1/photos/{sha256}/").json()
    answer = put(phone, sha256, content[1000:], standing["received"])

    assert (standing["received"], answer.json()["kept"]) == (1000, True)


@pytest.mark.parametrize("offset", [0, 999, 1001])
def test_a_piece_out_of_place_is_told_where_to_begin(phone, announced, offset):
    content = picture()
    sha256 = announced(content)
    put(phone, sha256, content[:1000])

    answer = put(phone, sha256, content[1000:2000], offset)

    assert answer.status_code == 409
    assert photos.received_of(FieldPhoto.objects.get()) == 1000


def test_the_last_piece_again_changes_nothing(phone, announced):
    content = picture()
    sha256 = announced(content)
    put(phone, sha256, content)

    assert put(phone, sha256, content).json()["kept"] is True


def test_a_damaged_photo_may_begin_anew(phone, announced):
    content = picture()
    sha256 = announced(content)

    assert put(phone, sha256, content[:-1] + b"x").status_code == 422
    assert put(phone, sha256, content).status_code == 200


@pytest.mark.parametrize(
    "content",
    [b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"%PDF-1.7", b"GIF89a" + bytes(20), b"\x00" * 9],
)
def test_what_is_no_photo_by_its_content_is_thrown_away(phone, announced, media, content):
    sha256 = announced(content)

    assert put(phone, sha256, content).status_code == 422
    assert not [path for path in media.rglob("*") if path.is_file()]


@pytest.mark.usefixtures("grows_little")
def test_a_picture_of_too_many_pixels_is_refused_by_its_header(phone, announced):
    content = black(20_000)
    sha256 = announced(content)

    answer = put(phone, sha256, content)

    assert (answer.status_code, len(content) < 100_000) == (422, True)


def test_more_than_was_announced_is_refused(phone, announced):
    content = picture()
    sha256 = announced(content, size=len(content) - 1)

    assert put(phone, sha256, content).status_code == 422


def test_a_piece_has_its_size(phone, announced):
    content = picture()
    sha256 = announced(content)

    assert put(phone, sha256, b"x" * (photos.LARGEST_PIECE + 1)).status_code == 413
    assert put(phone, sha256, b"").status_code == 400
    assert put(phone, sha256, content, offset="none").status_code == 400


def test_what_was_not_announced_by_this_phone_is_not_there(phone, second_phone, announced):
    content = picture()
    sha256 = announced(content)

    assert put(phone, "0" * 64, content).status_code == 404
    assert put(second_phone, sha256, content).status_code == 404


def test_a_full_disk_refuses_photos_and_takes_events(
    phone, announced, dispatched, monkeypatch, media
):
    content = picture()
    sha256 = announced(content)
    usage = type(photos.shutil.disk_usage(media))
    monkeypatch.setattr(photos.shutil, "disk_usage", lambda _path: usage(100, 99, 1))

    answer = put(phone, sha256, content)

    assert (answer.status_code, answer["Retry-After"]) == (503, "3600")
    assert phone.say(phone.event("note", visit_id=dispatched.pk))[0]["result"] == "accepted"


def test_the_copy_that_is_shown_has_no_place_and_no_maker(phone, announced, client, owner):
    content = with_place()
    assert Image.open(BytesIO(content)).getexif().get_ifd(GPS)
    put(phone, announced(content), content)
    client.force_login(owner)

    answer = client.get(f"/field-photos/{FieldPhoto.objects.get().pk}/")

    shown = Image.open(BytesIO(b"".join(answer.streaming_content)))
    assert (answer["Content-Type"], shown.format) == ("image/jpeg", "JPEG")
    assert dict(shown.getexif()) == {}


def test_a_picture_that_is_here_already_is_kept_when_it_is_announced_again(phone, announced):
    content = picture()
    put(phone, announced(content), content)

    sha256 = announced(content)

    assert phone.api.get(f"/api/v1/photos/{sha256}/").json()["kept"]
    assert FieldPhoto.objects.filter(sha256=sha256, kept_at__isnull=False).count() == 2


def test_a_file_that_came_before_its_row_is_kept_without_a_further_byte(phone, announced):
    content = picture()
    sha256 = announced(content)
    put(phone, sha256, content)
    FieldPhoto.objects.update(kept_at=None)

    answer = put(phone, sha256, b"", offset=len(content))

    assert (answer.status_code, answer.json()["kept"]) == (200, True)


def test_a_photo_stands_by_its_digest_on_the_record_and_beside_the_sign(
    client, phone, dispatched, announced, stated, owner
):
    now = timezone.now().replace(microsecond=0)
    times = {"started_at": now, "done_at": now, "captured_at": now, "posted_at": now}
    record = record_application(**{**stated, **times})
    dispatched.records.add(record)
    content = picture()
    sha256 = announced(content)
    put(phone, sha256, content)

    paper = PdfReader(BytesIO(records_pdf([record], language="en", now=now)))
    client.force_login(owner)
    page = client.get(reverse("services:signs")).content.decode()

    assert f"{sha256[:16]} …" in " ".join(paper.pages[0].extract_text().split())
    assert reverse("services:photo", args=[FieldPhoto.objects.get().pk]) in page


def test_a_photo_is_marked_as_one_of_the_sign(client, phone, dispatched, announced, stated, owner):
    now = timezone.now().replace(microsecond=0)
    times = {"started_at": now, "done_at": now, "captured_at": now, "posted_at": now}
    record = record_application(**{**stated, **times})
    dispatched.records.add(record)
    content = picture()
    put(phone, announced(content), content)
    photo = FieldPhoto.objects.get()
    client.force_login(owner)

    for _time in range(2):
        client.post(reverse("services:mark_photo", args=[photo.pk]), {"shows_sign": "yes"})

    photo.refresh_from_db()
    paper = PdfReader(BytesIO(records_pdf([record], language="en", now=now)))
    assert (photo.shows_sign, photo.marked_by) == (True, owner)
    assert "of the sign" in client.get(reverse("services:signs")).content.decode()
    assert "… (of the sign)" in " ".join(paper.pages[0].extract_text().split())


def event_id():
    return FieldPhoto.objects.get().event_id


def test_a_photo_that_is_changed_or_gone_is_found(phone, announced, media):
    content = picture()
    sha256 = announced(content)
    assert verify().faults == []  # announced, and not here yet
    put(phone, sha256, content)
    assert verify().faults == []
    file = photos.original_of(FieldPhoto.objects.get())

    file.chmod(0o600)
    file.write_bytes(content[:-1] + b"x")
    assert [fault.say() for fault in verify().faults] == [
        f"entry 0: the table says otherwise of photos {event_id()}: the file {sha256[:12]}"
    ]

    file.unlink()
    assert verify().count == 1


def test_a_check_reads_a_photo_piece_by_piece_and_tells_how_many(
    phone, announced, media, monkeypatch
):
    content = picture()
    put(phone, announced(content), content)
    monkeypatch.setattr("services.verifying.PIECE", 1000)
    monkeypatch.setattr("services.verifying.TOLD_EVERY", 1)
    told = []

    assert verify(tell=lambda *read: told.append(read)).faults == []

    assert told == [(1, len(content)), (1, len(content))]  # at the file, and at the end


def test_the_command_tells_how_far_the_photos_are_read(phone, announced, media, capsys):
    content = picture()
    put(phone, announced(content), content)

    call_command("verify")

    said = capsys.readouterr()
    assert "1 photos read, 0 MB" in said.err
    assert "All is as it was kept." in said.out


@pytest.mark.parametrize("change", ["SET sha256 = 'x'", "SET size = 1"])
def test_a_photo_that_is_announced_otherwise_is_found(announced, change):
    announced(picture())

    with connection.cursor() as cursor:
        cursor.execute(f"UPDATE services_fieldphoto {change}")

    assert [fault.say() for fault in verify().faults] == [
        f"entry 0: the table says otherwise of photos {event_id()}: photos"
    ]


def test_a_photo_that_was_removed_is_found(announced):
    announced(picture())

    FieldPhoto.objects.all().delete()

    assert verify().count == 1
