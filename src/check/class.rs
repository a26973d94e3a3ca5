//! Air-over or general purpose: what the plate says, and what its shape suggests.

use crate::plate::{Plate, Word};
use crate::record::{Class, ClassReading, Field, Reading, State};
use crate::trade;
use crate::units::{Hertz, Rpm};
use std::collections::BTreeMap;

/// A word counts as read from this confidence up.
const WORD_IS_CLEAR: f32 = 0.9;
/// The air of the driven fan, as plates call it.
const STREAM: [&str; 3] = ["AIRSTREAM", "AIRFLOW", "DRIVENFAN"];
/// From COOLED on it is named within so many words: `COOLED BY THE FAN AIRSTREAM`.
const REACH: usize = 6;
/// How surely the letters AO alone mean air over.
const SHORT: f32 = 0.8;

/// Whether the plate says air-over in any word, however weakly.
pub(super) fn says_air_over(plate: &Plate) -> bool {
    air_over_words(plate).is_some() || {
        let fields = [Field::Enclosure, Field::Duty].into_iter();
        fields
            .filter_map(|f| plate.fields.get(&f)?.candidates.first())
            .any(|c| {
                c.value
                    .text()
                    .is_some_and(|t| means_air_over(t) || means_air_over(&c.printed))
            })
    }
}

/// Whether an enclosure or a duty means air-over.
fn means_air_over(text: &str) -> bool {
    let compact = compact(text);
    trade::enclosure(text).is_some_and(|e| e.is_air_over())
        || trade::duty(text).is_some_and(|d| d.code == "AIR OVER")
        || compact.contains("AIROVER")
        || ["IC418", "IC48", "IC0418"].contains(&compact.as_str())
}

fn compact(text: &str) -> String {
    text.chars()
        .filter(|c| c.is_ascii_alphanumeric())
        .map(|c| c.to_ascii_uppercase())
        .collect()
}

/// The words that say air-over: as they read, and the lowest confidence among them.
fn air_over_words(plate: &Plate) -> Option<(String, f32)> {
    let words = &plate.words;
    let pairs = words.windows(2).filter(|w| {
        let (first, second) = (compact(&w[0].text), compact(&w[1].text));
        first.ends_with("AIR") && second.starts_with("OVER")
            || first == "IC" && ["418", "48", "0418"].contains(&second.as_str())
            || STREAM.iter().any(|w| first.ends_with(w)) && second == "COOLED"
    });
    let pairs = pairs.map(|w| {
        (
            format!("{} {}", w[0].text, w[1].text),
            w[0].confidence.min(w[1].confidence),
        )
    });
    // `AIR FLOW REQUIRED OVER MOTOR`
    let flow = (0..words.len()).filter_map(|at| flows_over(words, at));
    // `MOUNT IN FAN AIRSTREAM`, and not `KEEP OUT OF AIRSTREAM`.
    let stream = (0..words.len()).filter(|&at| in_stream(words, at));
    let stream = stream.map(|at| (words[at].text.clone(), words[at].confidence));
    // `COOLED BY THE FAN AIRFLOW`
    let cooled = (0..words.len()).filter(|&at| compact(&words[at].text) == "COOLED");
    let cooled = cooled.filter_map(|at| {
        let end = words.len().min(at + REACH);
        let stream = (at + 1..end).find(|&i| {
            let word = compact(&words[i].text);
            STREAM.iter().any(|w| word.starts_with(w))
                || word == "AIR" && compact(&words[i - 1].text) == "FAN"
        })?;
        let by = words[at + 1..stream]
            .iter()
            .any(|w| ["BY", "IN"].contains(&compact(&w.text).as_str()));
        let confidence = words[at].confidence.min(words[stream].confidence);
        by.then(|| (format!("cooled by {}", words[stream].text), confidence))
    });
    let alone = words.iter().filter(|w| {
        let text = compact(&w.text);
        text.contains("AIROVER")
            || [
                "IC418", "IC48", "TEAO", "OAO", "TEAOV", "OPAO", "DPAO", "XPAO",
            ]
            .contains(&text.as_str())
    });
    let alone = alone.map(|w| (w.text.clone(), w.confidence));
    let short = words.iter().filter(|w| compact(&w.text) == "AO");
    let short = short.map(|w| {
        // With its separators it is nothing else; the two letters alone may be a part of a number.
        let most = if w.text.contains(['.', '/']) {
            1.0
        } else {
            SHORT
        };
        (w.text.clone(), w.confidence.min(most))
    });
    pairs
        .chain(cooled)
        .chain(flow)
        .chain(stream)
        .chain(alone)
        .chain(short)
        .max_by(|a, b| a.1.total_cmp(&b.1))
}

/// Whether from a word on the plate asks for air over the motor, and the lowest confidence among those words.
fn flows_over(words: &[Word], at: usize) -> Option<(String, f32)> {
    let is = |i: usize, wanted: &str| words.get(i).is_some_and(|w| compact(&w.text) == wanted);
    let air = ["AIR", "AIRFLOW"].iter().any(|wanted| is(at, wanted));
    let end = words.len().min(at + REACH);
    let over = (at + 1..end).find(|&i| is(i, "OVER")).filter(|_| air)?;
    let motor = (over + 1..over + 4).find(|&i| is(i, "MOTOR"))?;
    let before = at.saturating_sub(2)..over;
    let denied = before.into_iter().any(|i| is(i, "NO") || is(i, "NOT"));
    let named = [at, over, motor].map(|i| words[i].confidence);
    let confidence = named.into_iter().fold(1.0, f32::min);
    (!denied).then(|| ("air over the motor".to_owned(), confidence))
}

/// Whether a word says that the motor stands in the air of its fan.
fn in_stream(words: &[Word], at: usize) -> bool {
    let word = |i: usize| words.get(i).map(|w| compact(&w.text)).unwrap_or_default();
    let named = word(at).starts_with("AIRSTREAM")
        || word(at) == "MOVING" && word(at + 1) == "AIR"
        || word(at).ends_with("AIR") && word(at + 1).starts_with("STREAM");
    let before = at.saturating_sub(REACH)..at;
    let denied = before
        .clone()
        .any(|i| ["NOT", "OUT", "OUTSIDE", "NO"].contains(&&*word(i)));
    let placed = |i: usize| {
        let word = word(i);
        ["IN", "BY", "WITHIN"].contains(&&*word) || word.starts_with("MOUNT")
    };
    named && !denied && (before.clone().any(placed) || placed(at + 1))
}

fn reading(value: Class, state: State, reason: String) -> ClassReading {
    ClassReading {
        value,
        state,
        reason,
    }
}

/// The class of the motor, from the judged fields and the words around them.
pub(super) fn classify(plate: &Plate, fields: &BTreeMap<Field, Reading>) -> ClassReading {
    let shown = |field: Field| fields.get(&field).filter(|r| r.state != State::Absent);
    let printed = |field: Field| {
        shown(field)
            .and_then(|r| r.printed.clone())
            .unwrap_or_default()
    };
    let enclosure = shown(Field::Enclosure);
    let duty = shown(Field::Duty);
    let says = |r: &Reading| {
        let meaning = r.value.as_ref().and_then(|v| v.text());
        meaning.is_some_and(means_air_over) || r.printed.as_deref().is_some_and(means_air_over)
    };
    let own_cooling = enclosure.filter(|r| {
        r.value
            .as_ref()
            .and_then(|v| v.text())
            .is_some_and(has_own_cooling)
            // Without ENCL before it, it may be the driven fan that cools.
            && (r.state == State::Clear
                || r.printed.as_deref().is_none_or(|p| compact(p) != "FANCOOLED"))
    });

    // What the plate says in so many words.
    let mut said: Vec<(String, bool)> = [enclosure, duty]
        .into_iter()
        .flatten()
        .filter(|r| says(r))
        .map(|r| {
            (
                r.printed.clone().unwrap_or_default(),
                r.state == State::Clear,
            )
        })
        .collect();
    if let Some((text, confidence)) = air_over_words(plate)
        && !said.iter().any(|s| s.1)
    {
        said.push((text, confidence >= WORD_IS_CLEAR));
    }
    if let Some((text, clear)) = said.iter().find(|s| s.1).or(said.first()) {
        if let Some(fan_cooled) = own_cooling {
            let other = fan_cooled.printed.clone().unwrap_or_default();
            return reading(
                Class::AirOver,
                State::Doubtful,
                format!(
                    "the plate says {text}, and the enclosure reads {other}, which has its own cooling: one of the two must be wrong"
                ),
            );
        }
        return if *clear {
            reading(
                Class::AirOver,
                State::Clear,
                format!("the plate says {text}"),
            )
        } else {
            reading(
                Class::AirOver,
                State::Doubtful,
                format!("the plate seems to say {text}, and it is not clear"),
            )
        };
    }

    // An enclosure that might as well read as an air-over one.
    let maybe = enclosure
        .into_iter()
        .flat_map(|r| &r.alternatives)
        .find(|a| a.confidence > 0.005 && means_air_over(&a.printed));
    if let Some(alternative) = maybe {
        return reading(
            Class::GeneralPurpose,
            State::Doubtful,
            format!(
                "the enclosure reads {}, and might read {}, which is air-over",
                printed(Field::Enclosure),
                alternative.printed
            ),
        );
    }

    let number = |field: Field| {
        shown(field)
            .and_then(|r| r.value.as_ref())
            .and_then(|v| v.numbers().iter().copied().reduce(f64::max))
    };
    let shape = Shape {
        phase: number(Field::Phase).map(|p| p as u8),
        hp: number(Field::Hp).or_else(|| {
            number(Field::Kw)
                .map(|kw| crate::units::Horsepower::from(crate::units::Kilowatts(kw)).0)
        }),
        poles: number(Field::Rpm)
            .and_then(|rpm| trade::poles(Rpm(rpm), Hertz(number(Field::Hertz).unwrap_or(60.0)))),
        frame: printed(Field::Frame),
        service_factor: number(Field::ServiceFactor),
        run_capacitor: shown(Field::CapacitorUf).is_some(),
        kva_code: shown(Field::KvaCode).is_some(),
    };
    by_shape(&shape, enclosure, own_cooling)
}

/// Whether motors of this enclosure bring their own cooling, whatever they drive.
fn has_own_cooling(enclosure: &str) -> bool {
    [
        "TEFC", "TEBC", "TEAAC", "TEWAC", "TEPV", "TEDC", "TEHC", "WPI", "WPII", "DPFV", "DPSV",
        "WASH", "TEXP",
    ]
    .contains(&trade::enclosure(enclosure).map_or(enclosure, |e| e.code.as_str()))
}

/// What of a plate suggests the class when no word tells it.
struct Shape {
    phase: Option<u8>,
    hp: Option<f64>,
    poles: Option<u32>,
    frame: String,
    service_factor: Option<f64>,
    run_capacitor: bool,
    kva_code: bool,
}

fn by_shape(
    shape: &Shape,
    enclosure: Option<&Reading>,
    own_cooling: Option<&Reading>,
) -> ClassReading {
    let fractional = shape.hp.map_or(shape.run_capacitor, |hp| hp < 1.2);
    let small_frame =
        shape.frame.is_empty() || ["42", "48", "56"].iter().any(|f| shape.frame.contains(f));
    let slow = shape.poles.is_some_and(|p| p >= 6);
    let ordinary = shape.kva_code
        || shape.service_factor.is_some_and(|sf| sf > 1.0)
        || (shape.phase == Some(3) && !fractional);
    let fan_like = fractional
        && small_frame
        && shape.phase != Some(3)
        && !ordinary
        && (slow || shape.run_capacitor);
    let sure = |r: &Reading| r.state == State::Clear;
    let name = |r: &Reading| r.printed.clone().unwrap_or_default();

    if let Some(r) = own_cooling {
        return if sure(r) {
            reading(
                Class::GeneralPurpose,
                State::Clear,
                format!("{} has its own cooling", name(r)),
            )
        } else {
            reading(
                Class::GeneralPurpose,
                State::Doubtful,
                format!(
                    "the enclosure seems to read {}, and it is not clear",
                    name(r)
                ),
            )
        };
    }
    if fan_like {
        return reading(
            Class::AirOver,
            State::Doubtful,
            "a small single-phase motor of this kind is mostly a fan motor cooled by its own air; the plate does not say so, and it must be confirmed, since the rules differ".to_owned(),
        );
    }
    if let Some(r) = enclosure {
        let text = r.value.as_ref().and_then(|v| v.text()).unwrap_or_default();
        let code = trade::enclosure(text).map_or("", |e| e.code.as_str());
        let enclosed_by_ip = compact(text).starts_with("IP4")
            || compact(text).starts_with("IP5")
            || compact(text).starts_with("IP6");
        let general = match code {
            "DP" | "SP" | "DPG" | "SEMI" => ordinary || shape.poles.is_some_and(|p| p <= 4),
            "TENV" => ordinary,
            "OPEN" | "TE" => ordinary && shape.phase == Some(3),
            _ => enclosed_by_ip && shape.phase == Some(3),
        };
        if general {
            let state = if sure(r) {
                State::Clear
            } else {
                State::Doubtful
            };
            return reading(
                Class::GeneralPurpose,
                state,
                format!("enclosure {} and no mark of air-over", name(r)),
            );
        }
    }
    if ordinary {
        return reading(
            Class::GeneralPurpose,
            State::Doubtful,
            "the values are those of a general-purpose motor, and the plate shows no enclosure with its own cooling".to_owned(),
        );
    }
    reading(
        Class::Unknown,
        State::Doubtful,
        "the plate does not say whether the air of the driven fan cools the motor".to_owned(),
    )
}

/// The question about the class.
pub(super) fn ask(class: &ClassReading) -> String {
    let reason = class.reason.trim_end_matches('.');
    format!("Is the motor air-over, cooled by the air that its own fan moves across it ({reason})?")
}
