//! Values that stand without a label and say by themselves what they are: `TEFC`, `CCWLE`, `CONT`.

use super::labels::{Item, Kind};
use super::lexicon::Target;
use super::sheet::Sheet;
use super::values::{self, Fit};
use crate::record::Field;

/// Below this probability characters are not taken for a code that no label announces.
const LEAST_MASS: f64 = 0.3;

/// A value without a label.
pub(super) struct Alone {
    pub field: Field,
    /// Indices of its items in the row.
    pub items: std::ops::Range<usize>,
    pub fit: Fit,
    /// Probability that it is this field.
    pub certainty: f64,
}

/// Whether `text` is a value of `field` that needs no label.
pub(super) fn is_spelled(field: Field, text: &str) -> bool {
    values::mean(Target::Field(field), text).is_some_and(|_| certainty(field, text) > 0.0)
        && values::accepts(Target::Field(field), text)
}

/// The values of a row that stand alone, among the items that are free.
pub(super) fn find(sheet: &Sheet<'_>, row: &[Item], free: &dyn Fn(usize) -> bool) -> Vec<Alone> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < row.len() {
        let longest = (at..row.len().min(at + 5))
            .take_while(|&i| {
                free(i) && matches!(row[i].kind, Kind::Value(_)) && (i == at || row[i].gap < 1.3)
            })
            .count();
        let hit = (1..=longest)
            .rev()
            .find_map(|n| one(sheet, row, at..at + n));
        at = hit.as_ref().map_or(at + 1, |h| h.items.end);
        found.extend(hit);
    }
    found
}

fn one(sheet: &Sheet<'_>, row: &[Item], items: std::ops::Range<usize>) -> Option<Alone> {
    let spans: Vec<_> = row[items.clone()].iter().map(|i| i.span).collect();
    let lattice = super::layout::joined(sheet, &spans, " ");
    let fields = [
        Field::Enclosure,
        Field::Rotation,
        Field::Duty,
        Field::Phase,
        Field::Frame,
    ];
    fields
        .iter()
        .filter_map(|&field| {
            let fit = values::read(Target::Field(field), &lattice)?;
            let certainty = certainty(field, &fit.reads[0].printed);
            (certainty > 0.0 && fit.mass >= LEAST_MASS).then(|| Alone {
                field,
                items: items.clone(),
                fit,
                certainty,
            })
        })
        .max_by(|a, b| (a.certainty * a.fit.mass).total_cmp(&(b.certainty * b.fit.mass)))
}

/// How surely these characters alone are a value of this field; 0 where they are not enough.
fn certainty(field: Field, printed: &str) -> f64 {
    let upper = printed.to_uppercase();
    let letters = upper.chars().filter(|c| c.is_alphanumeric()).count();
    match field {
        // Air over alone tells nothing of the housing; TE and DP are short enough to be anything.
        Field::Enclosure => match upper.as_str() {
            "AO" | "A.O." | "AIR OVER" | "SD" | "DIP" | "OP" | "TEN" | "GUARDED" | "ENCLOSED"
            | "SUB" => 0.0,
            _ if letters <= 2 => 0.5,
            _ if letters == 3 => 0.996,
            _ => 0.998,
        },
        Field::Rotation => match letters {
            0..=2 => 0.9,
            3 => 0.97,
            _ => 0.997,
        },
        Field::Duty => match upper.trim_end_matches('.') {
            "AIR OVER" | "A.O" | "AO" => 0.0,
            "INT" | "INTER" => 0.7,
            // Duty types of IEC 60034-1.
            "S1" | "S2" | "S3" => 0.99,
            _ if letters <= 3 => 0.95,
            _ => 0.997,
        },
        Field::Phase if letters >= 9 => 0.98,
        // A frame with a suffix in the standard's form; a bare number may be anything.
        Field::Frame => {
            let digits = upper.chars().take_while(char::is_ascii_digit).count();
            let suffix = &upper[digits..];
            let known = matches!(
                suffix,
                "T" | "TS"
                    | "TC"
                    | "TSC"
                    | "TCH"
                    | "TCZ"
                    | "U"
                    | "US"
                    | "JM"
                    | "JP"
                    | "TD"
                    | "C"
                    | "H"
                    | "HC"
                    | "CZ"
                    | "HZ"
                    | "Y"
                    | "J"
                    | "Z"
            );
            if known
                && super::usual::usual_frame(&upper)
                && (digits == 3 || matches!(&upper[..digits], "42" | "48" | "56"))
            {
                if digits == 3 { 0.985 } else { 0.97 }
            } else {
                0.0
            }
        }
        _ => 0.0,
    }
}
