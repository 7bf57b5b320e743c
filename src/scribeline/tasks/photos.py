"""Photographs of a cylinder, made small for a page. Run in a worker process: what a phone sent is decoded here.

What comes out is a new picture: no place, no camera and nothing else that the file carried besides its pixels.
"""

import io
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

from scribeline.errors import UploadError

TYPES = ("JPEG", "PNG", "TIFF", "WEBP")
MOST_PIXELS = 100_000_000  # judgement; the largest sensors of phones
SIZES_PX = (320, 1600)  # beside a name, and to look at


def small_photo(
    path: Path,
    name: str,
    longest_px: int,
    *,
    tell: Callable[[Any], None] | None = None,
    stopped: Callable[[], bool] | None = None,
) -> bytes:
    """The photograph as a JPEG no longer than this on either side, turned upright.

    name : as refusals call it. Raises UploadError for what is no picture, is damaged, or has too many pixels.
    """
    from PIL import Image, ImageOps

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # Pillow warns of large pictures; the limit below is ours
            with Image.open(path, formats=TYPES) as image:
                across, down = image.size
                if across * down > MOST_PIXELS:
                    raise _refused(name, f"it has {across} x {down} pixels", f"at most {MOST_PIXELS / 1e6:.0f} million")
                image.draft("RGB", (longest_px, longest_px))  # a JPEG decodes only as fine as is needed
                upright = ImageOps.exif_transpose(image) or image
                upright.thumbnail((longest_px, longest_px))
                ground = Image.new("RGB", upright.size, "white")
                ground.paste(upright.convert("RGB"), mask=upright.convert("RGBA").getchannel("A"))
    except Image.DecompressionBombError:
        most = f"at most {MOST_PIXELS / 1e6:.0f} million"
        raise _refused(name, "it has far more pixels than a photograph", most) from None
    except (OSError, SyntaxError, ValueError, KeyError) as error:
        raise _refused(name, f"it cannot be read ({error})", ", ".join(TYPES)) from None
    made = io.BytesIO()
    ground.save(made, "JPEG", quality=82)
    return made.getvalue()


def _refused(name: str, why: str, accepted: str) -> UploadError:
    return UploadError(
        f"{name} is no photograph that can be shown: {why}.\n    accepted: {accepted}\n"
        "    kept: everything else\n    what to do: save it again as JPEG, or take another"
    )
