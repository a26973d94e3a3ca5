//! How a motor is held: feet, a face, a flange, or what fan motors hang in.

use crate::trade;
use serde::{Serialize, Serializer};
use std::fmt;

/// What holds a motor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Hold {
    /// A rigid base with feet.
    Feet,
    /// Rings of rubber in a cradle with feet.
    Resilient,
    /// A face with tapped holes, no feet.
    Face,
    /// A flange with through holes, no feet.
    Flange,
    /// Feet, and a face with tapped holes.
    FeetAndFace,
    /// Feet, and a flange with through holes.
    FeetAndFlange,
    /// A band around the shell.
    Band,
    /// Studs on the end shield: the ends of the through bolts.
    Studs,
    /// Ears on the shell.
    Lugs,
    /// A yoke around the shell.
    Yoke,
}

impl Hold {
    /// Reads `rigid`, `resilient`, `C face`, `B5`, `IM V1`, `belly band`, `studs`, `3 ear`, `footless C face`.
    pub fn parse(text: &str) -> Option<Hold> {
        let upper = text.trim().to_uppercase();
        if let Some(known) = trade::mounting(&upper) {
            return Hold::of_code(&known.code);
        }
        let has = |words: &[&str]| words.iter().any(|w| upper.contains(w));
        let no_feet = has(&["FOOTLESS", "NO FEET", "LESS BASE", "NO BASE", "ROUND BODY"]);
        let feet = !no_feet && has(&["FEET", "FOOT", "BASE"]);
        let face = has(&["FACE"]);
        let flange = has(&["FLANGE"]);
        Some(match () {
            () if has(&["RESILIENT", "CRADLE", "RUBBER"]) => Hold::Resilient,
            () if has(&["BAND"]) => Hold::Band,
            () if has(&["STUD", "THROUGH BOLT", "THRU BOLT"]) => Hold::Studs,
            () if has(&["LUG", "EAR"]) => Hold::Lugs,
            () if has(&["YOKE"]) => Hold::Yoke,
            () if face && feet => Hold::FeetAndFace,
            () if flange && feet => Hold::FeetAndFlange,
            () if face => Hold::Face,
            () if flange => Hold::Flange,
            () if feet || has(&["RIGID"]) => Hold::Feet,
            () => return None,
        })
    }

    fn of_code(code: &str) -> Option<Hold> {
        Some(match code {
            "F-1" | "F-2" | "F-3" | "C-1" | "C-2" | "W-1..W-8" => Hold::Feet,
            "IM B3" | "IM B6" | "IM B7" | "IM B8" | "IM V5" | "IM V6" => Hold::Feet,
            "IM B5" | "IM V1" | "IM V3" => Hold::Flange,
            "IM B14" | "IM V18" | "IM V19" => Hold::Face,
            "IM B35" | "IM V15" => Hold::FeetAndFlange,
            "IM B34" => Hold::FeetAndFace,
            "belly band" => Hold::Band,
            "through bolt" => Hold::Studs,
            "lug / ear" => Hold::Lugs,
            "resilient" => Hold::Resilient,
            "yoke" => Hold::Yoke,
            _ => return None,
        })
    }

    pub(super) fn has_feet(self) -> bool {
        matches!(
            self,
            Hold::Feet | Hold::Resilient | Hold::FeetAndFace | Hold::FeetAndFlange
        )
    }

    pub(super) fn has_face(self) -> bool {
        matches!(self, Hold::Face | Hold::FeetAndFace)
    }

    pub(super) fn has_flange(self) -> bool {
        matches!(self, Hold::Flange | Hold::FeetAndFlange)
    }
}

impl fmt::Display for Hold {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Hold::Feet => "rigid feet",
            Hold::Resilient => "a resilient base",
            Hold::Face => "a face without feet",
            Hold::Flange => "a flange without feet",
            Hold::FeetAndFace => "feet and a face",
            Hold::FeetAndFlange => "feet and a flange",
            Hold::Band => "a belly band",
            Hold::Studs => "studs on the end",
            Hold::Lugs => "ears on the shell",
            Hold::Yoke => "a yoke",
        })
    }
}

impl Serialize for Hold {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: IEC 60034-7 (IM codes); the words for fan motors are common practice.
    #[test]
    fn codes_and_words_are_understood() {
        for (text, expected) in [
            ("rigid", Some(Hold::Feet)),
            ("Rigid base", Some(Hold::Feet)),
            ("B3", Some(Hold::Feet)),
            ("IM B5", Some(Hold::Flange)),
            ("V1", Some(Hold::Flange)),
            ("B14", Some(Hold::Face)),
            ("B34", Some(Hold::FeetAndFace)),
            ("C-face footless", Some(Hold::Face)),
            ("C face with base", Some(Hold::FeetAndFace)),
            ("belly band", Some(Hold::Band)),
            ("STUD", Some(Hold::Studs)),
            ("thru-bolt studs", Some(Hold::Studs)),
            ("resilient base", Some(Hold::Resilient)),
            ("3 EAR", Some(Hold::Lugs)),
            ("", None),
            ("vertical", None),
        ] {
            assert_eq!(Hold::parse(text), expected, "{text}");
        }
    }
}
