"""General OCR to compare with, run as `python peers.py rapidocr|rapidocr-words|tesseract FILE...`.

Prints what `examples/ocr_dump` prints: a JSON object a photo with `file`, `lines` (`text`, `confidence`) and `ms`.
RapidOCR must be installed in the Python that runs this, Tesseract on the system.
"""

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
        pairs = zip(result.txts or (), result.scores or ())
        emit(file, [{"text": text, "confidence": float(score)} for text, score in pairs], ms)


def tesseract(files: list[str]) -> None:
    """Tesseract with sparse text segmentation, which suits plates better than its default of pages."""
    for file in files:
        start = time.perf_counter()
        done = subprocess.run(["tesseract", file, "-", "--psm", "11"], capture_output=True, text=True, check=False)
        ms = (time.perf_counter() - start) * 1000
        emit(file, [{"text": line} for line in done.stdout.splitlines() if line.strip()], ms)


def emit(file: str, lines: list[dict], ms: float) -> None:
    print(json.dumps({"file": file, "lines": lines, "ms": round(ms, 1)}), flush=True)


if __name__ == "__main__":
    engine, *files = sys.argv[1:]
    if engine == "tesseract":
        tesseract(files)
    else:
        rapidocr(files, words=engine == "rapidocr-words")
