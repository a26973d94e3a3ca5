//! Reading of the compiled-in reference tables.

use serde::de::DeserializeOwned;

/// Parses a table of `data/`: comma-separated, lines that start with `#` name sources and units.
///
/// # Panics
/// When a compiled-in table does not fit its row type, which the tests of each table rule out.
pub(super) fn rows<T: DeserializeOwned>(csv_text: &str) -> Vec<T> {
    csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(csv_text.as_bytes())
        .deserialize()
        .collect::<Result<_, _>>()
        .expect("a compiled-in table fits its row type")
}

/// A spelling reduced to what distinguishes it: letters and digits, upper case.
pub(super) fn compact(text: &str) -> String {
    text.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_uppercase)
        .collect()
}

/// A map from reduced spellings to rows; the first of equal spellings holds.
pub(super) fn by_spelling(
    pairs: impl Iterator<Item = (String, usize)>,
) -> std::collections::HashMap<String, usize> {
    let mut map = std::collections::HashMap::new();
    for (spelling, row) in pairs.filter(|(s, _)| !s.is_empty()) {
        map.entry(spelling).or_insert(row);
    }
    map
}
