//! The rows of a plate told apart into labels and values.
//!
//! A label is found by its characters where they are read well, the longest first. Where they are not, the
//! spelling that the lattice supports best is taken: a character that the recogniser nearly read costs
//! little, one of which it saw nothing costs much.

use super::lexicon::{Entry, Target, key_char, lexicon};
use super::sheet::{Place, Sheet, Span};
use super::values;
use crate::record::Field;
use crate::text::{BLANK, Lattice};
use regex::Regex;
use std::collections::HashSet;
use std::sync::LazyLock;

/// Words of one label stand no farther apart than this, in heights of text.
const LABEL_GAP: f32 = 1.3;
/// What a character costs at most that the lattice does not support, in nats.
const UNSEEN: f32 = 4.0;
/// Labels less likely than this are no labels.
const LEAST: f64 = 0.2;
/// How sure a label is whose characters are read as it is spelled.
const EXACT: f64 = 0.998;

/// What a label may announce, and how likely it is that it is this label.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Label {
    /// The characters as read.
    pub text: String,
    pub targets: Vec<Target>,
    pub certainty: f64,
    pub unit: bool,
    pub strong: bool,
}

/// A piece of a row: a label, or characters that may be a value or a part of one.
#[derive(Debug, Clone)]
pub(super) struct Item {
    pub span: Span,
    pub place: Place,
    /// Distance to the item before it in the row, in heights of text.
    pub gap: f32,
    pub text: String,
    pub kind: Kind,
}

#[derive(Debug, Clone)]
pub(super) enum Kind {
    Label(Label),
    /// With the unit that is written into it (`60HZ`), where there is one.
    Value(Option<Label>),
}

/// A character of a row as labels are compared.
struct Ch {
    key: char,
    /// Index of its word in the row.
    word: usize,
    line: usize,
    glyph: usize,
    first: bool,
    last: bool,
}

/// Tells a row of words apart.
pub(super) fn items(sheet: &Sheet<'_>, row: &[Span], parted: &HashSet<Span>) -> Vec<Item> {
    let parts: Vec<Span> = row
        .iter()
        .flat_map(|&w| {
            if parted.contains(&w) {
                strokes(sheet, w)
            } else {
                ratings(sheet, w)
            }
        })
        .collect();
    let parts: Vec<Span> = (0..parts.len())
        .flat_map(|i| match run_on(sheet, &parts, i) {
            Some(at) => vec![
                Span { to: at, ..parts[i] },
                Span {
                    from: at,
                    ..parts[i]
                },
            ],
            None => vec![parts[i]],
        })
        .collect();
    let places: Vec<Place> = parts.iter().map(|&w| sheet.place(w)).collect();
    let gaps: Vec<f32> = (0..parts.len())
        .map(|i| {
            i.checked_sub(1)
                .map_or(f32::INFINITY, |b| gap(&places[b], &places[i]))
        })
        .collect();
    let chars = characters(sheet, &parts);
    let seen: Vec<Seen> = chars.iter().map(|c| Seen::new(sheet, c)).collect();
    let mut found: Vec<(Span, Kind)> = Vec::new();
    let mut at = 0;
    while at < chars.len() {
        if let Some((pairs, end)) = compound(sheet, &chars, &parts, at) {
            found.extend(pairs);
            at = end;
            continue;
        }
        let label = exact(sheet, &chars, &parts, &gaps, at).or_else(|| {
            chars[at]
                .first
                .then(|| fuzzy(sheet, &chars, &seen, &parts, &gaps, at))
                .flatten()
        });
        match label {
            Some((end, label)) => {
                for span in spans(&chars[at..end]) {
                    found.push((span, Kind::Label(label.clone())));
                }
                at = end;
            }
            None => {
                let word = chars[at].word;
                let end = chars[at..]
                    .iter()
                    .position(|c| c.word != word)
                    .map_or(chars.len(), |n| at + n);
                let span = Span {
                    from: value_start(sheet, &chars, &parts, at),
                    ..parts[word]
                };
                let unit = unit(&sheet.text(span));
                found.push((span, Kind::Value(unit)));
                at = end;
            }
        }
    }
    letters_as_values(merge(sheet, found))
}

/// Labels parted by strokes, `HZ/PH`, and where they end; each with its value where the values follow and
/// are parted as well, `HZ/PH: 60/1`.
fn compound(
    sheet: &Sheet<'_>,
    chars: &[Ch],
    parts: &[Span],
    at: usize,
) -> Option<(Vec<(Span, Kind)>, usize)> {
    let word = chars[at].word;
    let labels = if chars[at].first {
        compound_label(sheet, parts[word])?
    } else {
        return None;
    };
    let values = parts.get(word + 1).map(|&next| strokes(sheet, next));
    let values = values.filter(|v| v.len() == labels.len());
    let last = word + usize::from(values.is_some());
    let mut pairs = Vec::new();
    for (i, (span, label)) in labels.into_iter().enumerate() {
        pairs.push((span, Kind::Label(label)));
        if let Some(values) = &values {
            pairs.push((values[i], Kind::Value(None)));
        }
    }
    let end = chars
        .iter()
        .position(|c| c.word > last)
        .unwrap_or(chars.len());
    Some((pairs, end))
}

/// The labels of a word in which they are parted by strokes; `None` where it is one label or none.
fn compound_label(sheet: &Sheet<'_>, word: Span) -> Option<Vec<(Span, Label)>> {
    let lexicon = lexicon();
    let whole = super::lexicon::key(&sheet.text(word));
    if !whole.contains(&'/') || !lexicon.get(&whole).is_empty() {
        return None;
    }
    strokes(sheet, word)
        .into_iter()
        .map(|span| {
            let key = super::lexicon::key(&sheet.text(span));
            let entries: Vec<&Entry> = lexicon
                .get(&key)
                .iter()
                .map(|&i| &lexicon.entries[i])
                .collect();
            let known = !entries.is_empty() && !matches!(entries[0].target, Target::Mark(_));
            known.then(|| (span, label(sheet.text(span), &entries, EXACT)))
        })
        .collect()
}

/// Words below a compound label that are parted as it is: `60/1` below `HZ/PH`.
pub(super) fn below_compounds(sheet: &Sheet<'_>) -> HashSet<Span> {
    let mut found = HashSet::new();
    for &word in &sheet.words {
        let Some(labels) = compound_label(sheet, word) else {
            continue;
        };
        let place = sheet.place(word);
        let below = sheet.words.iter().copied().filter(|&other| {
            let p = sheet.place(other);
            let deep = (p.top() - place.bottom()) / place.height;
            (-0.45..2.2).contains(&deep) && place.column_overlap(&p) > 0.4
        });
        let nearest = below.min_by(|&a, &b| sheet.place(a).y.total_cmp(&sheet.place(b).y));
        found.extend(nearest.filter(|&n| strokes(sheet, n).len() == labels.len()));
    }
    found
}

/// The parts of a word between its strokes.
fn strokes(sheet: &Sheet<'_>, word: Span) -> Vec<Span> {
    let glyphs = &sheet.glyphs[word.line];
    let mut parts = Vec::new();
    let mut from = word.from;
    for at in word.from..=word.to {
        if at == word.to || glyphs.get(at).is_some_and(|g| g.ch == '/') {
            if at > from {
                parts.push(Span {
                    from,
                    to: at,
                    ..word
                });
            }
            from = at + 1;
        }
    }
    parts
}

/// Where a value begins: with its word, or behind the label in the same word. A point behind a label that
/// is written with points is the label's.
fn value_start(sheet: &Sheet<'_>, chars: &[Ch], parts: &[Span], at: usize) -> usize {
    let ch = &chars[at];
    if ch.first {
        return parts[ch.word].from;
    }
    let behind = chars[at - 1].glyph + 1;
    let label = Span {
        line: ch.line,
        from: parts[ch.word].from,
        to: behind,
    };
    if sheet.text(label).contains('.') {
        ch.glyph
    } else {
        behind
    }
}

/// `CODE A`, `DES A`: a letter that is a unit elsewhere is the value of the label before it.
fn letters_as_values(mut items: Vec<Item>) -> Vec<Item> {
    use Field::*;
    for i in 1..items.len() {
        let (before, after) = items.split_at_mut(i);
        let (Kind::Label(label), item) = (&before[i - 1].kind, &mut after[0]) else {
            continue;
        };
        let lettered = label
            .targets
            .iter()
            .any(|t| matches!(t, Target::Field(KvaCode | Design | InsulationClass)));
        let one = item.text.chars().filter(|c| c.is_alphanumeric()).count() == 1;
        if lettered && one && item.gap < 3.0 && matches!(item.kind, Kind::Label(_)) {
            item.kind = Kind::Value(None);
        }
    }
    items
}

/// Distance between neighbours in a row, in heights of text.
pub(super) fn gap(before: &Place, after: &Place) -> f32 {
    (after.left - before.right) / ((before.height + after.height) / 2.0)
}

/// The items with their places; the words of one label become one item.
fn merge(sheet: &Sheet<'_>, found: Vec<(Span, Kind)>) -> Vec<Item> {
    let mut items: Vec<Item> = Vec::new();
    for (span, kind) in found {
        let place = sheet.place(span);
        let text = sheet.text(span);
        if let (Some(last), Kind::Label(label)) = (items.last_mut(), &kind)
            && let Kind::Label(before) = &last.kind
            && before == label
            && label.text.chars().filter(|c| *c != ' ').count()
                > last.text.chars().filter(|c| *c != ' ').count()
        {
            last.place = last.place.join(&place);
            if last.span.line == span.line {
                last.span.to = span.to;
            }
            last.text = format!("{} {text}", last.text);
            continue;
        }
        let gap = items
            .last()
            .map_or(f32::INFINITY, |i| gap(&i.place, &place));
        items.push(Item {
            span,
            place,
            gap,
            text,
            kind,
        });
    }
    items
}

fn characters(sheet: &Sheet<'_>, parts: &[Span]) -> Vec<Ch> {
    let mut chars = Vec::new();
    for (word, span) in parts.iter().enumerate() {
        let start = chars.len();
        for glyph in span.from..span.to {
            let ch = sheet.glyphs[span.line][glyph].ch;
            if let Some(key) = key_char(ch) {
                let (line, first) = (span.line, chars.len() == start);
                chars.push(Ch {
                    key,
                    word,
                    line,
                    glyph,
                    first,
                    last: false,
                });
            }
        }
        if let Some(last) = chars[start..].last_mut() {
            last.last = true;
        }
    }
    chars
}

/// The stretches of lines that characters cover, from the first of each to the last.
fn spans(chars: &[Ch]) -> Vec<Span> {
    let mut spans: Vec<Span> = Vec::new();
    let mut word = None;
    for c in chars {
        match spans.last_mut() {
            Some(span) if word == Some(c.word) => span.to = c.glyph + 1,
            _ => spans.push(Span {
                line: c.line,
                from: c.glyph,
                to: c.glyph + 1,
            }),
        }
        word = Some(c.word);
    }
    spans
}

/// A label spelled as in the lexicon that begins at a character, the longest one, and where it ends.
fn exact(
    sheet: &Sheet<'_>,
    chars: &[Ch],
    parts: &[Span],
    gaps: &[f32],
    at: usize,
) -> Option<(usize, Label)> {
    let lexicon = lexicon();
    let begins = chars[at].first
        || at
            .checked_sub(1)
            .is_some_and(|b| !chars[b].key.is_alphanumeric());
    if !begins {
        return None;
    }
    let after_number = chars[at].word.checked_sub(1).is_some_and(|w| {
        gaps[chars[at].word] < LABEL_GAP
            && sheet.text(parts[w]).ends_with(|c: char| c.is_ascii_digit())
    });
    let mut key = Vec::new();
    let mut best = None;
    for end in at + 1..=chars.len().min(at + lexicon.longest) {
        let ch = &chars[end - 1];
        if ch.first && end - 1 > at && gaps[ch.word] > LABEL_GAP {
            break;
        }
        key.push(ch.key);
        let entries: Vec<&Entry> = lexicon
            .get(&key)
            .iter()
            .map(|&i| &lexicon.entries[i])
            .filter(|e| after_number || e.target != Target::MetricHp)
            .collect();
        if entries.is_empty() {
            continue;
        }
        let fits = ch.last || entries.iter().any(|e| glued(sheet, chars, parts, end, e));
        if fits {
            let text = text(sheet, &chars[at..end]);
            best = Some((end, label(text, &entries, EXACT)));
        }
    }
    best
}

/// Where a label begins that lost the blank before it, `24T3793HP 1/2`: it ends its word, and a number follows.
fn run_on(sheet: &Sheet<'_>, parts: &[Span], word: usize) -> Option<usize> {
    let span = parts[word];
    let text: Vec<char> = sheet.text(span).chars().collect();
    let next = sheet.text(*parts.get(word + 1)?);
    let number = next.starts_with(|c: char| c.is_ascii_digit() || c == '.');
    let digits = text.iter().filter(|c| c.is_ascii_digit()).count();
    if !number || digits < 4 || unit(&sheet.text(span)).is_some() {
        return None;
    }
    let lexicon = lexicon();
    (1..text.len().saturating_sub(1)).find_map(|at| {
        let before = text[at - 1].is_ascii_digit() && text[at].is_alphabetic();
        let key: Vec<char> = text[at..].iter().copied().filter_map(key_char).collect();
        let label = lexicon.get(&key).iter().any(|&i| {
            let e = &lexicon.entries[i];
            e.strong && matches!(e.target, Target::Field(f) if !f.is_text())
        });
        (before && label).then_some(span.from + at)
    })
}

/// Whether the rest of the word, from `end`, is a value of the label before it: `HP1/2`, `INSB`.
fn glued(sheet: &Sheet<'_>, chars: &[Ch], parts: &[Span], end: usize, entry: &Entry) -> bool {
    if matches!(entry.target, Target::Mark(_)) {
        return false;
    }
    let next = &chars[end];
    let rest = Span {
        from: next.glyph,
        ..parts[next.word]
    };
    let rest_text = sheet.text(rest);
    let letters = next.key.is_alphabetic() && chars[end - 1].key.is_alphabetic();
    let parted = next.glyph > chars[end - 1].glyph + 1;
    if entry.key.len() < 2 {
        // A single letter is a label before a colon, or before what only its value can be: `A4.6/2.3`.
        let colon = parted
            && !sheet
                .text(Span {
                    from: chars[end - 1].glyph + 1,
                    to: next.glyph,
                    line: next.line,
                })
                .contains('.');
        let rating = next.key.is_ascii_digit() && rest_text.contains(['.', '/']);
        if !colon && !rating {
            return false;
        }
    }
    if letters && !parted {
        use Field::*;
        let closed = matches!(
            entry.target,
            Target::Field(InsulationClass | KvaCode | Design | Enclosure | Duty | Rotation)
        );
        return closed && entry.key.len() >= 3 && values::mean(entry.target, &rest_text).is_some();
    }
    if values::is_free(entry.target) {
        return next.key.is_ascii_digit() && entry.key.len() >= 3 || parted;
    }
    values::read(entry.target, &sheet.lattice(rest))
        .is_some_and(|fit| fit.mass > 0.02 && fit.usual > 0.1)
}

fn text(sheet: &Sheet<'_>, chars: &[Ch]) -> String {
    let parts: Vec<String> = spans(chars).iter().map(|&s| sheet.text(s)).collect();
    parts.join(" ")
}

fn label(text: String, entries: &[&Entry], certainty: f64) -> Label {
    Label {
        text,
        targets: entries.iter().map(|e| e.target).collect(),
        certainty,
        unit: entries.iter().any(|e| e.unit),
        strong: entries.iter().any(|e| e.strong),
    }
}

/// The unit written behind a number in the same word: `60HZ`, `6.8A`.
fn unit(text: &str) -> Option<Label> {
    static NUMBER_UNIT: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"^[\s:=]*[0-9.,/½¼¾-]*[0-9½¼¾]\.?\s?([^0-9\s]{1,6})$").expect("a fixed pattern")
    });
    let unit = NUMBER_UNIT.captures(text)?.get(1)?.as_str().to_owned();
    let lexicon = lexicon();
    let key = super::lexicon::key(&unit);
    let entries: Vec<&Entry> = lexicon
        .get(&key)
        .iter()
        .map(|&i| &lexicon.entries[i])
        .filter(|e| e.unit)
        .collect();
    (!entries.is_empty()).then(|| label(unit, &entries, EXACT))
}

/// Ratings with their units written without a blank, one from the other: `115V/60HZ/1PH`, `230V~50HZ`.
fn ratings(sheet: &Sheet<'_>, word: Span) -> Vec<Span> {
    static RATING: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"(?i)([0-9][0-9.,/-]*)(HP|KW|VAC|VOLTS|V~|V|AMPS|A|HZ|PHASE|PH|RPM|MFD|[UµM]F|~)[/,;~@-]*")
            .expect("a fixed pattern")
    });
    static AFTER_UNIT: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"(?i)^(MFD|MF|[UµM]F)[/,@-]+([1-6][0-9][05].*)$").expect("a fixed pattern")
    });
    let text = sheet.text(word);
    let at = |byte: usize| word.from + text[..byte].chars().count();
    if let Some(found) = AFTER_UNIT.captures(&text)
        && let (Some(unit), Some(rest)) = (found.get(1), found.get(2))
    {
        return vec![
            Span {
                to: at(unit.end()),
                ..word
            },
            Span {
                from: at(rest.start()),
                ..word
            },
        ];
    }
    let matches: Vec<_> = RATING.captures_iter(&text).collect();
    let mut units: Vec<String> = matches.iter().map(|m| m[2].to_uppercase()).collect();
    units.dedup();
    let covered: usize = matches.iter().map(|m| m[0].len()).sum();
    if units.len() < 2 || covered < text.len() {
        return vec![word];
    }
    matches
        .iter()
        .filter_map(|m| Some((m.get(1)?, m.get(2)?)))
        .map(|(number, unit)| Span {
            line: word.line,
            from: at(number.start()),
            to: at(unit.end()),
        })
        .collect()
}

/// The label that the lattice supports best from a word's start, where none is spelled out.
fn fuzzy(
    sheet: &Sheet<'_>,
    chars: &[Ch],
    seen: &[Seen],
    parts: &[Span],
    gaps: &[f32],
    at: usize,
) -> Option<(usize, Label)> {
    let lexicon = lexicon();
    let word = Span {
        from: chars[at].glyph,
        ..parts[chars[at].word]
    };
    if unit(&sheet.text(word)).is_some() {
        return None;
    }
    let mut best: Option<(f64, usize, &Entry)> = None;
    for end in at + 1..=chars.len().min(at + lexicon.longest + 1) {
        let ch = &chars[end - 1];
        if ch.first && end - 1 > at {
            let number = ch.key.is_ascii_digit();
            if gaps[ch.word] > LABEL_GAP
                || number
                || exact(sheet, chars, parts, gaps, end - 1).is_some()
            {
                break;
            }
        }
        let before_digit = !ch.last && chars[end].key.is_ascii_digit() && ch.key.is_alphabetic();
        let window = &chars[at..end];
        let letters = window.iter().filter(|c| c.key.is_alphabetic()).count();
        if !(ch.last || before_digit)
            || window.len() < 2
            || letters * 2 < window.len()
            || is_value(sheet, window)
        {
            continue;
        }
        let seen = &seen[at..end];
        for entry in &lexicon.entries {
            if entry.key.len() < 2
                || entry.key.len().abs_diff(window.len()) > 2
                || too_different(seen, &entry.key)
            {
                continue;
            }
            let length = entry.key.len() as f32;
            let cost = distance(seen, &entry.key, 0.8 * length + 1.5);
            let certainty = 1.0 / (1.0 + f64::from(cost - 0.8 * length + 1.5).exp());
            let better = best.is_none_or(|(c, e, _)| (certainty, end) > (c, e));
            if certainty >= LEAST && better {
                best = Some((certainty, end, entry));
            }
        }
    }
    let (certainty, end, entry) = best?;
    let entries: Vec<&Entry> = lexicon
        .get(&entry.key)
        .iter()
        .map(|&i| &lexicon.entries[i])
        .collect();
    Some((
        end,
        label(text(sheet, &chars[at..end]), &entries, certainty),
    ))
}

/// Whether characters are a value that stands alone, not a misread label.
fn is_value(sheet: &Sheet<'_>, window: &[Ch]) -> bool {
    let text = text(sheet, window);
    [Field::Enclosure, Field::Rotation, Field::Duty]
        .iter()
        .any(|&f| super::alone::is_spelled(f, &text))
}

/// What a step or two of the lattice say about one place in a label.
struct Seen {
    best: char,
    /// Characters with ln P relative to the best one.
    others: Vec<(char, f32)>,
}

impl Seen {
    fn new(sheet: &Sheet<'_>, ch: &Ch) -> Seen {
        let lattice: &Lattice = &sheet.page.lines[ch.line].lattice;
        let glyph = sheet.glyphs[ch.line][ch.glyph];
        let n = lattice.steps() as f32;
        let steps = (glyph.from * n).round() as usize
            ..((glyph.to * n).round() as usize).min(lattice.steps());
        let best = glyph.p.max(1e-6).ln();
        let mut others: Vec<(char, f32)> = Vec::new();
        for at in steps {
            for &(other, log_p) in lattice.step(at) {
                let key = if other == BLANK {
                    BLANK
                } else {
                    key_char(other).unwrap_or(BLANK)
                };
                match others.iter_mut().find(|o| o.0 == key) {
                    Some(o) => o.1 = o.1.max(log_p - best),
                    None => others.push((key, log_p - best)),
                }
            }
        }
        Seen {
            best: ch.key,
            others,
        }
    }

    /// What it costs to take this place for `ch`; for [`BLANK`], to take it for nothing.
    fn cost(&self, ch: char) -> f32 {
        if self.best == ch {
            return 0.0;
        }
        let seen = self.others.iter().find(|o| o.0 == ch);
        seen.map_or(UNSEEN, |o| (-o.1).clamp(0.0, UNSEEN))
    }
}

/// A quick bound: how many characters of the label were not even likeliest somewhere.
fn too_different(seen: &[Seen], key: &[char]) -> bool {
    let missing = key
        .iter()
        .filter(|&&c| !seen.iter().any(|s| s.cost(c) < UNSEEN))
        .count();
    missing * 3 > key.len()
}

/// Edit distance between what was seen and a label's spelling, in nats; gives up beyond `limit`.
fn distance(seen: &[Seen], key: &[char], limit: f32) -> f32 {
    let mut before: Vec<f32> = (0..=key.len()).map(|j| j as f32 * UNSEEN).collect();
    for s in seen {
        let mut row = vec![before[0] + s.cost(BLANK)];
        for (j, &ch) in key.iter().enumerate() {
            let replaced = before[j] + s.cost(ch);
            let left_out = before[j + 1] + s.cost(BLANK);
            let added = row[j] + UNSEEN;
            row.push(replaced.min(left_out).min(added));
        }
        if row.iter().all(|&c| c > limit) {
            return f32::INFINITY;
        }
        before = row;
    }
    before[key.len()]
}
