"""What is taken as a photo, with the sentences that refuse the rest: known without opening one."""

from __future__ import annotations

from reeds.numbers.words import gettext_noop

MAX_BYTES = 25 * 1024 * 1024
FOCAL_35MM_LIMITS = (8.0, 400.0)  # fisheye to long tele; common practice, from memory

TOO_SMALL = gettext_noop("The picture is too small to measure: send the photo as the camera took it.")
TOO_MANY_BYTES = gettext_noop("The file is over 25 MB: send the photo in a smaller size.")
TOO_MANY_PIXELS = gettext_noop("The picture has over 60 megapixels: send it in a smaller size.")
AS_NO_CAMERA = gettext_noop("The picture is stored as no camera does it: send the photo as it was taken.")
NO_PICTURE = gettext_noop("The file cannot be read as a photo: send a JPEG, PNG, WebP or HEIC picture.")


def believed_focal(stated: object) -> float | None:
    """Return a focal length for a 35 mm frame, mm, or None where no camera has what is stated.

    Exif holds anything there, and 0 where it is unknown (Exif 2.32, tag 41989).
    """
    try:
        focal = float(stated)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return focal if FOCAL_35MM_LIMITS[0] <= focal <= FOCAL_35MM_LIMITS[1] else None
