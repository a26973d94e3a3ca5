//! How usual a value is: that decides between places for a value, never between readings of one place. And how
//! usual a way to write one is, whatever its figures: that speaks between the readings.

use super::lexicon::Target;
use super::parts::is_fraction;
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
    // The last of a row of dots before a value: `.1` may be 1 hp. `.25`, `.33`, `.5` and `.75` are written so.
    static LEADER: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"^[ .:]*\.[1-46-9](?:[^0-9]|$)").expect("a fixed pattern"));
    use Field::*;
    static CUT: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"\.[0-9]+ [0-9](?:[^.0-9]|$)").expect("a fixed pattern"));
    let strange = match target {
        Target::Field(PowerFactor) if CUT.is_match(raw) => true,
        Target::Field(Hp) | Target::MetricHp => {
            if LEADER.is_match(raw) {
                return 0.3;
            }
            POWER.is_match(raw) || POINT.is_match(raw)
        }
        Target::Field(Amps | ServiceFactorAmps) | Target::MaxAmps => {
            MIXED.is_match(raw) || POINT.is_match(raw) || odd_currents(raw)
        }
        Target::Field(Kw | ServiceFactor | PowerFactor) => {
            MIXED.is_match(raw) || POINT.is_match(raw)
        }
        Target::Field(Model | Serial) => {
            return code_writing(raw, target == Target::Field(Model));
        }
        Target::Field(Phase) if raw.trim().chars().count() == 1 && !raw.contains(['1', '3']) => {
            return 0.3;
        }
        _ => false,
    };
    if strange { STRANGE } else { 1.0 }
}

/// Whether currents are written as plates do not write them (common practice): with more than three figures and a
/// decimal point, rising and falling in one list, or with a range whose second end is higher or far lower.
fn odd_currents(raw: &str) -> bool {
    let number = |c: char| c.is_ascii_digit() || c == '.';
    let currents = |list: &str| -> Vec<f64> {
        let parts = list.split(|c| !number(c));
        parts
            .filter_map(|n| n.trim_end_matches('.').parse().ok())
            .collect()
    };
    let too_fine = raw.split(|c| !number(c)).any(|n| {
        let figures = n.trim_start_matches(['0', '.']);
        n.contains('.') && figures.chars().filter(char::is_ascii_digit).count() > 3
    });
    let range = |list: &str| {
        let mut ranges = list.split('/').filter(|part| part.contains('-'));
        ranges.any(|part| matches!(currents(part)[..], [a, b] if b > a || a > 1.35 * b))
    };
    let turns = |list: &str| {
        let all = currents(list);
        all.windows(2).any(|w| w[1] > w[0]) && all.windows(2).any(|w| w[1] < w[0])
    };
    // Blanks part the lists of a table, but not where a separator stands as well.
    let tight = raw.replace(", ", ",").replace(" /", "/").replace("/ ", "/");
    too_fine || tight.split(' ').any(|list| range(list) || turns(list))
}

/// Where a letter or figure of a number of the maker's stands between others: at an end or a separator, beside a figure,
/// beside a letter; the row is what stands before it, the column what stands behind.
type Between = [[f64; 3]; 3];

/// How many times as often as the figure that looks like it the letters O and I stand there, in the numbers of models and of
/// motors: counted in 2,212 numbers on 1,176 plates that strangers drew (`models/README.md`), and tempered where few or none
/// of either were met. Such letters are kept out of such numbers because they look like figures (ISO 3779 for vehicles, ASME
/// Y14.35 for revisions): beside a figure one of 4,178 is an O or an I.
const MODEL_O: Between = [[0.2, 0.01, 6.0], [0.004, 0.004, 0.01], [6.0, 0.06, 3.0]];
const MODEL_I: Between = [[0.02, 0.004, 1.5], [0.01, 0.004, 0.02], [0.4, 0.01, 2.0]];
const SERIAL: Between = [[0.03, 0.004, 0.3], [0.004, 0.004, 0.02], [0.5, 0.015, 2.0]];
/// The same of Q, which looks less like a zero.
const Q: Between = [[0.3, 0.05, 0.3], [0.05, 0.02, 0.05], [0.3, 0.05, 1.0]];

/// How usual a string of the maker's is as a number of a model or a motor (common practice). Points, blanks and single
/// brackets are rare in them, and so is a small letter among capitals.
fn code_writing(raw: &str, model: bool) -> f64 {
    let around = |c: char| " :.=,;_*/-".contains(c);
    let text: Vec<char> = raw.trim_matches(around).chars().collect();
    let side = |at: Option<usize>| match at.and_then(|at| text.get(at)) {
        Some(c) if c.is_ascii_digit() => 1,
        Some(c) if c.is_alphabetic() => 2,
        _ => 0,
    };
    let count = |c: char| text.iter().filter(|t| **t == c).count() as i32;
    let beside = text.iter().enumerate().map(|(at, ch)| {
        let ch = ch.to_ascii_uppercase();
        let between = match (ch, model) {
            ('O' | '0', true) => &MODEL_O,
            ('I' | '1', true) => &MODEL_I,
            ('O' | '0' | 'I' | '1', false) => &SERIAL,
            ('Q', _) => &Q,
            _ => return 1.0,
        };
        let letters = between[side(at.checked_sub(1))][side(Some(at + 1))];
        match ch.is_ascii_digit() {
            true => letters.recip().min(1.0),
            false => letters.min(1.0),
        }
    });
    let small = text.iter().filter(|c| c.is_lowercase()).count();
    let large = text.iter().any(|c| c.is_uppercase() || c.is_ascii_digit());
    let case = if large && small == 1 { 0.1 } else { 1.0 };
    let brackets = if count('(') == count(')') { 1.0 } else { 0.1 };
    let points = 0.15f64.powi(count('.') + count('_') + count(','));
    beside.product::<f64>() * case * brackets * points * 0.4f64.powi(count(' '))
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
            all(&|v| (90.0..=1000.0).contains(&v) && v % 5.0 == 0.0),
        ),
        Target::Field(Field::Amps | Field::ServiceFactorAmps) | Target::MaxAmps => {
            // A whole number below a hundred may be anything; the currents of one motor stand near each other.
            let whole =
                matches!(value.numbers(), [a] if *a < 100.0) && !printed.contains(['.', ',']);
            let most = value.numbers().iter().copied().fold(0.0, f64::max);
            graded(
                all(&|a| (0.1..=150.0).contains(&a) && most <= 5.0 * a) && !whole,
                all(&|a| (0.01..=700.0).contains(&a) && most <= 8.0 * a),
            )
        }
        // `208-230/460` is neither a row of powers nor one of speeds.
        Target::Field(Field::Hp | Field::Rpm) if value.numbers().len() > 1 && all(&usual_volts) => {
            graded(false, false)
        }
        // At a lower speed a winding gives what it gives: `7.5/3.3`.
        Target::Field(Field::Hp) => {
            let factor = |n: &f64| *n > 1.0 && *n < 1.5;
            let slower = matches!(value.numbers(), [hp, rest @ ..] if usual_hp(*hp)
                && rest.iter().all(|slow| (0.1 * hp..*hp).contains(slow) && !factor(slow)));
            let usual = slower || all(&usual_hp);
            graded(usual, all(&|h| (0.005..=1000.0).contains(&h)))
        }
        Target::MetricHp => graded(all(&|h| (0.02..=700.0).contains(&h)), false),
        // Kilowatts are decimals: a fraction is of horsepower.
        Target::Field(Field::Kw) if printed.split('-').any(is_fraction) => graded(false, false),
        Target::Field(Field::Kw) => graded(
            all(&|k| (0.02..=250.0).contains(&k)),
            all(&|k| (0.002..=700.0).contains(&k)),
        ),
        Target::Watts => graded(all(&|k| (0.002..=15.0).contains(&k)), all(&|k| k < 60.0)),
        Target::Field(Field::Rpm) | Target::MaxRpm => graded(
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
        // Of `95.8/12` the second is of another column.
        Target::Field(Field::NominalEfficiency)
            if value.numbers().len() > 1 && !all(&|e| (45.0..=98.0).contains(&e)) =>
        {
            0.02
        }
        Target::Field(Field::NominalEfficiency) => graded(
            all(&|e| (45.0..=98.0).contains(&e)),
            all(&|e| (0.3..100.0).contains(&e)),
        ),
        Target::Field(Field::PowerFactor) => {
            graded(all(&|p| (0.4..=1.0).contains(&p)), all(&|p| p <= 1.0))
        }
        Target::Field(Field::CapacitorUf) => {
            // These are the voltages of capacitors.
            let volts = all(&usual_capacitor_volts);
            // `7.5/440`
            let both = matches!(value.numbers(), [uf, 370.0 | 440.0] if (1.0..=100.0).contains(uf));
            graded(
                both || all(&|c| (1.0..=100.0).contains(&c)),
                all(&|c| c <= 400.0) && !volts,
            )
        }
        Target::Field(Field::CapacitorVolts) => {
            graded(all(&usual_capacitor_volts), all(&possible_capacitor_volts))
        }
        Target::Field(Field::AmbientC) => graded(
            // Motors in the air of a condenser are made for up to 70.
            all(&|t| (20.0..=70.0).contains(&t)),
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
            match (long, digit) {
                _ if speaks_for_itself(printed) || is_sentence(printed) || is_mounting(printed) => {
                    0.01
                }
                _ if is_quantity(printed) => 0.03,
                // The number of a motor begins with no word.
                _ if target == Target::Field(Field::Serial)
                    && begins_with_word(printed, char::is_alphabetic) =>
                {
                    0.03
                }
                // And none with one in small letters, which belongs to the label: `REF usine 2T04`, `Ref. client 4 110 285`.
                _ if begins_with_word(printed, char::is_lowercase) => 0.03,
                _ if printed.matches('(').count() != printed.matches(')').count() => 0.03,
                // A few figures are rather a rating.
                _ if printed.len() < 5 && printed.chars().all(|c| c.is_ascii_digit()) => 0.03,
                // Two of 1,058 numbers of motors on plates of strangers have so few figures.
                (true, true)
                    if target == Target::Field(Field::Serial)
                        && printed.chars().filter(char::is_ascii_digit).count() < 3 =>
                {
                    0.1
                }
                (true, true) => 1.0,
                (_, true) => 0.3,
                // Words are rather the maker's name: of 2,212 numbers on plates of strangers five have no figure, all of models
                // and with a dash.
                (true, false) if target == Target::Field(Field::Model) && printed.contains('-') => {
                    0.04
                }
                (true, false) => 0.01,
                (false, false) => 0.01,
            }
        }
        // Numbers of patents and files are long.
        Target::Other("patent" | "file_number") => {
            let digits = printed.chars().filter(char::is_ascii_digit).count();
            if digits >= 4 { 0.5 } else { 0.02 }
        }
        Target::Other("type") if speaks_for_itself(printed) => 0.03,
        Target::Other("conduit_box") if speaks_for_itself(printed) => 0.03,
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

/// Whether characters are a mounting of IEC 60034-7: `B3`, `IM V1`, `B35`.
pub(super) fn is_mounting(printed: &str) -> bool {
    static MOUNTING: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"^(?:IM ?)?[BV][0-9]{1,2}(?:/[BV][0-9]{1,2})?$").expect("a fixed pattern")
    });
    MOUNTING.is_match(printed)
}

/// Whether characters are a quantity of something else: `150 PSI`, `620 m³/h`.
fn is_quantity(printed: &str) -> bool {
    static QUANTITY: LazyLock<Regex> = LazyLock::new(|| {
        let units = r"PSIG?|K?PA|M?BAR|GPM|LPM|L/MIN|L/H|M3/H|M³/H|CFM|FPM|FT|IN|MM|CM|LBS?|KGS?|OZ|° ?[CF]|DB";
        Regex::new(&format!(r"(?i)^[0-9][0-9.,]* ?(?:{units})(?: ?MAX\.?)?$"))
            .expect("a fixed pattern")
    });
    QUANTITY.is_match(printed)
}

/// Whether a word of such letters stands before others, `LUBRICATE EVERY 2500`.
fn begins_with_word(printed: &str, letter: fn(char) -> bool) -> bool {
    printed
        .split_once(' ')
        .is_some_and(|(first, _)| first.len() > 3 && first.chars().all(letter))
}

/// Whether words stand among the characters, with small letters or many: `Conforms to KTS 1004`, `LIC. UNDER U.S. PATS. 2,801`.
fn is_sentence(printed: &str) -> bool {
    let is_word = |w: &&str| w.len() > 1 && w.chars().skip(1).all(|c| c.is_ascii_lowercase());
    let capitals = |least: usize| {
        let of_letters = |w: &&str| {
            let letters = w.chars().filter(|c| c.is_ascii_alphabetic()).count();
            letters >= least && !w.contains(|c: char| c.is_ascii_digit())
        };
        printed.split(' ').filter(of_letters).count()
    };
    printed.split(' ').filter(is_word).count() > 1 || capitals(2) > 3 || capitals(3) > 2
}

/// Whether characters are a value of another field by their form alone: `208-230/460`, `4.5/2.2`, `IP55`, `S1`.
fn speaks_for_itself(printed: &str) -> bool {
    // No rating has so many figures in a row, or a zero in front of more: `2208/44107`, `31 7708 / 002`.
    let counted = |part: &str| part.len() >= 5 || part.len() >= 3 && part.starts_with('0');
    // Nor do both signs stand beside so many: `99/3307-12`.
    let signs = ['/', '-'].iter().all(|&sign| printed.contains(sign));
    let counted = |part: &str| counted(part) || signs && part.len() == 4;
    let rating = printed.contains(['.', '/'])
        && !printed.contains(|c: char| c.is_alphabetic())
        && !printed.split(|c: char| !c.is_ascii_digit()).any(counted);
    super::values::is_system_voltage(printed) || rating || super::alone::is_spelled(printed)
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

/// Voltages of most run capacitors (common practice).
pub(super) fn usual_capacitor_volts(v: f64) -> bool {
    [370.0, 440.0].contains(&v)
}

/// Between which those of all capacitors of motors lie (common practice).
pub(super) fn possible_capacitor_volts(v: f64) -> bool {
    (165.0..=660.0).contains(&v)
}

/// Horsepower ratings in use (MG 1 10.32; fan motors' small fractions are common practice).
pub(super) fn usual_hp(hp: f64) -> bool {
    const SERIES: &[f64] = &[
        0.005, 0.01, 0.02, 0.025, 0.0333, 0.04, 0.05, 0.0625, 0.0667, 0.0833, 0.1, 0.125, 0.1667,
        0.2, 0.25, 0.3333, 0.4, 0.5, 0.6, 0.75, 0.8, 1.0, 1.5, 2.0, 2.5, 3.0, 5.0, 7.5, 10.0, 15.0,
        20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 75.0, 100.0, 125.0, 150.0, 200.0, 250.0, 300.0, 350.0,
        400.0, 450.0, 500.0,
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

#[cfg(test)]
mod tests {
    use super::*;

    /// Common practice; for letters that look like figures ISO 3779 and ASME Y14.35.
    #[test]
    fn the_usual_way_to_write_weighs_more() {
        use Field::*;
        let cases = [
            (Amps, "5.2/2.6", "5, 2/2, 6"),
            (Amps, "5.2/2.6", "5.2/2-6"),
            (Amps, "24.1/12.1", "24.1/12.11"),
            (Amps, "12.8/6.9-6.3", "12.8/6.9-8.3"),
            (Amps, "5.9/3.4 3.4", "5.9/3.4/3.9"),
            (ServiceFactorAmps, "1.4", "1-4"),
            (Hp, "1 1/2", "1/1/2"),
            (Model, "KP8182-K", "KP8I82-K"),
            (Model, "3B240S", "3B24OS"),
            (Model, "YCBC463", "YCB.C463"),
            (Serial, "44E7995", "44E7995)"),
            (Serial, "39K7414", "39K74l4"),
            (Serial, "7162-06455", "7162 06455"),
            (Model, "FOX-12", "F0X-12"),
            (Model, "OF4-1075R", "0F4-1075R"),
            (Serial, "0F494P", "OF494P"),
        ];
        for (field, usual, odd) in cases {
            let weight = |raw| writing(Target::Field(field), raw);
            assert!(weight(usual) > 2.0 * weight(odd), "{usual} beside {odd}");
        }
    }

    #[test]
    fn what_speaks_for_itself_is_no_number_of_the_makers() {
        let weight = |printed: &str| {
            let value = Value::Text(printed.to_owned());
            usual(Target::Field(Field::Model), printed, &value)
        };
        for value in ["208-230/460", "4.5/2.2", "IP55", "S1", "TEFC", "60"] {
            assert!(weight(value) < 0.05, "{value}");
        }
        assert_eq!(weight("KP8182-K"), 1.0);
    }
}
