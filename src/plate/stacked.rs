//! Labels on several lines: `NEMA` over `DESIGN`, `FULL` over `LOAD` over `AMPS`.

use super::labels::{EXACT, Item, Kind, label, measure};
use super::lexicon::{Target, lexicon};
use super::sheet::Place;

/// A label whose second word stands below the first, with its value beside the first: `F.L.` over `AMPS`.
pub(super) fn in_two_lines(rows: &mut [Vec<Item>]) {
    const DEEP: f32 = 0.8;
    let lexicon = lexicon();
    for row in 0..rows.len() {
        for at in 0..rows[row].len() {
            let first = &rows[row][at];
            let word = matches!(first.kind, Kind::Value(None))
                && first.text.chars().filter(|c| c.is_alphabetic()).count() > 1
                && first.text.chars().all(|c| c.is_alphabetic() || c == '.');
            let valued = |row: usize, at: usize| {
                rows[row].get(at + 1).is_some_and(|next| {
                    matches!(next.kind, Kind::Value(_))
                        && next.text.contains(|c: char| c.is_ascii_digit())
                })
            };
            if !word || !valued(row, at) {
                continue;
            }
            let (place, text) = (first.place, first.text.clone());
            let below = |item: &Item| {
                let deep = (item.place.top() - place.bottom()) / place.height;
                let aligned = (item.place.left - place.left).abs() < place.height;
                let key = super::lexicon::key(&format!("{text} {}", item.text));
                let entries = lexicon.get(&key);
                let label = matches!(item.kind, Kind::Label(_)) && !entries.is_empty();
                (label && aligned && (-0.4..DEEP).contains(&deep)).then_some(entries)
            };
            let end = rows.len().min(row + 3);
            let found = (row + 1..end).find_map(|next| {
                let mut items = rows[next].iter().enumerate();
                items.find_map(|(i, item)| {
                    let entries = below(item).filter(|_| !valued(next, i))?;
                    Some((next, i, entries))
                })
            });
            if let Some((next, i, entries)) = found {
                let second = rows[next].remove(i);
                let first = &mut rows[row][at];
                first.text = format!("{} {}", first.text, second.text);
                first.kind = Kind::Label(label(first.text.clone(), &entries, EXACT));
            }
        }
    }
}

/// `IP` in the corner of a cell and its figures below, `55`: the figures go behind the letters.
pub(super) fn protection(rows: &mut [Vec<Item>]) {
    const DEEP: f32 = 1.5;
    /// The next cell begins no nearer, in heights of text.
    const APART: f32 = 2.5;
    let degree = |item: &Item| {
        let mut figures = item.text.chars();
        let solids = figures.next().is_some_and(|c| ('2'..='6').contains(&c));
        let water = figures.next().is_some_and(|c: char| c.is_ascii_digit());
        matches!(item.kind, Kind::Value(None)) && solids && water && figures.next().is_none()
    };
    for row in 0..rows.len() {
        for at in 0..rows[row].len() {
            let (letters, next) = (&rows[row][at], rows[row].get(at + 1));
            let open = next.is_none_or(|next| next.gap > APART);
            if letters.text != "IP" || !matches!(letters.kind, Kind::Value(None)) || !open {
                continue;
            }
            let place = letters.place;
            let below = |item: &Item| {
                let deep = (item.place.top() - place.bottom()) / place.height;
                let aligned = (item.place.left - place.left).abs() < 1.5 * place.height;
                degree(item) && aligned && (-0.4..DEEP).contains(&deep)
            };
            let end = rows.len().min(row + 4);
            let found = (row + 1..end).find_map(|next| {
                let at = rows[next].iter().position(below)?;
                Some((next, at))
            });
            if let Some((next, i)) = found {
                let figures = rows[next].remove(i);
                measure(&mut rows[next], i);
                rows[row].insert(
                    at + 1,
                    Item {
                        gap: 0.0,
                        ..figures
                    },
                );
            }
        }
    }
}

/// Labels of which each word or two stand on a line of their own, as in the narrow cells of a table: `FULL` over `LOAD`
/// over `AMPS`. Each goes into the row in which its value stands.
pub(super) fn stacked(rows: &mut [Vec<Item>]) {
    /// At most so many lines.
    const LINES: usize = 3;
    for row in 0..rows.len() {
        let mut at = 0;
        while at < rows[row].len() {
            let run = words_of_cell(&rows[row], at);
            at = run.end.max(at + 1);
            let mut lines = vec![(row, run)];
            while lines.len() < LINES
                && let Some(next) = line_below(rows, &lines[lines.len() - 1])
            {
                lines.push(next);
            }
            let label = (2..=lines.len())
                .rev()
                .find_map(|count| Some((count, whole_label(rows, &lines[..count])?)));
            let Some((count, label)) = label else {
                continue;
            };
            lines.truncate(count);
            // Two labels with a value each are no label in two lines.
            let valued: Vec<usize> = (0..count)
                .filter(|&i| has_value_behind(&rows[lines[i].0], lines[i].1.end))
                .collect();
            if valued.len() > 1 {
                continue;
            }
            let own = valued.first().copied().unwrap_or(0);
            for (i, (row, run)) in lines.into_iter().enumerate() {
                let (items, start) = (&mut rows[row], run.start);
                if i == own {
                    let gap = items[start].gap;
                    let label = Item {
                        gap,
                        ..label.clone()
                    };
                    items.splice(run, [label]);
                    measure(items, start + 1);
                } else {
                    items.drain(run);
                    measure(items, start);
                }
            }
            at = 0;
        }
    }
}

/// The words without figures that stand close together from an item of a row on; none where one stands close before it.
fn words_of_cell(row: &[Item], at: usize) -> std::ops::Range<usize> {
    /// Words of one line stand no farther apart than this, in heights of text.
    const CLOSE: f32 = 1.0;
    let word = |item: &Item| {
        item.text.chars().any(char::is_alphabetic)
            && !item.text.contains(|c: char| c.is_ascii_digit())
    };
    if !word(&row[at]) || at > 0 && row[at].gap < CLOSE {
        return at..at;
    }
    let more = (at + 1..row.len()).take_while(|&i| row[i].gap < CLOSE && word(&row[i]));
    let end = at + 1 + more.count();
    // What goes on with figures is a line of its own: `LOW VOLTS 230`.
    let closed = row.get(end).is_none_or(|next| next.gap >= CLOSE);
    if closed { at..end } else { at..at }
}

/// The line of words right below another in the same cell.
fn line_below(
    rows: &[Vec<Item>],
    (row, run): &(usize, std::ops::Range<usize>),
) -> Option<(usize, std::ops::Range<usize>)> {
    let around = |items: &[Item]| Place::around(items.iter().map(|item| item.place));
    let above = around(&rows[*row][run.clone()])?;
    let below = |place: &Place| {
        let deep = (place.top() - above.bottom()) / above.height;
        let aligned = (place.left - above.left).abs() < 0.8 * above.height
            || (place.center() - above.center()).abs() < 0.8 * above.height;
        aligned
            && (-0.45..0.6).contains(&deep)
            && (0.6..1.6).contains(&(place.height / above.height))
    };
    (*row + 1..rows.len().min(row + 4)).find_map(|next| {
        (0..rows[next].len()).find_map(|at| {
            let run = words_of_cell(&rows[next], at);
            let place = around(&rows[next][run.clone()])?;
            below(&place).then_some((next, run))
        })
    })
}

/// The label that lines of words are together.
fn whole_label(rows: &[Vec<Item>], lines: &[(usize, std::ops::Range<usize>)]) -> Option<Item> {
    let items: Vec<&Item> = lines
        .iter()
        .flat_map(|(row, run)| &rows[*row][run.clone()])
        .collect();
    let texts: Vec<&str> = items.iter().map(|item| item.text.as_str()).collect();
    let text = texts.join(" ");
    let entries = lexicon().get(&super::lexicon::key(&text));
    let strong = entries
        .iter()
        .any(|e| e.strong && !matches!(e.target, Target::Mark(_)));
    let place = Place::around(items.iter().map(|item| item.place))?;
    let first = items.first()?;
    strong.then(|| Item {
        span: first.span,
        // As tall as a line, so that distances count as they do beside one.
        place: Place {
            height: first.place.height,
            ..place
        },
        gap: first.gap,
        kind: Kind::Label(label(text.clone(), &entries, EXACT)),
        text,
    })
}

/// Whether a value stands behind a place of a row, before the next label; a letter alone may be one.
fn has_value_behind(row: &[Item], at: usize) -> bool {
    row.get(at)
        .is_some_and(|next| matches!(next.kind, Kind::Value(_)) || next.text.chars().count() == 1)
}
