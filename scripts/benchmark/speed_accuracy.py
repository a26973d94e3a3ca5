"""Compares models in the whole tool: what they cost and what they read.

    python scripts/benchmark/speed_accuracy.py measure BINARY SPLIT FOLDER...   one CSV row a models folder
    python scripts/benchmark/speed_accuracy.py plot                             models/speed-accuracy.csv to .svg

Processor time is that of a
process on one core which reads the whole split; a busy or shared machine still moves it by a tenth or more.
"""

import csv
import html
import json
import os
import pathlib
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from scripts.benchmark import metrics  # noqa: E402

DATA, PLOT = ROOT / "models/speed-accuracy.csv", ROOT / "models/speed-accuracy.svg"
LEFT, RIGHT, TOP, BOTTOM = 56, 470, 40, 300


def measure(binary: str, split: str, folders: list[str]) -> None:
    truths = metrics.load_truth(pathlib.Path(split))
    photos = [truth["path"] for truth in truths]
    core = str(min(os.sched_getaffinity(0)))
    out = csv.writer(sys.stdout)
    out.writerow(["models", "cpu_s", "recall", "clear", "silent", "clear_count", "questions"])
    for folder in folders:
        command = ["taskset", "-c", core, binary, "read", "--json", "--models", folder, *photos]
        child = subprocess.Popen(command, stdout=subprocess.PIPE)
        text = child.stdout.read()
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        rows = [json.loads(line) for line in text.splitlines() if line.startswith(b"{")]
        if len(rows) != len(photos):
            raise SystemExit(f"{folder}: {len(rows)} of {len(photos)} photos answered")
        rate = metrics.field_table(truths, rows)["all"]
        numbers = [usage.ru_utime / len(photos), rate["recall"], rate["clear"]]
        counts = [rate["silent_count"], rate["clear_count"], f"{rate['questions']:.2f}"]
        out.writerow([pathlib.Path(folder).name, *(f"{n:.3f}" for n in numbers), *counts])


def plot() -> None:
    rows = [row for row in csv.DictReader(DATA.open(encoding="utf-8")) if row["lines_cpu_s"]]
    costs = [float(row["lines_cpu_s"]) for row in rows]
    low, high = int(min(costs) * 10) / 10, int(max(costs) * 10) / 10 + 0.2
    x = lambda s: LEFT + (s - low) / (high - low) * (RIGHT - LEFT)
    y = lambda share: BOTTOM - (share - 0.5) / 0.4 * (BOTTOM - TOP)
    marks = []
    text = lambda at, up, words, anchor="middle", more="": marks.append(
        f'<text x="{at:.1f}" y="{up:.1f}" text-anchor="{anchor}"{more}>{html.escape(words)}</text>'
    )
    for tenth in range(round(low * 10), round(high * 10) + 1):
        text(x(tenth / 10), BOTTOM + 16, f"{tenth / 10:.1f}")
    for share in (0.5, 0.6, 0.7, 0.8, 0.9):
        text(LEFT - 6, y(share) + 4, f"{share:.1f}", "end")
    for number, (row, cost) in enumerate(zip(rows, costs, strict=True), 1):
        shipped = row["models"] == "shipped"
        colour = "#0b5c8a" if shipped else "#8a5a00"
        for key, solid in (("clear", True), ("unseen_clear", False)):
            fill = colour if solid else "none"
            up = y(float(row[key]))
            marks.append(f'<circle cx="{x(cost):.1f}" cy="{up:.1f}" r="4" fill="{fill}" stroke="{colour}" stroke-width="1.5"/>')
            text(x(cost) + 6, up + 4, str(number), "start")
        text(RIGHT + 20, TOP + 16 * number, f"{number}  {row['models']}", "start")
    text((LEFT + RIGHT) / 2, BOTTOM + 34, "processor seconds a photo for its lines (read --alto), mean of three rounds within 3 %")
    text(14, (TOP + BOTTOM) / 2, "share of legible fields clear and right", more=f' transform="rotate(-90 14 {(TOP + BOTTOM) / 2})"')
    text((LEFT + RIGHT) / 2, BOTTOM + 50, "full: 60 calibration plates; hollow: 16 unseen ones")
    text((LEFT + RIGHT) / 2, 22, "Lighter models: what they cost and what they read", more=' font-size="13"')
    frame = f'<path d="M{LEFT} {TOP}V{BOTTOM}H{RIGHT}" fill="none" stroke="#444"/>'
    head = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 640 360" font-family="sans-serif" font-size="11">'
    PLOT.write_text(f'{head}<rect width="640" height="360" fill="white"/>{frame}{"".join(marks)}</svg>\n', encoding="utf-8")


if __name__ == "__main__":
    if sys.argv[1:] == ["plot"]:
        plot()
    elif len(sys.argv) > 4 and sys.argv[1] == "measure":
        measure(sys.argv[2], sys.argv[3], sys.argv[4:])
    else:
        raise SystemExit(__doc__)
