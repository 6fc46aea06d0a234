"""Colours measured: contrast, colour difference, and how colour-blind readers see them.

Sources:

- Contrast and relative luminance: W3C, Web Content Accessibility Guidelines 2.2, definition of
  terms.
- Simulation of protanopia, deuteranopia and tritanopia: G. M. Machado, M. M. Oliveira and L. A. F.
  Fernandes, “A Physiologically-based Model for Simulation of Color Vision Deficiency”, IEEE
  Transactions on Visualization and Computer Graphics 15 (2009), 1291–1298: the matrices of
  severity 1.0, which act on linear RGB. The figures were read in public reproductions of the
  authors' table, which agree with one another to the last digit.
- Difference: CIEDE2000 as in G. Sharma, W. Wu and E. N. Dalal, “The CIEDE2000 Color-Difference
  Formula”, Color Research and Application 30 (2005), 21–30.
- sRGB to CIELAB: IEC 61966-2-1, white point D65.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

SIGHTS: dict[str, Sequence[Sequence[float]]] = {
    "usual sight": ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)),
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}
_TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
_LARGE = 25.0**7


def linear(colour: str) -> np.ndarray:
    """Linear RGB of a colour written ``#RRGGBB``."""
    parts = np.array([int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)])
    return np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours, from 1 to 21."""
    weights = np.array([0.2126, 0.7152, 0.0722])
    darker, lighter = sorted(float(linear(colour) @ weights) for colour in (one, other))
    return (lighter + 0.05) / (darker + 0.05)


def lab(colour: str, *, sight: str = "usual sight") -> tuple[float, float, float]:
    """CIELAB of a colour as a reader with that sight sees it."""
    seen = np.clip(np.array(SIGHTS[sight]) @ linear(colour), 0.0, 1.0)
    ratio = _TO_XYZ @ seen / _TO_XYZ.sum(axis=1)
    x, y, z = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return float(116 * y - 16), float(500 * (x - y)), float(200 * (y - z))


def difference(one: str, other: str, *, sight: str = "usual sight") -> float:
    """CIEDE2000 difference of two colours as a reader with that sight sees them."""
    return ciede2000(lab(one, sight=sight), lab(other, sight=sight))


def ciede2000(one: tuple[float, float, float], other: tuple[float, float, float]) -> float:
    """Difference of two colours in CIELAB (Sharma, Wu and Dalal 2005, equations 2 to 22)."""
    chroma = [np.hypot(a, b) for _, a, b in (one, other)]
    mean7 = float(np.mean(chroma)) ** 7
    stretch = 1.5 - 0.5 * np.sqrt(mean7 / (mean7 + _LARGE))
    (l1, c1, h1), (l2, c2, h2) = (
        (light, np.hypot(stretch * a, b), np.degrees(np.arctan2(b, stretch * a)) % 360)
        for light, a, b in (one, other)
    )
    apart, grey = h2 - h1, c1 * c2 == 0
    turn = 0.0 if grey else (apart + 180) % 360 - 180
    hue = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(turn) / 2)
    light, chrome = (l1 + l2) / 2, (c1 + c2) / 2
    middle = h1 + h2 if grey else (h1 + turn / 2) % 360
    weight_t = (
        1
        - 0.17 * np.cos(np.radians(middle - 30))
        + 0.24 * np.cos(np.radians(2 * middle))
        + 0.32 * np.cos(np.radians(3 * middle + 6))
        - 0.20 * np.cos(np.radians(4 * middle - 63))
    )
    s_l = 1 + 0.015 * (light - 50) ** 2 / np.sqrt(20 + (light - 50) ** 2)
    s_c, s_h = 1 + 0.045 * chrome, 1 + 0.015 * chrome * weight_t
    rotation = (
        -2
        * np.sqrt(chrome**7 / (chrome**7 + _LARGE))
        * np.sin(np.radians(60 * np.exp(-(((middle - 275) / 25) ** 2))))
    )
    parts = (l2 - l1) / s_l, (c2 - c1) / s_c, hue / s_h
    return float(np.sqrt(sum(part**2 for part in parts) + rotation * parts[1] * parts[2]))
