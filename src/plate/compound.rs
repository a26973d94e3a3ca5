//! Labels of two: of two fields, `HZ/PH`, `kW(HP)`, each with its own value, or of one in two languages, `TIPO / ENCL.`;
//! and the values that stand with them.

use super::labels::{Ch, EXACT, Item, Kind, LABEL_GAP, Label, exact, label};
use super::lexicon::{Target, lexicon};
use super::parts::strokes;
use super::sheet::{Place, Sheet, Span};
use super::values;
use crate::record::Field;
use std::collections::HashSet;

/// A stroke farther from what it parts, in heights of text, parts nothing.
const APART: f32 = 2.5;

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
            let entries = lexicon.get(&super::lexicon::key(&sheet.text(span)));
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

/// A label in brackets, `[kW]` of `HP [kW]`, and where it ends behind them.
pub(super) fn bracketed(
    sheet: &Sheet<'_>,
    chars: &[Ch],
    parts: &[Span],
    gaps: &[f32],
    at: usize,
) -> Option<(usize, Label)> {
    if !"([".contains(chars[at].key) || at + 1 >= chars.len() {
        return None;
    }
    let (end, label) = exact(sheet, chars, parts, gaps, at + 1)?;
    let closed = chars
        .get(end)
        .is_some_and(|c| ")]".contains(c.key) && c.last);
    closed.then_some((end + 1, label))
}

/// A figure in brackets without them: `(2.0)` behind `1.5`.
pub(super) fn without_brackets(sheet: &Sheet<'_>, span: Span) -> Span {
    let text = sheet.text(span);
    let inside = text
        .strip_prefix(['(', '['])
        .and_then(|t| t.strip_suffix([')', ']']));
    let figure =
        |t: &str| !t.is_empty() && t.chars().all(|c| c.is_ascii_digit() || ".,/".contains(c));
    if inside.is_some_and(figure) {
        Span {
            from: span.from + 1,
            to: span.to - 1,
            ..span
        }
    } else {
        span
    }
}

/// Labels parted by strokes with as many values behind all of them, `Volts / Hz / Ph  120/240 / 60 / 1`: each value comes
/// behind its own label. Without strokes between them, as columns, they have to be usual values of their labels.
fn each_behind(items: &mut Vec<Item>) {
    let mut at = 0;
    while at < items.len() {
        let targets = |i: usize| match items.get(i).map(|item| &item.kind) {
            Some(Kind::Label(label)) => Some(label.targets.clone()),
            _ => None,
        };
        let mut labels: Vec<usize> = targets(at).map(|_| at).into_iter().collect();
        while let Some(&last) = labels.last()
            && items.get(last + 1).is_some_and(is_stroke)
            && targets(last + 2).is_some()
            && items[last + 2].gap < LABEL_GAP
        {
            labels.push(last + 2);
        }
        let from = labels.last().map_or(at, |last| *last) + 1;
        let fields: Vec<Vec<Target>> = labels.iter().filter_map(|&i| targets(i)).collect();
        let distinct = fields.iter().collect::<HashSet<_>>().len() == fields.len();
        let values = items[from..].to_vec();
        at = from;
        // `POTENCIA / HP` is one label.
        let power = fields.iter().flatten().all(Target::is_power);
        if labels.len() < 2 || !distinct || power {
            continue;
        }
        let stroke = |item: &Item| item.text.trim() == "/" && item.gap < APART;
        let mut groups: Vec<&[Item]> = values.split(stroke).collect();
        if groups.len() == 1 && values.len() == labels.len() {
            groups = values.chunks(1).collect();
            let fits = |(item, fields): (&Item, &Vec<Target>)| {
                let usual = |&target: &Target| values::is_usual(target, &item.text);
                matches!(item.kind, Kind::Value(None)) && fields.iter().any(usual)
            };
            if !values.iter().zip(&fields).all(fits) {
                continue;
            }
        }
        if groups.len() != labels.len() || groups.iter().any(|group| group.is_empty()) {
            continue;
        }
        let each = labels.iter().zip(&groups);
        let each = each.flat_map(|(&label, group)| {
            std::iter::once(items[label].clone()).chain(group.iter().cloned())
        });
        let each: Vec<Item> = each.collect();
        items.truncate(labels[0]);
        items.extend(each);
        return;
    }
}

/// Labels on both sides of a stroke. Where the values are parted by one too, each has its own: `HZ / PH 60 / 1`. Those
/// that do not both announce figures are else one label, `TIPO / ENCL.`, of either. `POTENCIA / HP` are horsepower.
pub(super) fn beside_strokes(sheet: &Sheet<'_>, items: &mut Vec<Item>) {
    let label = |item: &Item| match &item.kind {
        Kind::Label(label) => Some(label.clone()),
        Kind::Value(_) => None,
    };
    let figures = |label: &Label| {
        let mut targets = label.targets.iter();
        targets.any(|t| matches!(t, Target::Field(field) if !field.is_text()))
    };
    let mark = |label: &Label| {
        let mut targets = label.targets.iter();
        targets.all(|t| matches!(t, Target::Mark(_)))
    };
    each_behind(items);
    let mut next = 1;
    while next < items.len() {
        let at = next;
        next += 1;
        // The stroke is an item of its own, or it stands between two parts of one word.
        let parted = at > 1 && is_stroke(&items[at - 1]) && items[at].gap < LABEL_GAP;
        let before = if parted { at - 2 } else { at - 1 };
        let (first, second) = (&items[before], &items[at]);
        let between = Span {
            from: first.span.to,
            to: second.span.from,
            ..first.span
        };
        let together = first.span.line == second.span.line
            && between.from < between.to
            && sheet.text(between).trim() == "/";
        let Some((one, other)) = label(first).zip(label(second)).filter(|_| together) else {
            continue;
        };
        let followed = parted
            && one.targets != other.targets
            && matches!(items.get(at + 1..at + 4), Some([value, stroke, _])
                if matches!(value.kind, Kind::Value(_)) && is_stroke(stroke));
        if followed {
            // Each value behind its own label.
            items.swap(at - 1, at + 1);
            items.swap(at + 1, at + 3);
            items.drain(at + 2..at + 4);
        } else if !(mark(&one) || mark(&other) || figures(&one) && figures(&other)) {
            let second = items.drain(before + 1..=at).next_back();
            let Some(second) = second else { continue };
            let whole = &mut items[before];
            whole.place.right = second.place.right;
            whole.span.to = second.span.to;
            whole.text = format!("{} / {}", whole.text, second.text);
            let mut targets = one.targets.clone();
            targets.extend(other.targets.iter().filter(|t| !one.targets.contains(t)));
            // `TYPE/MODEL` is the model.
            if targets.iter().any(|t| matches!(t, Target::Field(_))) {
                targets.retain(|t| *t != Target::Other("type"));
            }
            whole.kind = Kind::Label(Label {
                text: whole.text.clone(),
                targets,
                certainty: one.certainty.min(other.certainty),
                unit: one.unit && other.unit,
                strong: one.strong || other.strong,
            });
            next = before + 1;
        } else if one.targets == [Target::Field(Field::Kw)]
            && other.targets == [Target::Field(Field::Hp)]
            && one.text.chars().count() > 2
        {
            let targets = other.targets;
            items[before].kind = Kind::Label(Label { targets, ..one });
        }
    }
}

fn is_stroke(item: &Item) -> bool {
    item.text.trim() == "/" && item.gap < LABEL_GAP
}
