"""Measures the pages of a PDF with a library that is not ours.

Usage: paper_read.py PDF. Prints JSON: of each page its width and height in mm, whether all of it is black and white,
and its words, each with where it begins, mm from the upper left corner.
"""
import json
import sys

import pdfplumber

MM_A_POINT = 25.4 / 72


def is_plain(colour):
    return colour is None or all(part in (0, 1) for part in colour)


pages = []
with pdfplumber.open(sys.argv[1]) as pdf:
    for page in pdf.pages:
        words = page.extract_words()
        marks = page.chars + page.rects + page.lines + page.curves
        pages.append({
            "width_mm": float(page.width) * MM_A_POINT,
            "height_mm": float(page.height) * MM_A_POINT,
            "plain": all(is_plain(mark["non_stroking_color"]) for mark in marks),
            "words": [
                {"text": w["text"], "x_mm": float(w["x0"]) * MM_A_POINT, "end_mm": float(w["x1"]) * MM_A_POINT,
                 "y_mm": float(w["top"]) * MM_A_POINT, "foot_mm": float(w["bottom"]) * MM_A_POINT}
                for w in words
            ],
        })
json.dump(pages, sys.stdout)
