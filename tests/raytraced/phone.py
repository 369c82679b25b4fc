"""What a phone makes of light: exposure, blur, noise, its tone curve, sharpening, and a chat's JPEG."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
import numpy.typing as npt
from PIL import Image

Array = npt.NDArray[Any]
EXIF_IFD = 0x8769
FOCAL_35MM = 0xA405


@dataclass(frozen=True)
class Phone:
    """One phone's habits.

    Attributes
    ----------
    blur, shake : float
        Gaussian blur and length of a movement, px.
    exposure : float
        What the brightest percent comes to, 1 = white; over 1 burns out.
    gains : (3,) tuple
        White balance left wrong.
    noise : float
        Standard deviation at middle grey, share of white, in linear light.
    contrast : float
        How much of an S the tone curve is.
    halo, reach : float
        Sharpening: amount, and radius in px.
    quality : int
        Of the JPEG.
    """

    blur: float
    shake: float
    exposure: float
    gains: tuple[float, float, float]
    noise: float
    contrast: float
    halo: float
    reach: float
    quality: int

    def develop(self, light: Array, rng: np.random.Generator) -> Array:
        """Return the picture, uint8, of linear light (height, width, 3), before JPEG."""
        seen = cv2.GaussianBlur(light, (0, 0), max(self.blur, 0.05))
        seen = _shaken(seen, self.shake, rng.uniform(0, np.pi))
        seen = seen * (self.exposure / max(float(np.percentile(seen, 99)), 1e-6)) * np.float32(self.gains)
        cv2.setRNGSeed(int(rng.integers(2**31)))
        grain = cv2.randn(np.empty(seen.shape, np.float32), 0, 1)
        grain = cv2.GaussianBlur(grain, (0, 0), 0.6)  # demosaicing smears it
        seen = seen + grain * self.noise * np.sqrt(np.clip(seen, 0, 1) / 0.18 + 0.1)
        tone = self._curve(np.clip(seen, 0, 1))
        soft = cv2.GaussianBlur(tone, (0, 0), self.reach)
        return np.round(np.clip(tone + self.halo * (tone - soft), 0, 1) * 255).astype(np.uint8)

    def _curve(self, linear: Array) -> Array:
        code = np.where(
            linear <= 0.0031308, 12.92 * linear, 1.055 * np.maximum(linear, 1e-6) ** (1 / 2.4) - 0.055
        )
        smooth = code * code * (3 - 2 * code)
        return np.asarray((1 - self.contrast) * code + self.contrast * smooth, np.float32)

    def file(self, rgb: Array, focal_35mm: float | None) -> bytes:
        """Return the JPEG that arrives; without focal length it came through a chat."""
        image = Image.fromarray(rgb)
        exif = image.getexif()
        if focal_35mm is not None:
            exif.get_ifd(EXIF_IFD)[FOCAL_35MM] = round(focal_35mm)
        out = io.BytesIO()
        image.save(out, "JPEG", quality=self.quality, exif=exif)
        return out.getvalue()


def deep(light: Array, near: Array, blur: float) -> Array:
    """Return a picture whose depth of field ends behind what is `near`: a closed outline, (n, 2) px."""
    mask = np.zeros(light.shape[:2], np.float32)
    cv2.fillPoly(mask, [np.round(near).astype(np.int32)], 1.0)
    # light of what is near is kept from bleeding into what is far
    share = cv2.GaussianBlur(1 - mask, (0, 0), blur)[..., None]
    far = cv2.GaussianBlur(light * (1 - mask[..., None]), (0, 0), blur) / np.maximum(share, 1e-3)
    soft = cv2.GaussianBlur(mask, (0, 0), 1.0)[..., None]
    return np.asarray(soft * light + (1 - soft) * far)


def _shaken(light: Array, length: float, angle: float) -> Array:
    if length < 0.5:
        return light
    size = 2 * int(np.ceil(length)) + 3
    kernel = np.zeros((size, size), np.float32)
    for share in np.linspace(-0.5, 0.5, 41):
        x, y = (size // 2 + share * length * f(angle) for f in (np.cos, np.sin))
        i, j = int(np.floor(y)), int(np.floor(x))
        for a, b in ((0, 0), (0, 1), (1, 0), (1, 1)):
            kernel[i + a, j + b] += (1 - abs(y - i - a)) * (1 - abs(x - j - b))
    return np.asarray(cv2.filter2D(light, -1, kernel / kernel.sum()))


def any_phone(rng: np.random.Generator, *, chat: bool) -> Phone:
    """Draw a phone; through a chat its JPEG is coarse."""
    return Phone(
        blur=rng.uniform(0.45, 1.0),
        shake=rng.choice([0.0, 0.0, rng.uniform(0.5, 1.6)]),
        exposure=rng.uniform(0.75, 1.12),
        gains=tuple(np.clip(rng.normal(1, 0.035, 3), 0.9, 1.1)),
        noise=rng.uniform(0.002, 0.014),
        contrast=rng.uniform(0.1, 0.5),
        halo=rng.uniform(0.3, 1.3),
        reach=rng.uniform(0.9, 2.0),
        quality=int(rng.integers(58, 76) if chat else rng.integers(82, 96)),
    )


def blurred(phone: Phone, px: float) -> Phone:
    """Return the same phone out of focus by so many px."""
    return Phone(**{**vars(phone), "blur": px, "halo": 0.5 * phone.halo})


def in_the_dark(phone: Phone, exposure: float, noise: float) -> Phone:
    """Return the same phone with too little light: dark and noisy."""
    return Phone(**{**vars(phone), "exposure": exposure, "noise": noise})
