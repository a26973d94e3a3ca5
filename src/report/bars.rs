//! Bars: where each rectangle lies, in units of the drawing.

use super::summary::{Distribution, Summary};
use std::cmp::Ordering;

/// The longest bar.
const LONGEST: f64 = 400.0;
/// From one bar to the next.
pub(super) const STEP: usize = 26;
/// More bars than this are put together as one.
const MOST: usize = 24;

/// One bar a value.
pub(super) struct Chart {
    pub(super) title: &'static str,
    pub(super) unit: &'static str,
    pub(super) bars: Vec<Bar>,
    pub(super) height: usize,
    /// What is put together in the last bar.
    pub(super) others: usize,
}

/// A bar with its label and number.
pub(super) struct Bar {
    pub(super) label: String,
    pub(super) count: u64,
    pub(super) length: f64,
    /// Where its number stands.
    pub(super) after: f64,
    pub(super) y: usize,
}

impl Chart {
    pub(super) fn new(title: &'static str, unit: &'static str, values: &Distribution) -> Chart {
        let mut all: Vec<(String, u64)> = values.0.iter().map(|(v, n)| (v.clone(), *n)).collect();
        all.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| natural(&a.0, &b.0)));
        let rest = all.split_off(all.len().min(MOST));
        all.sort_by(|a, b| natural(&a.0, &b.0));
        if !rest.is_empty() {
            all.push((
                format!("{} others", rest.len()),
                rest.iter().map(|(_, n)| n).sum(),
            ));
        }
        let most = all.iter().map(|(_, n)| *n).max().unwrap_or(1).max(1);
        let bars: Vec<Bar> = (0..)
            .zip(all)
            .map(|(at, (label, count))| {
                let length = rounded(LONGEST * count as f64 / most as f64);
                Bar {
                    label: shortened(&label),
                    count,
                    length,
                    after: length + 8.0,
                    y: at * STEP,
                }
            })
            .collect();
        Chart {
            title,
            unit,
            height: bars.len() * STEP,
            bars,
            others: rest.len(),
        }
    }
}

/// Bars of several parts that add up to the same whole.
pub(super) struct Stack {
    pub(super) parts: [(&'static str, &'static str); 4],
    pub(super) rows: Vec<Row>,
    pub(super) height: usize,
}

/// One of them.
pub(super) struct Row {
    pub(super) label: String,
    pub(super) counts: [u64; 4],
    pub(super) pieces: Vec<Piece>,
    pub(super) y: usize,
}

/// A part of a bar.
pub(super) struct Piece {
    pub(super) look: &'static str,
    pub(super) x: f64,
    pub(super) length: f64,
}

impl Stack {
    pub(super) fn of_fields(summary: &Summary) -> Stack {
        let rows = summary.fields.iter().map(|(field, s)| {
            let counts = [s.confirmed, s.clear, s.doubtful, s.absent];
            (field.label().to_owned(), counts)
        });
        let parts = [
            ("confirmed", "confirmed"),
            ("clear", "clear"),
            ("doubtful", "doubtful"),
            ("absent", "absent"),
        ];
        Stack::new(parts, rows)
    }

    pub(super) fn of_sources(summary: &Summary) -> Stack {
        let rows = summary.sources.iter().map(|(kind, p)| {
            let counts = [p.settled, p.asks, p.failed, p.waiting];
            ((*kind).to_owned(), counts)
        });
        let parts = [
            ("without questions", "clear"),
            ("with questions", "doubtful"),
            ("failed", "failed"),
            ("waiting", "absent"),
        ];
        Stack::new(parts, rows)
    }

    fn new(
        parts: [(&'static str, &'static str); 4],
        rows: impl Iterator<Item = (String, [u64; 4])>,
    ) -> Stack {
        let rows: Vec<(String, [u64; 4])> = rows.collect();
        let whole = |counts: &[u64; 4]| counts.iter().sum::<u64>();
        let most = rows.iter().map(|(_, c)| whole(c)).max().unwrap_or(1).max(1);
        let rows: Vec<Row> = (0..)
            .zip(rows)
            .map(|(at, (label, counts))| {
                let mut x = 0.0;
                let pieces = parts.iter().zip(counts).filter(|(_, count)| *count > 0);
                let pieces = pieces.map(|((_, look), count)| {
                    let length = LONGEST * count as f64 / most as f64;
                    let piece = Piece {
                        look,
                        x: rounded(x),
                        length: rounded(length),
                    };
                    x += length;
                    piece
                });
                Row {
                    pieces: pieces.collect(),
                    label,
                    counts,
                    y: at * STEP,
                }
            })
            .collect();
        Stack {
            parts,
            height: rows.len() * STEP,
            rows,
        }
    }
}

/// To a tenth: nobody sees more, and the file stays small.
fn rounded(length: f64) -> f64 {
    (length * 10.0).round() / 10.0
}

/// Numbers by their size, text by its letters.
fn natural(a: &str, b: &str) -> Ordering {
    match (a.parse::<f64>(), b.parse::<f64>()) {
        (Ok(a), Ok(b)) => a.total_cmp(&b),
        (Ok(_), Err(_)) => Ordering::Less,
        (Err(_), Ok(_)) => Ordering::Greater,
        (Err(_), Err(_)) => a.cmp(b),
    }
}

/// What fits before a bar.
fn shortened(label: &str) -> String {
    const LETTERS: usize = 22;
    match label.chars().count() > LETTERS {
        true => label.chars().take(LETTERS - 1).chain(['…']).collect(),
        false => label.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn distribution(values: &[(&str, u64)]) -> Distribution {
        Distribution(values.iter().map(|(v, n)| ((*v).to_owned(), *n)).collect())
    }

    #[test]
    fn numbers_stand_by_size_and_the_longest_bar_is_the_most_frequent() {
        let chart = Chart::new(
            "hp",
            "hp",
            &distribution(&[("10", 1), ("2", 4), ("0.5", 2)]),
        );
        let bars: Vec<(&str, f64)> = chart
            .bars
            .iter()
            .map(|b| (b.label.as_str(), b.length))
            .collect();
        assert_eq!(bars, [("0.5", 200.0), ("2", 400.0), ("10", 100.0)]);
    }

    #[test]
    fn what_is_rare_among_many_is_put_together_and_nothing_is_lost() {
        let values: Vec<(String, u64)> = (0..40u64).map(|n| (n.to_string(), n + 1)).collect();
        let chart = Chart::new("x", "", &Distribution(values.into_iter().collect()));
        assert_eq!((chart.bars.len(), chart.others), (MOST + 1, 40 - MOST));
        let sum: u64 = chart.bars.iter().map(|b| b.count).sum();
        assert_eq!(sum, (1..=40).sum::<u64>());
        assert!(
            Chart::new("none", "", &Distribution::default())
                .bars
                .is_empty()
        );
    }
}
