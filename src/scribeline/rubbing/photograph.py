"""A picture file, opened with care: type and size are looked at before anything is decoded."""

import warnings
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageOps, UnidentifiedImageError

from scribeline.errors import RubbingError

Grey = npt.NDArray[np.float32]

TYPES = ("JPEG", "PNG", "TIFF", "WEBP")
MOST_BYTES = 60_000_000  # judgement: three times the largest photograph of a phone
MOST_PIXELS = 100_000_000  # judgement; grey as 32-bit numbers this is 400 MB
LEAST_SIDE_PX = 600


@dataclass(frozen=True)
class Photograph:
    """A picture as it is looked at: grey 0 (black) to 1 (white), shape (rows, columns), turned upright.

    dpi : pixels per inch across and down, as the file says, or None
    """

    name: str
    grey: Grey
    dpi: tuple[float, float] | None


def open_photograph(path: Path) -> Photograph:
    """Read a JPEG, PNG, TIFF or WebP file; the turn that a phone noted in it is carried out.

    Raises RubbingError for a file that is missing, too large, of another type, damaged, or too small to measure in.
    """
    try:
        size = path.stat().st_size
    except OSError as error:
        raise RubbingError(f"{path}: cannot be read ({error.strerror}); what to do: check the name") from None
    if size > MOST_BYTES:
        raise _refusal(path, f"{size / 1e6:.0f} MB", f"at most {MOST_BYTES / 1e6:.0f} MB", "save it smaller as JPEG")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # Pillow warns of large pictures; the limit below is ours
            with Image.open(path, formats=TYPES) as image:
                across, down = image.size
                if across * down > MOST_PIXELS:
                    pixels = f"{across} x {down} pixels"
                    raise _refusal(path, pixels, f"at most {MOST_PIXELS / 1e6:.0f} million", "save it smaller")
                if min(across, down) < LEAST_SIDE_PX:
                    pixels = f"{across} x {down} pixels"
                    raise _refusal(path, pixels, f"{LEAST_SIDE_PX} or more each way", "take it with the full camera")
                dpi = image.info.get("dpi")
                upright = ImageOps.exif_transpose(image)
                assert upright is not None
                turned = upright.size != image.size
                grey = np.asarray(_flat(upright).convert("L"), dtype=np.float32) / np.float32(255.0)
    except UnidentifiedImageError:
        raise _refusal(
            path, "not a picture of a known type", ", ".join(TYPES), "phones that save HEIC can be set to save JPEG"
        ) from None
    except Image.DecompressionBombError:  # Pillow's own limit, above ours
        most = f"at most {MOST_PIXELS / 1e6:.0f} million pixels"
        raise _refusal(path, "far more pixels than a photograph has", most, "save it smaller") from None
    except (OSError, SyntaxError, ValueError) as error:
        raise _refusal(path, f"damaged ({error})", "a whole file", "copy it from the phone again") from None
    resolution = None
    if isinstance(dpi, tuple) and len(dpi) == 2 and all(float(one) > 1.0 for one in dpi):
        resolution = (float(dpi[1]), float(dpi[0])) if turned else (float(dpi[0]), float(dpi[1]))
    return Photograph(path.name, grey, resolution)


def _flat(image: Image.Image) -> Image.Image:
    """The picture on white where it is see-through."""
    if image.mode not in ("RGBA", "LA", "PA"):
        return image
    ground = Image.new("RGBA", image.size, "white")
    ground.alpha_composite(image.convert("RGBA"))
    return ground


def _refusal(path: Path, found: str, accepted: str, remedy: str) -> RubbingError:
    return RubbingError(f"{path}: {found}\n    accepted: {accepted}\n    what to do: {remedy}")
