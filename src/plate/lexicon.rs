//! The labels of the trade, from `data/plate_labels.csv`, what it does not list from `data/more_labels.csv`, and those in
//! other languages than English from `data/world_labels.csv`, sorted by what a parser does with each.

use crate::record::{Field, notation};
use serde::Deserialize;
use std::collections::HashMap;
use std::sync::LazyLock;

/// What a label announces.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Target {
    /// A field of the record.
    Field(Field),
    /// Shaft power or input in watts.
    Watts,
    /// Shaft power in metric horsepower.
    MetricHp,
    /// Amps that are either the full-load or the service factor amps.
    MaxAmps,
    /// The speed of a motor with variable speed, or what one with its own speed beside it stands.
    MaxRpm,
    /// No field of the record, but its value is taken: by its name after `other.`.
    Other(&'static str),
    /// No field of the record, and no value stands beside it.
    Mark(&'static str),
}

impl Target {
    /// Whether it is a power, in whatever unit.
    pub fn is_power(&self) -> bool {
        matches!(
            self,
            Target::Field(Field::Kw | Field::Hp) | Target::Watts | Target::MetricHp
        )
    }
}

/// One spelling of a label.
#[derive(Debug, Clone)]
pub(super) struct Entry {
    /// What is compared: capital letters and digits, without blanks and dots.
    pub key: Vec<char>,
    pub target: Target,
    /// Whether it may also stand behind its value, as a unit does.
    pub unit: bool,
    /// Whether it is a label by its characters alone; others need a fitting value right beside them.
    pub strong: bool,
    /// Whether it is taken for a word that is not spelled like it: rare short labels are near to too much.
    pub guessed: bool,
}

#[derive(Deserialize)]
struct Row {
    field: String,
    label: String,
    unit: String,
    /// Whether it is weak beside those of [`WEAK`].
    #[serde(default)]
    weak: String,
}

/// Items without a field whose numbers or codes belong to them.
const WITH_VALUE: &[&str] = &[
    "locked_rotor_amps",
    "rated_load_amps_compressor",
    "no_load_amps",
    "bearing_drive_end",
    "bearing_opposite_end",
    "temperature_rise_c",
    "start_capacitor",
    "altitude",
    "weight",
    "date_code",
    "guaranteed_efficiency",
    "other_speed",
    "other_power_factor",
    "input_power",
    "lead_rating",
    "fuse",
    "poles",
    "patent",
    "file_number",
    "identity",
    "machine",
    "torque",
    "inverter",
    "total_horsepower",
];

/// Labels that the table lists under a field from which they must be kept.
const MOVED: &[(&str, Target)] = &[
    ("DATE", Target::Other("date_code")),
    ("DATE CODE", Target::Other("date_code")),
    ("MFG DATE", Target::Other("date_code")),
    ("GUAR EFF", Target::Other("guaranteed_efficiency")),
    ("MIN EFF", Target::Other("guaranteed_efficiency")),
    // On some plates the model, on others the serial number.
    ("ID", Target::Other("identity")),
    ("ID NO", Target::Other("identity")),
    ("CORR PF", Target::Other("other_power_factor")),
];

/// Symbols and words with their units in brackets behind them: `U (V)`, `Current [A]` (IEC 60027 for the letters).
const SYMBOLS: &[(&str, Field, &[&str])] = &[
    ("U", Field::Volts, &["V"]),
    ("VOLTAGE", Field::Volts, &["V"]),
    ("VOLTS", Field::Volts, &["V"]),
    ("I", Field::Amps, &["A"]),
    ("CURRENT", Field::Amps, &["A"]),
    ("AMPS", Field::Amps, &["A"]),
    ("P", Field::Kw, &["KW"]),
    ("P2", Field::Kw, &["KW"]),
    ("POWER", Field::Kw, &["KW"]),
    ("OUTPUT", Field::Kw, &["KW"]),
    ("POWER", Field::Hp, &["HP"]),
    ("OUTPUT", Field::Hp, &["HP"]),
    ("N", Field::Rpm, &["RPM", "1/MIN", "MIN-1", "R/MIN"]),
    ("SPEED", Field::Rpm, &["RPM", "1/MIN", "MIN-1", "R/MIN"]),
    ("F", Field::Hertz, &["HZ"]),
    ("FREQUENCY", Field::Hertz, &["HZ"]),
    ("FREQ", Field::Hertz, &["HZ"]),
    ("AMB", Field::AmbientC, &["°C", "C"]),
    ("AMBIENT", Field::AmbientC, &["°C", "C"]),
    ("EFF", Field::NominalEfficiency, &["%"]),
    ("EFFICIENCY", Field::NominalEfficiency, &["%"]),
    ("SHAFT POWER", Field::Kw, &["KW"]),
    ("SHAFT POWER", Field::Hp, &["HP"]),
    ("TENSION", Field::Volts, &["V"]),
    ("TENSIONE", Field::Volts, &["V"]),
    ("VOLTAJE", Field::Volts, &["V"]),
    ("SPANNUNG", Field::Volts, &["V"]),
    ("INTENSITE", Field::Amps, &["A"]),
    ("COURANT", Field::Amps, &["A"]),
    ("CORRIENTE", Field::Amps, &["A"]),
    ("CORRENTE", Field::Amps, &["A"]),
    ("STROM", Field::Amps, &["A"]),
    ("PUISSANCE", Field::Kw, &["KW"]),
    ("PUISSANCE", Field::Hp, &["HP", "CH"]),
    ("POTENCIA", Field::Kw, &["KW"]),
    ("POTENCIA", Field::Hp, &["HP"]),
    ("POTENZA", Field::Kw, &["KW"]),
    ("LEISTUNG", Field::Kw, &["KW"]),
    ("VITESSE", Field::Rpm, &["RPM", "TR/MIN", "R/MIN"]),
    ("VELOCIDAD", Field::Rpm, &["RPM", "R/MIN", "MIN-1"]),
    ("DREHZAHL", Field::Rpm, &["1/MIN", "MIN-1", "U/MIN"]),
    ("FREQUENCE", Field::Hertz, &["HZ"]),
    ("FRECUENCIA", Field::Hertz, &["HZ"]),
    ("FREQUENZA", Field::Hertz, &["HZ"]),
    ("FREQUENZ", Field::Hertz, &["HZ"]),
    ("AMBIANTE", Field::AmbientC, &["°C"]),
    ("AMBIENTE", Field::AmbientC, &["°C"]),
];

/// Labels of what a motor with several speeds has for each.
const SPEEDS: &[(&str, Field)] = &[
    ("HP", Field::Hp),
    ("HORSEPOWER", Field::Hp),
    ("AMPS", Field::Amps),
    ("AMPERES", Field::Amps),
    ("FLA", Field::Amps),
    ("FL AMPS", Field::Amps),
    ("RPM", Field::Rpm),
    ("SPEED", Field::Rpm),
];

/// Words for the end of the shaft from which a label says that the rotation is seen: `ROT. (LEAD END)`, `ROTATION,
/// FACING SHAFT END`.
const SEEN_FROM: &[&str] = &[
    "LEAD END",
    "SHAFT END",
    "PULLEY END",
    "DRIVE END",
    "OPP SHAFT END",
    "OPPOSITE SHAFT END",
    "LE",
    "SE",
];

/// Spellings of the table that are no label on their own: values, single letters that stand for too much,
/// words that belong to a value.
const NOT_ALONE: &[&str] = &[
    "O", "P H", "H P", "C", "IN", "I N", "IP", "CH", "PN", "Y", "Δ", "NONE", "IA", "CS", "CR",
    "SP", "KC", "UN", "HOUR", "MINUTES", "C1", "C2", "W1", "W2", "SPD", "TA", "RU", "CC", "S F",
    "P F",
];

/// How the words for turns in a minute end, `tr/min`, `o/min`, `d/dk`: they also stand behind the value.
const PER_MINUTE: &[&str] = &["/MIN", "/MN", "/DK", "/DAK", "/D"];

/// Other spellings that do.
const UNITS: &[&str] = &[
    "HP",
    "H.P.",
    "HP.",
    "HORSEPOWER",
    "CV",
    "C.P.",
    "PS",
    "KW",
    "PK",
    "HK",
    "KILOWATT",
    "KILOWATTS",
    "K.W.",
    "W",
    "WATTS",
    "VOLTS",
    "VOLT",
    "V",
    "VAC",
    "V.A.C.",
    "V AC",
    "VCA",
    "VCA/VAC",
    "VAC/VCA",
    "TR/MIN-RPM",
    "RPM-TR/MIN",
    "V~",
    "V Δ/Y",
    "V ∆/Y",
    "V D/Y",
    "V LEADS",
    "VOLT LEADS",
    "VDB",
    "VL",
    "POLE",
    "POLES",
    "C/S",
    "VOLTS AC",
    "VLTS",
    "AMPS",
    "AMP",
    "A",
    "A.",
    "AMPERES",
    "AMPERE",
    "FLA",
    "F.L.A.",
    "SFA",
    "LRA",
    "RPM",
    "R.P.M.",
    "REV/MIN",
    "R/MIN",
    "MIN-1",
    "1/MIN",
    "T/MIN",
    "U/MIN",
    "r/min",
    "WATTS OUT",
    "WATTS OUTPUT",
    "WATT OUT",
    "W OUT",
    "W OUTPUT",
    "FL AMPS",
    "FULL LOAD AMPS",
    "PH",
    "PH.",
    "PHASE",
    "PHASES",
    "PHS",
    "Ø",
    "HZ",
    "HERTZ",
    "CY",
    "CYC",
    "CYCLE",
    "CYCLES",
    "CPS",
    "~",
    "~ MOT",
    "MFD",
    "M.F.D.",
    "MF",
    "UF",
    "MICROFARAD",
    "MICROFARADS",
    "µF",
    "AMB",
    "AMB.",
    "AMBIENT",
    "MAX AMB",
    "MAX AMBIENT",
    "°C AMB",
    "C AMB",
    "DEG C AMB",
    "AMB TEMP",
    "C RISE",
    "°C RISE",
    "RISE",
    "TEMP RISE",
    "DEG C RISE",
    "LBS",
    "KG",
    "SF",
    "S.F.",
    "DUTY",
    "HRS",
    "HOURS",
    "/MIN",
    "ROTATION",
    "ROT",
    "ROT.",
    "FRAME",
    "% EFF",
    "% NOM EFF",
    "% NOM. EFF.",
    "% NOMINAL EFF",
    "MAX ROOM",
    "AMPS FULL LOAD",
    "R/M",
    "EFF",
    "EFF.",
    "INS",
    "INSULATION",
    "KVA",
    "CODE",
    "FT ALT",
    "ALT",
];

/// Labels that are weak on their own: they need a fitting value right beside them.
const WEAK: &[&str] = &[
    "A",
    "A.",
    "V",
    "W",
    "~",
    "Ø",
    "SIZE",
    "NO.",
    "NR",
    "TIME",
    "RATING",
    "COS",
    "ETA",
    "PN",
    "CL",
    "CLASS",
    "HRS",
    "HOURS",
    "ID",
    "ITEM",
    "ORDER",
    "PART",
    "SPEC",
    "SENS",
    "DIRECTION",
    "COND",
    "MF",
    "CY",
    "CODE",
    "COD",
    "DE",
    "TYP",
    "PS",
    "CV",
    "LINE",
    "KVA",
    "PROT",
    "PWS",
    "A/P",
    "HI",
    "LO",
    "MED",
    "CPS",
    "ENC",
    "HIGH",
    "LOW",
    "SN",
    "SD",
    "FR",
    "P2",
    "DES",
    "COOLED BY",
    "COOLING",
];

/// Labels of the second and third table with no more characters than this are only what they are spelled like.
const SHORT: usize = 4;

/// All labels.
pub(super) struct Lexicon {
    pub entries: Vec<Entry>,
    by_key: HashMap<Vec<char>, Vec<usize>>,
    pub longest: usize,
}

impl Lexicon {
    /// The entries spelled like this, blanks and dots aside.
    pub fn get(&self, key: &[char]) -> Vec<&Entry> {
        let found = self.by_key.get(key).into_iter().flatten();
        found.map(|&i| &self.entries[i]).collect()
    }
}

/// The lexicon, built once.
pub(super) fn lexicon() -> &'static Lexicon {
    static LEXICON: LazyLock<Lexicon> = LazyLock::new(build);
    &LEXICON
}

/// What is left of a label for comparison: dots, blanks and colons say nothing.
pub(super) fn key(text: &str) -> Vec<char> {
    text.chars().filter_map(key_char).collect()
}

/// A character as labels are compared; `None` when it says nothing.
pub(super) fn key_char(ch: char) -> Option<char> {
    match ch {
        '.' | ' ' | ':' | ',' | '-' | '_' | '\'' | '’' | ';' | '=' => None,
        'µ' | 'μ' => Some('U'),
        'φ' | 'Φ' | 'ø' => Some('Ø'),
        '∼' => Some('~'),
        'º' => Some('°'),
        'À' | 'Á' | 'Â' | 'Ã' | 'Ä' | 'Å' | 'ã' | 'à' | 'á' | 'â' | 'ä' | 'å' => {
            Some('A')
        }
        'È' | 'É' | 'Ê' | 'è' | 'é' | 'ê' => Some('E'),
        'Í' | 'í' => Some('I'),
        'Ç' | 'ç' => Some('C'),
        'Ñ' | 'ñ' => Some('N'),
        'Ó' | 'Õ' | 'õ' | 'Ö' | 'ó' | 'ö' => Some('O'),
        'Ú' | 'Ü' | 'ú' | 'ü' => Some('U'),
        _ => ch.to_uppercase().next(),
    }
}

fn rows(table: &str) -> Vec<Row> {
    let mut reader = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .from_reader(table.as_bytes());
    reader.deserialize().filter_map(Result::ok).collect()
}

fn build() -> Lexicon {
    let mut entries: Vec<Entry> = Vec::new();
    let mut add = |spelling: &str, target: Target, weak: bool, rare: bool| {
        let key = key(spelling);
        let known = entries.iter().any(|e| e.key == key && e.target == target);
        // The name of a speed, `LO`, is easily found in figures.
        let tap = target == Target::Mark("speeds");
        let per_minute = target == Target::Field(Field::Rpm)
            && PER_MINUTE.iter().any(|end| spelling.ends_with(end));
        if !known && !key.is_empty() {
            entries.push(Entry {
                guessed: !(rare && key.len() <= SHORT || tap && key.len() <= 2),
                key,
                target,
                unit: UNITS.contains(&spelling) || per_minute,
                strong: !weak && !WEAK.contains(&spelling),
            });
        }
    };
    for &(spelling, target) in MOVED {
        add(spelling, target, false, false);
    }
    for (table, rare) in [
        (include_str!("data/plate_labels.csv"), false),
        (include_str!("data/more_labels.csv"), true),
        (include_str!("data/world_labels.csv"), true),
    ] {
        for row in rows(table) {
            if let Some(target) = target(&row)
                && !MOVED.iter().any(|f| key(f.0) == key(&row.label))
            {
                add(&row.label, target, !row.weak.is_empty(), rare);
                let share = [Field::NominalEfficiency, Field::PowerFactor].map(Target::Field);
                if share.contains(&target) && !row.label.contains('%') {
                    for form in [format!("{} %", row.label), format!("{} (%)", row.label)] {
                        add(&form, target, false, true);
                    }
                }
            }
        }
    }
    for (symbol, field, units) in SYMBOLS {
        for unit in *units {
            // A letter and its unit without brackets may be anything.
            let plain = (symbol.len() > 2).then(|| format!("{symbol} {unit}"));
            let bracketed = [format!("{symbol} ({unit})"), format!("{symbol} [{unit}]")];
            for form in bracketed.into_iter().chain(plain) {
                add(&form, Target::Field(*field), false, true);
            }
        }
    }
    // Of motors with several speeds: `AMPS HI/LO`, `Horsepower (Hi/Med/Lo)`.
    for (label, field) in SPEEDS {
        for speeds in ["HI/LO", "HI-LO", "HI/MED/LO", "HIGH/LOW", "HIGH/MED/LOW"] {
            for form in [format!("{label} {speeds}"), format!("{label} ({speeds})")] {
                add(&form, Target::Field(*field), false, true);
            }
        }
    }
    for label in ["ROT", "ROTATION"] {
        for facing in ["", "FACING ", "VIEWED FROM ", "SEEN FROM "] {
            for end in SEEN_FROM {
                for form in [
                    format!("{label} {facing}{end}"),
                    format!("{label} ({facing}{end})"),
                ] {
                    add(&form, Target::Field(Field::Rotation), false, false);
                }
            }
        }
    }
    // In small letters an `l` looks like a capital I: `Nl AMPS`.
    let seen_as: Vec<Entry> = entries
        .iter()
        .filter(|e| e.key.contains(&'L'))
        .map(|e| Entry {
            key: e
                .key
                .iter()
                .map(|&c| if c == 'L' { 'I' } else { c })
                .collect(),
            ..e.clone()
        })
        .filter(|e| entries.iter().all(|known| known.key != e.key))
        .collect();
    entries.extend(seen_as);
    let mut by_key: HashMap<Vec<char>, Vec<usize>> = HashMap::new();
    for (i, entry) in entries.iter().enumerate() {
        by_key.entry(entry.key.clone()).or_default().push(i);
    }
    let longest = entries.iter().map(|e| e.key.len()).max().unwrap_or(0);
    Lexicon {
        entries,
        by_key,
        longest,
    }
}

/// What a row of the table announces; `None` where the row is a value or stands for too much.
fn target(row: &Row) -> Option<Target> {
    let label = row.label.as_str();
    if NOT_ALONE.contains(&label) {
        return None;
    }
    let Some(field) = Field::from_key(&row.field) else {
        let kind = kind(row.field.strip_prefix("other.")?)?;
        let with_value = WITH_VALUE.contains(&kind)
            || matches!(
                label,
                "TYPE"
                    | "TYP"
                    | "TYPE CODE"
                    | "TYPE NO"
                    | "MOTOR TYPE"
                    | "KIND"
                    | "MTG"
                    | "MTG."
                    | "MOUNTING"
                    | "ASSEMBLY"
                    | "IM"
                    | "SPEEDS"
                    | "NO. OF SPEEDS"
                    | "# SPEEDS"
                    | "CONN DIAG"
                    | "DIAGRAM"
            );
        return Some(if with_value {
            Target::Other(kind)
        } else {
            Target::Mark(kind)
        });
    };
    let symbol = label.starts_with("P2") || label.ends_with("1/MIN") || label.ends_with("MIN-1");
    let holds_value = !symbol && label.chars().any(|c| c.is_ascii_digit());
    let is_value = matches!(field, Field::Rotation | Field::Phase | Field::Duty)
        && notation::parse(field, label).is_some()
        && (field != Field::Duty || crate::trade::duty(label).is_some());
    if holds_value || is_value {
        return None;
    }
    Some(match field {
        Field::Kw if row.unit == "W" => Target::Watts,
        Field::Rpm if label.contains("MAX") => Target::MaxRpm,
        Field::Hp if matches!(label, "CV" | "PS" | "PK" | "HK") => Target::MetricHp,
        Field::Amps | Field::ServiceFactorAmps
            if label.contains("MAX") && !label.contains("SF") =>
        {
            Target::MaxAmps
        }
        _ => Target::Field(field),
    })
}

/// The other kinds of the tables after `other.`.
const WITHOUT_VALUE: &[&str] = &[
    "speeds",
    "type",
    "bearing_kind",
    "thermal_protection",
    "conduit_box",
    "wiring",
    "marks",
    "lubricant",
    "hazardous_location",
    "series",
];

fn kind(name: &str) -> Option<&'static str> {
    let mut kinds = WITH_VALUE.iter().chain(WITHOUT_VALUE).copied();
    kinds.find(|kind| *kind == name)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn targets(label: &str) -> Vec<Target> {
        let found = lexicon().get(&key(label)).into_iter();
        found.map(|entry| entry.target).collect()
    }

    #[test]
    fn every_kind_of_the_table_is_known() {
        let table = include_str!("data/plate_labels.csv");
        let others = table.lines().filter_map(|l| l.strip_prefix("other."));
        let unknown: Vec<&str> = others
            .filter_map(|l| l.split(',').next())
            .filter(|k| kind(k).is_none())
            .collect();
        assert!(unknown.is_empty(), "{unknown:?}");
    }

    #[test]
    fn every_label_that_was_added_leads_to_its_field() {
        let mut table = rows(include_str!("data/world_labels.csv"));
        table.extend(rows(include_str!("data/more_labels.csv")));
        assert!(table.len() > 200, "{}", table.len());
        let astray: Vec<&str> = table
            .iter()
            .filter(|row| target(row).is_none_or(|t| !targets(&row.label).contains(&t)))
            .map(|row| row.label.as_str())
            .collect();
        assert!(astray.is_empty(), "{astray:?}");
    }

    #[test]
    fn spellings_of_the_table_lead_to_their_field() {
        use Field::*;
        let cases = [
            ("H.P.", vec![Target::Field(Hp)]),
            ("full load amps", vec![Target::Field(Amps)]),
            ("S.F. AMPS", vec![Target::Field(ServiceFactorAmps)]),
            ("INS. CL.", vec![Target::Field(InsulationClass)]),
            ("L.R.A.", vec![Target::Other("locked_rotor_amps")]),
            ("MAX AMPS", vec![Target::MaxAmps]),
            ("DATE CODE", vec![Target::Other("date_code")]),
            ("W", vec![Target::Watts]),
            (
                "VAC",
                vec![Target::Field(Volts), Target::Field(CapacitorVolts)],
            ),
            ("CCW", vec![]),
            ("3PH", vec![]),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter(|(label, expected)| targets(label) != *expected)
            .map(|(label, _)| format!("{label}: {:?}", targets(label)))
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
