//! What of a place's characters is the value itself: without units, and without what surrounds it.

use super::lexicon::Target;
use super::values;
use crate::record::Field;
use regex::Regex;
use std::sync::LazyLock;

/// The characters of the value itself: without the unit, and without what the edge of a box, a colon or a
/// leader of dots leaves around it.
pub(super) fn printed(target: Target, raw: &str) -> Option<String> {
    let leading_point = matches!(
        target,
        Target::Field(
            Field::Hp
                | Field::Kw
                | Field::Amps
                | Field::ServiceFactorAmps
                | Field::PowerFactor
                | Field::CapacitorUf
                | Field::ServiceFactor
                | Field::NominalEfficiency
        ) | Target::MetricHp
            | Target::MaxAmps
    );
    let noise = |c: char| " :=,;_*-≤<".contains(c);
    let mut text = raw.trim_start_matches(noise);
    if text.starts_with('.') {
        let after = text.trim_start_matches(|c| noise(c) || c == '.');
        let decimals = after.chars().take_while(char::is_ascii_digit).count();
        let rest = &after[decimals..];
        // `.1/2` is a half behind a leader, `.55/.42` are two currents.
        let a_point = leading_point
            && text[1..] == *after
            && (1..=3).contains(&decimals)
            && !rest.starts_with('.')
            && (!rest.starts_with('/') || rest.starts_with("/."));
        if !a_point {
            text = after;
        }
    }
    let text = text.trim_end_matches(|c| noise(c) || c == '/');
    let dotted_end = text.trim_end_matches('.');
    // Abbreviations keep their last point where they have others: `O.D.P.`
    let text = if dotted_end.contains('.')
        && dotted_end
            .chars()
            .all(|c| c.is_ascii_alphabetic() || c == '.')
    {
        text
    } else {
        dotted_end
    };
    // An abbreviation may be spaced out: `O D P`.
    let words: Vec<&str> = text.split_whitespace().collect();
    let spaced = words.len() > 1 && words.iter().all(|w| w.len() == 1);
    let abbreviation = target == Target::Field(Field::Enclosure) && spaced;
    let text = words.join(if abbreviation { "" } else { " " });
    // `415±10%`
    let text = match target {
        Target::Field(Field::Volts | Field::Hertz) if text.ends_with('%') => {
            let end = text.find(['±', '+']).unwrap_or(text.len());
            text[..end].trim_end().to_owned()
        }
        Target::Field(Field::AmbientC) => in_both_scales(&text).unwrap_or(text),
        // `MODEL-MODELO CN-IF20-4`, `Ser.-Nr. 0612`: what is left of the label.
        Target::Field(Field::Model | Field::Serial) if begins_with_label(&text) => {
            let rest = text.split_once(' ').map_or("", |(_, rest)| rest);
            rest.trim_start_matches(noise).to_owned()
        }
        // `MOTOR.......SPX-56`: leaders of dots.
        _ if values::is_free(target) && text.contains("...") => {
            let end = text.rfind("...").map_or(0, |at| at + 3);
            text[end..].trim_start().to_owned()
        }
        _ => text,
    };
    let without = |units: &[&str]| strip_units(&text, units);
    let rpm = |without: &dyn Fn(&[&str]) -> String| {
        let units = ["R.P.M", "RPM", "R/MIN", "1/MIN", "MIN -1", "MIN-1", "/MIN"];
        without_speeds(&without(&units))
    };
    let printed = match target {
        Target::Field(field) => match field {
            Field::Volts => without(&["VOLTS", "VOLT", "VLTS", "V.A.C", "VAC", "V AC", "V"]),
            Field::Amps | Field::ServiceFactorAmps => {
                without(&["AMPS", "AMP", "F.L.A", "FLA", "S.F.A", "SFA", "A"])
            }
            Field::Hp => without(&["H.P", "HP"]),
            Field::Kw => without(&["K.W", "KW"]),
            Field::Rpm => rpm(&without),
            Field::Phase if matches!(text.as_str(), "I" | "i" | "l" | "L" | "|") => "1".to_owned(),
            Field::Phase => without(&[
                "PHASES", "PHASE", "PHS", "PH", "~MOTOR", "~MOT", "~", "Ø", "∼", "φ", "Φ", "ø",
            ]),
            Field::Hertz => without(&[
                "HERTZ", "HZ", "CYCLES", "CYCLE", "CYC", "CY", "CPS", "~", "∼",
            ]),
            Field::ServiceFactor => without(&["S.F", "SF"]),
            Field::NominalEfficiency | Field::PowerFactor => without(&["%"]),
            Field::CapacitorUf => text.clone(),
            Field::CapacitorVolts => without(&["VDB", "VL", "VOLTS", "VOLT", "VAC", "V AC", "V"]),
            Field::AmbientC if text.to_uppercase().ends_with('F') => text.clone(),
            // Of a range, `-25...+60`, `-30 TO 60`, what the motor stands.
            Field::AmbientC if text.contains(['+', 'o', 'O', '/', '.', '÷']) => {
                let ends = ['+', 'o', 'O', '/', '.', '÷'];
                let upper = text.rsplit(ends).next().unwrap_or(&text);
                // A stroke parts the ends of a range that begins below zero, `-40/40`; else two things.
                let range =
                    !text.contains('/') || text.contains('+') || raw.trim_start().starts_with('-');
                return range.then(|| printed(target, upper)).flatten();
            }
            Field::AmbientC => without(&["DEG. C", "DEG C", "DEG.C", "DEG", "C", "°", "º", "˚"])
                .trim_end_matches(['°', 'º', '˚', ' '])
                .trim_start_matches(|c: char| c.is_alphabetic() || ". ".contains(c))
                .to_owned(),
            Field::Duty if text.replace(' ', "").eq_ignore_ascii_case("SI") => "S1".to_owned(),
            Field::InsulationClass => {
                let upper = text.to_uppercase();
                let class = ["CLASS", "CL.", "CL"]
                    .iter()
                    .find_map(|c| upper.strip_prefix(c).map(|rest| text.len() - rest.len()));
                // `F Δt 80 K`: the class, and the rise of temperature behind it.
                let class = &text[class.unwrap_or(0)..];
                class
                    .split('Δ')
                    .next()
                    .unwrap_or(class)
                    .trim_matches([' ', '.', ','])
                    .to_owned()
            }
            _ => text.clone(),
        },
        Target::Watts => format!("{} W", without(&["WATTS", "WATT", "W"])),
        Target::MetricHp => format!("{} PS", without(&["C.V", "CV", "P.S", "PS", "PK", "HK"])),
        Target::MaxAmps => without(&["AMPS", "AMP", "A"]),
        Target::MaxRpm => rpm(&without),
        Target::Other(_) | Target::Mark(_) => text.clone(),
    };
    let numeric = match target {
        Target::Field(f) => !f.is_text(),
        _ => true,
    };
    let printed = if numeric { tighten(&printed) } else { printed };
    (!printed.is_empty()).then_some(printed)
}

/// Of a temperature in both scales, `104°F 40°C`, `40 °C (104 °F)`, the degrees Celsius, where both say the same.
fn in_both_scales(text: &str) -> Option<String> {
    static BOTH: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"(?i)^(\d{1,3}) ?°? ?([CF])[ /(]+(\d{1,3}) ?°? ?([CF])\)?$")
            .expect("a fixed pattern")
    });
    let found = BOTH.captures(text)?;
    let (celsius, fahrenheit) = match (&*found[2].to_uppercase(), &*found[4].to_uppercase()) {
        ("C", "F") => (&found[1], &found[3]),
        ("F", "C") => (&found[3], &found[1]),
        _ => return None,
    };
    let (c, f): (f64, f64) = (celsius.parse().ok()?, fahrenheit.parse().ok()?);
    ((f - 32.0) / 1.8 - c)
        .abs()
        .le(&1.0)
        .then(|| celsius.to_owned())
}

/// Whether the first word of a number of the maker's is one of its label.
fn begins_with_label(text: &str) -> bool {
    const WORDS: &[&str] = &[
        "MODELO", "MODELE", "MODELLO", "MODELL", "MODEL", "SERIE", "SERIAL", "NR", "TYPE", "TYP",
    ];
    let word = text.split_once(' ').map(|(word, _)| word.to_uppercase());
    word.is_some_and(|word| WORDS.contains(&word.trim_end_matches(['.', ':'])))
}

/// Without the number of speeds behind a speed: `1075/3 SPD` is 1075.
fn without_speeds(text: &str) -> String {
    let Some((speed, count)) = text.rsplit_once('/') else {
        return text.to_owned();
    };
    let count = count.trim_start();
    let one_digit = count.starts_with(|c: char| ('1'..='6').contains(&c))
        && !count[1..].starts_with(|c: char| c.is_ascii_digit());
    if one_digit { speed.trim_end() } else { text }.to_owned()
}

/// Takes the unit away behind every number: `230V/460V` is `230/460`.
fn strip_units(text: &str, units: &[&str]) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(ch) = rest.chars().next() {
        let after_number = out
            .trim_end()
            .ends_with(|c: char| c.is_ascii_digit() || "½¼¾⅓⅔⅛°".contains(c));
        let unit = units.iter().find_map(|u| {
            let part = rest.get(..u.len())?;
            let next = rest[u.len()..].chars().next();
            let whole = !next.is_some_and(|c| c.is_alphabetic())
                || matches!(next, Some('Y' | 'D' | 'Δ' | '∆' | '△'));
            (part.to_uppercase() == *u && whole).then_some(u.len())
        });
        match unit {
            Some(length) if after_number => {
                out.truncate(out.trim_end().len());
                rest = rest[length..].trim_start_matches('.');
            }
            _ => {
                out.push(ch);
                rest = &rest[ch.len_utf8()..];
            }
        }
    }
    out.trim().to_owned()
}

/// Without the blanks around a separator: `208 - 230 / 460` is `208-230/460`.
fn tighten(text: &str) -> String {
    let mut out = String::new();
    let chars: Vec<char> = text.chars().collect();
    let sign = |i: usize| chars.get(i).is_some_and(|c| "-–—−/".contains(*c));
    let point = |i: usize| chars.get(i) == Some(&'.');
    for (i, &ch) in chars.iter().enumerate() {
        let beside_sign = sign(i + 1) || i.checked_sub(1).is_some_and(|b| sign(b) || point(b));
        match ch {
            ' ' if beside_sign => {}
            '–' | '—' | '−' => out.push('-'),
            _ => out.push(ch),
        }
    }
    out
}
