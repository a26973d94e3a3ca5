"""Two sets of readings of the same photos: which is better, and which of them is silently wrong where the other is not.

A set is what a build of this program reads now, what another revision reads, or the figures in `golden.json`.
"""

import json
import os
import pathlib
import subprocess

from scripts.benchmark import metrics

ROOT = pathlib.Path(__file__).resolve().parents[2]
GOLDEN = pathlib.Path(__file__).with_name("golden.json")
SPLITS = ("fixtures/plates", "fixtures/unseen")
SHOWN = ("recall", "precision", "clear", "silent", "questions", "reachable")


def build_revision(revision: str) -> pathlib.Path:
    """The binary of another revision, built in a worktree of its own under target/against."""
    name = subprocess.run(
        ["git", "rev-parse", "--short", f"{revision}^{{commit}}"], cwd=ROOT, check=True, capture_output=True, text=True
    ).stdout.strip()
    tree = ROOT / "target/against" / name
    if not tree.exists():
        subprocess.run(["git", "worktree", "add", "--detach", str(tree), name], cwd=ROOT, check=True)
    try:
        # One folder for all revisions: their dependencies are mostly the same.
        target = ROOT / "target/against/target"
        environment = os.environ | {"CARGO_TARGET_DIR": str(target)}
        subprocess.run(["cargo", "build", "--release", "--locked", "--bin", "platewright"], cwd=tree, check=True, env=environment)
        binary = ROOT / "target/against" / f"platewright-{name}"
        binary.write_bytes((target / "release/platewright").read_bytes())
        binary.chmod(0o755)
    finally:
        subprocess.run(["git", "worktree", "remove", "--force", str(tree)], cwd=ROOT, check=True)
    return binary


def silent_errors(truths: list[dict], rows: list[dict]) -> dict[str, str]:
    """Clear readings that are wrong: `photo field` and what was read instead of what."""
    found = {}
    for truth, row in zip(truths, rows, strict=True):
        for key, count in metrics.count_fields(truth, row).items():
            if count["silent"]:
                true = truth["fields"].get(key, {}).get("printed", "nothing")
                found[f"{truth['file']} {key}"] = f"{row['fields'][key]['printed']!r} instead of {true!r}"
    return found


def measure(read, splits=SPLITS) -> dict:
    """The figures of a reader: `read` gives the rows of a list of photos."""
    result = {}
    for split in splits:
        truths = metrics.load_truth(ROOT / split)
        rows = read([truth["path"] for truth in truths])
        rates = metrics.field_table(truths, rows)["all"]
        figures = {key: round(rates[key], 4) for key in SHOWN} | {"photos": len(truths)}
        result[split] = figures | {"silent_errors": silent_errors(truths, rows)}
    return result


def golden() -> dict:
    """The figures that are kept in the repository."""
    if not GOLDEN.exists():
        raise SystemExit("no figures are kept yet; scripts/bench --golden --renew makes them")
    return json.loads(GOLDEN.read_text(encoding="utf-8"))


def keep(figures: dict) -> None:
    """Makes these the figures that are kept."""
    GOLDEN.write_text(json.dumps(figures, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def verdict(before: dict, now: dict) -> tuple[list[list[str]], list[str], bool]:
    """Rows of a table, the silent errors that are new or gone, and whether there are no more of them than before."""
    rows, changes, good = [], [], True
    for split in before:
        old, new = before[split]["silent_errors"], now[split]["silent_errors"]
        for name, side in (("before", before[split]), ("now", now[split])):
            figures = [f"{side[key]:.4f}" if key == "silent" else f"{side[key]:.3f}" for key in SHOWN]
            rows.append([f"{split} {name}", *figures, str(len(side["silent_errors"]))])
        changes += [f"new in {split}: {key}: {new[key]}" for key in sorted(new.keys() - old.keys())]
        changes += [f"gone in {split}: {key}: {old[key]}" for key in sorted(old.keys() - new.keys())]
        good &= len(new) <= len(old)
    return rows, changes, good
