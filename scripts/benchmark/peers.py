"""General OCR to compare with, run as `python peers.py rapidocr|rapidocr-words|tesseract FILE...`.

Prints what `examples/ocr_dump` prints: a JSON object a photo with `file`, `lines` (`text`, `confidence`) and `ms`; and `hocr`, the
same lines with their places in hOCR 1.2, for `platewright fields`.
RapidOCR must be installed in the Python that runs this, Tesseract on the system.
"""

import html
import json
import subprocess
import sys
import time


def rapidocr(files: list[str], words: bool) -> None:
    """RapidOCR as it comes; for single words its recogniser alone."""
    import cv2
    from rapidocr import RapidOCR

    engine = RapidOCR(params={"Global.log_level": "error"})
    options = {"use_det": False, "use_cls": False, "use_rec": True} if words else {}
    # The first run sets things up; a server would have done so long before.
    engine(cv2.imread(files[0]), **options)
    for file in files:
        start = time.perf_counter()
        result = engine(cv2.imread(file), **options)
        ms = (time.perf_counter() - start) * 1000
        lines = [{"text": text, "confidence": float(score)} for text, score in zip(result.txts or (), result.scores or ())]
        if not words:
            for line, box in zip(lines, result.boxes if lines else ()):
                line["box"] = [*box.min(axis=0).tolist(), *box.max(axis=0).tolist()]
        emit(file, lines, ms, None if words else hocr(lines))


def hocr(lines: list[dict]) -> str:
    """Lines with their boxes as an hOCR page; a line's words share its width by their letters."""
    right = max((line["box"][2] for line in lines), default=1)
    bottom = max((line["box"][3] for line in lines), default=1)
    rows = []
    for line in lines:
        x0, y0, x1, y1 = line["box"]
        letter = (x1 - x0) / max(len(line["text"]), 1)
        words, at = [], 0
        for word in line["text"].split(" "):
            if word:
                box = f"{x0 + at * letter:.0f} {y0:.0f} {x0 + (at + len(word)) * letter:.0f} {y1:.0f}"
                words.append(f'<span class="ocrx_word" title="bbox {box}; x_wconf {100 * line["confidence"]:.0f}">{html.escape(word)}</span>')
            at += len(word) + 1
        rows.append(f'<span class="ocr_line" title="bbox {x0:.0f} {y0:.0f} {x1:.0f} {y1:.0f}">{" ".join(words)}</span>')
    page = f'<div class="ocr_page" title="bbox 0 0 {right:.0f} {bottom:.0f}">{"".join(rows)}</div>'
    return f'<html xmlns="http://www.w3.org/1999/xhtml"><head><meta name="ocr-system" content="peer"/></head><body>{page}</body></html>'


def tesseract(files: list[str]) -> None:
    """Tesseract with sparse text segmentation, which suits plates better than its default of pages."""
    for file in files:
        start = time.perf_counter()
        done = subprocess.run(["tesseract", file, "-", "--psm", "11"], capture_output=True, text=True, check=False)
        ms = (time.perf_counter() - start) * 1000
        placed = subprocess.run(["tesseract", file, "-", "--psm", "11", "hocr"], capture_output=True, text=True, check=False)
        emit(file, [{"text": line} for line in done.stdout.splitlines() if line.strip()], ms, placed.stdout)


def emit(file: str, lines: list[dict], ms: float, placed: str | None) -> None:
    print(json.dumps({"file": file, "lines": lines, "ms": round(ms, 1), "hocr": placed}), flush=True)


if __name__ == "__main__":
    engine, *files = sys.argv[1:]
    if engine == "tesseract":
        tesseract(files)
    else:
        rapidocr(files, words=engine == "rapidocr-words")
