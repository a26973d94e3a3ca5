"""The measures, from truth and readings; they know nothing of who read.

Truth is a `truth.jsonl` of a fixtures split (fixtures/README.md), a reading a line of `platewright read --json`.
"""

import json
import math
import pathlib
from collections import Counter, defaultdict


def load_truth(split: pathlib.Path) -> list[dict]:
    """The photos of a split, each with its `path`."""
    rows = [json.loads(line) for line in (split / "truth.jsonl").read_text(encoding="utf-8").splitlines()]
    return [row | {"path": str(split / row["file"])} for row in rows]


def token_recall(truth: dict, texts: list[str]) -> tuple[int, int]:
    """How many of a photo's tokens were read, each occurrence once and case by case; and how many there are."""
    wanted = Counter(truth["tokens"])
    read = Counter(token for text in texts for token in text.split())
    return (wanted & read).total(), wanted.total()


def same_number(a, b) -> bool:
    """Equal as far as plates print numbers: fractions are kept to four digits."""
    return math.isclose(float(a), float(b), rel_tol=2e-3, abs_tol=5e-5)


def same_value(truth, found) -> bool:
    """Whether a field's value is right: numbers by value, lists in their order, texts without regard to case."""
    if isinstance(truth, list) or isinstance(found, list):
        truth = truth if isinstance(truth, list) else [truth]
        found = found if isinstance(found, list) else [found]
        return len(truth) == len(found) and all(map(same_value, truth, found))
    number = (int, float)
    if isinstance(truth, number) and isinstance(found, number):
        return same_number(truth, found)
    if truth is None or found is None:
        return truth is found
    return str(truth).strip().upper() == str(found).strip().upper()


def right_value(truth: dict, field: dict) -> bool:
    """Whether a field's reading is right: its value, or, for texts, the very characters that are printed."""
    if same_value(truth["value"], field.get("value")):
        return True
    return isinstance(field.get("value"), str) and same_value(truth["printed"], field.get("printed"))


FIELD_COUNTS = ("legible", "found", "right", "clear", "clear_right", "silent", "doubtful", "doubtful_reachable", "invented")


def count_fields(truth: dict, reading: dict) -> dict[str, Counter]:
    """For each field key of one photo, what became of it.

    legible: on the plate and readable.  found: a value was given, clear or doubtful.  right: and it is the true one.
    clear / clear_right / silent: called clear; right; wrong (a silent error).  doubtful: called doubtful;
    doubtful_reachable: the true value is the one shown or among the alternatives.  invented: a value for a key that is
    not on the plate.
    """
    counts: dict[str, Counter] = defaultdict(Counter)
    fields = reading.get("fields", {})
    for key in truth["fields"].keys() | fields.keys():
        true = truth["fields"].get(key)
        field = fields.get(key, {"state": "absent"})
        state = field.get("state", "absent")
        count = counts[key]
        if true and true.get("legible", True):
            count["legible"] += 1
        if state not in ("clear", "doubtful", "confirmed"):
            continue
        count["found"] += 1
        right = bool(true) and right_value(true, field)
        # A value that was too worn to be legible and was guessed rightly still is right.
        count["right"] += right and true.get("legible", True)
        count["invented"] += not true
        if state == "doubtful":
            count["doubtful"] += 1
            others = [a.get("value", a.get("printed")) for a in field.get("alternatives", [])]
            printed = true and true["printed"]
            count["doubtful_reachable"] += right or printed in others or bool(
                true and any(o is not None and same_value(true["value"], o) for o in others)
            )
        else:
            count["clear"] += 1
            count["clear_right"] += right
            count["silent"] += not right
    return counts


def field_table(truths: list[dict], readings: list[dict], by="tier") -> dict[str, dict]:
    """Field measures over photos: by a key of the truth (`tier`, `technique`, ...), by field, and in all.

    recall: legible fields whose value is right.  precision: values given that are right.  clear: legible fields that
    are clear and right.  silent: clear values that are wrong, of all clear ones.  questions: a photo.
    """
    groups: dict[str, Counter] = defaultdict(Counter)
    for truth, reading in zip(truths, readings, strict=True):
        asked = len(reading.get("questions", []))
        per_field = count_fields(truth, reading)
        for group in ("all", truth.get(by, "?")):
            groups[group]["photos"] += 1
            groups[group]["questions"] += asked
        for key, count in per_field.items():
            for group in ("all", truth.get(by, "?"), f"field {key}"):
                groups[group] += count
    return {group: rates(count) for group, count in groups.items()}


def rates(count: Counter) -> dict:
    """Rates of the counts of `count_fields`; None where there is nothing to divide by."""

    def part(a, b):
        return count[a] / count[b] if count[b] else None

    return {
        "recall": part("right", "legible"),
        "precision": part("right", "found"),
        "clear": part("clear_right", "legible"),
        "silent": part("silent", "clear"),
        "silent_count": count["silent"],
        "clear_count": count["clear"],
        "questions": part("questions", "photos"),
        "reachable": part("doubtful_reachable", "doubtful"),
        "invented": count["invented"],
    }


def calibration_error(truths: list[dict], readings: list[dict], bins: int = 10) -> float | None:
    """Expected calibration error of the confidences of all values given."""
    sums = defaultdict(lambda: [0, 0.0, 0])
    for truth, reading in zip(truths, readings, strict=True):
        for key, field in reading.get("fields", {}).items():
            if field.get("state") not in ("clear", "doubtful") or field.get("confidence") is None:
                continue
            true = truth["fields"].get(key)
            right = bool(true) and right_value(true, field)
            bin_ = sums[min(int(field["confidence"] * bins), bins - 1)]
            bin_[0] += 1
            bin_[1] += field["confidence"]
            bin_[2] += right
    total = sum(n for n, _, _ in sums.values())
    return sum(abs(confidence - right) for _, confidence, right in sums.values()) / total if total else None


def planted_flagged(truths: list[dict], readings: list[dict]) -> tuple[int, int]:
    """How many values that were planted as implausible were not taken as sure, and how many were planted.

    Flagged: read as doubtful, or not read at all; or bound by a check that says doubt.
    """
    flagged = planted = 0
    for truth, reading in zip(truths, readings, strict=True):
        doubted = {key for check in reading.get("checks", []) if check["outcome"] == "doubt" for key in check["fields"]}
        for key in truth.get("planted", []):
            planted += 1
            flagged += key in doubted or reading.get("fields", {}).get(key, {"state": "absent"})["state"] in ("doubtful", "absent")
    return flagged, planted


def word(text: str) -> str:
    """A word as scene-text benchmarks compare it: letters and digits only, without case."""
    return "".join(c for c in text.lower() if c.isascii() and c.isalnum())


def word_accuracy(labels: list[str], texts: list[str]) -> float:
    """Share of words read right."""
    return sum(word(a) == word(b) for a, b in zip(labels, texts, strict=True)) / len(labels)
