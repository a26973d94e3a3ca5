//! Cells with several labels, `KVA CODE / DESIGN / DUTY`, and as many values, `K / B / CONT`: each label gets its own.

use super::labels::{Item, Kind, LABEL_GAP, label, measure};
use super::layout::announces;
use super::lexicon::{Target, lexicon};
use super::parts::strokes;
use super::sheet::{Place, Sheet, Span};
use super::values;
use std::collections::HashSet;

/// Labels parted by strokes in one cell, `KVA CODE / DESIGN / DUTY`, with as many values parted by strokes right of them,
/// below or above, `K / B / CONT`: each label gets a row of its own with its value. Values in words of which the strokes
/// part nothing else, and only where every value can be one of its label's.
pub(super) fn each_in_its_cell(sheet: &Sheet<'_>, rows: &mut Vec<Vec<Item>>) {
    let mut row = 0;
    while row < rows.len() {
        let mut at = 0;
        while at < rows[row].len() {
            let Some((labels, end)) = chain(sheet, &rows[row], at) else {
                at += 1;
                continue;
            };
            let found =
                cells(&rows[row], at..end, rows, row)
                    .into_iter()
                    .find_map(|(other, cell)| {
                        let values = parted(sheet, &rows[other][cell.clone()], &labels)?;
                        Some((other, cell, values))
                    });
            let Some((other, cell, values)) = found else {
                at = end;
                continue;
            };
            take(&mut rows[other], cell.clone());
            // What stood right of the labels in their own row goes first, so that their places stay.
            take(&mut rows[row], at..end);
            let mut each: Vec<Item> = Vec::new();
            for (label, value) in labels.into_iter().zip(values) {
                each.push(label);
                each.extend(value);
            }
            regap(&mut each);
            rows.push(each);
        }
        row += 1;
    }
}

/// The labels that begin at an item of a row and are parted by strokes, and where they end.
fn chain(sheet: &Sheet<'_>, row: &[Item], at: usize) -> Option<(Vec<Item>, usize)> {
    if !row.get(at).is_some_and(announces) {
        return None;
    }
    let mut labels = several(sheet, &row[at]).unwrap_or_else(|| vec![row[at].clone()]);
    let mut end = at + 1;
    loop {
        let next = end + usize::from(row.get(end).is_some_and(parts_cells));
        let Some(other) = row.get(next).filter(|item| announces(item)) else {
            break;
        };
        let before = &row[end - 1].span;
        let between = Span {
            from: before.to,
            to: other.span.from,
            ..*before
        };
        let together = before.line == other.span.line && between.from < between.to;
        if !together || !is_parting(&sheet.text(between)) {
            break;
        }
        labels.extend(several(sheet, other).unwrap_or_else(|| vec![other.clone()]));
        end = next + 1;
    }
    let targets = |item: &Item| match &item.kind {
        Kind::Label(label) => label.targets.clone(),
        Kind::Value(_) => Vec::new(),
    };
    let all: Vec<Target> = labels.iter().flat_map(targets).collect();
    let distinct = all.iter().collect::<HashSet<_>>().len() == all.len();
    // `POTENCIA / HP` is one label.
    let power = all.iter().all(Target::is_power);
    (labels.len() > 1 && distinct && !power).then_some((labels, end))
}

/// Whether an item does nothing but part others.
fn parts_cells(item: &Item) -> bool {
    is_parting(&item.text) && item.gap < LABEL_GAP
}

/// Whether characters do nothing but part what stands on both sides: `CYCLES - PHASE`, `SF | CODE`.
fn is_parting(text: &str) -> bool {
    ["/", "-", "–", "—", "|"].contains(&text.trim())
}

/// The labels of an item that is a label of several fields, `CODE / DESIGN`; `None` where it is of one.
fn several(sheet: &Sheet<'_>, item: &Item) -> Option<Vec<Item>> {
    let Kind::Label(whole) = &item.kind else {
        return None;
    };
    let lexicon = lexicon();
    let parts = strokes(sheet, item.span);
    let labels: Option<Vec<Item>> = parts
        .iter()
        .map(|&span| {
            let text = sheet.text(span);
            let entries = lexicon.get(&super::lexicon::key(&text));
            (!entries.is_empty()).then(|| Item {
                span,
                place: sheet.place(span),
                gap: LABEL_GAP,
                kind: Kind::Label(label(text.trim().to_owned(), &entries, whole.certainty)),
                text: text.trim().to_owned(),
            })
        })
        .collect();
    labels.filter(|labels| labels.len() > 1)
}

/// Where the values of the labels at `from` may stand: right of them, below, above; by row and items.
fn cells(
    own: &[Item],
    from: std::ops::Range<usize>,
    rows: &[Vec<Item>],
    row: usize,
) -> Vec<(usize, std::ops::Range<usize>)> {
    /// A cell ends with a gap of so many heights of text.
    const APART: f32 = 2.5;
    /// Values stand no deeper than this below their labels, or above them.
    const DEEP: f32 = 2.0;
    let Some(place) = Place::around(own[from.clone()].iter().map(|item| item.place)) else {
        return Vec::new();
    };
    let value = |item: &Item| matches!(item.kind, Kind::Value(_)) || parts_cells(item);
    let run = |items: &[Item], start: usize, end: f32| {
        let more = (start + 1..items.len())
            .take_while(|&at| items[at].gap < APART && value(&items[at]))
            .take_while(|&at| items[at].place.center() < end)
            .count();
        start..start + 1 + more
    };
    let mut found = Vec::new();
    if own.get(from.end).is_some_and(value) {
        found.push((row, run(own, from.end, f32::INFINITY)));
    }
    let end = own
        .get(from.end)
        .map_or(f32::INFINITY, |next| next.place.left);
    // The nearest row below and the nearest above.
    let mut near: [Option<(f32, usize, usize)>; 2] = [None; 2];
    for (other, items) in rows.iter().enumerate().filter(|(other, _)| *other != row) {
        for (at, item) in items.iter().enumerate().filter(|(_, item)| value(item)) {
            let height = (place.height + item.place.height) / 2.0;
            let below = (item.place.top() - place.bottom()) / height;
            let above = (place.top() - item.place.bottom()) / height;
            let left = item.place.left;
            let inside = left > place.left - height && left < place.right;
            let nearest = &mut near[usize::from(above > below)];
            let deep = below.max(above);
            if inside
                && item.place.center() < end
                && (-0.45..DEEP).contains(&deep)
                && nearest.is_none_or(|(other, ..)| deep < other)
            {
                *nearest = Some((deep, other, at));
            }
        }
    }
    for (_, other, first) in near.into_iter().flatten() {
        found.push((other, run(&rows[other], first, end)));
    }
    found
}

/// The values of a cell, parted by strokes, one for each label; `None` where they are not so many, or one cannot be its
/// label's.
fn parted(sheet: &Sheet<'_>, cell: &[Item], labels: &[Item]) -> Option<Vec<Vec<Item>>> {
    let mut groups: Vec<Vec<Item>> = vec![Vec::new()];
    for (i, item) in cell.iter().enumerate() {
        let stroke = is_parting;
        // Words between which the stroke is left out of both: `G` and `B` of `G/B`.
        let before = i.checked_sub(1).map(|b| cell[b].span);
        let cut = before.is_some_and(|before| {
            before.line == item.span.line
                && before.to < item.span.from
                && stroke(&sheet.text(Span {
                    from: before.to,
                    to: item.span.from,
                    ..before
                }))
        });
        if stroke(&item.text) {
            groups.push(Vec::new());
            continue;
        }
        if cut && groups.last().is_some_and(|last| !last.is_empty()) {
            groups.push(Vec::new());
        }
        let text = sheet.text(item.span);
        if text.starts_with('/') && groups.last().is_some_and(|last| !last.is_empty()) {
            groups.push(Vec::new());
        }
        for (i, span) in strokes(sheet, item.span).into_iter().enumerate() {
            if i > 0 {
                groups.push(Vec::new());
            }
            let text = sheet.text(span).trim().to_owned();
            let part = Item {
                span,
                place: sheet.place(span),
                gap: item.gap,
                kind: Kind::Value(super::parts::unit(&text)),
                text,
            };
            groups.last_mut()?.push(part);
        }
        if text.ends_with('/') && i + 1 < cell.len() {
            groups.push(Vec::new());
        }
    }
    // Columns without a stroke have to be usual: `215T ODP` below `FRAME / ENCL`.
    let [only] = &mut groups[..] else {
        return each_fits(&groups, labels).then_some(groups);
    };
    let columns: Vec<Vec<Item>> = only.drain(..).map(|item| vec![item]).collect();
    let usual = |(group, label): (&Vec<Item>, &Item)| {
        let Kind::Label(label) = &label.kind else {
            return false;
        };
        let mut targets = label.targets.iter();
        // Where a number of the maker's ends without one nobody knows.
        targets.any(|&t| !values::is_free(t) && values::is_usual(t, &group[0].text))
    };
    let each = each_fits(&columns, labels) && columns.iter().zip(labels).all(usual);
    each.then_some(columns)
}

/// Whether there is a group of words for each label that can be its value.
fn each_fits(groups: &[Vec<Item>], labels: &[Item]) -> bool {
    let fits = |(group, label): (&Vec<Item>, &Item)| {
        let text: Vec<&str> = group.iter().map(|item| item.text.as_str()).collect();
        let text = text.join(" ");
        let Kind::Label(label) = &label.kind else {
            return false;
        };
        // A number of the maker's has more than a few figures.
        let long = text.chars().filter(|c| c.is_alphanumeric()).count() >= 4;
        let mut targets = label.targets.iter();
        targets.any(|&t| values::accepts(t, &text) && (long || !values::is_free(t)))
    };
    groups.len() == labels.len() && groups.iter().zip(labels).all(fits)
}

/// Takes items out of a row.
fn take(row: &mut Vec<Item>, items: std::ops::Range<usize>) {
    row.drain(items);
    regap(row);
}

/// The gaps of a row that was put together anew.
fn regap(row: &mut [Item]) {
    for at in 0..row.len() {
        row[at].gap = f32::INFINITY;
        measure(row, at);
        row[at].gap = row[at].gap.max(0.0);
    }
}
