//! What a plate says of other uses of the motor: `USABLE ON 50HZ 190/380V 2.5HP`. Its figures are not the rating, so
//! that they must not be taken for it; the words are kept as they stand.

use super::reading::Other;
use super::sheet::{Sheet, Span};

/// The words that begin such a sentence (common practice), and those that go on with it.
const BEGINNINGS: &[&str] = &["USABLE", "USEABLE", "SUITABLE", "OPERABLE", "ALSO", "OK"];
const SECOND: &[&str] = &["ON", "FOR", "AT", "@", "USABLE", "SUITABLE"];
/// The sentence ends before a gap of so many heights of text.
const APART: f32 = 3.0;

/// A row without the words on other uses, and those words.
pub(super) fn split(sheet: &Sheet<'_>, row: &[Span]) -> (Vec<Span>, Option<Other>) {
    let word = |at: usize| -> String {
        let text = row.get(at).map(|&span| sheet.text(span));
        let text = text.unwrap_or_default().to_uppercase();
        text.trim_matches(['.', ',', ':', '*', '(']).to_owned()
    };
    let begins = |at: &usize| {
        BEGINNINGS.contains(&word(*at).as_str()) && SECOND.contains(&word(at + 1).as_str())
    };
    let Some(from) = (0..row.len()).find(begins) else {
        return (row.to_vec(), None);
    };
    let apart = |at: &usize| {
        let (before, after) = (sheet.place(row[at - 1]), sheet.place(row[*at]));
        super::labels::gap(&before, &after) > APART
    };
    let to = (from + 1..row.len()).find(apart).unwrap_or(row.len());
    let words: Vec<String> = row[from..to].iter().map(|&s| sheet.text(s)).collect();
    let rated = row[..from].iter().chain(&row[to..]).copied().collect();
    let other = Other {
        kind: "other_use".to_owned(),
        printed: words.join(" "),
        quad: sheet.quad(row[from]),
    };
    (rated, Some(other))
}
