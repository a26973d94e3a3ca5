//! How usual a value is: that decides between places for a value, never between readings of one place. And how
//! usual a way to write one is, whatever its figures: that speaks between the readings.

use super::lexicon::Target;
use crate::record::{Field, Value};
use regex::Regex;
use std::sync::LazyLock;

/// What a strange way to write a number weighs beside the usual ones.
const STRANGE: f64 = 0.04;

/// How usual it is to write a value like this (common practice): a whole number and a fraction stand apart by a
/// blank or a dash, not by a stroke (`1/1/2`); one plate has one kind of decimal point; none has a blank before it.
pub(super) fn writing(target: Target, raw: &str) -> f64 {
    static POWER: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"(?:^|[^0-9/])[0-9]{1,3}/[1-9]/[2-9](?:[^0-9/]|$)").expect("a fixed pattern")
    });
    static POINT: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"[0-9] [.,][0-9]").expect("a fixed pattern"));
    static MIXED: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"\.[0-9].*[0-9],[0-9]|,[0-9].*[0-9]\.[0-9]").expect("a fixed pattern")
    });
    use Field::*;
    static CUT: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"\.[0-9]+ [0-9](?:[^.0-9]|$)").expect("a fixed pattern"));
    let strange = match target {
        Target::Field(PowerFactor) if CUT.is_match(raw) => true,
        Target::Field(Hp) | Target::MetricHp => POWER.is_match(raw) || POINT.is_match(raw),
        Target::Field(Amps | ServiceFactorAmps | Kw | ServiceFactor | PowerFactor)
        | Target::MaxAmps => MIXED.is_match(raw) || POINT.is_match(raw),
        _ => false,
    };
    if strange { STRANGE } else { 1.0 }
}

/// How usual a value is for its target: 1 for what most plates print, little for what hardly any does.
pub(super) fn usual(target: Target, printed: &str, value: &Value) -> f64 {
    let all = |test: &dyn Fn(f64) -> bool| value.numbers().iter().all(|&n| test(n));
    let graded = |typical: bool, possible: bool| match (typical, possible) {
        (true, _) => 1.0,
        (_, true) => 0.3,
        _ => 0.01,
    };
    match target {
        Target::Field(Field::Volts) => graded(
            all(&usual_volts),
            all(&|v| (24.0..=1000.0).contains(&v) && v % 5.0 == 0.0),
        ),
        Target::Field(Field::Amps | Field::ServiceFactorAmps) | Target::MaxAmps => graded(
            all(&|a| (0.1..=150.0).contains(&a)),
            all(&|a| (0.01..=1500.0).contains(&a)),
        ),
        // `208-230/460` is neither a row of powers nor one of speeds.
        Target::Field(Field::Hp | Field::Rpm) if value.numbers().len() > 1 && all(&usual_volts) => {
            graded(false, false)
        }
        Target::Field(Field::Hp) => graded(all(&usual_hp), all(&|h| (0.005..=1000.0).contains(&h))),
        Target::MetricHp => graded(all(&|h| (0.02..=700.0).contains(&h)), true),
        Target::Field(Field::Kw) => graded(all(&|k| (0.02..=500.0).contains(&k)), true),
        Target::Watts => graded(all(&|k| (0.002..=15.0).contains(&k)), true),
        Target::Field(Field::Rpm) => graded(
            all(&|r| (350.0..=3600.0).contains(&r)),
            all(&|r| (150.0..=20000.0).contains(&r)),
        ),
        Target::Field(Field::Hertz) => graded(
            all(&|h| h == 50.0 || h == 60.0),
            all(&|h| (15.0..=400.0).contains(&h) && h % 5.0 == 0.0),
        ),
        // A bare 1 is rather the number of phases or a horsepower.
        Target::Field(Field::ServiceFactor) => graded(
            all(&|s| (1.0..=1.5).contains(&s)) && printed != "1",
            all(&|s| (0.8..=2.0).contains(&s)),
        ),
        Target::Field(Field::NominalEfficiency) => graded(
            all(&|e| (45.0..=98.0).contains(&e)),
            all(&|e| (0.3..100.0).contains(&e)),
        ),
        Target::Field(Field::PowerFactor) => {
            graded(all(&|p| (0.4..=1.0).contains(&p)), all(&|p| p <= 1.0))
        }
        Target::Field(Field::CapacitorUf) => {
            // These are the voltages of capacitors.
            let volts = all(&|c| [370.0, 440.0].contains(&c));
            graded(
                all(&|c| (1.0..=100.0).contains(&c)),
                all(&|c| c <= 400.0) && !volts,
            )
        }
        Target::Field(Field::CapacitorVolts) => graded(
            all(&|v| [370.0, 440.0].contains(&v)),
            all(&|v| (165.0..=660.0).contains(&v)),
        ),
        Target::Field(Field::AmbientC) => graded(
            all(&|t| (20.0..=65.0).contains(&t)),
            all(&|t| (10.0..=120.0).contains(&t)),
        ),
        Target::Field(Field::Frame) => graded(usual_frame(printed), false).max(0.03),
        Target::Field(Field::Enclosure) => 1.0,
        Target::Field(Field::InsulationClass) => graded(
            "ABEFH".contains(printed.chars().next().unwrap_or(' ')),
            true,
        ),
        Target::Field(Field::Model | Field::Serial) => {
            let long = printed.chars().count() >= 3;
            let digit = printed.chars().any(|c| c.is_ascii_digit());
            if long || digit {
                graded(long && digit, digit).max(0.1)
            } else {
                0.01
            }
        }
        // Numbers of patents and files are long.
        Target::Other("patent" | "file_number") => {
            let digits = printed.chars().filter(char::is_ascii_digit).count();
            if digits >= 4 { 0.5 } else { 0.02 }
        }
        // Types are written with letters, and currents without the blank of `7 1/2`.
        Target::Other("type") if !printed.contains(char::is_alphabetic) => 0.05,
        Target::Other(kind) if kind.ends_with("amps") && printed.trim().contains(' ') => 0.05,
        Target::Other("locked_rotor_amps" | "date_code" | "weight" | "altitude" | "type") => 0.6,
        // Rolling bearings are numbered 6200, 6300 and the like.
        Target::Other("bearing_drive_end" | "bearing_opposite_end") => {
            if printed.contains("62") || printed.contains("63") || printed.contains("60") {
                0.6
            } else {
                0.1
            }
        }
        Target::Other(_) => 0.5,
        _ => 1.0,
    }
}

/// Nameplate and system voltages in use (`voltage_pairs` of the reference tables; IEC 60038).
pub(super) fn usual_volts(v: f64) -> bool {
    const SERIES: &[f64] = &[
        110.0, 115.0, 120.0, 127.0, 190.0, 200.0, 208.0, 220.0, 230.0, 240.0, 265.0, 277.0, 332.0,
        346.0, 347.0, 380.0, 400.0, 415.0, 420.0, 440.0, 460.0, 480.0, 500.0, 525.0, 550.0, 575.0,
        600.0, 660.0, 690.0, 2300.0, 2400.0, 3300.0, 4000.0, 4160.0, 6600.0,
    ];
    SERIES.contains(&v)
}

/// Horsepower ratings in use (MG 1 10.32; fan motors' small fractions are common practice).
fn usual_hp(hp: f64) -> bool {
    const SERIES: &[f64] = &[
        0.05, 0.0625, 0.0667, 0.0833, 0.1, 0.125, 0.1667, 0.2, 0.25, 0.3333, 0.4, 0.5, 0.6, 0.75,
        0.8, 1.0, 1.5, 2.0, 2.5, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0,
        75.0, 100.0, 125.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0, 450.0, 500.0,
    ];
    SERIES.iter().any(|s| (s - hp).abs() < 0.01 * s) || [0.33, 0.17, 0.16].contains(&hp)
}

/// Frame numbers of NEMA MG 1 Part 4 and of IEC 60072-1.
pub(super) fn usual_frame(printed: &str) -> bool {
    let upper = printed.to_uppercase();
    let start = upper.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
    let rest = &upper[start..];
    let end = rest
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(rest.len());
    let Ok(number) = rest[..end].parse::<u32>() else {
        return false;
    };
    const NEMA: &[u32] = &[14, 16, 18, 20, 21, 22, 25, 28, 32, 36, 40, 44, 50, 58, 68];
    const WHOLE: &[u32] = &[
        39, 42, 48, 56, 63, 66, 71, 80, 90, 100, 112, 132, 160, 180, 200, 225, 250, 280, 315, 355,
    ];
    // T shafts belong to frames of three digits.
    let suffix = rest[end..].trim_start();
    if number < 100 && suffix.starts_with('T') {
        return false;
    }
    WHOLE.contains(&number) || (number >= 100 && NEMA.contains(&(number / 10)) && number % 10 >= 2)
}
