//! Words that are more than one thing: ratings parted by strokes or by nothing, a label run on to the value before it, a
//! unit behind its number.

use super::labels::{EXACT, Label, label};
use super::lexicon::{Entry, Target, key_char, lexicon};
use super::sheet::{Sheet, Span};
use crate::record::Field;
use regex::Regex;
use std::collections::HashSet;
use std::sync::LazyLock;

/// The parts of a word between its strokes.
pub(super) fn strokes(sheet: &Sheet<'_>, word: Span) -> Vec<Span> {
    parted(sheet, word, '/')
}

/// The parts of a word between signs.
fn parted(sheet: &Sheet<'_>, word: Span, sign: char) -> Vec<Span> {
    let glyphs = &sheet.glyphs[word.line];
    let mut parts = Vec::new();
    let mut from = word.from;
    for at in word.from..=word.to {
        if at == word.to || glyphs.get(at).is_some_and(|g| g.ch == sign) {
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
    TERMINAL.is_match(word.trim_end_matches(['.', ',']))
}

/// Whether a number of the maker's is nearly all figures, as those are that count what was made.
pub(super) fn counts(number: &str) -> bool {
    let figures = number.chars().filter(char::is_ascii_digit).count();
    let letters = number.chars().filter(|c| c.is_alphabetic()).count();
    figures >= 5 && letters <= 1
}

/// Whether a word is two letters with a stroke between, as short labels are: `L/N`, `P/C`.
pub(super) fn is_letters(word: &str) -> bool {
    let letter = |c: Option<char>| c.is_some_and(|c| c.is_ascii_uppercase());
    let mut chars = word.chars();
    letter(chars.next())
        && chars.next() == Some('/')
        && letter(chars.next())
        && chars.next().is_none()
}

/// Whether a word says which leads go together, `T11-T12-T13`, `L1-T6`.
fn joins_terminals(word: &str) -> bool {
    word.contains('-') && word.split('-').all(is_terminal)
}

/// Whether a number of the maker's does not reach over all these words: a sentence goes on in them, `TO 1 AND 4`, or the
/// number of something else begins, `OB-10-277 LOT R0609`, `RAC-52 L/N 19237`, or leads are joined.
pub(super) fn is_left_by_number<'a>(words: impl Iterator<Item = &'a str>) -> bool {
    const LINKS: &[&str] = &["AIR", "AND", "FOR", "FROM", "OF", "OR", "TO", "WITH"];
    const OTHERS: &[&str] = &["ISS", "LOT", "MFG", "REV", "SKU", "STK", "VER", "WK"];
    let words: Vec<String> = words
        .map(|word| word.trim_end_matches(['.', ':', ',']).to_uppercase())
        .collect();
    let is = |list: &[&str], word: &String| list.contains(&word.as_str());
    words.iter().any(|word| is(LINKS, word))
        || words.iter().skip(1).any(|word| is(OTHERS, word))
        || words
            .iter()
            .skip(1)
            .rev()
            .skip(1)
            .any(|word| is_letters(word))
        || words.iter().any(|word| joins_terminals(word))
}

/// Whether a word begins how the motor is connected to turn one way, `CCW:`.
pub(super) fn is_connected(word: &str) -> bool {
    ["CW:", "CCW:"]
        .iter()
        .any(|way| word.eq_ignore_ascii_case(way))
}

/// Whether a word is a lead or several, `T1-T5`, `4,5,6`: leads have numbers.
pub(super) fn is_lead(word: &str) -> bool {
    let text = word.trim_matches([',', '.', '-']);
    // `S1-S2`, `TB1-TB2`, those of a thermostat.
    static PAIR: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new("^(?:[A-Z][0-9]-[A-Z][0-9]|TB[0-9]-TB[0-9])$").expect("a fixed pattern")
    });
    let mut leads = text.split(['-', ',', '.', '+']);
    PAIR.is_match(text)
        || leads.all(|lead| is_terminal(lead) || lead.parse().is_ok_and(|lead: u8| lead <= 12))
}

/// Whether a word is a list of leads by their numbers, or begins one: `4,5,6`, `(2,8)`, `8,`.
pub(super) fn are_leads(word: &str) -> bool {
    let list = word.trim_matches(['(', ')']);
    let figures = list.trim_end_matches(',').split([',', ')', '(', ' ']);
    let lead = |figure: &str| figure.is_empty() || figure.parse().is_ok_and(|n: u8| n <= 12);
    list.contains(',') && figures.into_iter().all(lead)
}

/// Whether the words behind a direction begin how the motor is connected to turn that way: `CCW ROTATION T1-T5`, `CCW
/// ROTATION: BLACK TO 5. CW: RED TO 5`.
pub(super) fn is_way_to_connect<'a>(words: impl Iterator<Item = &'a str>) -> bool {
    const CONNECT: &[&str] = &["CONNECT", "INTERCHANGE", "JOIN", "SWAP"];
    /// So many words say from where the rotation is seen: `ROTATION FROM LEAD END CONNECT RED TO 1`.
    const SEEN_FROM: usize = 6;
    let rotation = |word: &str| word.to_uppercase().starts_with("ROT");
    let connect = |word: &&str| CONNECT.contains(&word.to_uppercase().as_str());
    // How to reverse the motor is not how it is connected to turn that way: `CCW ROTATION. TO REVERSE INTERCHANGE ...`.
    let reverse = |word: &&str| word.to_uppercase().contains("REVERS");
    let rest: Vec<&str> = words.take_while(|word| !reverse(word)).collect();
    rest.first().is_some_and(|word| rotation(word))
        && (rest.get(1).is_some_and(|word| is_lead(word))
            || rest.iter().skip(1).take(SEEN_FROM).any(connect)
            || rest.iter().copied().any(is_connected))
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
        let label = lexicon
            .get(&key)
            .iter()
            .any(|e| e.strong && matches!(e.target, Target::Field(f) if !f.is_text()));
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
    let entries = lexicon().get(&super::lexicon::key(&unit)).into_iter();
    let entries: Vec<&Entry> = entries.filter(|e| e.unit).collect();
    (!entries.is_empty()).then(|| label(unit, &entries, EXACT))
}

/// Values that say what they are, strung one behind the other with strokes or dashes: `1075RPM/3SPD/CCWLE/CL`, `40C/OPEN`,
/// `460V-60HZ-1PH-1/3HP-48Y`, `AMB-CONT`.
pub(super) fn strung(sheet: &Sheet<'_>, word: Span) -> Vec<Span> {
    // `V±10%`
    let text = sheet.text(word);
    if let Some(at) = text.chars().position(|c| c == '±').filter(|&at| at > 0) {
        let deviation = Span {
            from: word.from + at,
            ..word
        };
        let before = Span {
            to: deviation.from,
            ..word
        };
        return [strung(sheet, before), vec![deviation]].concat();
    }
    // Dashes stand in designations and between leads, too: `90L/4-IE3`, `S1-S2`.
    static OWN: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"(?i)^(?:S[1-9]|IE[1-5])$").expect("a fixed pattern"));
    let dashed = parted(sheet, word, '-');
    static DEGREES: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"(?i)^[1-9][0-9]°?C$").expect("a fixed pattern"));
    let spelled = |part: &Span| {
        let text = sheet.text(*part);
        super::alone::is_spelled(&text) || DEGREES.is_match(&text)
    };
    let string = dashed.len() > 2 || dashed.iter().any(spelled);
    if string && !dashed.iter().any(|&part| OWN.is_match(&sheet.text(part))) {
        let dashed = apart(sheet, word, dashed);
        if dashed.len() > 1 {
            return dashed;
        }
    }
    apart(sheet, word, strokes(sheet, word))
}

/// The parts of a word, where each is of another kind and one at least is a value; else the word.
fn apart(sheet: &Sheet<'_>, word: Span, parts: Vec<Span>) -> Vec<Span> {
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
    static LABELLED: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"(?i)^(?:(CL|CLASS|INS)\.?[ABFH]|(SF)[01]?\.[0-9]{1,2})$")
            .expect("a fixed pattern")
    });
    if let Some(found) = LABELLED.captures(&text) {
        let of = found.get(1).or(found.get(2))?;
        return Some((of.as_str().to_uppercase(), true));
    }
    let frame = Target::Field(Field::Frame);
    if text.contains(char::is_alphabetic) && super::values::is_usual(frame, &text) {
        return Some(("FRAME".to_owned(), true));
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
    static SUPPLY: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"^[13]~(?:[1-9][0-9]{2}.*)$").expect("a fixed pattern"));
    let text = sheet.text(word);
    let at = |byte: usize| word.from + text[..byte].chars().count();
    // `1~230`
    if SUPPLY.is_match(&text) {
        let parted = at(2);
        let phase = Span { to: parted, ..word };
        let volts = Span {
            from: parted,
            ..word
        };
        return [vec![phase], ratings(sheet, volts)].concat();
    }
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
