//! The rows of a plate told apart into labels and values.
//!
//! A label is found by its characters where they are read well, the longest first. Where they are not, the
//! spelling that the lattice supports best is taken: a character that the recogniser nearly read costs
//! little, one of which it saw nothing costs much.

use super::compound::{beside_strokes, bracketed, compound, without_brackets};
use super::layout::BLANK;
use super::lexicon::{Entry, Target, key, key_char, lexicon};
use super::parts::{counts, ratings, run_on, strokes, strung, unit};
use super::sheet::{Place, Sheet, Span};
use super::spelling::{Seen, fuzzy};
use super::values;
use crate::record::Field;
use std::collections::HashSet;

/// Words of one label stand no farther apart than this, in heights of text.
pub(super) const LABEL_GAP: f32 = 1.3;
/// How sure the sign for a number is without its circle.
const NUMBER_SIGN: f64 = 0.95;
/// How sure a label is whose characters are read as it is spelled.
pub(super) const EXACT: f64 = 0.998;

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
pub(super) struct Ch {
    pub key: char,
    /// Index of its word in the row.
    pub word: usize,
    pub line: usize,
    pub glyph: usize,
    pub first: bool,
    pub last: bool,
}

/// Tells a row of words apart.
pub(super) fn items(sheet: &Sheet<'_>, row: &[Span], parted: &HashSet<Span>) -> Vec<Item> {
    // `Model PH-364LP-4V`: a number of the maker's is no string of values, though its parts have their forms.
    let named = |at: usize| {
        let before = at.checked_sub(1).map(|before| row[before]);
        before.filter(|b| b.line == row[at].line).is_some_and(|b| {
            let entries = lexicon().get(&key(&sheet.text(b)));
            let mut targets = entries.iter().map(|entry| entry.target);
            targets.any(|t| values::is_makers_number(t) || t == Target::Other("type"))
        })
    };
    let parts: Vec<Span> = row
        .iter()
        .enumerate()
        .flat_map(|(at, &w)| {
            if parted.contains(&w) {
                strokes(sheet, w)
            } else if named(at) && sheet.text(w).contains('-') {
                vec![w]
            } else {
                strung(sheet, w)
                    .into_iter()
                    .flat_map(|part| ratings(sheet, part))
                    .collect()
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
    let parts = out_of_brackets(sheet, parts);
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
        if let Some((end, label)) = bracketed(sheet, &chars, &parts, &gaps, at) {
            let says = |before: &Label| before.targets.iter().any(|t| label.targets.contains(t));
            if !matches!(found.last(), Some((_, Kind::Label(before))) if says(before)) {
                let inside = spans(&chars[at + 1..end - 1]).into_iter();
                found.extend(inside.map(|span| (span, Kind::Label(label.clone()))));
            }
            at = end;
            continue;
        }
        let label = per_minute(sheet, &chars, &parts, at)
            .or_else(|| exact(sheet, &chars, &parts, &gaps, at))
            .or_else(|| behind_edge(sheet, &chars, &parts, at));
        let label = label.or_else(|| {
            let nearly = chars[at]
                .first
                .then(|| fuzzy(sheet, &chars, &seen, &parts, &gaps, at))
                .flatten()?;
            // `CCW (OPP. SHAFT END)` is a value, though its end is that of a label.
            let first = sheet.text(parts[chars[at].word]);
            let mut targets = nearly.1.targets.iter();
            if targets.any(|&t| t == Target::Field(Field::Rotation) && values::is_usual(t, &first))
            {
                return None;
            }
            // `H NOM. EFF.` ends in a label.
            let within = (at + 1..nearly.0).filter(|&next| chars[next].first);
            let mut ends = within.filter_map(|next| exact(sheet, &chars, &parts, &gaps, next));
            (!ends.any(|(end, _)| end >= nearly.0)).then_some(nearly)
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
                let span = without_brackets(
                    sheet,
                    Span {
                        from: value_start(sheet, &chars, &parts, at),
                        ..parts[word]
                    },
                );
                let unit = unit(&sheet.text(span));
                found.push((span, Kind::Value(unit)));
                at = end;
            }
        }
    }
    let mut items = letters_as_values(merge(sheet, found));
    tolerances(&mut items);
    letters_of_codes(&mut items);
    beside_strokes(sheet, &mut items);
    items
}

/// Words without the brackets around a figure and its unit: `(2.2 kW)` behind `3 HP`, `[40°C]` behind `104°F`.
fn out_of_brackets(sheet: &Sheet<'_>, mut parts: Vec<Span>) -> Vec<Span> {
    for at in 0..parts.len() {
        let text = |at: usize| parts.get(at).map(|&part| sheet.text(part));
        let Some(first) = text(at) else { break };
        let figure = |c: char| c.is_ascii_digit() || c == '.';
        let opens = first
            .strip_prefix(['(', '['])
            .is_some_and(|rest| rest.starts_with(figure));
        if !opens {
            continue;
        }
        let end = |text: &str| text.trim_end_matches([',', ';', '.']).to_owned();
        let closes = |at: &usize| text(*at).is_some_and(|text| end(&text).ends_with([')', ']']));
        let Some(last) = (at..at + 2).find(closes) else {
            continue;
        };
        // `(60 HZ)` behind a speed says for which supply it is.
        let inside = text(last).map(|text| end(&text)).unwrap_or_default();
        let unit = inside.trim_end_matches([')', ']']).to_uppercase();
        let own = ["HP", "KW", "W", "°C"].iter().any(|u| unit.ends_with(u));
        if own && parts[at].line == parts[last].line {
            // Without the bracket and the comma behind it, too.
            parts[last].to = parts[last].from + inside.chars().count() - 1;
            parts[at].from += 1;
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

/// `CODE A`, `DES A`: a letter that is a unit elsewhere is the value of the label before it. `CONT A O`: air over,
/// which decides by what a motor is chosen, and no amps.
fn letters_as_values(mut items: Vec<Item>) -> Vec<Item> {
    let lone = |item: &Item| {
        let mut letters = item.text.chars().filter(|c| c.is_alphanumeric());
        letters.next().filter(|_| letters.next().is_none())
    };
    for i in 1..items.len() {
        let over = (lone(&items[i - 1]), lone(&items[i]));
        if matches!(over, (Some('A'), Some('O' | '0'))) && items[i].gap < LABEL_GAP {
            items[i - 1].kind = Kind::Value(None);
            items[i].kind = Kind::Value(None);
        }
    }
    // `TOTALLY ENCL AIR OVER`
    for i in 1..items.len() {
        let before = items[i - 1].text.trim_end_matches('.').to_uppercase();
        let totally = before == "TOT" || before.starts_with("TOTALLY");
        if totally && items[i].gap < LABEL_GAP && says(&items[i], Field::Enclosure) {
            items[i].kind = Kind::Value(None);
        }
    }
    // `REV A 24`: of a drawing.
    for i in 1..items.len() {
        let revision = items[i - 1]
            .text
            .trim_end_matches('.')
            .eq_ignore_ascii_case("REV");
        if revision && lone(&items[i]).is_some() && items[i].gap < LABEL_GAP {
            items[i].kind = Kind::Value(None);
        }
    }
    // `FCC Part 15 Class B`: how much it disturbs radio.
    if let Some(rules) = items
        .iter()
        .position(|item| item.text.eq_ignore_ascii_case("FCC"))
    {
        let line = items[rules].span.line;
        for item in items.iter_mut().skip(rules + 1) {
            if item.span.line == line && says(item, Field::InsulationClass) {
                item.kind = Kind::Value(None);
            }
        }
    }
    // `MG1 PART 31`: of the standard.
    for i in 1..items.len() {
        let standard = ["MG1", "MG-1"].contains(&items[i - 1].text.trim_matches(['(', ',']));
        if standard && items[i].text.eq_ignore_ascii_case("PART") && items[i].gap < LABEL_GAP {
            items[i].kind = Kind::Value(None);
        }
    }
    number_signs(&mut items);
    // `SER DE-51127`, `S/N: P1 1836 0044`: letters that are a label elsewhere begin the number.
    for i in 1..items.len() {
        let sign = |c: char| c.is_ascii_uppercase() || c.is_ascii_digit();
        let item = &items[i];
        let short = item.text.len() <= 2 && item.text.chars().all(sign);
        let figures = item.text.contains(|c: char| c.is_ascii_digit());
        let near = item.gap < LABEL_GAP;
        let goes_on = items.get(i + 1).is_some_and(|next| {
            let one_word = next.span.line == item.span.line && next.span.from == item.span.to;
            let dash = next.text.starts_with('-');
            let code = dash || next.text.starts_with(|c: char| c.is_ascii_digit());
            let free = matches!(next.kind, Kind::Value(None));
            // In another column, `Model      : NR-FM16-230A`, the dash tells.
            code && (one_word && matches!(next.kind, Kind::Value(_)) && (near || dash)
                || free && figures && near && next.gap < BLANK)
        });
        if announces_code(&items[i - 1]) && short && goes_on {
            items[i].kind = Kind::Value(None);
        }
    }
    // `NO. A 7731/2`: a number of the maker's that begins with the letter, where no current can be meant.
    for i in 2..items.len() {
        let number = items[i].gap < LABEL_GAP
            && !items[i].text.contains(['.', ','])
            && matches!(items[i].kind, Kind::Value(None));
        if announces_code(&items[i - 2]) && number && lone(&items[i - 1]).is_some() {
            items[i - 1].kind = Kind::Value(None);
        }
    }
    // And one with the letter between two parts: `SERIAL K2217 A 0649`.
    for i in 3..items.len() {
        let figures =
            |item: &Item| item.text.len() >= 3 && item.text.chars().all(|c| c.is_ascii_digit());
        let close = items[i - 1].gap < LABEL_GAP && items[i].gap < LABEL_GAP;
        let parts = matches!(items[i - 2].kind, Kind::Value(None)) && figures(&items[i]);
        if announces_code(&items[i - 3]) && close && parts && lone(&items[i - 1]).is_some() {
            items[i - 1].kind = Kind::Value(None);
        }
    }
    for i in 1..items.len() {
        let (before, after) = items.split_at_mut(i);
        let Kind::Label(label) = &before[i - 1].kind else {
            continue;
        };
        // Without a value behind it the letter is no label.
        let idle = !matches!(after.get(1).map(|next| &next.kind), Some(Kind::Value(_)));
        let item = &mut after[0];
        if is_lettered(label)
            && lone(item).is_some()
            && (item.gap < 3.0 || idle)
            && matches!(item.kind, Kind::Label(_))
        {
            item.kind = Kind::Value(None);
        }
    }
    items
}

/// How far a supply may deviate, `V ±10% 415`, says nothing of the motor's ratings and may stand between a label and its value.
fn tolerances(items: &mut [Item]) {
    for item in items {
        let deviation = item
            .text
            .strip_prefix('±')
            .and_then(|t| t.strip_suffix('%'));
        let share = deviation.is_some_and(|t| t.trim().parse::<u8>().is_ok());
        if share && matches!(item.kind, Kind::Value(None)) {
            item.kind = Kind::Label(Label {
                text: item.text.clone(),
                targets: vec![Target::Mark("marks")],
                certainty: EXACT,
                unit: false,
                strong: false,
            });
        }
    }
}

/// `N 1047729306`, `N. 17 06 4429`: the sign for a number, of which the small circle is lost, where it begins a line or stands
/// apart and figures enough for the number of a motor follow.
fn number_signs(items: &mut [Item]) {
    for i in 0..items.len() {
        let (before, rest) = items.split_at(i);
        let Some((sign, behind)) = rest.split_first() else {
            continue;
        };
        let begins = before.last().is_none_or(|before| {
            let apart = before.span.line != sign.span.line || sign.gap > LABEL_GAP;
            apart && !matches!(before.kind, Kind::Label(_))
        });
        let one = |item: &&Item| {
            let code = |c: char| c.is_ascii_alphanumeric() || "/-".contains(c);
            item.gap < BLANK && item.span.line == sign.span.line && item.text.chars().all(code)
        };
        let number: String = behind
            .iter()
            .take_while(one)
            .map(|item| item.text.as_str())
            .collect();
        let first = number.starts_with(|c: char| c.is_ascii_digit());
        let is_sign =
            matches!(sign.kind, Kind::Value(None)) && ["N", "N."].contains(&sign.text.as_str());
        if is_sign && begins && first && counts(&number) {
            let entries = lexicon().get(&key("N°")).into_iter();
            let entries: Vec<&Entry> = entries.collect();
            items[i].kind = Kind::Label(label(sign.text.clone(), &entries, NUMBER_SIGN));
        }
    }
}

/// `418 077 W`, `A 771-4402`, `TF 90 L4 FR`: a letter or two that are a label elsewhere, in a line that is one number of the
/// maker's and nothing beside.
fn letters_of_codes(items: &mut [Item]) {
    const FIGURES: usize = 3;
    let mut from = 0;
    while from < items.len() {
        let line = items[from].span.line;
        let to = from
            + items[from..]
                .iter()
                .take_while(|i| i.span.line == line)
                .count();
        let words = &items[from..to];
        let tight = words.iter().skip(1).all(|item| item.gap < BLANK);
        // Beside the label of the number itself.
        let labels: Vec<usize> = (0..words.len())
            .filter(|&at| !matches!(words[at].kind, Kind::Value(None)))
            .filter(|&at| words[at].text.len() < 3 || !announces_code(&words[at]))
            .collect();
        let code = |item: &Item| {
            let sign = |c: char| c.is_ascii_uppercase() || c.is_ascii_digit() || "-./".contains(c);
            item.text.chars().all(sign)
        };
        let figures = words.iter().flat_map(|item| item.text.chars());
        let figures = figures.filter(char::is_ascii_digit).count();
        if let [at] = labels[..]
            && let Kind::Label(label) = &words[at].kind
            && tight
            && figures >= FIGURES
            && words.iter().all(|item| code(item) || announces_code(item))
            && is_short(&words[at].text)
            && !stands_at_its_value(items, from + at, label)
        {
            items[from + at].kind = Kind::Value(None);
        }
        from = to;
    }
}

/// Whether the words before or behind a label may be its value.
fn stands_at_its_value(items: &[Item], at: usize, label: &Label) -> bool {
    /// No motor of this trade takes a current of more figures.
    const AMPS: usize = 3;
    let text = |at: usize| items.get(at).map_or("", |item| &item.text);
    let before = at.checked_sub(1).map_or("", text);
    if let [Target::Mark(_)] = label.targets[..] {
        return false;
    }
    let after = text(at + 1);
    // `771-4402` has the form of a list of amps, and is none; of `37 A 10664` no part is a current.
    let line = items[at].span.line;
    let own = items.get(at + 1).filter(|item| item.span.line == line);
    let long = own
        .map_or("", |item| &item.text)
        .split(|c: char| !c.is_ascii_digit())
        .any(|run| run.len() > AMPS);
    let lone = items[at].text.len() == 1;
    let may_stand = |target: Target| {
        let coded = lone && long && target == Target::Field(Field::Amps);
        let follows = values::is_usual(target, after) || !lone && values::accepts(target, after);
        !coded && (values::accepts(target, before) || follows)
    };
    // `PK` and `HK` are horsepower behind a figure alone.
    let strong = label.strong && label.targets != [Target::MetricHp];
    strong || announces_code(&items[at]) || label.targets.iter().any(|&t| may_stand(t))
}

/// Whether a label is no more than two capitals, or one with a figure.
fn is_short(text: &str) -> bool {
    text.len() <= 2
        && text.starts_with(|c: char| c.is_ascii_uppercase())
        && text
            .chars()
            .all(|c| c.is_ascii_uppercase() || c.is_ascii_digit())
}

/// Whether an item is a label of a field.
fn says(item: &Item, field: Field) -> bool {
    matches!(&item.kind, Kind::Label(label) if label.targets.contains(&Target::Field(field)))
}

/// Whether an item is the label of a number of the maker's, or of another thing that is free in its form.
fn announces_code(item: &Item) -> bool {
    matches!(&item.kind, Kind::Label(label) if label.targets.iter().any(|&t| values::is_free(t)))
}

/// Whether a label announces what is a letter alone.
fn is_lettered(label: &Label) -> bool {
    use Field::*;
    let mut targets = label.targets.iter();
    targets.any(|t| matches!(t, Target::Field(KvaCode | Design | InsulationClass)))
}

/// The same for a letter below or above its label: an `A` alone in the cell of INS is a class and no amps.
pub(super) fn letters_in_cells(rows: &mut [Vec<Item>]) {
    const DEEP: f32 = 1.5;
    let lettered = |item: &&Item| matches!(&item.kind, Kind::Label(label) if is_lettered(label));
    let labels = rows.iter().flatten().filter(lettered);
    let labels: Vec<Place> = labels.map(|item| item.place).collect();
    for row in rows {
        for at in 0..row.len() {
            let place = row[at].place;
            let near = |label: &Place| {
                let deep = (place.top() - label.bottom()).max(label.top() - place.bottom());
                (-0.45..DEEP).contains(&(deep / label.height)) && label.column_overlap(&place) > 0.5
            };
            let apart =
                row[at].gap > LABEL_GAP && row.get(at + 1).is_none_or(|next| next.gap > LABEL_GAP);
            if apart
                && row[at].text == "A"
                && matches!(row[at].kind, Kind::Label(_))
                && labels.iter().any(near)
            {
                row[at].kind = Kind::Value(None);
            }
        }
    }
}

/// Measures the distance of an item of a row to what stands before it now.
pub(super) fn measure(row: &mut [Item], at: usize) {
    if at > 0 && at < row.len() {
        row[at].gap = gap(&row[at - 1].place, &row[at].place);
    }
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
pub(super) fn exact(
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
    // `NO` right behind a word is a part of its label: of `MOCEL NO` it alone says nothing.
    let behind_word = chars[at].word > 0
        && gaps[chars[at].word] < LABEL_GAP
        && !sheet
            .text(parts[chars[at].word - 1])
            .contains(|c: char| c.is_ascii_digit());
    let mut key = Vec::new();
    let mut best = None;
    for end in at + 1..=chars.len().min(at + lexicon.longest) {
        let ch = &chars[end - 1];
        if ch.first && end - 1 > at && gaps[ch.word] > LABEL_GAP {
            break;
        }
        key.push(ch.key);
        let entries = lexicon.get(&key).into_iter();
        let entries: Vec<&Entry> = entries
            .filter(|e| after_number || e.target != Target::MetricHp)
            .collect();
        if entries.is_empty() || behind_word && key == ['N', 'O'] {
            continue;
        }
        // The letter of `CLASS E` is the value, though `CLASSE` is a label, and that of `DES N`, though `DES N` is one.
        let lettered = |e: &&Entry| {
            use Field::{Design, InsulationClass};
            let value = match e.target {
                Target::Field(InsulationClass) => "ABEFH",
                Target::Field(Design) => "ABCDLMN",
                _ => "",
            };
            value.contains(ch.key)
        };
        if ch.first && ch.last && best.is_some() && entries.iter().all(lettered) {
            continue;
        }
        let closed = chars.get(end).is_some_and(|c| ")]".contains(c.key));
        let fits = ch.last || closed || entries.iter().any(|e| glued(sheet, chars, parts, end, e));
        if fits {
            let text = text(sheet, &chars[at..end]);
            best = Some((end, label(text, &entries, EXACT)));
        }
    }
    best
}

/// Revolutions per minute, `min⁻¹`, of whose raised figure the recogniser sees the stroke, or nothing before a speed.
fn per_minute(
    sheet: &Sheet<'_>,
    chars: &[Ch],
    parts: &[Span],
    at: usize,
) -> Option<(usize, Label)> {
    let number = chars[at].word;
    if !chars[at].first {
        return None;
    }
    let word = sheet.text(parts[number]);
    let before_speed = || {
        let next = parts.get(number + 1).map(|&next| sheet.text(next));
        next.is_some_and(|next| next.len() >= 4 && next.parse().is_ok_and(|rpm: u32| rpm < 3600))
    };
    let behind_speed = || {
        let before = number
            .checked_sub(1)
            .map(|before| sheet.text(parts[before]));
        before.is_some_and(|text| text.len() >= 3 && text.parse().is_ok_and(|rpm: u32| rpm < 3600))
    };
    // Between the heads of other columns: `Hz min kW`.
    let among_heads = || {
        let beside = [number.checked_sub(1), Some(number + 1)];
        let beside = beside.into_iter().flatten().filter_map(|at| parts.get(at));
        let heads = beside.filter(|&&part| {
            let entries = lexicon().get(&key(&sheet.text(part)));
            entries.iter().any(|e| {
                use Field::{Amps, Hertz, Hp, Kw, Volts};
                matches!(e.target, Target::Field(Amps | Hertz | Hp | Kw | Volts)) && e.unit
            })
        });
        heads.count() > 0
            && !parts
                .iter()
                .any(|&part| sheet.text(part).contains(|c: char| c.is_ascii_digit()))
    };
    let minute = match word.strip_prefix("min")? {
        "-'" | "-’" | "-`" | "'" | "’" | "~1" | "~¹" | "~'" => true,
        "~" | "-" | "?" | ":" | "\"" | "*" => behind_speed() || before_speed() || among_heads(),
        "" => before_speed() || among_heads(),
        _ => false,
    };
    let of_word = chars[at..].iter().take_while(|c| c.word == number);
    let end = at + of_word.count();
    minute.then(|| (end, label(word, &lexicon().get(&key("MIN-1")), EXACT)))
}

/// A label that fills its word behind a stroke, the edge of its cell, `IRPM`, or behind a rivet, `OVOLTS`.
fn behind_edge(
    sheet: &Sheet<'_>,
    chars: &[Ch],
    parts: &[Span],
    at: usize,
) -> Option<(usize, Label)> {
    /// Shorter labels begin with an I themselves, or are a part of too much.
    const LETTERS: usize = 3;
    /// As sure as a label read well beside which something else stands.
    const CERTAIN: f64 = 0.99;
    /// A letter O begins some itself.
    const BEHIND_RIVET: usize = 4;
    let edge = chars[at].first && "I1|".contains(chars[at].key);
    let rivet = chars[at].first && "O0".contains(chars[at].key);
    let end = chars[at..].iter().position(|c| c.word != chars[at].word);
    let end = end.map_or(chars.len(), |n| at + n);
    let word = Span {
        from: chars.get(at + 1)?.glyph,
        ..parts[chars[at].word]
    };
    let key: Vec<char> = chars[at + 1..end].iter().map(|c| c.key).collect();
    let entries = lexicon().get(&key);
    let long = edge && key.len() >= LETTERS || rivet && key.len() >= BEHIND_RIVET;
    let known = long && entries.iter().any(|e| e.strong);
    known.then(|| (end, label(sheet.text(word), &entries, CERTAIN)))
}

/// Whether the rest of the word, from `end`, is a value of the label before it: `HP1/2`, `INSB`.
pub(super) fn glued(
    sheet: &Sheet<'_>,
    chars: &[Ch],
    parts: &[Span],
    end: usize,
    entry: &Entry,
) -> bool {
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
    // One character of the word is no end of a label that began before it: of `MODEL OT-1725` MODELO is none.
    let own = chars[end.saturating_sub(entry.key.len())..end]
        .iter()
        .filter(|c| c.word == next.word)
        .count();
    if own < 2 && own < entry.key.len() {
        return false;
    }
    let parted = next.glyph > chars[end - 1].glyph + 1;
    if entry.key.len() < 2 {
        // A single letter is a label before a colon, or before what only its value can be: `A4.6/2.3`, `V200-230`.
        let colon = parted
            && !sheet
                .text(Span {
                    from: chars[end - 1].glyph + 1,
                    to: next.glyph,
                    line: next.line,
                })
                .contains('.');
        let voltage = entry.target == Target::Field(Field::Volts)
            && rest_text.parse().is_ok_and(super::usual::usual_volts);
        // `W44` is the number of something.
        let rating = next.key.is_ascii_digit()
            && entry.target != Target::Watts
            && (voltage || rest_text.contains(['.', '/', '-']))
            && values::read(entry.target, &sheet.lattice(rest), 0.02)
                .is_some_and(|fit| fit.usual > 0.5);
        if !colon && !rating {
            return false;
        }
    }
    // `MODELPK-1550-10`, `MODAG5-1075-4S`
    let soon = rest_text.chars().take(3).any(|c| c.is_ascii_digit());
    let code = (entry.key.len() >= 5 || entry.key.len() >= 3 && soon)
        && values::is_free(entry.target)
        && rest_text.chars().filter(char::is_ascii_digit).count() >= 3;
    if letters && !parted && !code {
        use Field::*;
        let closed = matches!(
            entry.target,
            Target::Field(InsulationClass | KvaCode | Design | Enclosure | Duty | Rotation)
        );
        let whole = sheet.text(parts[next.word]);
        // `CODES`: of the word in a sentence, no value.
        let plural = rest_text
            .trim_end_matches(['.', ','])
            .eq_ignore_ascii_case("s");
        return closed
            && !plural
            && entry.key.len() >= 3
            && values::mean(entry.target, &rest_text).is_some()
            && !values::accepts(entry.target, &whole);
    }
    if values::is_free(entry.target) {
        let long = entry.key.len() >= 3;
        return next.key.is_ascii_digit() && long || code || parted;
    }
    values::read(entry.target, &sheet.lattice(rest), 0.02).is_some_and(|fit| fit.usual > 0.1)
}

pub(super) fn text(sheet: &Sheet<'_>, chars: &[Ch]) -> String {
    let parts: Vec<String> = spans(chars).iter().map(|&s| sheet.text(s)).collect();
    parts.join(" ")
}

pub(super) fn label(text: String, entries: &[&Entry], certainty: f64) -> Label {
    Label {
        text,
        targets: entries.iter().map(|e| e.target).collect(),
        certainty,
        unit: entries.iter().any(|e| e.unit),
        strong: entries.iter().any(|e| e.strong),
    }
}
