"""What is drawn is read back by another program (ZXing)."""

import re

import numpy
import pytest
import zxingcpp

from practice.lib.qr import QrDrawing, qr_of

SCALE = 4


def pixels(drawing: QrDrawing) -> numpy.ndarray:
    """Return the drawing as a camera sees it: dark stretches on light ground."""
    image = numpy.full((drawing.side * SCALE, drawing.side * SCALE), 255, numpy.uint8)
    for stretch in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", drawing.path):
        left, top, length = (int(each) * SCALE for each in stretch)
        image[top : top + SCALE, left : left + length] = 0
    return image


def read(drawing: QrDrawing) -> str:
    [found] = zxingcpp.read_barcodes(pixels(drawing))
    return found.text


@pytest.mark.parametrize(
    "text",
    [
        "https://roundbook.local:8443/phone/trust/",
        "https://roundbook.local:8443/phone/pair/?pairing_code=K7M29QXD",
        "https://" + "long-name." * 12 + "example/phone/pair/?pairing_code=K7M29QXD",
    ],
)
def test_a_code_is_read_back(text):
    assert read(qr_of(text)) == text


def test_the_drawing_has_a_light_edge_and_nothing_but_dark_stretches():
    drawing = qr_of("https://roundbook.local:8443/")

    assert re.sub(r"M\d+ \d+h\d+v1h-\d+z", "", drawing.path) == ""
    image = pixels(drawing)
    edge = 4 * SCALE
    assert (image[:edge] == 255).all() and (image[:, :edge] == 255).all() and (image[edge, edge] == 0)
