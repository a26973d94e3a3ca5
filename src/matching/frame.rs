//! Frame designations: what their digits and letters mean, and the dimensions behind them.

use crate::trade::{NemaFace, NemaFrame, iec_frame, nema_face, nema_frame, shaft_height};
use crate::units::Inches;

/// Feet and shaft of a frame, inches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Dimensions {
    pub(super) height: Inches,
    pub(super) two_e: Inches,
    pub(super) two_f: Inches,
    /// A second pattern of foot holes along the shaft.
    pub(super) alt_two_f: Option<Inches>,
    pub(super) ba: Inches,
    pub(super) shaft: Inches,
    pub(super) shaft_length: Inches,
    /// Width of a square key; `None` for a flat, or where it is not told.
    pub(super) key: Option<Inches>,
    pub(super) has_flat: bool,
    pub(super) is_iec: bool,
}

/// A frame as a plate or a list prints it.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    printed: String,
    /// From the tables; `None` for a frame that is not in them.
    pub(super) dimensions: Option<Dimensions>,
    /// Shaft height, also of frames that are only known by their digits.
    pub(super) height: Option<Inches>,
    /// Letters that change face, flange, mounting or shaft.
    pub(super) suffix: Suffix,
    pub(super) face: Option<&'static NemaFace>,
}

/// What the letters of a NEMA frame say beyond feet and shaft (NEMA MG 1 4.2.2).
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(super) struct Suffix {
    /// Tapped face.
    pub(super) c_face: bool,
    /// Flange with through holes.
    pub(super) d_flange: bool,
    /// Pump shaft: `J` threaded, `JM` and `JP` of close-coupled pumps.
    pub(super) pump: Option<&'static str>,
    /// Short shaft, for couplings only.
    pub(super) short_shaft: bool,
    /// Special mounting.
    pub(super) y: bool,
    /// Special shaft.
    pub(super) z: bool,
    /// Letters that this tool does not know.
    pub(super) other: bool,
}

impl Frame {
    /// Reads `56C`, `L184T`, `145TCZ`, `364US`, `90L`, `48 YZ`. The digits of a frame in no table still
    /// give its shaft height.
    pub fn parse(printed: &str) -> Frame {
        let compact: String = printed
            .to_uppercase()
            .chars()
            .filter(|c| c.is_ascii_alphanumeric())
            .collect();
        let named = compact.strip_prefix("IEC").unwrap_or(&compact);
        // A letter ahead of the digits is the maker's own.
        let body = named.trim_start_matches(|c: char| c.is_ascii_alphabetic());
        let digits: String = body.chars().take_while(char::is_ascii_digit).collect();
        let letters = &body[digits.len()..];
        let is_iec = compact.starts_with("IEC");
        let nema = if is_iec {
            None
        } else {
            nema_base(&digits, letters)
        };
        let iec = if nema.is_none() {
            iec_frame(body)
        } else {
            None
        };
        let (dimensions, height, suffix) = match (nema, iec) {
            (Some((base, rest)), _) => (Some(of_nema(base)), Some(base.d), suffix(rest, base)),
            (None, Some(iec)) => {
                let (shaft, shaft_length) = iec.shaft(false);
                let mm = |v: f64| Inches(v / 25.4);
                let dimensions = Dimensions {
                    height: iec.shaft_height(),
                    two_e: mm(iec.a_mm),
                    two_f: mm(iec.b_mm),
                    alt_two_f: None,
                    ba: mm(iec.c_mm),
                    shaft,
                    shaft_length,
                    key: None,
                    has_flat: false,
                    is_iec: true,
                };
                (Some(dimensions), Some(dimensions.height), Suffix::default())
            }
            (None, None) => {
                let unknown = Suffix {
                    other: !letters.is_empty(),
                    ..Suffix::default()
                };
                (None, shaft_height(&digits), unknown)
            }
        };
        let face = if suffix.c_face || suffix.pump.is_some() {
            face(&digits, letters)
        } else {
            None
        };
        Frame {
            printed: printed.trim().to_owned(),
            dimensions,
            height,
            suffix,
            face,
        }
    }

    /// As it is printed.
    pub fn as_printed(&self) -> &str {
        &self.printed
    }
}

/// The foot-mounted frame of a designation, and the letters that go beyond it.
fn nema_base<'a>(digits: &str, letters: &'a str) -> Option<(&'static NemaFrame, &'a str)> {
    for era in ["TS", "US", "T", "U", "S", "H", ""] {
        if let Some(rest) = letters.strip_prefix(era)
            && let Some(base) = nema_frame(&format!("{digits}{era}"))
        {
            return Some((base, rest));
        }
    }
    // Pump motors drop the T: 184JM stands on the feet of 184T.
    let base = nema_frame(&format!("{digits}T")).filter(|_| letters.starts_with('J'))?;
    Some((base, letters))
}

fn of_nema(base: &NemaFrame) -> Dimensions {
    Dimensions {
        height: base.d,
        two_e: base.two_e,
        two_f: base.two_f,
        alt_two_f: base.alt_two_f,
        ba: base.ba,
        shaft: base.u,
        shaft_length: base.n_w,
        key: base.key_width,
        has_flat: base.key_kind == "flat",
        is_iec: false,
    }
}

fn suffix(letters: &str, base: &NemaFrame) -> Suffix {
    let mut suffix = Suffix {
        short_shaft: matches!(base.era.as_str(), "TS" | "US"),
        ..Suffix::default()
    };
    let mut rest = letters;
    while let Some(first) = rest.chars().next() {
        let mut used = 1;
        match first {
            'C' => suffix.c_face = true,
            'D' => suffix.d_flange = true,
            'J' if rest.starts_with("JM") => (suffix.pump, used) = (Some("JM"), 2),
            'J' if rest.starts_with("JP") => (suffix.pump, used) = (Some("JP"), 2),
            'J' => suffix.pump = Some("J"),
            'Y' => suffix.y = true,
            'Z' => suffix.z = true,
            // TCH: the face of the smaller frame; the table of faces tells it apart.
            'H' if suffix.c_face => {}
            _ => suffix.other = true,
        }
        rest = &rest[used..];
    }
    suffix
}

fn face(digits: &str, letters: &str) -> Option<&'static NemaFace> {
    let bare: String = letters
        .chars()
        .filter(|c| !matches!(c, 'Y' | 'Z'))
        .collect();
    nema_face(&format!("{digits}{bare}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: NEMA MG 1 4.2.2 (suffix letters), 4.4.1 (shaft heights), IEC 60072-1.
    #[test]
    fn designations_are_taken_apart() {
        struct Case(&'static str, Option<f64>, &'static str);
        let cases = [
            Case("56", Some(3.5), ""),
            Case("56C", Some(3.5), "c"),
            Case("56HCZ", Some(3.5), "cz"),
            Case("48Y", Some(3.0), "y"),
            Case("48 YZ", Some(3.0), "yz"),
            Case("L184T", Some(4.5), ""),
            Case("145TC", Some(3.5), "c"),
            Case("182TCH", Some(4.5), "c"),
            Case("364TS", Some(9.0), "s"),
            Case("364US", Some(9.0), "s"),
            Case("324S", Some(8.0), "s"),
            Case("324TSC", Some(8.0), "sc"),
            Case("56J", Some(3.5), "J"),
            Case("184JM", Some(4.5), "JM"),
            Case("IEC 90L", Some(90.0 / 25.4), ""),
            Case("90L", Some(90.0 / 25.4), ""),
            Case("71", Some(71.0 / 25.4), ""),
            Case("586T", Some(14.5), "?"),
            Case("143TV", Some(3.5), "?"),
            Case("SPECIAL", None, ""),
        ];
        let wrong: Vec<String> = cases
            .iter()
            .filter_map(|Case(printed, height, letters)| {
                let frame = Frame::parse(printed);
                let s = frame.suffix;
                let mut seen = String::new();
                for (flag, letter) in [
                    (s.short_shaft, "s"),
                    (s.c_face, "c"),
                    (s.y, "y"),
                    (s.z, "z"),
                    (s.other, "?"),
                ] {
                    seen.push_str(if flag { letter } else { "" });
                }
                seen.push_str(s.pump.unwrap_or_default());
                let same = frame.height.map(|h| h.0) == *height && seen == *letters;
                (!same).then(|| format!("{printed}: {:?} {seen:?}", frame.height))
            })
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn faces_come_from_the_table() {
        assert_eq!(Frame::parse("56CZ").face.map(|f| f.aj.0), Some(5.875));
        assert_eq!(Frame::parse("182TCH").face.map(|f| f.ak.0), Some(4.5));
        assert_eq!(Frame::parse("56J").face.map(|f| f.aj.0), Some(5.875));
        assert!(Frame::parse("184T").face.is_none());
    }
}
