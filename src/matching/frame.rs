//! Frame designations: what their digits and letters mean, and the dimensions behind them.

use crate::trade::{
    IecFrame, NemaFace, NemaFrame, iec_frame, iec_heights, iec_key, nema_face, nema_frame,
    shaft_height,
};
use crate::units::Inches;

/// Feet and shaft of a frame, inches.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dimensions {
    /// From the feet to the middle of the shaft, `D`.
    pub height: Inches,
    /// Between the foot holes across the shaft, `2E`.
    pub two_e: Inches,
    /// Between the foot holes along the shaft, `2F`.
    pub two_f: Inches,
    /// A second pattern of foot holes along the shaft.
    pub(super) alt_two_f: Option<Inches>,
    /// From the shaft's shoulder to the first foot hole, `BA`.
    pub ba: Inches,
    /// Diameter of the shaft, `U`.
    pub shaft: Inches,
    /// Its length from the shoulder, `N-W`.
    pub shaft_length: Inches,
    /// Width of the key; `None` for a flat, or where it is not told.
    pub(super) key: Option<Inches>,
    pub(super) has_flat: bool,
    pub(super) is_iec: bool,
}

/// A frame as a plate or a list prints it.
#[derive(Debug, Clone, PartialEq)]
pub struct Frame {
    printed: String,
    /// From the tables; `None` for a frame that is not in them.
    dimensions: Option<Dimensions>,
    /// The thinner shaft that large metric frames have at two poles: diameter, length and key.
    two_pole: Option<(Inches, Inches, Option<Inches>)>,
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
    /// How a metric frame is held, where a code such as `B5` says so.
    pub(super) hold: Option<super::hold::Hold>,
    /// Letters that this tool does not know.
    pub(super) other: bool,
}

impl Frame {
    /// Reads `56C`, `L184T`, `145TCZ`, `364US`, `90L`, `48 YZ`. The digits of a frame in no table still
    /// give its shaft height.
    pub fn parse(printed: &str) -> Frame {
        let upper = printed.to_uppercase();
        let compact: String = upper.chars().filter(char::is_ascii_alphanumeric).collect();
        let is_iec = compact.starts_with("IEC");
        let named = compact.strip_prefix("IEC").unwrap_or(&compact);
        // A letter ahead of the digits is the maker's own.
        let body = named.trim_start_matches(|c: char| c.is_ascii_alphabetic());
        let digits: String = body.chars().take_while(char::is_ascii_digit).collect();
        let letters = &body[digits.len()..];
        let mut frame = Frame {
            printed: printed.trim().to_owned(),
            dimensions: None,
            two_pole: None,
            height: None,
            suffix: Suffix {
                other: !letters.is_empty(),
                ..Suffix::default()
            },
            face: None,
        };
        if has_two_numbers(&upper) {
            return frame;
        }
        let metric = metric_base(&digits, letters);
        let has_letter = metric.is_some_and(|(iec, _)| letters.starts_with(size_letter(iec)));
        let nema = nema_base(&digits, letters).filter(|_| !is_iec && !has_letter);
        match (nema, metric) {
            (Some((base, rest)), _) => {
                frame.dimensions = Some(of_nema(base));
                frame.height = Some(base.d);
                frame.suffix = suffix(rest, base);
            }
            (None, Some((base, rest))) => {
                let (dimensions, two_pole) = of_iec(base);
                frame.dimensions = Some(dimensions);
                frame.two_pole = two_pole;
                frame.height = Some(dimensions.height);
                frame.suffix = metric_suffix(rest);
            }
            (None, None) => {
                let metric = digits.parse().ok().filter(|mm| iec_heights().contains(mm));
                frame.height = match metric {
                    Some(mm) => Some(Inches(f64::from(mm) / 25.4)),
                    None => shaft_height(&digits),
                };
            }
        }
        if frame.suffix.c_face || frame.suffix.pump.is_some() {
            frame.face = face(&digits, letters);
        }
        frame
    }

    /// Feet and shaft; `None` for a frame in no table. Of large metric frames the shaft depends on the number
    /// of poles; without it the shaft of four and more poles is given.
    pub fn dimensions(&self, poles: Option<u32>) -> Option<Dimensions> {
        let dimensions = self.dimensions?;
        Some(match self.two_pole.filter(|_| poles == Some(2)) {
            Some((shaft, shaft_length, key)) => Dimensions {
                shaft,
                shaft_length,
                key,
                ..dimensions
            },
            None => dimensions,
        })
    }

    /// The digits, such as `184`; empty where there are none.
    pub(super) fn digits(&self) -> &str {
        let start = self.printed.find(|c: char| c.is_ascii_digit());
        let rest = &self.printed[start.unwrap_or(self.printed.len())..];
        &rest[..rest
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(rest.len())]
    }

    /// Digits and letters without the special mounting and shaft (Y, Z), to tell whether two are one frame.
    pub(super) fn bare(&self) -> String {
        let kept = self.printed.chars().filter(char::is_ascii_alphanumeric);
        let upper: String = kept.map(|c| c.to_ascii_uppercase()).collect();
        upper.trim_end_matches(['Y', 'Z']).to_owned()
    }

    /// Whether the designation alone may be that of a NEMA and of an IEC frame, which differ: `56`.
    pub(super) fn is_ambiguous(&self) -> bool {
        let bare = self.printed.trim();
        nema_frame(bare).is_some() && iec_frame(bare).is_some()
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

/// Digits, something between, and digits again: two designations, of which nobody says which one holds. The
/// number of poles behind the letter of a metric frame (`90L-4`) is none.
fn has_two_numbers(upper: &str) -> bool {
    let mut apart = false;
    let mut seen = false;
    for c in upper.chars() {
        match (c.is_ascii_digit(), c.is_ascii_alphabetic()) {
            (true, _) if seen && apart => return true,
            (true, _) => seen = true,
            (_, true) if seen => return false,
            _ => apart = seen,
        }
    }
    false
}

/// The letter of a metric frame's length.
fn size_letter(base: &IecFrame) -> char {
    base.frame.chars().last().unwrap_or('M')
}

/// The metric frame of a designation, and what stands behind its letter, without the number of poles.
fn metric_base<'a>(digits: &str, letters: &'a str) -> Option<(&'static IecFrame, &'a str)> {
    let length = letters.chars().next().filter(|c| "SML".contains(*c));
    let name = format!("{digits}{}", length.map_or(String::new(), String::from));
    let rest = &letters[length.map_or(0, char::len_utf8)..];
    Some((
        iec_frame(&name)?,
        rest.trim_start_matches(|c: char| c.is_ascii_digit()),
    ))
}

fn of_iec(base: &IecFrame) -> (Dimensions, Option<(Inches, Inches, Option<Inches>)>) {
    let mm = |v: f64| Inches(v / 25.4);
    let (shaft, shaft_length) = base.shaft(false);
    let dimensions = Dimensions {
        height: base.shaft_height(),
        two_e: mm(base.a_mm),
        two_f: mm(base.b_mm),
        alt_two_f: None,
        ba: mm(base.c_mm),
        shaft,
        shaft_length,
        key: iec_key(shaft),
        has_flat: false,
        is_iec: true,
    };
    let thin = base.shaft(true);
    let differs = thin != (shaft, shaft_length);
    (
        dimensions,
        differs.then(|| (thin.0, thin.1, iec_key(thin.0))),
    )
}

/// `B3` stands on feet and says nothing new; flanges and faces are told apart by the mounting.
fn metric_suffix(rest: &str) -> Suffix {
    let hold = super::hold::Hold::parse(rest);
    Suffix {
        hold,
        other: hold.is_none() && !rest.is_empty(),
        ..Suffix::default()
    }
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
            Case("225M", Some(225.0 / 25.4), ""),
            Case("225", Some(5.5), ""),
            Case("100L-4", Some(100.0 / 25.4), ""),
            Case("132M4", Some(132.0 / 25.4), ""),
            Case("90L B3", Some(90.0 / 25.4), ""),
            Case("IEC56", Some(56.0 / 25.4), ""),
            // Two lengths, S and L: the height is known, the feet are not.
            Case("90", Some(90.0 / 25.4), ""),
            Case("132", Some(132.0 / 25.4), ""),
            Case("56/140", None, ""),
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
