//! Judging a plate: plausibility rules, the joint choice among the candidates of all fields, the class of the
//! motor, what is clear and what is doubtful, and what to ask.
//!
//! Rules re-rank what the plate offers and move readings to doubtful. They never write a value.

mod calibration;
mod class;
mod codes;
mod joint;
mod misreading;
mod motor;
mod open;
mod questions;
mod rule;
mod rules;
mod suspects;
#[cfg(test)]
mod tests;

use crate::plate::{self, Candidate, FieldReading, Open, Plate, disagreement};
use crate::record::{
    Alternative, CheckOutcome, Class, ClassReading, Field, NameplateRecord, Outcome, Question,
    RatingPoint, Reading, State, Unpaired, notation,
};
use calibration::Calibration;
use joint::Marginals;
use motor::{Marks, Motor, Slot};
use rule::{DOUBT, Finding, Rule};
use std::collections::BTreeMap;

/// How a plate is judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// A reading on which two readers agree is clear from this calibrated probability up, 0 to 1; where only one has
    /// read it, or the other reads something else, no more than half the doubt is left, and two thirds of it of a number of the
    /// maker's.
    pub clear: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Settings { clear: 0.985 }
    }
}

/// What a plate says, judged.
#[derive(Debug, Clone, PartialEq)]
pub struct Judgement {
    /// Air-over or general purpose.
    pub class: ClassReading,
    /// A reading for every field that the plate shows, and for those whose label alone can be read.
    pub fields: BTreeMap<Field, Reading>,
    /// Which values belong together.
    pub ratings: Vec<RatingPoint>,
    /// Every rule that had something to say.
    pub checks: Vec<CheckOutcome>,
    /// What to ask, most important first.
    pub questions: Vec<Question>,
}

/// A value that is clear belongs to its field with at least this probability by its layout, however well its characters are
/// read. On 1,044 plates of strangers (`models/README.md`), of values between 0.9 and 0.965 that were doubtful for nothing else,
/// 90 of 93 were right (efficiencies without a label, all at 0.9, left out) and the other three stay doubtful for their
/// characters; of numbers of the maker's, where a neighbouring word is as good a number, 39 of 49.
fn least_association(field: Field) -> f64 {
    if field.is_makers_number() {
        0.965
    } else {
        0.92
    }
}

/// Of a number of the maker's no more than this part of the doubt is left.
const UNCHECKED: f64 = 2.0 / 3.0;
/// An alternative less likely than this is not shown.
const SHOWN: f64 = 1e-3;
/// At most so many alternatives are shown.
const MOST_SHOWN: usize = 5;
/// Plausibility may settle a choice between readings that look alike; one that looks this many times
/// likelier than the chosen one is not overruled silently.
const OVERRULED: f64 = 4.0;

/// Judges a plate.
pub fn judge(plate: &Plate, settings: &Settings) -> Judgement {
    let marks = Marks::of(plate);
    let mut marginals = joint::marginals(plate, &marks, &[]);
    let strays = strays(plate, &marginals);
    if !strays.is_empty() {
        let mut without = plate.clone();
        without
            .fields
            .retain(|field, _| !strays.contains_key(field));
        let mut judged = judge(&without, settings);
        judged.fields.extend(strays);
        return judged;
    }
    let motor = chosen(plate, &marks, &marginals);
    let (mut checks, doubts) = checks(&motor);
    if !doubts.is_empty() {
        // A contradiction weighs on all that it binds. Once it is known where it comes from, the others
        // are judged without it.
        let suspected: Vec<Field> = doubts.keys().copied().collect();
        for (field, without) in joint::marginals(plate, &marks, &suspected) {
            let same = |m: &Marginals| {
                m.candidates.first().map(|c| c.0) == without.candidates.first().map(|c| c.0)
            };
            if let Some(known) = marginals.get_mut(&field).filter(|m| same(m)) {
                *known = without;
            }
        }
    }

    let open = |place: &FieldReading| {
        place
            .open
            .filter(|&o| !open::settled(o, plate, &motor, &marginals))
    };
    let mut fields: BTreeMap<Field, Reading> = BTreeMap::new();
    for (&field, place) in &plate.fields {
        if let Some(marginals) = marginals.get(&field) {
            fields.insert(
                field,
                reading(
                    field,
                    place,
                    marginals,
                    doubts.get(&field),
                    open(place),
                    &motor,
                    settings,
                ),
            );
        }
    }
    for (&field, &quad) in &plate.unreadable {
        fields.entry(field).or_insert_with(|| Reading {
            quad: Some(quad),
            ..Reading::absent(field, "a label is there, its value cannot be read")
        });
    }
    for &field in Field::ALL {
        fields
            .entry(field)
            .or_insert_with(|| Reading::absent(field, "the plate does not seem to show it"));
    }

    let pairing = motor.ratings();
    let other_currents = || other_pairing(&motor, plate, &marginals);
    // As they are read, one row is too short; as they may be read, nothing says which.
    let short = pairing.doubt.map(|doubt| (doubt, true));
    let doubt = short.or_else(|| Some((other_currents()?, false)));
    let unpaired = doubt.map(|(doubt, told)| pair_up(doubt, told, &mut fields, &mut checks));
    checks.extend(codes::outcomes(plate, &fields));
    let class = class::classify(plate, &fields);
    let questions = questions::questions(&class, &fields, unpaired.as_ref());
    Judgement {
        class,
        fields,
        ratings: pairing.points,
        checks,
        questions,
    }
}

/// Fields whose place is another's rather than theirs, by its layout and by all that the plate says otherwise: the 60 W of
/// a heater beside `20 HP`. They must not make doubtful what stands firm. A value in a place that is the field's by its
/// label stays, however odd it is: then the plate says so, and a person has to look.
fn strays(plate: &Plate, marginals: &BTreeMap<Field, Marginals>) -> BTreeMap<Field, Reading> {
    const STRAY: f64 = 0.05;
    let stray = |(&field, place): (&Field, &FieldReading)| {
        let marginals = &marginals.get(&field)?.candidates;
        let (best, _) = *marginals.first()?;
        let all: f64 = marginals.iter().map(|c| c.1).sum();
        let printed = &place.candidates.get(best)?.printed;
        let reason = format!(
            "{printed} beside its label is rather another label's: nothing else on the plate fits it"
        );
        let quad = Some(place.quad);
        let guessed = place.doubts.iter().any(|doubt| doubt == plate::ANOTHERS);
        (guessed && all < STRAY).then(|| {
            let absent = Reading::absent(field, &reason);
            (field, Reading { quad, ..absent })
        })
    };
    plate.fields.iter().filter_map(stray).collect()
}

/// The plate with the likeliest candidate of every field.
fn chosen<'a>(
    plate: &'a Plate,
    marks: &'a Marks,
    marginals: &BTreeMap<Field, Marginals>,
) -> Motor<'a> {
    let mut motor = Motor::new(marks);
    for (&field, place) in &plate.fields {
        let best = marginals.get(&field).and_then(|m| m.candidates.first());
        if let Some(candidate) = best.and_then(|(at, _)| place.candidates.get(*at)) {
            motor.set(field, Slot::Read(candidate));
        }
    }
    motor
}

/// What does not pair up where the currents are another of their likelier readings: of `37.4-34.2` and `37.4-34.2/17.1`
/// beside `230/460` V, the second says that a voltage is missing.
fn other_pairing(
    motor: &Motor<'_>,
    plate: &Plate,
    marginals: &BTreeMap<Field, Marginals>,
) -> Option<Unpaired> {
    const LIKELY: f64 = 0.2;
    let place = plate.fields.get(&Field::Amps)?;
    let others = marginals.get(&Field::Amps)?.candidates.iter().skip(1);
    let likely = others.filter(|(_, probability)| *probability >= LIKELY);
    likely
        .filter_map(|(at, _)| place.candidates.get(*at))
        .find_map(|other| motor.with(Field::Amps, Slot::Read(other)).ratings().doubt)
}

/// Why a field is doubtful: reasons, and what would fit with the decimal point elsewhere.
#[derive(Default)]
struct Doubts {
    reasons: Vec<String>,
    decimal_point: Option<String>,
}

/// What the plausibility rules say of values that somebody wrote down, such as a row of a stock list.
pub fn plausibility(printed: &[(Field, String)], air_over: bool) -> Vec<CheckOutcome> {
    let run_capacitor = printed.iter().any(|(f, _)| *f == Field::CapacitorUf);
    let marks = Marks {
        air_over,
        run_capacitor,
        single_phase_type: run_capacitor,
        ..Marks::default()
    };
    plausible(printed, &marks)
}

/// What the plausibility rules say of a record as it stands now, whoever gave its values.
pub fn recheck(record: &NameplateRecord) -> Vec<CheckOutcome> {
    let shown = record.fields.keys().filter_map(|&field| {
        let printed = record.reading(field)?.printed.clone()?;
        Some((field, printed))
    });
    let printed: Vec<(Field, String)> = shown.collect();
    let lines: Vec<&str> = record.lines.iter().map(|l| l.text.as_str()).collect();
    let capacitor = printed.iter().any(|(f, _)| *f == Field::CapacitorUf);
    let marks = Marks {
        air_over: record.class.value == Class::AirOver,
        ..Marks::of_text(&lines.join(" "), capacitor)
    };
    let mut outcomes = plausible(&printed, &marks);
    outcomes.extend(
        record
            .pair()
            .doubt
            .map(|doubt| unpaired_rows(doubt, &record.fields)),
    );
    outcomes
}

fn plausible(printed: &[(Field, String)], marks: &Marks) -> Vec<CheckOutcome> {
    let candidates: Vec<(Field, Candidate)> = printed
        .iter()
        .filter_map(|(field, printed)| {
            let value = notation::parse(*field, printed)?;
            let (printed, probability) = (printed.clone(), 1.0);
            Some((
                *field,
                Candidate {
                    printed,
                    value,
                    probability,
                },
            ))
        })
        .collect();
    let mut motor = Motor::new(marks);
    for (field, candidate) in &candidates {
        motor.set(*field, Slot::Read(candidate));
    }
    checks(&motor).0
}

/// What every rule says of the chosen readings, and which fields their doubts fall on.
fn checks(motor: &Motor) -> (Vec<CheckOutcome>, BTreeMap<Field, Doubts>) {
    let all: Vec<&Rule> = rules::all().collect();
    let found: Vec<(&Rule, Finding)> = all
        .iter()
        .filter_map(|r| Some((*r, r.find(motor)?)))
        .collect();
    let doubting: Vec<&(&Rule, Finding)> = found.iter().filter(|f| f.1.factor < DOUBT).collect();

    let mut doubts: BTreeMap<Field, Doubts> = BTreeMap::new();
    let rules: Vec<&Rule> = doubting.iter().map(|d| d.0).collect();
    for ((_, finding), suspects) in doubting
        .iter()
        .zip(suspects::all_suspects(motor, &rules, &all))
    {
        for suspect in suspects {
            let entry = doubts.entry(suspect.field).or_default();
            entry.reasons.push(finding.message.clone());
            entry.decimal_point = entry.decimal_point.take().or(suspect.decimal_point);
        }
    }
    let outcomes = found.into_iter().map(|(rule, finding)| CheckOutcome {
        rule: rule.name.to_owned(),
        fields: rule
            .fields()
            .filter(|f| motor.candidate(*f).is_some())
            .collect(),
        outcome: if finding.factor < DOUBT {
            Outcome::Doubt
        } else {
            Outcome::Ok
        },
        message: finding.message,
        source: rule.source.to_owned(),
    });
    (outcomes.collect(), doubts)
}

/// The reading of one field.
fn reading(
    field: Field,
    place: &FieldReading,
    marginals: &Marginals,
    doubts: Option<&Doubts>,
    open: Option<Open>,
    motor: &Motor,
    settings: &Settings,
) -> Reading {
    let candidate = |at: usize| place.candidates.get(at);
    let Some(best) = marginals.candidates.first().and_then(|c| candidate(c.0)) else {
        return Reading::absent(field, "a label is there, its value cannot be read");
    };
    // Other ways to write the same value speak for it: `14.6/7.6-7.3`, `14.6/7.6 7.3`.
    let says_so = |at: usize| candidate(at).is_some_and(|c| c.value == best.value);
    let saying_so = marginals.candidates.iter().filter(|(at, _)| says_so(*at));
    let marginal = saying_so.map(|(_, p)| p).sum::<f64>();
    let calibration = Calibration::shipped();
    let trust = |probability: f64| calibration.apply(field, probability);
    let confidence = trust(marginal);
    let mut alternatives: Vec<Alternative> = marginals.candidates[1..]
        .iter()
        .filter_map(|(at, p)| Some((candidate(*at)?, *p)))
        .filter(|(c, p)| (*p >= SHOWN || c.probability >= SHOWN) && c.value != best.value)
        .map(|(c, p)| Alternative {
            printed: c.printed.clone(),
            confidence: trust(p),
        })
        .collect();
    alternatives.truncate(MOST_SHOWN);

    let mut reasons: Vec<String> = Vec::new();
    if let Some(doubts) = doubts {
        reasons.extend(doubts.reasons.iter().cloned());
        if let Some(fits) = &doubts.decimal_point {
            reasons.push(format!(
                "{fits} would fit: a decimal point may be lost or gained"
            ));
            if alternatives.iter().all(|a| a.printed != *fits) {
                alternatives.push(Alternative {
                    printed: fits.clone(),
                    confidence: 0.0,
                });
            }
        }
    }
    reasons.extend(place.doubts.iter().cloned());
    let contradicting = place
        .claims
        .iter()
        .filter(|other| other.value != best.value);
    let contradicting = contradicting.filter(|other| !open::excluded(motor, field, best, other));
    reasons.extend(contradicting.map(|other| disagreement(&best.printed, &other.printed)));
    reasons.extend(open.map(|open| open.reason().to_owned()));
    let looks = place
        .candidates
        .iter()
        .max_by(|a, b| a.probability.total_cmp(&b.probability));
    if let Some(looks) = looks
        && looks.value != best.value
        && looks.probability > OVERRULED * best.probability
    {
        reasons.push(format!(
            "the characters look more like {}, which fits less well",
            looks.printed
        ));
    }
    let agreed = place.is_seconded(&best.value);
    let seconded = if agreed { 1.0 } else { 0.5 };
    let checked = if field.is_makers_number() {
        UNCHECKED
    } else {
        1.0
    };
    let doubt = (1.0 - settings.clear) * seconded * checked;
    let astray = place.association < least_association(field).min(settings.clear);
    if (1.0 - confidence > doubt || astray) && reasons.is_empty() {
        reasons.push(match alternatives.first() {
            Some(near) if !astray && near.confidence > 0.1 * (1.0 - confidence) => {
                format!("it may also read {}", near.printed)
            }
            _ if astray || place.association < marginal => {
                "it is not certain that this value belongs to this field".to_owned()
            }
            _ => "the characters are not clear".to_owned(),
        });
    }
    let state = if reasons.is_empty() {
        State::Clear
    } else {
        State::Doubtful
    };
    Reading {
        printed: Some(best.printed.clone()),
        value: Some(best.value.clone()),
        unit: field.unit().map(str::to_owned),
        state,
        confidence,
        alternatives,
        reasons,
        quad: Some(place.quad),
        photo: 0,
    }
}

/// The rows of a plate that do not pair up.
fn unpaired_rows(doubt: Unpaired, fields: &BTreeMap<Field, Reading>) -> CheckOutcome {
    let shown = |f: &Field| fields.get(f).is_some_and(|r| r.printed.is_some());
    let rows = [
        Field::Volts,
        Field::Amps,
        Field::Hp,
        Field::Kw,
        Field::Rpm,
        Field::Hertz,
    ];
    let of_these = |f: &Field| has_several(fields, *f) || *f == Field::Amps || is_lost(fields, *f);
    CheckOutcome {
        rule: "ratings-pair-up".to_owned(),
        fields: rows
            .into_iter()
            .filter(|f| of_these(f) && shown(f))
            .collect(),
        outcome: Outcome::Doubt,
        message: doubt.to_string(),
        source: "common practice: as many amps as volts, powers or speeds".to_owned(),
    }
}

fn has_several(fields: &BTreeMap<Field, Reading>, field: Field) -> bool {
    let value = fields.get(&field).and_then(|r| r.value.as_ref());
    value.is_some_and(|v| v.numbers().len() > 1)
}

/// Whether one of two speeds may be lost: where of two powers one current is, under glare for instance.
fn is_lost(fields: &BTreeMap<Field, Reading>, field: Field) -> bool {
    let powers = has_several(fields, Field::Hp) || has_several(fields, Field::Kw);
    field == Field::Rpm && powers && !has_several(fields, Field::Amps)
}

/// Of the rows that do not pair up those that seem to miss a value, the shorter ones: on 54 plates of strangers with more or
/// fewer amps than volts or ratings no longer row was wrong but `2.2/3`, kilowatts and horsepower (`models/README.md`).
fn short_rows(doubt: Unpaired, rows: &[Field], fields: &BTreeMap<Field, Reading>) -> Vec<Field> {
    let among = |shorter: &dyn Fn(Field) -> bool| -> Vec<Field> {
        rows.iter().copied().filter(|f| shorter(*f)).collect()
    };
    let more_amps = match doubt {
        Unpaired::AmpsAndVolts { amps, volts } if amps > volts => among(&|f| f == Field::Volts),
        Unpaired::AmpsAndRatings { amps, ratings } if amps > ratings => {
            among(&|f| !matches!(f, Field::Amps | Field::Volts))
        }
        Unpaired::AmpsAndVolts { .. } | Unpaired::AmpsAndRatings { .. } => Vec::new(),
        Unpaired::VoltsAndRatings | Unpaired::Ratings => return rows.to_vec(),
    };
    match more_amps.as_slice() {
        [] => among(&|f| f == Field::Amps || is_lost(fields, f)),
        _ => more_amps,
    }
}

/// Notes that rows of a plate do not pair up: those that seem to miss a value are doubtful; all of them, where it cannot
/// be `told`.
fn pair_up(
    doubt: Unpaired,
    told: bool,
    fields: &mut BTreeMap<Field, Reading>,
    checks: &mut Vec<CheckOutcome>,
) -> questions::Pairing {
    let outcome = unpaired_rows(doubt, fields);
    let rows = outcome.fields.clone();
    checks.push(outcome);
    let printed = rows
        .iter()
        .filter_map(|f| Some((*f, fields.get(f)?.printed.clone()?)))
        .collect();
    let short = if told {
        short_rows(doubt, &rows, fields)
    } else {
        rows.clone()
    };
    for field in short {
        if let Some(reading) = fields.get_mut(&field).filter(|r| r.state == State::Clear) {
            reading.state = State::Doubtful;
            reading.reasons.push(doubt.to_string());
        }
    }
    questions::Pairing {
        doubt: doubt.to_string(),
        rows: printed,
    }
}
