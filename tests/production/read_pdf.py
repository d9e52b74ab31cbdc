"""What stands on a printed paper, read back from its PDF by programs that know nothing of how it was made."""

import re
import subprocess

from PIL import Image

POINT_MM = 25.4 / 72


def tool(*words, pdf):
    return subprocess.run(words, input=pdf, capture_output=True, check=True).stdout


def text_of(pdf):
    """The text of each page."""
    return tool("pdftotext", "-layout", "-", "-", pdf=pdf).decode().split("\f")[:-1]


def words_of(pdf):
    """For each page its size and its words with their boxes, in millimetres."""
    for page in tool("pdftotext", "-bbox", "-", "-", pdf=pdf).decode().split("<page ")[1:]:
        size = tuple(float(value) * POINT_MM for value in re.findall(r'(?:width|height)="([\d.]+)"', page)[:2])
        found = re.findall(
            r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)</word>', page
        )
        yield size, [(word, *(float(value) * POINT_MM for value in box)) for *box, word in found]


def pictures_of(pdf, tmp_path, *, dpi=203):
    """Each page as a label printer puts it down: one bit a dot."""
    source = tmp_path / "paper.pdf"
    source.write_bytes(pdf)
    subprocess.run(["pdftoppm", "-r", str(dpi), "-mono", source, tmp_path / f"page{dpi}"], check=True)
    return [Image.open(path).convert("L") for path in sorted(tmp_path.glob(f"page{dpi}-*.pbm"))]


def fonts_of(pdf, tmp_path):
    source = tmp_path / "fonts.pdf"
    source.write_bytes(pdf)
    listed = subprocess.run(["pdffonts", source], capture_output=True, check=True).stdout.decode().splitlines()[2:]
    return {line.split()[0].split("+")[-1] for line in listed}


def line_of(pdf):
    """All words of a paper in one line, cell by cell."""
    return " ".join(tool("pdftotext", "-raw", "-", "-", pdf=pdf).decode().split())
