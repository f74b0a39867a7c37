"""Reads printed labels back with decoders and PDF libraries that are not ours, as a camera and a ruler would.

Usage: labels_read.py PDF COLUMNS ROWS WIDTH_MM HEIGHT_MM [PAGE]. Each page is measured in its vectors: every code stands in
a label of its own of a grid in the middle of the page, to 0.2 mm, with its tag beside it. Then the page is drawn at
150 dpi, or 300 where the codes hold addresses, a tenth of each code is painted over, and the codes are read. With
PAGE each holds the address of its tag below that. Prints what was read, a label a line: page, column, row, tag.
"""
import sys

import pdfplumber
import zxingcpp
from PIL import ImageDraw

TOLERANCE_MM = 0.2
MM_A_POINT = 25.4 / 72
# Light modules on each side of a code (ISO/IEC 18004).
QUIET = 4

path, columns, rows = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
width, height = float(sys.argv[4]), float(sys.argv[5])
before = sys.argv[6] if len(sys.argv) > 6 else ""
DPI = 300 if before else 150


def close(found, wanted, what):
    assert abs(found - wanted) <= TOLERANCE_MM, f"{what}: {found:.3f} mm, not {wanted:.3f}"


def cell_of(x, y):
    return int((x - left) // width), int((y - top) // height)


with pdfplumber.open(path) as pdf:
    for number, page in enumerate(pdf.pages):
        wide, tall = float(page.width) * MM_A_POINT, float(page.height) * MM_A_POINT
        left, top = (wide - columns * width) / 2, (tall - rows * height) / 2
        # Dark modules by the label they stand in.
        boxes, modules = {}, {}
        for part in page.rects + page.curves:
            x0, x1 = float(part["x0"]) * MM_A_POINT, float(part["x1"]) * MM_A_POINT
            y0, y1 = float(part["top"]) * MM_A_POINT, float(part["bottom"]) * MM_A_POINT
            if x1 - x0 > width or y1 - y0 > height:
                continue  # The paper itself.
            cell = cell_of((x0 + x1) / 2, (y0 + y1) / 2)
            modules[cell] = min(modules.get(cell, y1 - y0), y1 - y0)
            box = boxes.setdefault(cell, [x0, y0, x1, y1])
            box[:] = [min(box[0], x0), min(box[1], y0), max(box[2], x1), max(box[3], y1)]
        words = {}
        for word in page.extract_words(use_text_flow=True):
            x, y = float(word["x0"]) * MM_A_POINT, float(word["top"]) * MM_A_POINT
            end = float(word["x1"]) * MM_A_POINT
            cell = cell_of(x, y)
            assert end <= left + (cell[0] + 1) * width + TOLERANCE_MM, f"{word['text']} leaves its label"
            words.setdefault(cell, []).append(word["text"])
        image = page.to_image(resolution=DPI).original.convert("RGB")
        soiled, dots = image.copy(), DPI / 25.4
        for (column, row), (x0, y0, x1, y1) in boxes.items():
            assert 0 <= column < columns and 0 <= row < rows, (column, row)
            side = x1 - x0
            close(y1 - y0, side, "a code is square")
            module = modules[(column, row)]
            close(round(side / module) * module, side, "a code is made of whole modules")
            close(x0, left + column * width + QUIET * module, "light to the left of a code")
            close((y0 + y1) / 2, top + (row + 0.5) * height, "the middle of a code")
            assert y0 - QUIET * module >= top + row * height - TOLERANCE_MM, "light above a code"
            # A tenth of the code, in one blot where a thumb would be: at its lower right corner.
            blot = side * 0.1**0.5
            ImageDraw.Draw(soiled).rectangle(
                [(x1 - blot) * dots, (y1 - blot) * dots, x1 * dots, y1 * dots], fill=(70, 60, 50)
            )
        for picture in (image, soiled):
            read = {}
            for code in zxingcpp.read_barcodes(picture, formats=zxingcpp.BarcodeFormat.QRCode):
                spot = code.position
                middle = [(getattr(spot.top_left, a) + getattr(spot.bottom_right, a)) / 2 / dots for a in "xy"]
                assert code.text.startswith(before), code.text
                read[cell_of(*middle)] = code.text[len(before):]
            assert set(read) == set(boxes), f"page {number + 1}: {len(read)} of {len(boxes)} codes were read"
            for cell, tag in read.items():
                assert words[cell][0] == tag, f"{tag} stands beside {words[cell]}"
        for (column, row), tag in sorted(read.items(), key=lambda one: (one[0][1], one[0][0])):
            print(number + 1, column + 1, row + 1, tag)
