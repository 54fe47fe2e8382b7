"""Photos of pieces: taken as they come, kept as plain JPEG without the camera's own notes."""

from __future__ import annotations

import io
import uuid
import warnings

from django.conf import settings
from django.core.files import File
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.files.uploadedfile import UploadedFile
from django.utils import timezone
from django.utils.translation import gettext as _
from PIL import Image, ImageOps

from tickets.errors import Refused

LONGEST_SIDE = 1600
_UNREADABLE = (OSError, ValueError, SyntaxError, Image.DecompressionBombError)
"""What Pillow raises for a damaged file; an unknown format is an ``OSError`` of its own."""
_FORMATS = ("JPEG", "PNG", "WEBP", "GIF", "BMP", "TIFF")


def clean_photo(upload: UploadedFile) -> bytes:
    """The picture as JPEG of at most 1600 dots a side, upright, with no place, time or maker in it.

    ``Refused`` for a file that is too large, no picture, damaged or of too many dots.
    """
    name = (upload.name or "?")[:80]
    size = upload.size or 0
    if size > settings.PHOTO_MAX_BYTES:
        raise Refused(
            "photo_too_large",
            _("Photo %(name)s has %(size).1f MB; at most %(most)d MB are taken.")
            % {
                "name": name,
                "size": size / 1024 / 1024,
                "most": settings.PHOTO_MAX_BYTES // 1024 // 1024,
            },
            _("Set the camera to a smaller picture and take it again."),
        )
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            picture = Image.open(upload.file, formats=_FORMATS)  # type: ignore[arg-type]
        width, height = picture.size
        if width * height > settings.PHOTO_MAX_PIXELS:
            raise Refused(
                "photo_too_many_dots",
                _(
                    "Photo %(name)s has %(width)d by %(height)d dots; "
                    "at most %(most)d million are taken."
                )
                % {
                    "name": name,
                    "width": width,
                    "height": height,
                    "most": settings.PHOTO_MAX_PIXELS // 1_000_000,
                },
                _("Set the camera to a smaller picture and take it again."),
            )
        picture.draft("RGB", (LONGEST_SIDE, LONGEST_SIDE))
        upright = ImageOps.exif_transpose(picture).convert("RGB")
    except _UNREADABLE as error:
        raise Refused(
            "photo_unreadable",
            _("Photo %(name)s is not a picture that can be read.") % {"name": name},
            _("Take it again as JPEG, PNG or WebP."),
        ) from error
    upright.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    plain = Image.new("RGB", upright.size)
    plain.paste(upright)
    out = io.BytesIO()
    plain.save(out, "JPEG", quality=85, optimize=True)
    return out.getvalue()


def store_photo(upload: UploadedFile) -> str:
    """Clean a photo and keep it; returns its name in the media storage."""
    picture = clean_photo(upload)
    folder = timezone.localdate().strftime("pieces/%Y/%m")
    return default_storage.save(f"{folder}/{uuid.uuid4().hex}.jpg", ContentFile(picture))


def kept_photo(name: str) -> File[bytes] | None:
    """A kept photo, open to be read; None for one that is gone."""
    return default_storage.open(name) if name and default_storage.exists(name) else None


def copy_photo(name: str) -> str:
    """A copy of a kept photo under a name of its own; none of one that is gone."""
    if not name or not default_storage.exists(name):
        return ""
    folder = timezone.localdate().strftime("pieces/%Y/%m")
    with default_storage.open(name) as picture:
        return default_storage.save(f"{folder}/{uuid.uuid4().hex}.jpg", picture)


def drop_photo(name: str) -> None:
    if name:
        default_storage.delete(name)
