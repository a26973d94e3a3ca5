//! Reading a place as a value: which strings of the lattice are values of a target, what they mean, and how
//! likely each is.

use super::lexicon::Target;
use super::{forms, printed, usual};
use crate::record::{Field, Value, notation};
use crate::text::Lattice;

/// How much likelier, string by string, a value is that follows the grammar than one that does not.
/// A plate's amps are a number; that the characters are something else means that this is another place
/// or that it holds a notation of which the grammar knows nothing. Chosen among 0.01 to 0.1 on 160 calibration plates
/// (0.03: 0.83 questions a plate instead of 0.95, silent errors 1 of 2,127 as before; below it a second one appears).
const UNGRAMMATICAL: f64 = 0.03;
/// Candidates less likely than this are not kept.
const LEAST: f64 = 1e-4;
/// A form without a blank is preferred when it is at least so likely beside the one with it.
const SEEN_BLANK: f64 = 0.2;
/// The search keeps but the likeliest prefixes; the strings it finds are scored with all of theirs.
const SPARE: f64 = 0.5;
/// At most so many candidates are kept.
const MOST: usize = 8;

/// One way to read a place.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Read {
    /// The value's characters, without unit and label.
    pub printed: String,
    /// All characters of the place.
    pub raw: String,
    pub value: Value,
    pub probability: f64,
    /// Probability of the characters as they are in `raw`, without other ways to write the same.
    alone: f64,
}

/// What a place may hold as a target's value.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Fit {
    /// Likeliest first, never empty.
    pub reads: Vec<Read>,
    /// Probability of all strings of the grammar together.
    pub mass: f64,
    /// How usual the likeliest value is, 0 to 1.
    pub usual: f64,
}

/// Reads `lattice` as a value of `target`; `None` where it holds none, or where all strings of the target's grammar
/// together are less likely than `least`.
pub(super) fn read(target: Target, lattice: &Lattice, least: f64) -> Option<Fit> {
    let found = forms::grammar(target)?.search(lattice, SPARE * least);
    let mut reads: Vec<Read> = Vec::new();
    let (mut mass, mut whole) = (0.0, 0.0);
    for (raw, seen) in found {
        let Some((printed, value)) = mean(target, &raw) else {
            continue;
        };
        let p = seen * usual::writing(target, &raw);
        mass += seen;
        whole += p;
        let known = reads
            .iter_mut()
            .find(|r| alike(target, (&r.printed, &r.value), (&printed, &value)));
        match known {
            Some(read) => {
                // Of the ways to write it, the likelier one; blanks that are hardly seen are none.
                let number = !matches!(read.value, Value::Text(_));
                let blanks = |t: &str| t.matches(|c| c == ' ' || c == '.' && !number).count();
                let fewer = blanks(&printed) < blanks(&read.printed);
                let as_few = blanks(&printed) == blanks(&read.printed);
                if fewer && p > SEEN_BLANK * read.alone || number && as_few && p > read.alone {
                    (read.printed, read.raw) = (printed, raw);
                }
                read.probability += p;
                read.alone = read.alone.max(p);
            }
            None => reads.push(Read {
                printed,
                raw,
                value,
                probability: p,
                alone: p,
            }),
        }
    }
    if mass < least {
        return None;
    }
    // Probabilities sum to one over all strings; what is not in the grammar has the rest.
    whole += UNGRAMMATICAL * (1.0 - mass).max(0.0);
    for read in &mut reads {
        read.probability = (read.probability / whole).min(1.0);
    }
    reads.sort_by(|a, b| b.probability.total_cmp(&a.probability));
    let best = reads.first()?.probability;
    reads.retain(|r| r.probability >= LEAST.min(best));
    reads.truncate(MOST);
    let first = reads.first()?;
    let usual = usual::usual(target, &first.printed, &first.value);
    Some(Fit {
        reads,
        mass: mass.min(1.0),
        usual,
    })
}

/// Whether a reading is another way to write the same: `DRIP PROOF` and `DRIPPROOF`, `2.3` and `2 .3`, `1` and `1.0`.
pub(super) fn alike(target: Target, one: (&str, &Value), other: (&str, &Value)) -> bool {
    // `IP-54` and `IP 54` are one degree of protection, `T.E.F.C.` and `TEFC` one enclosure.
    let signs = match target {
        Target::Field(Field::Enclosure) => " .-",
        _ => " ",
    };
    let compact = |t: &str| -> String {
        t.chars()
            .filter(|c| !signs.contains(*c))
            .flat_map(char::to_uppercase)
            .collect()
    };
    let written = compact(one.0) == compact(other.0);
    match (target, one.1, other.1) {
        (_, Value::Text(_), Value::Text(_)) if is_free(target) => written,
        (Target::Field(field), Value::Text(a), Value::Text(b)) => {
            // The end of the shaft from which a rotation is seen is not in its value.
            match field {
                Field::Rotation => a == b && written,
                Field::Enclosure => a == b || written,
                Field::Duty => a == b || are_continuous(one.1, other.1),
                _ => a == b,
            }
        }
        (Target::Field(field @ (Field::Volts | Field::Amps | Field::ServiceFactorAmps)), a, b)
            if a.numbers().len() > 1 =>
        {
            a == b && notation::groups(field, one.0) == notation::groups(field, other.0)
        }
        (_, a, b) => a == b,
    }
}

/// Whether both are the continuous running duty, S1 by IEC 60034-1.
pub(super) fn are_continuous(one: &Value, other: &Value) -> bool {
    let continuous = |value: &Value| {
        value
            .text()
            .is_some_and(|duty| ["CONT", "S1"].contains(&duty))
    };
    continuous(one) && continuous(other)
}

/// The value in the characters `raw`; `None` where they do not follow the target's grammar.
pub(super) fn mean(target: Target, raw: &str) -> Option<(String, Value)> {
    let printed = printed::printed(target, raw)?;
    let value = match target {
        Target::Field(field) => notation::parse(field, &printed)?,
        Target::Watts => notation::parse(Field::Kw, &printed)?,
        Target::MetricHp => notation::parse(Field::Hp, &printed)?,
        Target::MaxAmps => notation::parse(Field::Amps, &printed)?,
        Target::MaxRpm => notation::parse(Field::Rpm, &printed)?,
        Target::Other(_) | Target::Mark(_) => Value::Text(printed.clone()),
    };
    Some((printed, value))
}

/// Whether `text` follows the target's grammar.
pub(super) fn accepts(target: Target, text: &str) -> bool {
    forms::grammar(target).is_some_and(|g| g.accepts(text))
}

/// Whether a place may hold several values of this target, one beside or below the other.
pub(super) fn takes_several(target: Target) -> bool {
    use Field::*;
    match target {
        Target::Field(f) => matches!(
            f,
            Volts
                | Amps
                | Hp
                | Kw
                | Rpm
                | Hertz
                | ServiceFactor
                | ServiceFactorAmps
                | PowerFactor
                | NominalEfficiency
        ),
        Target::Watts | Target::MetricHp | Target::MaxAmps | Target::MaxRpm => true,
        Target::Other(kind) => kind.ends_with("amps"),
        Target::Mark(_) => false,
    }
}

/// Whether `text` is a value of the target that plates usually print.
pub(super) fn is_usual(target: Target, text: &str) -> bool {
    mean(target, text).is_some_and(|(printed, value)| usual::usual(target, &printed, &value) > 0.5)
}

/// Whether `text` lists system voltages, `220/380/440`.
pub(super) fn is_system_voltage(text: &str) -> bool {
    let volts = mean(Target::Field(Field::Volts), text).map(|(_, value)| value);
    volts.is_some_and(|v| {
        v.numbers().len() > 1 && v.numbers().iter().all(|&n| usual::usual_volts(n))
    })
}

/// Whether a label announces a model or serial number.
pub(super) fn is_makers_number(target: Target) -> bool {
    matches!(target, Target::Field(field) if field.is_makers_number())
}

/// Whether the value is a string of the maker's own.
pub(super) fn is_free(target: Target) -> bool {
    is_makers_number(target) || matches!(target, Target::Other(_))
}
