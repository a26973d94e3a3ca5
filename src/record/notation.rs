//! The plate's own notation: from printed characters to values.
//!
//! The grammar is that of a person filling in a form as well as of a plate: `208-230/460`, `13.6-12.8/6.4`,
//! `1/2`, `1-1/2`, `1/2, 1/3, 1/4`, `3PH`, `40°C`, `7.5 MFD`. Characters that an engine may have misread
//! are not mended here; what does not follow the grammar has no value.

use super::{Field, Value};
use crate::trade;
use regex::Regex;
use std::borrow::Cow;
use std::sync::LazyLock;

/// Numbers in the groups in which they are printed: `208-230/460` is two groups, the first of two.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Groups(pub Vec<Vec<f64>>);

impl Groups {
    /// All numbers in the order of the plate.
    pub fn flat(&self) -> Vec<f64> {
        self.0.iter().flatten().copied().collect()
    }

    /// For each number of `flat`, the index of its group.
    pub fn group_indices(&self) -> Vec<usize> {
        let indexed = self.0.iter().enumerate();
        indexed
            .flat_map(|(i, g)| std::iter::repeat_n(i, g.len()))
            .collect()
    }
}

/// The value of `printed` as `field`; `None` when it does not follow the field's notation.
pub fn parse(field: Field, printed: &str) -> Option<Value> {
    let text = printed.trim();
    if text.is_empty() {
        return None;
    }
    match field {
        Field::Phase => phase(text).map(|n| Value::Number(f64::from(n))),
        Field::PowerFactor => {
            // "86" and "86 %" are per cent, "0.86" a fraction.
            let fraction = |n: f64| if n > 1.0 { n / 100.0 } else { n };
            Value::from_numbers(
                groups(field, text)
                    .flat()
                    .into_iter()
                    .map(fraction)
                    .collect(),
            )
        }
        Field::AmbientC => ambient(text).map(Value::Number),
        Field::Enclosure => Some(Value::Text(enclosure(text))),
        Field::Duty => Some(Value::Text(match trade::duty(text) {
            Some(duty) => duty.code.clone(),
            None => upper(text),
        })),
        Field::Rotation => rotation(text).map(|r| Value::Text(r.to_owned())),
        Field::InsulationClass => insulation(text).map(Value::Text),
        Field::KvaCode => codes(text).map(Value::Text),
        Field::Design => letter(text).map(Value::Text),
        Field::Frame => Some(Value::Text(
            upper(text).chars().filter(|c| !c.is_whitespace()).collect(),
        )),
        Field::Model | Field::Serial => Some(Value::Text(text.to_owned())),
        _ => Value::from_numbers(groups(field, text).flat()),
    }
}

/// The numbers of `printed` in their groups; empty when something in it does not belong there.
pub fn groups(field: Field, printed: &str) -> Groups {
    let printed = &*own_power(field, printed);
    let (number, factor) = other_power_unit(field, printed.trim()).unwrap_or((printed, 1.0));
    let mut groups = numbers(field, number).unwrap_or_default();
    if factor != 1.0 {
        groups.0.iter_mut().flatten().for_each(|n| *n *= factor);
    }
    groups
}

/// Whether a number can be a fact about a motor: above zero, and below what any of its figures reaches.
pub fn is_possible(number: f64) -> bool {
    number > 0.0 && number < 1e6
}

/// Of a power in both units, `5 HP (3.7 kW)` or `5 HP/3.7 KW`, the part in the field's own.
fn own_power(field: Field, printed: &str) -> Cow<'_, str> {
    let own = match field {
        Field::Hp => "HP",
        Field::Kw => "KW",
        _ => return Cow::Borrowed(printed),
    };
    let upper = printed.to_ascii_uppercase();
    if !(upper.contains("HP") && upper.contains("KW")) {
        return Cow::Borrowed(printed);
    }
    // A number with a slash of its own, 1/2 HP, keeps it: the unit ends a part.
    let mut parts = Vec::new();
    let mut rest = printed;
    let mut start = true;
    while let Some(end) = unit_end(rest) {
        let (part, next) = rest.split_at(end);
        let lead: &[char] = if start {
            &[' ']
        } else {
            &[' ', '/', '(', ')', ',', '=', '-']
        };
        parts.push(part.trim_start_matches(lead));
        (rest, start) = (next, false);
    }
    let found = parts
        .into_iter()
        .find(|p| p.to_ascii_uppercase().ends_with(own));
    found.map_or(Cow::Borrowed(printed), Cow::Borrowed)
}

/// Where the first unit of power in a text ends.
fn unit_end(text: &str) -> Option<usize> {
    let upper = text.to_ascii_uppercase();
    let ends = ["HP", "KW"]
        .iter()
        .filter_map(|u| upper.find(u).map(|at| at + u.len()));
    ends.min()
}

/// Power in a unit that is not the field's own, and what one of it is in the field's unit: `550 W`, `4 kW` as
/// horsepower, and metric horsepower (75 kgf·m/s, 735.5 W), printed CV or PS.
fn other_power_unit(field: Field, text: &str) -> Option<(&str, f64)> {
    let ends = |unit: &str| text.to_ascii_uppercase().ends_with(unit);
    let units: &[(&str, f64)] = match field {
        Field::Kw if ends("KW") => &[],
        Field::Kw => &[
            ("HP", HP_IN_KW),
            ("WATTS", 1e-3),
            ("WATT", 1e-3),
            ("W", 1e-3),
        ],
        Field::Hp => &[
            ("CV", METRIC_HP),
            ("PS", METRIC_HP),
            ("KW", 1.0 / HP_IN_KW),
            ("WATTS", 1e-3 / HP_IN_KW),
            ("W", 1e-3 / HP_IN_KW),
        ],
        _ => &[],
    };
    units.iter().find_map(|&(unit, factor)| {
        let number = text.get(..text.len().checked_sub(unit.len())?)?;
        let is_unit = text[number.len()..].eq_ignore_ascii_case(unit);
        let whole = !number.ends_with(|c: char| c.is_alphabetic());
        (is_unit && whole).then_some((number, factor))
    })
}

/// One horsepower in kilowatts.
const HP_IN_KW: f64 = crate::units::Horsepower::WATTS / 1000.0;

/// One metric horsepower in horsepower.
pub(crate) const METRIC_HP: f64 = 735.498_75 / crate::units::Horsepower::WATTS;

/// Denominators of the horsepower fractions in use.
const DENOMINATORS: &[u32] = &[
    2, 3, 4, 5, 6, 8, 10, 12, 15, 16, 20, 25, 30, 32, 35, 40, 50, 60, 70, 75, 80, 100, 120, 125,
    150, 200,
];

fn numbers(field: Field, printed: &str) -> Option<Groups> {
    static UNIT: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(
            r"(?ix) ^ [\s.]* (?: volts? | v\.?a\.?c\.? | vac | v | amps? | amperes? | a | h\.?p\.? | kw | k\.w\.
              | r\.?p\.?m\.? | r/?min | min-1 | hz | hertz | cycles? | cy | mfd | µf | μf | uf | mf | % | s\.?f\.?
              | ~ | ac | [ydδ△λ] ) [\s.]* ",
        )
        .expect("a fixed pattern")
    });
    static NUMBER: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"^\d+(?:\.\d*)?|^\.\d+").expect("a fixed pattern"));
    static MIXED: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"^(?:(\d{1,3})(?:\s*-\s*|\s+))?(\d{1,2})\s*/\s*(\d{1,3})")
            .expect("a fixed pattern")
    });
    static POINT: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"^([1-9])[. ](\d{3})\b").expect("a fixed pattern"));
    static COMMA: LazyLock<Regex> =
        LazyLock::new(|| Regex::new(r"^(\d+),(\d+)").expect("a fixed pattern"));

    let text: String = printed
        .replace(['–', '—', '−'], "-")
        .replace('½', " 1/2 ")
        .replace('¼', " 1/4 ")
        .replace('¾', " 3/4 ")
        .replace('⅓', " 1/3 ")
        .replace('⅔', " 2/3 ")
        .replace('⅛', " 1/8 ")
        .replace(['⁄', '∕'], "/");
    let mut rest = text.trim();
    let mut groups: Vec<Vec<f64>> = vec![Vec::new()];
    let mut expects_number = true;
    while !rest.is_empty() {
        if let Some(unit) = UNIT.find(rest) {
            // A unit stands behind a number or ahead of the first one.
            rest = &rest[unit.end()..];
            continue;
        }
        let first = rest.chars().next()?;
        if first.is_ascii_digit() || first == '.' {
            if !expects_number && !groups.last()?.is_empty() {
                // Numbers apart by blanks alone are separate ratings.
                groups.push(Vec::new());
            }
            let (value, used) = fraction(field, rest, &MIXED)
                .or_else(|| decimal_comma(field, rest, &COMMA))
                .or_else(|| thousands_point(field, rest, &POINT))
                .or_else(|| {
                    let m = NUMBER.find(rest)?;
                    let number: f64 = m.as_str().parse().ok()?;
                    Some((number.is_finite().then_some(number)?, m.end()))
                })?;
            groups.last_mut()?.push(value);
            rest = rest[used..].trim_start();
            expects_number = false;
            continue;
        }
        // A separator: a dash keeps the group, everything else opens the next.
        if expects_number {
            return None;
        }
        let (keeps, length) = match first {
            '-' => (true, 1),
            '/' | ',' | ';' | '&' | '|' => (false, 1),
            _ if rest.to_ascii_lowercase().starts_with("to ") => (true, 3),
            _ => return None,
        };
        if !keeps {
            groups.push(Vec::new());
        }
        rest = rest[length..].trim_start();
        expects_number = true;
    }
    (!expects_number).then_some(Groups(groups))
}

/// `1/2`, `1-1/2`, `1 1/2` as power; `10/5` and `3/1.5` are two ratings, not a fraction.
fn fraction(field: Field, rest: &str, mixed: &Regex) -> Option<(f64, usize)> {
    if !matches!(field, Field::Hp | Field::Kw) {
        return None;
    }
    let m = mixed.captures(rest)?;
    let whole = m.get(1).map_or(Some(0.0), |w| w.as_str().parse().ok())?;
    let (top, bottom): (u32, u32) = (m[2].parse().ok()?, m[3].parse().ok()?);
    let end = m.get(0)?.end();
    let decimal_follows = rest[end..].starts_with('.');
    // Nobody rates a motor 1 hp and 47 hp: one part of anything is a fraction.
    let usual = top == 1 || DENOMINATORS.contains(&bottom);
    let proper = 0 < top && top < bottom && usual && !decimal_follows;
    proper.then_some((whole + f64::from(top) / f64::from(bottom), end))
}

/// `1.450` and `1 450` rpm are a thousand and more too: no motor turns once a minute.
fn thousands_point(field: Field, rest: &str, point: &Regex) -> Option<(f64, usize)> {
    let m = point.captures(rest).filter(|_| field == Field::Rpm)?;
    Some((format!("{}{}", &m[1], &m[2]).parse().ok()?, m.get(0)?.end()))
}

/// `1,725` rpm is a thousand and more; `2,4` A is a decimal comma, as IEC plates print it.
fn decimal_comma(field: Field, rest: &str, comma: &Regex) -> Option<(f64, usize)> {
    let m = comma.captures(rest)?;
    let (whole, part) = (&m[1], &m[2]);
    let value = match field {
        Field::Rpm if part.len() == 3 && whole.len() <= 2 => format!("{whole}{part}"),
        Field::Rpm | Field::Volts | Field::Hertz | Field::Phase | Field::CapacitorVolts => {
            return None;
        }
        _ if part.len() <= 2 => format!("{whole}.{part}"),
        _ => return None,
    };
    Some((value.parse().ok()?, m.get(0)?.end()))
}

fn upper(text: &str) -> String {
    let upper = text.to_uppercase();
    let words: Vec<&str> = upper.split_whitespace().collect();
    words.join(" ").trim_end_matches('.').to_owned()
}

fn phase(text: &str) -> Option<u8> {
    static PHASE: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"^([13])[\s-]*(?:PH(?:ASES?|S)?\.?|FAS|[~∼ØΦφ])?$").expect("a fixed pattern")
    });
    let text = upper(text);
    match text.replace('-', " ").as_str() {
        "SINGLE" | "SINGLE PHASE" | "ONE" => return Some(1),
        "THREE" | "THREE PHASE" | "POLYPHASE" => return Some(3),
        "WECHSELSTROM" | "WISSELSTROOM" | "MONOFAS" | "MONOFASICO" | "MONOFÁSICO"
        | "MONOFASICA" | "MONOFÁSICA" | "MONOFASE" | "MONOPHASE" | "MONOPHASÉ" => return Some(1),
        "DRAAISTROOM" | "TRIFAS" | "TRIFASICO" | "TRIFÁSICO" | "TRIFASICA" | "TRIFÁSICA"
        | "TRIFASE" | "TRIPHASE" | "TRIPHASÉ" => return Some(3),
        // `DREHSTROM-MOTOR`
        german if german.starts_with("DREHSTROM") => return Some(3),
        german if german.starts_with("WECHSELSTROM") => return Some(1),
        _ => {}
    }
    PHASE.captures(&text)?[1].parse().ok()
}

fn ambient(text: &str) -> Option<f64> {
    // Of a range, `-25...+60°C`, the upper end: what the motor stands.
    static AMBIENT: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(
            r"^(?:[-+]\d{1,2}\s*[°º]?\s*C?\s*(?:\.{1,3}|…|TO|/|-|÷)?\s*\+)?(-?\d{1,3}(?:\.\d)?)\s*(?:°|º|DEG\.?)?\s*([CF])?$",
        )
        .expect("a fixed pattern")
    });
    let text = upper(text);
    let m = AMBIENT.captures(&text)?;
    let degrees: f64 = m[1].parse().ok()?;
    match m.get(2).map(|u| u.as_str()) {
        Some("F") => Some(((degrees - 32.0) / 1.8).round()),
        _ => Some(degrees),
    }
}

/// The usual abbreviation: `O.D.P.` is ODP, `TOTALLY ENCL FAN COOLED` is TEFC; of `TEFC / IP55` the name; unknown ones as printed.
fn enclosure(text: &str) -> String {
    let whole = upper(text);
    let name = whole
        .rfind("IP")
        .map(|at| whole[..at].trim_end_matches([' ', '/', '(', '-']))
        .filter(|name| trade::enclosure(name).is_some());
    let text = name.unwrap_or(&whole);
    let abbreviation: String = text.chars().filter(|c| c.is_alphanumeric()).collect();
    match trade::enclosure(text) {
        Some(_) if abbreviation.len() <= 5 => abbreviation,
        Some(known) => known.code.clone(),
        // `IP 55`, `IP-54`
        None if abbreviation.starts_with("IP") && abbreviation.len() <= 5 => abbreviation,
        None => whole,
    }
}

fn insulation(text: &str) -> Option<String> {
    static CLASS: LazyLock<Regex> = LazyLock::new(|| {
        Regex::new(r"^(?:CL(?:ASS)?\.?\s*)?(?:\d{2,3}\s*[(\[]\s*)?([ABCEFHNRY])(?:\s*/\s*[ABEFH])?[)\]]?(?:[-\d]*)$")
            .expect("a fixed pattern")
    });
    CLASS.captures(&upper(text)).map(|m| m[1].to_owned())
}

/// `B`, `DESIGN B`, `NEMA B`, `CODE K`.
/// One code, or one for each speed: `G/H`.
fn codes(text: &str) -> Option<String> {
    let letters: Option<Vec<String>> = text.split(['/', '-']).map(letter).collect();
    letters.filter(|l| l.len() <= 2).map(|l| l.join("/"))
}

fn letter(text: &str) -> Option<String> {
    let text = upper(text);
    let words = ["DESIGN", "NEMA", "DES", "CODE", "KVA"];
    let text = text
        .split([' ', '.', ':'])
        .filter(|w| !w.is_empty() && !words.contains(w))
        .collect::<Vec<_>>()
        .join(" ");
    (text.len() == 1 && text.chars().all(|c| c.is_ascii_uppercase())).then_some(text)
}

/// Turning left and right, as plates say it in German, Dutch, Italian and Spanish.
const LEFT: &[&str] = &["LINKS", "SINISTR", "IZQUIERDA"];
const RIGHT: &[&str] = &["RECHTS", "DESTR", "DERECHA"];

fn rotation(text: &str) -> Option<&'static str> {
    let compact: String = upper(text)
        .chars()
        .filter(|c| c.is_ascii_alphanumeric() || *c == '/')
        .collect();
    let reversible = [
        "REV", "EITHER", "BIDIR", "BOTH", "CW/CCW", "CCW/CW", "CWCCW", "CCWCW", "CWORCCW",
        "CCWORCW",
    ];
    if reversible.iter().any(|r| compact.starts_with(r)) {
        Some("reversible")
    } else if ["CCW", "COUNTER", "ANTI", "CCLOCK", "C/CLOCK", "CONTRARIO"]
        .iter()
        .chain(LEFT)
        .any(|r| compact.starts_with(r))
    {
        Some("ccw")
    } else if ["CW", "CLOCK", "HORA", "ORARIO"]
        .iter()
        .chain(RIGHT)
        .any(|r| compact.starts_with(r))
    {
        Some("cw")
    } else {
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    struct Case(Field, &'static str, Option<Value>);

    fn n(v: f64) -> Option<Value> {
        Some(Value::Number(v))
    }
    fn list(v: &[f64]) -> Option<Value> {
        Some(Value::Numbers(v.to_vec()))
    }
    fn t(v: &str) -> Option<Value> {
        Some(Value::Text(v.to_owned()))
    }

    #[test]
    fn printed_values_are_understood() {
        use Field::*;
        let cases = [
            Case(Kw, "550 W", n(0.55)),
            Case(Kw, "0.55 kW", n(0.55)),
            Case(Kw, "60/40W", list(&[0.06, 0.04])),
            Case(Hp, "4 kW", n(4.0 / HP_IN_KW)),
            Case(Kw, "5 HP", n(5.0 * HP_IN_KW)),
            Case(Hp, "5 HP (3.7 kW)", n(5.0)),
            Case(Kw, "5 HP (3.7 kW)", n(3.7)),
            Case(Hp, "3.7 KW/5 HP", n(5.0)),
            Case(Hp, "1/2 HP/0.37 KW", n(0.5)),
            Case(Hp, "2 PS", n(2.0 * METRIC_HP)),
            Case(Hp, "⅓", n(1.0 / 3.0)),
            Case(Volts, "208-230/460", list(&[208.0, 230.0, 460.0])),
            Case(Volts, "115V", n(115.0)),
            Case(Volts, "230 VOLTS", n(230.0)),
            Case(Volts, "230 Δ / 400 Y", list(&[230.0, 400.0])),
            Case(Volts, "200 to 230", list(&[200.0, 230.0])),
            Case(Amps, "13.6-12.8/6.4", list(&[13.6, 12.8, 6.4])),
            Case(Amps, "2.0", n(2.0)),
            Case(Amps, "2,4", n(2.4)),
            Case(Amps, "FLA", None),
            Case(Amps, "4.8/2.4 A", list(&[4.8, 2.4])),
            Case(Hp, "1/2", n(0.5)),
            Case(Hp, "1-1/2", n(1.5)),
            Case(Hp, "1 1/2 HP", n(1.5)),
            Case(Hp, "7½", n(7.5)),
            Case(Hp, ".75", n(0.75)),
            Case(Hp, "1/2, 1/3, 1/4", list(&[0.5, 1.0 / 3.0, 0.25])),
            Case(Hp, "1/47", n(1.0 / 47.0)),
            Case(Hp, "10/5", list(&[10.0, 5.0])),
            Case(Hp, "3/.75", list(&[3.0, 0.75])),
            Case(Rpm, "1,725", n(1725.0)),
            Case(Rpm, "1.450", n(1450.0)),
            Case(Rpm, "1 450", n(1450.0)),
            Case(Rpm, "1725 1140", list(&[1725.0, 1140.0])),
            Case(Amps, "1.450", n(1.45)),
            Case(Rpm, "1725/1140", list(&[1725.0, 1140.0])),
            Case(Rpm, "1725 RPM", n(1725.0)),
            Case(Phase, "3PH", n(3.0)),
            Case(Phase, "SINGLE", n(1.0)),
            Case(Phase, "2", None),
            Case(Hertz, "50/60 HZ", list(&[50.0, 60.0])),
            Case(PowerFactor, "86", n(0.86)),
            Case(PowerFactor, "0,86", n(0.86)),
            Case(CapacitorUf, "7.5 MFD", n(7.5)),
            Case(CapacitorVolts, "370 VAC", n(370.0)),
            Case(AmbientC, "40°C", n(40.0)),
            Case(AmbientC, "104 F", n(40.0)),
            Case(AmbientC, "-25...+60°C", n(60.0)),
            Case(AmbientC, "-20 °C to +40 °C", n(40.0)),
            Case(Enclosure, "O.D.P.", t("ODP")),
            Case(Enclosure, "TEFC / IP55", t("TEFC")),
            Case(Enclosure, "TENV IP54", t("TENV")),
            Case(Enclosure, "IP 55", t("IP55")),
            Case(Enclosure, "TOTALLY ENCL FAN COOLED", t("TEFC")),
            Case(Duty, "Continuous", t("CONT")),
            Case(InsulationClass, "155(F)", t("F")),
            Case(InsulationClass, "155[F]", t("F")),
            Case(InsulationClass, "CL B", t("B")),
            Case(Rotation, "CCWLE", t("ccw")),
            Case(Rotation, "CW/CCW", t("reversible")),
            Case(Rotation, "C'CLOCKWISE", t("ccw")),
            Case(Rotation, "antihorario", t("ccw")),
            Case(Rotation, "horario", t("cw")),
            Case(Rotation, "links", t("ccw")),
            Case(Rotation, "rechts", t("cw")),
            Case(Phase, "Wechselstrommotor", n(1.0)),
            Case(Frame, "56 hz", t("56HZ")),
            Case(KvaCode, "KL", None),
            Case(Design, "Design D", t("D")),
            Case(Design, "NEMA B", t("B")),
            Case(Design, "NEMA", None),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter(|c| parse(c.0, c.1) != c.2)
            .map(|c| format!("{:?} {:?}: {:?}, not {:?}", c.0, c.1, parse(c.0, c.1), c.2))
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn groups_follow_the_slashes() {
        let groups = groups(Field::Volts, "208-230/460");
        assert_eq!(groups.0, vec![vec![208.0, 230.0], vec![460.0]]);
        assert_eq!(groups.group_indices(), vec![0, 0, 1]);
    }

    proptest! {
        #[test]
        fn any_text_is_survived(text in "\\PC{0,24}") {
            for &field in Field::ALL {
                let _ = parse(field, &text);
            }
        }

        #[test]
        fn plain_numbers_come_back(value in 0.01f64..9999.0) {
            let printed = crate::units::plain(value);
            prop_assert_eq!(parse(Field::Amps, &printed), printed.parse().ok().map(Value::Number));
        }
    }
}
