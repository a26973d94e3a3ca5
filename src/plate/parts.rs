//! Words that are more than one thing: labels or ratings parted by strokes or by nothing, a label run on to
//! the value before it, a unit behind its number.

use super::labels::{Ch, EXACT, Kind, Label, label};
use super::lexicon::{Entry, Target, key_char, lexicon};
use super::sheet::{Place, Sheet, Span};
use regex::Regex;
use std::collections::HashSet;
use std::sync::LazyLock;

/// Labels parted by strokes, `HZ/PH`, and where they end; each with its value where the values follow and
/// are parted as well, `HZ/PH: 60/1`.
pub(super) fn compound(
    sheet: &Sheet<'_>,
    chars: &[Ch],
    parts: &[Span],
    at: usize,
) -> Option<(Vec<(Span, Kind)>, usize)> {
    let word = chars[at].word;
    if !chars[at].first {
        return None;
    }
    if let Some(pairs) = run_together(sheet, parts[word]) {
        let end = chars.iter().position(|c| c.word > word);
        return Some((pairs, end.unwrap_or(chars.len())));
    }
    let labels = compound_label(sheet, parts[word])?;
    // One label in two languages: `FRAME/CARCASSE`.
    let (first, others) = labels.split_first()?;
    if others.iter().all(|(_, l)| l.targets == first.1.targets) {
        let end = chars.iter().position(|c| c.word > word);
        let label = Kind::Label(first.1.clone());
        return Some((vec![(parts[word], label)], end.unwrap_or(chars.len())));
    }
    // `60/1`, and `60 / 1` where the blanks were seen; `1.5 (2.0)` behind `kW(HP)`.
    let bracketed = in_brackets(sheet, parts[word]).is_some();
    let followed = (1..2 * labels.len()).find_map(|words| {
        let next = parts.get(word + 1..=word + words)?;
        let line = next[0].line;
        if next.iter().any(|part| part.line != line) {
            return None;
        }
        let (from, to) = (next[0].from, next[next.len() - 1].to);
        let all = Span { line, from, to };
        let values = if bracketed {
            in_brackets(sheet, all).map_or(Vec::new(), Vec::from)
        } else {
            strokes(sheet, all)
        };
        (values.len() == labels.len()).then_some((values, words))
    });
    let last = word + followed.as_ref().map_or(0, |(_, words)| *words);
    let values = followed.map(|(values, _)| values);
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

/// Labels and their values in one word, `KW/HP3.7/5.0`.
fn run_together(sheet: &Sheet<'_>, word: Span) -> Option<Vec<(Span, Kind)>> {
    let digit = |c: char| c.is_ascii_digit();
    let first = sheet.text(word).chars().position(digit)?;
    let (labels, values) = (
        Span {
            to: word.from + first,
            ..word
        },
        Span {
            from: word.from + first,
            ..word
        },
    );
    let labels = compound_label(sheet, labels)?;
    let values = strokes(sheet, values);
    let number = |&value: &Span| sheet.text(value).parse::<f64>().is_ok();
    let pairs = labels.len() == values.len() && values.iter().all(number);
    let each = labels.into_iter().zip(values);
    pairs.then(|| {
        each.flat_map(|((span, label), value)| {
            [(span, Kind::Label(label)), (value, Kind::Value(None))]
        })
        .collect()
    })
}

/// What stands before brackets, and in them: `kW` and `HP` of `kW(HP)`, the two figures of `1.5 [2.0]`.
fn in_brackets(sheet: &Sheet<'_>, span: Span) -> Option<[Span; 2]> {
    let text: Vec<char> = sheet.text(span).chars().collect();
    let open = text.iter().position(|c| "([".contains(*c))?;
    let closed = text.last().is_some_and(|c| ")]".contains(*c));
    let before = text[..open].iter().rposition(|c| *c != ' ')? + 1;
    (closed && open + 2 < text.len()).then_some([
        Span {
            to: span.from + before,
            ..span
        },
        Span {
            from: span.from + open + 1,
            to: span.to - 1,
            ..span
        },
    ])
}

/// The labels of a word in which they are parted by strokes or brackets; `None` where it is one label or none.
fn compound_label(sheet: &Sheet<'_>, word: Span) -> Option<Vec<(Span, Label)>> {
    let lexicon = lexicon();
    let whole = super::lexicon::key(&sheet.text(word));
    if !lexicon.get(&whole).is_empty() {
        return None;
    }
    let parts = match in_brackets(sheet, word) {
        Some(parts) => parts.to_vec(),
        None if whole.contains(&'/') => strokes(sheet, word),
        None => return None,
    };
    parts
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

/// Words below or above a compound label that are parted as it is: `60/1` below `HZ/PH`.
pub(super) fn beside_compounds(sheet: &Sheet<'_>) -> HashSet<Span> {
    let mut found = HashSet::new();
    for &word in &sheet.words {
        let Some(labels) = compound_label(sheet, word) else {
            continue;
        };
        let place = sheet.place(word);
        let away =
            |p: &Place| (p.top() - place.bottom()).max(place.top() - p.bottom()) / place.height;
        let digits = |w: Span| sheet.text(w).starts_with(|c: char| c.is_ascii_digit());
        let near = sheet.words.iter().copied().filter(|&other| {
            let p = sheet.place(other);
            (-0.45..2.2).contains(&away(&p)) && place.column_overlap(&p) > 0.4
        });
        let parted = near.filter(|&n| digits(n) && strokes(sheet, n).len() == labels.len());
        found.extend(
            parted.min_by(|&a, &b| away(&sheet.place(a)).total_cmp(&away(&sheet.place(b)))),
        );
    }
    found
}

/// The parts of a word between its strokes.
pub(super) fn strokes(sheet: &Sheet<'_>, word: Span) -> Vec<Span> {
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

/// Whether a word is the marking of a lead or of the line it goes to, `T3`, `L1` (NEMA MG 1 part 2).
pub(super) fn is_terminal(word: &str) -> bool {
    static TERMINAL: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"(?i)^(?:T[0-9]{1,2}|L[1-3]|[UVW][12])$").expect("a fixed pattern")
    });
    TERMINAL.is_match(word)
}

/// Whether a word is a proper fraction in one figure, `1/2`.
pub(super) fn is_fraction(word: &str) -> bool {
    let parts = word.split_once('/');
    parts.is_some_and(|(n, d)| n.len() == 1 && d.len() == 1 && n < d && *n > *"0")
}

/// The word of which a span is one of the parts between strokes, and which one it is: `PH` of `HZ/PH`, the second.
pub(super) fn part(sheet: &Sheet<'_>, span: Span) -> Option<(Span, usize)> {
    let holds = |w: &&Span| w.line == span.line && w.from <= span.from && span.to <= w.to;
    let word = sheet.words.iter().copied().find(|w| holds(&w))?;
    let parts = strokes(sheet, word);
    let at = parts.iter().position(|part| *part == span)?;
    (parts.len() > 1).then_some((word, at))
}

/// Where a label begins that lost the blank before it, `24T3793HP 1/2`: it ends its word, and a number follows.
pub(super) fn run_on(sheet: &Sheet<'_>, parts: &[Span], word: usize) -> Option<usize> {
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

/// The unit written behind a number in the same word: `60HZ`, `6.8A`.
pub(super) fn unit(text: &str) -> Option<Label> {
    static NUMBER_UNIT: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"^[\s:=]*[0-9.,/½¼¾-]*[0-9½¼¾]\.?\s?([^0-9\s]{1,6}|(?i:min-1|1/min))$")
            .expect("a fixed pattern")
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

/// Values that say what they are, strung one behind the other with strokes: `1075RPM/3SPD/CCWLE/CL`, `40C/OPEN`.
pub(super) fn strung(sheet: &Sheet<'_>, word: Span) -> Vec<Span> {
    let parts = strokes(sheet, word);
    if parts.len() < 2 || super::alone::is_spelled(&sheet.text(word)) {
        return vec![word];
    }
    let kinds: Option<Vec<(String, bool)>> = parts.iter().map(|&part| kind(sheet, part)).collect();
    let apart = kinds.is_some_and(|kinds| {
        let different: HashSet<&String> = kinds.iter().map(|k| &k.0).collect();
        different.len() == kinds.len() && kinds.iter().any(|k| k.1)
    });
    if apart { parts } else { vec![word] }
}

/// What a part of a string is by its form alone, and whether it is a value: another is the label of the next.
fn kind(sheet: &Sheet<'_>, part: Span) -> Option<(String, bool)> {
    static COUNTED: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"(?i)^(?:[2-6](SP(?:EE)?DS?)|[1-9][0-9]°?(C))$").expect("a fixed pattern")
    });
    let text = sheet.text(part);
    if let Some(unit) = unit(&text) {
        return Some((unit.text.to_uppercase(), true));
    }
    if let Some(found) = COUNTED.captures(&text) {
        let of = found.get(1).or(found.get(2))?;
        return Some((of.as_str().to_uppercase(), true));
    }
    if super::alone::is_spelled(&text) || ratings(sheet, part).len() > 1 {
        return Some((text, true));
    }
    let key = super::lexicon::key(&text);
    let label = key.len() > 1 && !lexicon().get(&key).is_empty();
    label.then_some((text, false))
}

/// Ratings with their units written without a blank, one from the other: `115V/60HZ/1PH`, `230V~50HZ`.
pub(super) fn ratings(sheet: &Sheet<'_>, word: Span) -> Vec<Span> {
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
