"""Photos as phones send them, made safe and upright: decoded and turned once, kept without time or place."""

from __future__ import annotations

import hashlib
import io
import warnings

from shotwright.base.errors import BadInput

MOST_PIXELS = 60_000_000
FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
JPEG_QUALITY = 90


def upright_jpeg(data: bytes, name: str = "photo") -> tuple[bytes, int, int]:
    """Decode a photo, turn it the way it was held, and encode it for a browser.

    Parameters
    ----------
    data : bytes
        The file as it came: JPEG, PNG, WebP or HEIC.
    name : str
        Its name, for the message.

    Returns
    -------
    tuple of bytes, int, int
        A JPEG without any of the original's notes (place, time, camera), its width and height. [px]

    Raises
    ------
    BadInput
        Not a picture of these kinds, damaged, or of more pixels than a photo has.
    """
    from pi_heif import register_heif_opener
    from PIL import Image, ImageOps, UnidentifiedImageError

    register_heif_opener()
    Image.MAX_IMAGE_PIXELS = MOST_PIXELS
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=FORMATS) as opened:
                width, height = opened.size
                if width * height > MOST_PIXELS:
                    raise BadInput(_too_many(name, width, height), field="photo")
                turned = ImageOps.exif_transpose(opened).convert("RGB")
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise BadInput(
            f"{name}: has more than {MOST_PIXELS // 1_000_000} million pixels; take a smaller photo",
            field="photo",
        ) from None
    except UnidentifiedImageError:
        raise BadInput(
            f"{name}: is not a photo; send a JPEG, PNG, WebP or HEIC file", field="photo"
        ) from None
    except (OSError, SyntaxError, ValueError, EOFError) as reason:
        if isinstance(reason, BadInput):
            raise
        raise BadInput(
            f"{name}: can't be read as a photo ({reason}); send it again", field="photo"
        ) from reason
    out = io.BytesIO()
    turned.save(out, format="JPEG", quality=JPEG_QUALITY)
    return out.getvalue(), turned.width, turned.height


def _too_many(name: str, width: int, height: int) -> str:
    most = MOST_PIXELS // 1_000_000
    return f"{name}: has {width} x {height} pixels; take a smaller photo (at most {most} million)"


def fingerprint(data: bytes) -> str:
    """Return the SHA-256 by which a photo is named."""
    return hashlib.sha256(data).hexdigest()
