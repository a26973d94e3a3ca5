//! What a motor has beyond the fields of its plate: thermal protection, bearings, shaft ends. Read from the
//! plate's own words, from a cell of a stock list, and from what somebody says.

use super::NameplateRecord;
use serde::Serialize;
use std::fmt;

/// A line of text that was read with less than this is not relied on.
const TRUSTED: f64 = 0.8;

/// Protection against overheating built into the motor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Protection {
    /// None inside: the circuit must have it.
    None,
    /// Switches on again by itself when it has cooled.
    Automatic,
    /// Stays off until somebody presses the button.
    Manual,
    /// Its winding stands a stalled rotor for ever.
    Impedance,
    /// Thermally protected; how it resets is not told.
    Unspecified,
}

impl Protection {
    /// Reads `THERMALLY PROTECTED`, `AUTO RESET`, `thermal prot. manual`, `IMP PROT`, `NO THERMAL PROTECTION`
    /// out of a text; `None` where it says nothing about it.
    pub fn in_words(text: &str) -> Option<Protection> {
        let compact = compact(text);
        let has = |words: &[&str]| words.iter().any(|w| compact.contains(w));
        let names_it = has(&["THERM", "OVERLOAD", "PROTECT", "RESET"]);
        let (auto, manual) = (compact.contains("AUTO"), compact.contains("MANUAL"));
        if has(&["IMPEDANCEPROT", "IMPPROT", "ZPROT"]) {
            Some(Protection::Impedance)
        } else if has(&[
            "NOTHERM",
            "NOTTHERM",
            "NONTHERM",
            "WITHOUTTHERM",
            "LESSTHERM",
            "NOOVERLOAD",
            "LESSOVERLOAD",
            "WITHOUTOVERLOAD",
            "UNPROTECTED",
            "NOTPROTECTED",
            "NOPROTECT",
            "PROTECTIONNONE",
            "PROTECTORNONE",
            "PROTNONE",
            "PROTECTIONNO",
            "PROTECTORNO",
        ]) {
            Some(Protection::None)
        } else if names_it && manual && !auto {
            Some(Protection::Manual)
        } else if names_it && auto && !manual {
            Some(Protection::Automatic)
        } else {
            let said = has(&[
                "THERMALLYPROT",
                "THERMALPROT",
                "THERMPROT",
                "THERMALOVERLOAD",
                "THERMALCUTOUT",
            ]);
            said.then_some(Protection::Unspecified)
        }
    }

    /// Reads a cell or an answer, which may be as short as `auto`, `manual`, `none`, `yes`.
    pub fn parse(cell: &str) -> Option<Protection> {
        match compact(cell).as_str() {
            "AUTO" | "AUTOMATIC" | "A" | "AR" => Some(Protection::Automatic),
            "MANUAL" | "MAN" | "M" | "MR" => Some(Protection::Manual),
            "NONE" | "NO" | "N" | "NOT" | "WITHOUT" => Some(Protection::None),
            "IMPEDANCE" | "IMP" | "ZP" => Some(Protection::Impedance),
            "YES" | "Y" | "TP" | "THERMAL" | "PROTECTED" | "UNSPECIFIED" => {
                Some(Protection::Unspecified)
            }
            _ => Protection::in_words(cell),
        }
    }
}

impl fmt::Display for Protection {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Protection::None => "no thermal protection",
            Protection::Automatic => "thermally protected, resets by itself",
            Protection::Manual => "thermally protected, reset by hand",
            Protection::Impedance => "impedance protected",
            Protection::Unspecified => "thermally protected",
        })
    }
}

/// What carries the shaft.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Bearings {
    /// Ball or roller bearings: any position.
    Ball,
    /// Sleeve bearings: the shaft level.
    Sleeve,
    /// Sleeve bearings that their maker allows in every position.
    SleeveAllPosition,
}

impl Bearings {
    /// Reads `BALL BRG`, `sleeve bearings`, `all-angle sleeve bearing` out of a text.
    pub fn in_words(text: &str) -> Option<Bearings> {
        let compact = compact(text);
        if compact.contains("BALLB") || compact.contains("ROLLERB") {
            Some(Bearings::Ball)
        } else if compact.contains("SLEEVEB") {
            Bearings::parse(text)
        } else {
            None
        }
    }

    /// Reads a cell or an answer, which may be as short as `ball`, `sleeve`, `BB`.
    pub fn parse(cell: &str) -> Option<Bearings> {
        let compact = compact(cell);
        let any = ["ALLPOS", "ALLANGLE", "ANYPOS", "ANYANGLE"];
        if compact == "BB"
            || ["BALL", "ROLLER", "ROLLING"]
                .iter()
                .any(|w| compact.contains(w))
        {
            Some(Bearings::Ball)
        } else if compact == "SB" || compact == "SLV" || compact.contains("SLEEVE") {
            Some(if any.iter().any(|w| compact.contains(w)) {
                Bearings::SleeveAllPosition
            } else {
                Bearings::Sleeve
            })
        } else {
            None
        }
    }
}

impl fmt::Display for Bearings {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Bearings::Ball => "ball bearings",
            Bearings::Sleeve => "sleeve bearings",
            Bearings::SleeveAllPosition => "sleeve bearings for every position",
        })
    }
}

/// At how many ends the shaft comes out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ShaftEnds {
    /// At one.
    Single,
    /// At both.
    Double,
}

impl ShaftEnds {
    /// Reads `double shaft`, `DUAL SHAFT` out of a text.
    pub fn in_words(text: &str) -> Option<ShaftEnds> {
        let compact = compact(text);
        let double = ["DOUBLESHAFT", "DUALSHAFT", "DBLSHAFT"];
        let single = ["SINGLESHAFT"];
        if double.iter().any(|w| compact.contains(w)) {
            Some(ShaftEnds::Double)
        } else {
            let said = single.iter().any(|w| compact.contains(w));
            said.then_some(ShaftEnds::Single)
        }
    }

    /// Reads a cell or an answer, which may be as short as `2` or `double`.
    pub fn parse(cell: &str) -> Option<ShaftEnds> {
        let compact = compact(cell);
        let starts = |words: &[&str]| words.iter().any(|w| compact.starts_with(w));
        if starts(&["DOUBLE", "DUAL", "DBL", "TWO", "BOTH"]) || compact == "2" {
            Some(ShaftEnds::Double)
        } else if starts(&["SINGLE", "SGL", "ONE"]) || compact == "1" {
            Some(ShaftEnds::Single)
        } else {
            None
        }
    }
}

impl NameplateRecord {
    /// What the plate's own words say of thermal protection. Where two lines contradict each other only that
    /// there is one is taken from them.
    pub fn protection(&self) -> Option<Protection> {
        let said = self.words().filter_map(Protection::in_words);
        said.reduce(|a, b| match (a, b) {
            (a, b) if a == b => a,
            (Protection::Unspecified, Protection::None) => Protection::Unspecified,
            (Protection::Unspecified, b) => b,
            (Protection::None, Protection::Unspecified) => Protection::Unspecified,
            (a, Protection::Unspecified) => a,
            _ => Protection::Unspecified,
        })
    }

    /// What the plate's own words say of the bearings.
    pub fn bearings(&self) -> Option<Bearings> {
        self.words().find_map(Bearings::in_words)
    }

    /// What the plate's own words say of the shaft's ends.
    pub fn shaft_ends(&self) -> Option<ShaftEnds> {
        self.words().find_map(ShaftEnds::in_words)
    }

    fn words(&self) -> impl Iterator<Item = &str> {
        let trusted = self.lines.iter().filter(|l| l.confidence >= TRUSTED);
        trusted.map(|l| l.text.as_str())
    }
}

/// Letters and digits in capitals: an engine loses blanks more often than letters.
fn compact(text: &str) -> String {
    text.chars()
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_uppercase)
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Spellings of plates and lists: common practice.
    #[test]
    fn words_of_plates_and_cells_of_lists() {
        use Protection::{Automatic, Impedance, Manual, None as Without, Unspecified};
        for (text, in_words, in_cell) in [
            ("THERMALLY PROTECTED", Some(Unspecified), Some(Unspecified)),
            ("THERMALLYPROTECTED AUTO", Some(Automatic), Some(Automatic)),
            ("Thermal prot.: manual", Some(Manual), Some(Manual)),
            ("AUTOMATIC RESET", Some(Automatic), Some(Automatic)),
            ("IMP. PROT.", Some(Impedance), Some(Impedance)),
            ("NO THERMAL PROTECTION", Some(Without), Some(Without)),
            ("NOT THERMALLY PROTECTED", Some(Without), Some(Without)),
            ("AUTO", None, Some(Automatic)),
            ("manual", None, Some(Manual)),
            ("none", None, Some(Without)),
            ("Yes", None, Some(Unspecified)),
            ("AUTOMOTIVE", None, None),
            ("SEE MANUAL", None, None),
            ("TEFC", None, None),
            ("", None, None),
        ] {
            assert_eq!(Protection::in_words(text), in_words, "{text}");
            assert_eq!(Protection::parse(text), in_cell, "{text}");
        }
        for (text, expected) in [
            ("BALL BRG", Some(Bearings::Ball)),
            ("Sleeve bearing", Some(Bearings::Sleeve)),
            ("ALL ANGLE SLEEVE BRG", Some(Bearings::SleeveAllPosition)),
            ("BALLAST", None),
            ("", None),
        ] {
            assert_eq!(Bearings::in_words(text), expected, "{text}");
        }
        assert_eq!(Bearings::parse("ball"), Some(Bearings::Ball));
        assert_eq!(Bearings::parse("SB"), Some(Bearings::Sleeve));
        assert_eq!(ShaftEnds::parse("2"), Some(ShaftEnds::Double));
        assert_eq!(ShaftEnds::parse("Single"), Some(ShaftEnds::Single));
        assert_eq!(ShaftEnds::in_words("DUAL SHAFT"), Some(ShaftEnds::Double));
        assert_eq!(ShaftEnds::in_words("SHAFT 1/2"), None);
    }

    #[test]
    fn a_record_knows_its_plates_words() {
        let record = |lines: &[(&str, f64)]| {
            let lines: Vec<String> = lines
                .iter()
                .map(|(text, confidence)| {
                    format!(
                        r#"{{"text": "{text}", "confidence": {confidence}, "quad": [[0,0],[1,0],[1,1],[0,1]]}}"#
                    )
                })
                .collect();
            NameplateRecord::from_json(&format!("{{\"lines\": [{}]}}", lines.join(","))).unwrap()
        };
        let said = |lines: &[(&str, f64)]| record(lines).protection();
        assert_eq!(said(&[]), None);
        assert_eq!(said(&[("AUTO RESET", 0.5)]), None);
        let both = [("THERMALLY PROTECTED", 0.95), ("MANUAL RESET", 0.9)];
        assert_eq!(said(&both), Some(Protection::Manual));
        let contradicting = [("AUTO RESET", 0.95), ("MANUAL RESET", 0.9)];
        assert_eq!(said(&contradicting), Some(Protection::Unspecified));
        assert_eq!(
            record(&[("SLEEVE BRG", 0.9)]).bearings(),
            Some(Bearings::Sleeve)
        );
    }
}
