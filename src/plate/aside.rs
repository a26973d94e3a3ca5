//! What a plate says of other uses of the motor, and of other parts than its winding: `USABLE ON 50HZ 190/380V 2.5HP`,
//! `NOT FOR SUBMERSIBLE USE`, `BRAKE 40 Nm 230 V AC`. It is not the rating, so that it must not be taken for it; the
//! words are kept as they stand.

use super::reading::Other;
use super::sheet::{Place, Sheet, Span};

/// The words that begin such a sentence (common practice), and those that go on with it.
const BEGINNINGS: &[&str] = &["USABLE", "USEABLE", "SUITABLE", "OPERABLE", "ALSO", "OK"];
const SECOND: &[&str] = &["ON", "FOR", "AT", "@", "USABLE", "SUITABLE", "RATED"];
/// Parts with a supply of their own, in the languages of IEC plates (common practice).
const PARTS: &[&str] = &[
    "BRAKE",
    "FRENO",
    "BREMSE",
    "FREIN",
    "HEATER",
    "HEATERS",
    "HTR",
    "HTRS",
    "THERMOSTAT",
    "THERMOSTATS",
    "CHAUFFANT",
    "CALEFACTOR",
    "RESISTENCIA",
    "HEIZUNG",
    "STILLSTANDSHEIZUNG",
    "ENCODER",
    "SWITCH",
    "RELAY",
    "SOLENOID",
    "CONTACTOR",
    "TACHO",
    "ROTOR",
];
/// Labels of the service factor, and the supplies with which a motor has another one: `1.0 SF ON PWM`.
const FACTORS: &[&str] = &["SF", "S.F"];
const INVERTERS: &[&str] = &["PWM", "VFD", "INVERTER", "INV", "ASD"];
/// Labels of currents, and what stands between them and the voltage that they are for: `AMPS AT 460 V`.
const CURRENTS: &[&str] = &["AMPS", "AMP", "AMPERES", "FLA", "F.L.A", "A"];
const AT: &[&str] = &["AT", "@"];
/// The sentence ends before a gap of so many heights of text.
const APART: f32 = 3.0;
/// And behind a full stop before one of so many.
const AFTER_STOP: f32 = 0.9;
/// Its figures may stand in the cell below, no deeper than this.
const DEEP: f32 = 1.3;

/// The rows without the words on other uses, and those words.
pub(super) fn split(sheet: &Sheet<'_>, rows: &[Vec<Span>]) -> (Vec<Vec<Span>>, Vec<Other>) {
    let mut rated = rows.to_vec();
    let mut other = Vec::new();
    // The voltage that currents are for stands by itself then.
    let mut voltages: Vec<Vec<Span>> = Vec::new();
    for row in &mut rated {
        if let Some(words) = voltage_of_currents(sheet, row) {
            voltages.push(row.drain(words).skip(1).collect());
        }
    }
    rated.extend(voltages);
    for at in 0..rated.len() {
        let Some(words) = sentence(sheet, &rated[at]) else {
            continue;
        };
        let mut aside: Vec<Span> = rated[at].drain(words).collect();
        // In a row with other cells the figures may stand below the words, as values below their labels, if they end in none.
        let places = aside.iter().map(|&word| sheet.place(word));
        let cell = Place::around(places);
        let figures = |word: &Span| sheet.text(*word).contains(|c: char| c.is_ascii_digit());
        let heads = !rated[at].is_empty() && !aside.last().is_some_and(figures);
        if let Some(cell) = cell.filter(|_| heads) {
            let ruled = sheet.cell(&cell);
            let in_cell = |word: &mut Span| {
                let place = sheet.place(*word);
                let rules = ruled.as_ref();
                below(&cell, &place) || rules.is_some_and(|rules| rules.holds(&place))
            };
            for row in &mut rated[at + 1..] {
                aside.extend(row.extract_if(.., in_cell));
            }
        }
        let words: Vec<String> = aside.iter().map(|&word| sheet.text(word)).collect();
        other.push(Other {
            kind: "other_use".to_owned(),
            printed: words.join(" "),
            quad: sheet.quad(aside[0]),
        });
    }
    (rated, other)
}

/// Where between a label of currents and its values the voltage stands that they are for: `AT 460 V` of `AMPS AT 460 V: 13.1`.
fn voltage_of_currents(sheet: &Sheet<'_>, row: &[Span]) -> Option<std::ops::Range<usize>> {
    let word = |at: usize| -> String {
        let text = row.get(at).map(|&span| sheet.text(span).to_uppercase());
        let text = text.unwrap_or_default();
        text.trim_matches(['.', ',', ':']).to_owned()
    };
    let at = (1..row.len())
        .find(|&at| CURRENTS.contains(&&*word(at - 1)) && AT.contains(&&*word(at)))?;
    let volts = word(at + 1);
    let digits = volts.trim_end_matches("VAC").trim_end_matches('V');
    let system = digits.parse().is_ok_and(super::usual::usual_volts);
    let reduced = reduced("AMPS", "AT", &volts);
    let unit = digits == volts && ["V", "VAC", "VOLTS"].contains(&&*word(at + 2));
    (system && !reduced).then_some(at..at + 2 + usize::from(unit))
}

/// Whether a place lies in the cell below another.
fn below(cell: &Place, place: &Place) -> bool {
    let deep = (place.top() - cell.bottom()) / cell.height;
    let inside =
        place.left > cell.left - cell.height && place.right < cell.right + 2.0 * cell.height;
    inside && (-0.45..DEEP).contains(&deep)
}

/// Where in a row the words on another use stand.
fn sentence(sheet: &Sheet<'_>, row: &[Span]) -> Option<std::ops::Range<usize>> {
    let text = |at: usize| row.get(at).map(|&span| sheet.text(span).to_uppercase());
    let word = |at: usize| -> String {
        let text = text(at).unwrap_or_default();
        text.trim_matches(['.', ',', ':', '*', '(']).to_owned()
    };
    let begins = |at: &usize| {
        let (first, second) = (word(*at), word(at + 1));
        // `50HZ: 190/380V`
        let supply = ["50HZ:", "60HZ:"].contains(&text(*at).unwrap_or_default().as_str())
            && second.starts_with(|c: char| c.is_ascii_digit());
        supply
            || between_speeds(&first, &second)
            || limits(&first, &second, &word(at + 2))
            || reduced(&first, &second, &word(at + 2))
            || at_reduced(&first, &second)
            || first == "PROTECT" && ["WITH", "BY"].contains(&second.as_str())
            || on_inverter(&first, &second, [word(at + 2), word(at + 3)])
            || at_most(&first, &second, &word(at + 2))
            || range_of_inverter(&first, &second, &word(at + 2))
            || first == "REPLACES" && ["THRU", "THROUGH", "TO"].contains(&word(at + 2).as_str())
            || forced_fan(&first, &second)
            || blower(&first, &text(at + 1).unwrap_or_default(), &word(at + 2))
            || part(&first)
                && (text(at + 1).as_deref() == Some(":")
                    || has_supply(&text(*at).unwrap_or_default(), &second)
                    || is_marking(&second) && has_supply("", &word(at + 3)))
            || BEGINNINGS.contains(&first.as_str()) && SECOND.contains(&second.as_str())
            // `USABLE 550-600`
            || first == "USABLE" && second.starts_with(|c: char| c.is_ascii_digit())
    };
    let from = (0..row.len()).find(begins)?;
    let apart = |at: &usize| {
        let (before, after) = (sheet.place(row[at - 1]), sheet.place(row[*at]));
        let gap = super::labels::gap(&before, &after);
        let (last, next) = (sheet.text(row[at - 1]), sheet.text(row[*at]));
        let full_stop = last.ends_with('.');
        // `for swimming pools. Capacitor run: 30 MFD`
        let begins_anew = last.len() > 3
            && last.trim_end_matches('.').chars().all(char::is_lowercase)
            && next.starts_with(char::is_uppercase);
        gap > APART || full_stop && (gap > AFTER_STOP || begins_anew)
    };
    Some(from..(from + 1..row.len()).find(apart).unwrap_or(row.len()))
}

/// Whether a word names a part with a supply of its own: `HTR`, `FRENO/BRAKE`.
fn part(word: &str) -> bool {
    word.split('/').any(|name| PARTS.contains(&name))
}

/// Whether words name a fan with a motor of its own that cools this one (IC 416): `FORCED COOLING FAN: 230 V 0.22 A`.
fn forced_fan(first: &str, second: &str) -> bool {
    first == "FORCED" && ["FAN", "COOLING", "VENT", "VENTILATION"].contains(&second)
}

/// Whether words give the supply of the motor of such a fan: `BLOWER MOTOR: 115 V`.
fn blower(first: &str, second: &str, third: &str) -> bool {
    ["BLOWER", "FAN"].contains(&first) && second == "MOTOR:" && has_supply("", third)
}

/// Whether the supply of a part follows its name, and not what it is the part of: `HTR 115V`, `BRAKE: ...`.
fn has_supply(name: &str, next: &str) -> bool {
    let figures = next.starts_with(|c: char| c.is_ascii_digit());
    name.ends_with(':') || figures || ["LEADS", "CONTACTS", "MAX"].contains(&next)
}

/// Whether a word marks a lead of a part, two of which may stand between it and its supply: `HEATER H1 H2 120 V`.
fn is_marking(word: &str) -> bool {
    let mut characters = word.chars();
    characters.next().is_some_and(char::is_alphabetic)
        && characters.next().is_some_and(|c| c.is_ascii_digit())
        && characters.next().is_none()
}

/// Whether words give the current at a voltage for which the motor is usable and not rated: `208V AMPS 13.9`, `FLA @ 208V`.
fn reduced(first: &str, second: &str, third: &str) -> bool {
    let usable = |word: &str| ["200V", "208V", "200", "208"].contains(&word);
    let current = |word: &str| CURRENTS.contains(&word);
    usable(first) && first.ends_with('V') && current(second)
        || current(first) && AT.contains(&second) && usable(third)
}

/// The same in other words, `ON 208 V: 3.1 A`, `USE ON 208V AT 1.0 S.F.`.
fn at_reduced(first: &str, second: &str) -> bool {
    let reduced = |word: &str| ["208V", "208", "200V"].contains(&word);
    ["ON", "AT", "@", "WHEN"].contains(&first) && reduced(second)
        || reduced(first) && second == "OPERATION"
}

/// Whether words give the speed up to which a motor may be driven: `MAX 5400 RPM`.
fn at_most(first: &str, second: &str, third: &str) -> bool {
    let speed = second.len() >= 3 && second.bytes().all(|b| b.is_ascii_digit());
    first == "MAX" && speed && ["RPM", "R.P.M", "R/MIN"].contains(&third)
}

/// Whether words give the speeds between which a motor may be driven: `VAR. 600-1200` behind the rated speed.
fn between_speeds(first: &str, second: &str) -> bool {
    let range = second.contains('-') && second.starts_with(|c: char| c.is_ascii_digit());
    ["VAR", "VARIABLE"].contains(&first) && range
}

/// Whether words begin the frequencies between which an inverter may drive the motor: `CONST. HP 60-90 HZ`.
fn range_of_inverter(first: &str, second: &str, third: &str) -> bool {
    ["CONST", "CONSTANT", "VAR", "VARIABLE"].contains(&first)
        && ["HP", "TORQUE", "POWER", "HORSEPOWER"].contains(&second)
        && third.starts_with(|c: char| c.is_ascii_digit())
}

/// Whether words give the service factor on an inverter: `1.0 SF ON PWM`, `SF 1.0 ON VFD POWER`, `ON VFD S.F. 1.0`.
fn on_inverter(first: &str, second: &str, [third, fourth]: [String; 2]) -> bool {
    let factor = |word: &str| FACTORS.contains(&word);
    let inverter = |word: &str| INVERTERS.contains(&word);
    let figures = first.starts_with(|c: char| c.is_ascii_digit());
    (factor(first) || figures && factor(second)) && third == "ON" && inverter(&fourth)
        || first == "ON" && inverter(second) && factor(&third)
}

/// Whether two words begin what the motor must not be used for, or how it is wired for one of its voltages:
/// `NOT FOR SUBMERSIBLE USE`, `FOR 115V MOVE PLUG TO B`.
fn limits(first: &str, second: &str, third: &str) -> bool {
    let volts = second.strip_suffix("VAC").or(second.strip_suffix('V'));
    let volts = volts.or(Some(second).filter(|_| ["V", "VAC", "VOLT", "VOLTS"].contains(&third)));
    let voltage = volts.is_some_and(|v| v.len() == 3 && v.bytes().all(|b| b.is_ascii_digit()));
    first == "NOT" && second == "FOR" || first == "FOR" && voltage
}
