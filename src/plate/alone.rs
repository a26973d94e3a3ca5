//! Values that stand without a label and say by themselves what they are: `TEFC`, `CCWLE`, `CONT`, `208-230/460`,
//! `60/1`.

use super::labels::{Item, Kind};
use super::lexicon::Target;
use super::parts::{is_connected, is_lead, is_way_to_connect, strokes};
use super::sheet::{Sheet, Span};
use super::usual::{usual_hp, usual_volts};
use super::values::{self, Fit};
use crate::record::{Field, Value};

/// Words of one value, or of one sentence, stand no farther apart than this, in heights of text.
const CLOSE: f32 = 1.3;
/// Below this probability characters are not taken for a code that no label announces.
const LEAST_MASS: f64 = 0.3;

/// How surely a speed among words is none of something else, `1750 CFM`.
const AMONG_WORDS: f64 = 0.85;

/// A value without a label.
pub(super) struct Alone {
    pub field: Field,
    /// Indices of its items in the row.
    pub items: std::ops::Range<usize>,
    pub fit: Fit,
    /// Probability that it is this field.
    pub certainty: f64,
}

/// Whether `text` is an enclosure, a rotation or a duty that needs no label.
pub(super) fn is_spelled(text: &str) -> bool {
    [Field::Enclosure, Field::Rotation, Field::Duty]
        .into_iter()
        .any(|field| {
            let target = Target::Field(field);
            values::mean(target, text).is_some_and(|_| certainty(field, text) > 0.0)
                && values::accepts(target, text)
        })
}

/// The values of a row that stand alone, among the items that are free.
pub(super) fn find(sheet: &Sheet<'_>, row: &[Item], free: &dyn Fn(usize) -> bool) -> Vec<Alone> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < row.len() {
        let longest = (at..row.len().min(at + 5))
            .take_while(|&i| {
                free(i)
                    && matches!(row[i].kind, Kind::Value(_))
                    && (i == at || row[i].gap < reach(&row[i - 1]))
            })
            .count();
        if longest > 0
            && let Some(phases) = times(sheet, row, at).or_else(|| of_motor(sheet, row, at))
        {
            found.push(phases);
            at += 1;
            continue;
        }
        if longest > 0
            && let Some(pair) = supply(sheet, &row[at])
        {
            found.extend(pair.map(|alone| Alone {
                items: at..at + 1,
                ..alone
            }));
            at += 1;
            continue;
        }
        let hit = (1..=longest)
            .rev()
            .find_map(|n| one(sheet, row, at..at + n))
            .map(|hit| behind_class(row, hit))
            .filter(|hit| !in_a_sentence(row, hit) && !at_part_load(row, hit))
            .filter(|hit| !is_current(row, hit))
            // Without its label `SI` is no duty type.
            .filter(|hit| hit.field != Field::Duty || !hit.fit.reads[0].raw.contains("SI"));
        at = hit.as_ref().map_or(at + 1, |h| h.items.end);
        found.extend(hit);
    }
    found
}

/// How far behind an item its value may go on: `IP` and its figures are one wherever the figures stand.
fn reach(before: &Item) -> f32 {
    const COLUMN: f32 = 6.0;
    if before.text.eq_ignore_ascii_case("IP") {
        COLUMN
    } else {
        CLOSE
    }
}

/// Whether an efficiency is that at a part of the load, `90.8% (75%)`, `89.5 3/4`.
fn at_part_load(row: &[Item], hit: &Alone) -> bool {
    let next = row.get(hit.items.end).map_or("", |item| &item.text);
    let load = next.trim_matches(['(', ')', '[', ']', ',', ';']);
    hit.field == Field::NominalEfficiency && ["75%", "50%", "3/4", "1/2", "2/4"].contains(&load)
}

/// Whether `INT.` stands before figures, or before the unit of a current: then it is no intermittent duty, but the Spanish
/// for a current, `int. 3,5/2 A`.
fn is_current(row: &[Item], hit: &Alone) -> bool {
    let next = row.get(hit.items.end).filter(|item| item.gap < CLOSE);
    let amps = Target::Field(Field::Amps);
    let current = next.is_some_and(|item| match &item.kind {
        Kind::Label(label) => label.targets.contains(&amps),
        Kind::Value(_) => item.text.starts_with(|c: char| c.is_ascii_digit()),
    });
    let intermittent = hit.fit.reads[0].printed.to_uppercase().starts_with("INT");
    hit.field == Field::Duty && intermittent && current
}

/// Behind the efficiency class of IEC 60034-30-1 stands the efficiency: `IE2 - 82.8 %`.
fn behind_class(row: &[Item], hit: Alone) -> Alone {
    let class = |item: &Item| {
        let text = item.text.trim_end_matches(['-', ':', ' ']);
        text.strip_prefix("IE")
            .is_some_and(|class| ["1", "2", "3", "4", "5"].contains(&class))
    };
    let before = hit.items.start.saturating_sub(2)..hit.items.start;
    if hit.field == Field::NominalEfficiency && row[before].iter().any(class) {
        Alone {
            certainty: 0.99,
            ..hit
        }
    } else {
        hit
    }
}

/// Whether OPEN is a word among others, and no enclosure: `DO NOT OPEN WHILE ENERGIZED`, `T6 OPEN SPACE HTR`; and minutes
/// are no duty: `WAIT 5 MINUTES AFTER`; nor is a way to connect the motor its rotation: `CCW: T5-L1, T8-L2`.
fn in_a_sentence(row: &[Item], hit: &Alone) -> bool {
    let printed = hit.fit.reads[0].printed.trim_end_matches('.');
    let open = match hit.field {
        Field::Enclosure => printed.eq_ignore_ascii_case("open"),
        Field::Duty => printed.starts_with(|c: char| c.is_ascii_digit()),
        _ => false,
    };
    let behind = row[hit.items.end..].iter().map(|item| item.text.as_str());
    if hit.field == Field::Rotation
        && (is_connected(&row[hit.items.end - 1].text) || is_way_to_connect(behind))
    {
        return true;
    }
    let word = |item: &Item| {
        // `L3 TO 3, OPEN 4 5 6`
        let lead = matches!(item.kind, Kind::Value(None)) && is_lead(&item.text);
        is_plain_word(item) || lead && !is_spelled(&item.text)
    };
    open && beside(row, &hit.items).any(word)
}

/// What stands close before some items of a row, and close behind them.
fn beside<'a>(row: &'a [Item], items: &std::ops::Range<usize>) -> impl Iterator<Item = &'a Item> {
    let pair = |at: usize| Some((row.get(at.checked_sub(1)?)?, row.get(at)?));
    let close = |at: usize| pair(at).filter(|(_, item)| item.gap < CLOSE);
    let before = close(items.start).map(|(before, _)| before);
    before
        .into_iter()
        .chain(close(items.end).map(|(_, after)| after))
}

fn one(sheet: &Sheet<'_>, row: &[Item], items: std::ops::Range<usize>) -> Option<Alone> {
    let spans: Vec<_> = row[items.clone()].iter().map(|i| i.span).collect();
    let lattice = super::layout::joined(sheet, &spans, " ");
    let fields = [
        Field::Enclosure,
        Field::Rotation,
        Field::Duty,
        Field::Phase,
        Field::Hp,
        Field::Frame,
        Field::Volts,
        Field::Rpm,
        Field::NominalEfficiency,
        Field::AmbientC,
    ];
    fields
        .iter()
        .filter_map(|&field| {
            let fit = values::read(Target::Field(field), &lattice, LEAST_MASS)?;
            let certainty = match &fit.reads[0].value {
                Value::Text(_) => certainty(field, &fit.reads[0].printed),
                value => of_numbers(field, value.numbers(), &fit.reads[0].raw),
            };
            let among_words = field == Field::Rpm && has_word_beside(row, &items);
            // `CONDENSER FAN - AIR OVER`, `AIR OVER MOTOR` say what the motor is for.
            let by_the_way = field == Field::Duty
                && is_air_over(&fit.reads[0].printed)
                && beside(row, &items).any(is_plain_word);
            let certainty = match (among_words, by_the_way) {
                (_, true) => 0.0,
                (true, _) => certainty * AMONG_WORDS,
                _ => certainty,
            };
            (certainty > 0.0).then(|| Alone {
                field,
                items: items.clone(),
                fit,
                certainty,
            })
        })
        .max_by(|a, b| (a.certainty * a.fit.mass).total_cmp(&(b.certainty * b.fit.mass)))
}

/// Whether an item is a word that is neither a label nor a value by itself.
pub(super) fn is_plain_word(item: &Item) -> bool {
    let letters = item.text.chars().filter(|c| c.is_alphabetic()).count();
    let figures = item.text.contains(|c: char| c.is_ascii_digit());
    matches!(item.kind, Kind::Value(None)) && letters > 1 && !figures && !is_spelled(&item.text)
}

/// Whether a duty says no more than by what the motor is cooled.
fn is_air_over(printed: &str) -> bool {
    ["AIR OVER", "AIR-OVER", "AIROVER"]
        .iter()
        .any(|words| printed.trim_end_matches('.').eq_ignore_ascii_case(words))
}

/// Whether a word that is no label stands close beside: `1750 CFM`, `FORM 1725`.
fn has_word_beside(row: &[Item], items: &std::ops::Range<usize>) -> bool {
    let word = |item: &Item| {
        matches!(item.kind, Kind::Value(None)) && item.text.contains(char::is_alphabetic)
    };
    beside(row, items).any(word)
}

/// How surely numbers alone are a value of this field.
fn of_numbers(field: Field, numbers: &[f64], raw: &str) -> f64 {
    match field {
        // Several system voltages, one beside the other, are nothing else.
        Field::Volts if numbers.len() > 1 && numbers.iter().all(|&v| usual_volts(v)) => 0.985,
        // The full-load speeds that most plates print; four digits by themselves are hardly one of these by chance.
        Field::Rpm if matches!(numbers, [rpm] if SPEEDS.contains(rpm)) => 0.98,
        // A usual power written as a fraction; of what else it may be a part nobody knows.
        Field::Hp if raw.contains('/') && matches!(numbers, [hp] if usual_hp(*hp)) => 0.85,
        Field::NominalEfficiency
            if raw.contains('%') && matches!(numbers, [e] if (50.0..98.0).contains(e)) =>
        {
            0.9
        }
        // From below zero up to so many degrees.
        Field::AmbientC if from_below_zero(raw) && raw.contains('C') => 0.985,
        Field::Phase if raw.chars().filter(|c| c.is_alphabetic()).count() >= 5 => 0.98,
        // The sign of IEC 60417 for alternating current behind the number of phases.
        Field::Phase if raw.trim().ends_with('~') => 0.99,
        _ => 0.0,
    }
}

/// `-25...+60`, `-30 TO 60`
fn from_below_zero(raw: &str) -> bool {
    raw.contains('+') || raw.trim_start().starts_with('-') && raw.to_uppercase().contains("TO")
}

/// Full-load speeds of most 60 Hz motors in fans and pumps (common practice).
const SPEEDS: &[f64] = &[
    825.0, 850.0, 1050.0, 1075.0, 1100.0, 1140.0, 1550.0, 1625.0, 1725.0, 1750.0, 3450.0, 3500.0,
];

/// The number of phases before a voltage, `1 × 230 V`, `3 x 400 V`.
fn times(sheet: &Sheet<'_>, row: &[Item], at: usize) -> Option<Alone> {
    let text = |at: usize| row.get(at).map(|item| item.text.trim());
    let volts = text(at + 2)?.trim_end_matches(['V', 'v']);
    let voltage = volts.parse().is_ok_and(usual_volts);
    let sign = ["×", "x", "X"].contains(&text(at + 1)?);
    if !(["1", "3"].contains(&text(at)?) && sign && voltage) {
        return None;
    }
    phases(sheet, row[at].span, at)
}

/// The number of phases that characters of an item of a row are, by what stands beside them.
fn phases(sheet: &Sheet<'_>, span: Span, at: usize) -> Option<Alone> {
    Some(Alone {
        field: Field::Phase,
        items: at..at + 1,
        fit: values::read(
            Target::Field(Field::Phase),
            &sheet.lattice(span),
            LEAST_MASS,
        )?,
        certainty: 0.985,
    })
}

/// The number of phases before the word for a motor, or behind it, with the sign of IEC 60417 read as a dash: `3-Motor`,
/// `MOTOR 3-`.
fn of_motor(sheet: &Sheet<'_>, row: &[Item], at: usize) -> Option<Alone> {
    let is_motor = |text: &str| {
        let text = text.to_uppercase();
        ["MOT", "MOTOR", "MOTEUR"].contains(&text.trim_end_matches('.'))
    };
    let item = &row[at];
    let signs = ['-', '~', '–'];
    let rest = item.text.strip_prefix(['1', '3'])?.strip_prefix(signs)?;
    let beside = |other: Option<&Item>, gap: f32| {
        rest.is_empty() && gap < CLOSE && other.is_some_and(|other| is_motor(&other.text))
    };
    let before = at.checked_sub(1).and_then(|before| row.get(before));
    let behind = row.get(at + 1);
    let of_motor = is_motor(rest)
        || beside(before, item.gap)
        || beside(behind, behind.map_or(f32::INFINITY, |next| next.gap));
    let figure = Span {
        to: item.span.from + 1,
        ..item.span
    };
    of_motor.then(|| phases(sheet, figure, at))?
}

/// Frequency and phases in one word, without a label: `60/1`, `3/60`. The first is the frequency, the second
/// the phase. `1/60` is left alone: it may be a horsepower.
pub(super) fn supply(sheet: &Sheet<'_>, item: &Item) -> Option<[Alone; 2]> {
    let parts = strokes(sheet, item.span);
    let [first, second] = parts[..] else {
        return None;
    };
    let (hertz, phase) = match (sheet.text(first).trim(), sheet.text(second).trim()) {
        ("50" | "60", "1" | "3") => (first, second),
        ("3", "50" | "60") => (second, first),
        _ => return None,
    };
    let alone = |field, span| {
        Some(Alone {
            field,
            items: 0..1,
            fit: values::read(Target::Field(field), &sheet.lattice(span), LEAST_MASS)?,
            certainty: 0.97,
        })
    };
    Some([alone(Field::Hertz, hertz)?, alone(Field::Phase, phase)?])
}

/// How surely these characters alone are a value of this field; 0 where they are not enough.
fn certainty(field: Field, printed: &str) -> f64 {
    let upper = printed.to_uppercase();
    let letters = upper.chars().filter(|c| c.is_alphanumeric()).count();
    match field {
        // Air over alone tells nothing of the housing; TE and DP are short enough to be anything.
        Field::Enclosure => match upper.as_str() {
            air_over if is_air_over(air_over) => 0.0,
            // Of a pump more often than of its motor.
            "SUBMERSIBLE" | "SUBM" | "WATER PROOF" => 0.0,
            "AO" | "A.O." | "SD" | "DIP" | "OP" | "TEN" | "GUARDED" | "ENCLOSED" | "SUB" => 0.0,
            // By its own fan, or by the driven one.
            "FAN COOLED" | "FAN-COOLED" | "FANCOOLED" => 0.9,
            _ if letters <= 2 => 0.5,
            _ if letters == 3 => 0.996,
            _ => 0.998,
        },
        Field::Rotation => match upper.trim_end_matches('.') {
            // Of bearings, of a revision.
            "BOTH" | "REV" => 0.0,
            // Words of other things too: of a side, of an hour.
            word if !word.contains("CLOCK")
                && !["C", "REV", "BI", "EITHER"]
                    .iter()
                    .any(|w| word.starts_with(w)) =>
            {
                0.0
            }
            _ if letters <= 2 => 0.993,
            _ if letters == 3 => 0.996,
            _ => 0.997,
        },
        Field::Duty => match upper.trim_end_matches('.') {
            "A.O" | "AO" => 0.0,
            air_over if is_air_over(air_over) => 0.985,
            // Hours, where their label says so.
            hours if !hours.contains(|c: char| c.is_alphabetic()) => 0.0,
            "INT" | "INTER" => 0.7,
            // English words, too.
            "CONTINUE" | "CONTINU" => 0.0,
            // Duty types of IEC 60034-1.
            "S1" | "S2" | "S3" => 0.99,
            _ if letters <= 3 => 0.95,
            _ => 0.997,
        },
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
                if digits == 3 { 0.992 } else { 0.985 }
            } else {
                0.0
            }
        }
        _ => 0.0,
    }
}
