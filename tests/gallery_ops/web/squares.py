"""Reads the square back from the drawing that a page shows, by a decoder that we did not write."""

from __future__ import annotations

import re

import numpy as np
import zxingcpp

PIXELS = 6


def picture(svg: str) -> np.ndarray:
    """The drawing as pixels, white border and all: dark runs of a row, as its path says."""
    box = re.search(r'viewBox="0 0 (\d+) (\d+)"', svg)
    assert box is not None
    wide, high = int(box.group(1)), int(box.group(2))
    grid = np.full((high, wide), 255, dtype=np.uint8)
    dark = re.search(r'stroke="#000" d="([^"]+)"', svg)
    assert dark is not None
    x, y = 0.0, 0.5
    for command, numbers in re.findall(r"([Mmh])([^Mmh]+)", dark.group(1)):
        values = [float(n) for n in re.findall(r"-?\d*\.?\d+", numbers)]
        if command == "M":
            x, y = values
        elif command == "m":
            x, y = x + values[0], y + values[1]
        else:
            grid[int(y), int(x) : int(x + values[0])] = 0
            x += values[0]
    return np.kron(grid, np.ones((PIXELS, PIXELS), dtype=np.uint8))


def read_back(pixels: np.ndarray) -> tuple[str, str]:
    """Text and error level, by zxing-cpp."""
    found = zxingcpp.read_barcodes(pixels, formats=zxingcpp.BarcodeFormat.QRCode)
    assert len(found) == 1
    return found[0].text, found[0].ec_level
